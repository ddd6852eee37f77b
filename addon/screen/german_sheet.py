"""The bench sheet and the words on pictures in German."""

from __future__ import annotations

GERMAN_SHEET: dict[str, str] = {
    # The job.
    "Bench sheet: {body}": "Werkblatt: {body}",
    "Body {body} mm, stock {stock} mm.": "Körper {body} mm, Rohling {stock} mm.",
    "Turn the stock over about its {axis} axis between the sides.": "Den Rohling zwischen den Seiten um seine {axis}-Achse wenden.",
    "None.": "Keine.",
    "At x {x:.1f}, y {y:.1f}, z {z:.1f}.": "Bei x {x:.1f}, y {y:.1f}, z {z:.1f}.",
    "{side}: cusp {cusp:g} mm, {lines} pass lines {start}, body {digest}": "{side}: Kammhöhe {cusp:g} mm, {lines} Fräsbahnen {start}, Körper {digest}",
    "from the border inward": "vom Rand nach innen",
    "from the edge, at {angle:g} degrees": "von einer Kante aus, unter {angle:g} Grad",
    "from the middle, at {angle:g} degrees": "von der Mitte aus, unter {angle:g} Grad",
    # Running order.
    "X Y zero": "X-Y-Nullpunkt",
    "Z zero": "Z-Nullpunkt",
    "Done": "Erledigt",
    "other operation": "anderer Arbeitsgang",
    "finishing": "Schlichten",
    "finishing, lines {first} to {last}": "Schlichten, Bahnen {first} bis {last}",
    "dowel holes": "Dübellöcher",
    "Drill {diameter:g} mm": "Bohrer {diameter:g} mm",
    "lower left corner of the stock, seen from above": "untere linke Ecke des Rohlings, von oben gesehen",
    "middle of the stock": "Mitte des Rohlings",
    "spoilboard under the stock": "Opferplatte unter dem Rohling",
    "top of the stock (not of the body)": "Oberfläche des Rohlings (nicht des Körpers)",
    "{minutes:.1f} minutes of cutting.": "{minutes:.1f} Minuten Fräszeit.",
    "{minutes:.1f} minutes of cutting, and 1 tool change of {each:g} minutes.":
        "{minutes:.1f} Minuten Fräszeit, dazu 1 Fräserwechsel von {each:g} Minuten.",
    "{minutes:.1f} minutes of cutting, and {changes} tool changes of {each:g} minutes.":
        "{minutes:.1f} Minuten Fräszeit, dazu {changes} Fräserwechsel von je {each:g} Minuten.",
    "Every start of the spindle takes {seconds:g} s more; that of the dowel holes is counted.":
        "Jedes Anlaufen der Spindel dauert {seconds:g} s länger; das für die Dübellöcher ist mitgezählt.",
    "Scaled by {factor:.3f} after a measured run on this machine.": "Nach einem gemessenen Lauf auf dieser Maschine mit {factor:.3f} multipliziert.",
    "Scaled by {factor:.3f}, the median of {runs} of this machine, cutter and wood.":
        "Mit {factor:.3f} multipliziert, dem Median aus {runs} mit dieser Maschine, diesem Fräser und diesem Holz.",
    "1 logged run": "1 festgehaltenen Lauf",
    "{count} logged runs": "{count} festgehaltenen Läufen",
    "Speeds, accelerations and corners are those of a timing test on this machine.":
        "Geschwindigkeiten, Beschleunigungen und Ecken stammen aus einem Zeittest auf dieser Maschine.",
    "Not yet compared with a measured run on this machine.": "Noch nicht mit einem gemessenen Lauf auf dieser Maschine verglichen.",
    "Assumed: {stock}": "Angenommen: {stock}",
    "Assumed: {stock}, then {cutter} has been over the side": "Angenommen: {stock}, danach hat {cutter} die Seite gefräst",
    "roughing left {allowance:g} mm on the body, and a channel of {channel:g} mm round it":
        "Das Schruppen hat {allowance:g} mm auf dem Körper gelassen und einen Kanal von {channel:g} mm um ihn",
    "roughing left {allowance:g} mm on the body in terraces of {terraces:g} mm, and a channel of {channel:g} mm round it":
        "Das Schruppen hat {allowance:g} mm auf dem Körper gelassen, in Stufen von {terraces:g} mm, und einen Kanal von {channel:g} mm um ihn",
    "the stock stands as the object that was given for it": "Der Rohling steht so da wie das Objekt, das für ihn angegeben ist",
    "If a run stops: never start a program in its middle. Every pass line begins with a comment that holds its number; note the last one that was "
    "whole, raise the cutter, and write the rest as a program of its own, from the line after it: --from-line (and --of-cutter) on the command "
    "line, or From Line (and Of Cutter) under Export Otherwise.":
        "Wenn ein Lauf stehen bleibt: Ein Programm nie in der Mitte starten. Jede Fräsbahn beginnt mit einem Kommentar, der ihre Nummer enthält; die "
        "letzte ganze notieren, den Fräser anheben und den Rest als eigenes Programm schreiben, von der nächsten Bahn an: „Ab Bahn“ (und „Des "
        "Fräsers“) unter „Anders exportieren“, auf der Befehlszeile --from-line (und --of-cutter).",
    # Sides and cutters.
    "Sides, as they lie on the machine": "Seiten, wie sie auf der Maschine liegen",
    "{side} side from above": "{side} von oben",
    "{cutter}, seen from above. X Y zero: {corner}. Z zero: {height}.": "{cutter}, von oben gesehen. X-Y-Nullpunkt: {corner}. Z-Nullpunkt: {height}.",
    "One in {every} of the {lines} pass lines is drawn.": "Gezeichnet ist jede {every}. der {lines} Fräsbahnen.",
    "dowel {number}": "Dübel {number}",
    "Round-nose {diameter:g}": "Kugelfräser {diameter:g}",
    "Diameter mm": "Durchmesser mm",
    "Measured mm": "Gemessen mm",
    "Runout mm": "Rundlauffehler mm",
    "Planned mm": "Geplant mm",
    "Usable length mm": "Nutzbare Länge mm",
    "Stick-out mm": "Ausspannlänge mm",
    "Reach needed mm": "Nötige Tiefe mm",
    "Spindle 1/min": "Drehzahl 1/min",
    "Feed mm/min": "Vorschub mm/min",
    "Sets of cutters": "Fräsersätze",
    "Set of cutters mm": "Fräsersatz mm",
    "about {minutes:.1f}": "etwa {minutes:.1f}",
    "Minutes to expect": "Zu erwartende Minuten",
    "Tool changes": "Fräserwechsel",
    "Uncut mm²": "Ungefräst mm²",
    "Uncut mm": "Ungefräst mm",
    "soonest": "am schnellsten",
    "leaves too much": "lässt zu viel stehen",
    # What is left.
    "Work for flat cutters": "Arbeit für Schaftfräser",
    "Nothing is left to them.": "Für sie bleibt nichts.",
    "Area cm²": "Fläche cm²",
    "Minutes saved, about": "Gesparte Minuten, etwa",
    "no cut": "nicht fräsen",
    "What the cutters leave": "Was die Fräser stehen lassen",
    "Finished surface, in true scale (print at 100 per cent)": "Fertige Fläche, in wahrer Größe (mit 100 Prozent drucken)",
    "{side}, {length:.0f} x {width:.0f} mm from x {x:.1f}, y {y:.1f}; {light}.":
        "{side}, {length:.0f} x {width:.0f} mm ab x {x:.1f}, y {y:.1f}; {light}.",
    "Towards the lamp through its middle Rz {rz:.0f} µm, Ra {ra:.0f} µm over the body.":
        "Zum Licht hin durch die Mitte Rz {rz:.0f} µm, Ra {ra:.0f} µm über dem Körper.",
    "lamp {above:g} degrees above, from {from_degrees:.0f} degrees; heights true":
        "Streiflicht {above:g} Grad hoch, aus {from_degrees:.0f} Grad; Höhen unverändert",
    "lamp {above:g} degrees above, from {from_degrees:.0f} degrees; heights enlarged {times:g} times":
        "Streiflicht {above:g} Grad hoch, aus {from_degrees:.0f} Grad; Höhen {times:g}-fach überhöht",
    # The sheet of a test coupon.
    "Test coupon for {cutter}": "Probestück für {cutter}",
    "Scrap of {length:g} x {width:g} x {thickness:g} mm, best of the body's own wood. X Y zero: its lower left corner, seen from above; Z zero: its "
    "top. Spindle {speed:.0f} 1/min, feed {feed:.0f} mm/min.":
        "Reststück von {length:g} x {width:g} x {thickness:g} mm, am besten vom Holz des Körpers. X-Y-Nullpunkt: seine untere linke Ecke, von oben "
        "gesehen; Z-Nullpunkt: seine Oberfläche. Drehzahl {speed:.0f} 1/min, Vorschub {feed:.0f} mm/min.",
    "What to measure": "Was zu messen ist",
    "Back into the plan": "Zurück in den Plan",
    "Press Enter Coupon in the panel, under Time, More. On the command line the first of these writes coupon-settings.json, and the second plans with "
    "it. Leave out what you have not measured.":
        "Im Panel unter „Zeit“, „Mehr“, „Probestück eintragen“ drücken. Auf der Befehlszeile schreibt das erste hiervon "
        "coupon-settings.json, das zweite plant damit. "
        "Weglassen, was nicht gemessen ist.",
    "Groove, width at the top": "Nut, Breite oben",
    "{width:.2f} mm for a cutter of {diameter:g} mm. Measure it in three places.":
        "{width:.2f} mm bei einem Fräser von {diameter:g} mm. An drei Stellen messen.",
    "Step from the top down to the fine flat field": "Stufe von der Oberfläche hinab zum feinen ebenen Feld",
    "{depth:g} mm; more: Z zero was too low.": "{depth:g} mm; mehr: Der Z-Nullpunkt lag zu tief.",
    "Time of the fine flat field": "Zeit des feinen ebenen Felds",
    "{seconds:.0f} s, as far as the machine is known.": "{seconds:.0f} s, soweit die Maschine bekannt ist.",
    "The coarsest column that is fine enough for the thumb, and for the eye under a low lamp":
        "Die gröbste Spalte, die dem Daumen fein genug ist und dem Auge im Streiflicht",
    "Cusp heights 1: {first:g} mm, 2: {second:g} mm, 3: {third:g} mm": "Kammhöhen 1: {first:g} mm, 2: {second:g} mm, 3: {third:g} mm",
    "Does the hollow's bottom look like the flat?": "Sieht der Grund der Mulde aus wie das ebene Feld?",
    "Radius {hollow:g} mm, after the body's least.": "Radius {hollow:g} mm, nach dem kleinsten des Körpers.",
    "slope {degrees:.0f}°": "Schräge {degrees:.0f}°",
    "hollow": "Mulde",
    "timed": "gestoppt",
    "groove": "Nut",
    # Pictures.
    "Slope map": "Neigung",
    "Curvature map": "Krümmung",
    "Cusp height, by a simulated cut": "Kammhöhe nach der Frässimulation",
    "Pass lines in running order": "Fräsbahnen in ihrer Reihenfolge",
    "{body}, {side} side, {length:.0f} x {width:.0f} x {height:.0f} mm": "{body}, {side}, {length:.0f} x {width:.0f} x {height:.0f} mm",
    "{note}: {lines} pass lines, {length:.1f} m, {minutes:.1f} min": "{note}: {lines} Fräsbahnen, {length:.1f} m, {minutes:.1f} min",
    "{cutter}, cusp {cusp:g} mm": "{cutter}, Kammhöhe {cusp:g} mm",
    "{cutter}, cusp {cusp:g} mm, cell {cell:g} mm": "{cutter}, Kammhöhe {cusp:g} mm, Zelle {cell:g} mm",
    "{cutter} at {cusp:g} mm: {minutes:.1f} min": "{cutter} bei {cusp:g} mm: {minutes:.1f} min",
    "{cutter}, does not fit": "{cutter}, ungeeignet",
    "No body above this grid": "Kein Körper über diesem Raster",
    "Nothing to show here": "Hier ist nichts zu zeigen",
    "not reached": "nicht erreicht",
    "rim": "Rand",
    "link": "Verbindung",
    "lift": "Abheben",
    "start": "Anfang",
    "end": "Ende",
}  # fmt: skip
"""Words of files for people: what is written for them."""
