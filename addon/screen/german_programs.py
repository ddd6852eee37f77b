"""Cautions, programs and files in German."""

from __future__ import annotations

GERMAN_PROGRAMS: dict[str, str] = {
    # Cautions.
    "A router can maim: wear eye and ear protection, no gloves, jewellery or loose clothing, and tie long hair back.":
        "Eine Fräse kann verstümmeln: Augen und Ohren schützen; keine Handschuhe, kein Schmuck, keine weite Kleidung; lange Haare zurückbinden.",
    "Clamp the stock so that it cannot move, and again after turning it over.":
        "Den Rohling so spannen, dass er sich nicht bewegen kann, und nach dem Wenden ebenso.",
    "Extract the dust and wear a mask: dust of hardwood, softwood and MDF harms, hardwood dust causes cancer, and dust is a fire risk.":
        "Den Staub absaugen und eine Maske tragen: Staub von Hartholz, Weichholz und MDF schadet, Hartholzstaub verursacht Krebs, und Staub kann "
        "brennen.",
    "Feeds and speeds here are suggestions: local codes, the machine's manual and the cutter's maker come first.":
        "Vorschübe und Drehzahlen sind Vorschläge: örtliche Vorschriften, das Handbuch der Maschine und der Hersteller des Fräsers gehen vor.",
    "If the program does not switch the router, switch it on first and let it reach its speed.":
        "Schaltet das Programm die Fräse nicht ein, sie vorher einschalten und auf Drehzahl kommen lassen.",
    "Keep hands away while the spindle turns, and let it stop before you reach in.":
        "Die Hände fernhalten, solange sich die Spindel dreht, und sie auslaufen lassen, ehe man hineingreift.",
    "Look at the program in the control's own preview, make the dry run above the work, and make the first run at reduced feed.":
        "Das Programm in der Vorschau der Steuerung ansehen, den Trockenlauf über dem Werkstück fahren und den ersten Lauf mit vermindertem "
        "Vorschub.",
    "Never leave the machine running alone: stay by it with the stop switch in reach.":
        "Die Maschine nie allein laufen lassen: dabeibleiben, den Ausschalter in Reichweite.",
    "Never run a cutter above the speed marked on it, nor with less shank in the collet than its maker asks.":
        "Nie einen Fräser schneller laufen lassen, als auf ihm steht, und nie mit weniger Schaft in der Spannzange, als sein Hersteller verlangt.",
    "See that no metal is in the wood, and keep clamps, dowels and screws out of the path.":
        "Prüfen, dass kein Metall im Holz steckt; Spannpratzen, Dübel und Schrauben vom Weg des Fräsers fernhalten.",
    "Unplug the router before changing cutters.": "Vor dem Fräserwechsel den Netzstecker der Fräse ziehen.",
    # What programs say to the control.
    "--of-cutter says whose run --from-line takes up: give the line too.":
        "--of-cutter sagt, wessen Lauf --from-line fortsetzt: Auch die Bahn angeben.",
    "--from-line takes up the run of one side: give --side top or --side back.":
        "--from-line setzt den Lauf einer Seite fort: --side top oder --side back angeben.",
    "Begin by cancelling what an earlier program may have left on (G40 G49 G80), and take the work offset G54":
        "Zu Beginn aufheben, was ein früheres Programm eingeschaltet gelassen haben kann (G40 G49 G80), und die Nullpunktverschiebung G54 anwählen",
    "Begin by saying how exactly the path is followed (G64 with the corner tolerance and no merging, or G61)":
        "Zu Beginn sagen, wie genau der Bahn gefolgt wird (G64 mit der Eckentoleranz und ohne Zusammenfassen oder G61)",
    "By Hand": "Von Hand",
    "Cancel Words": "Aufhebende Wörter",
    "First Rise": "Erstes Anheben",
    "From Line": "Ab Bahn",
    "Fusing Tolerance": "Toleranz beim Zusammenfassen",
    "How far the straight moves of a program may leave the planned route; more means fewer and longer moves":
        "Wie weit die geraden Wege eines Programms vom geplanten Fahrweg abweichen dürfen; mehr bedeutet weniger und längere Wege",
    "How the cutter comes up before the first move sideways": "Wie der Fräser nach oben kommt, ehe er zum ersten Mal seitwärts fährt",
    "How the spindle starts and is waited for": "Wie die Spindel anläuft und auf sie gewartet wird",
    "Machine Top": "Oberes Ende der Maschine",
    "No program was written for the {cutter} on the {side} side, since it would hit something that is known: {names}. Do as the "
    "findings say and plan again; the lines are in the CSV.":
        "Für {cutter} wurde auf dieser Seite ({side}) kein Programm geschrieben, denn es würde mit etwas Bekanntem kollidieren: {names}. Tun, was "
        "die Befunde sagen, und neu planen; die Bahnen stehen in der CSV.",
    "Of Cutter (mm)": "Des Fräsers (mm)",
    "Path Mode": "Bahnsteuerung",
    "Programs Despite Hits": "Programme trotz Kollision",
    "Programs of these cutters are there: {diameters} mm. Say whose is to be taken up: --of-cutter on the command line, Of Cutter in Blender.":
        "Programme dieser Fräser gibt es: {diameters} mm. Sagen, welches fortgesetzt werden soll: auf der Befehlszeile mit --of-cutter, in Blender "
        "mit „Des Fräsers“.",
    "Programs can be split into parts of more than 0 minutes, not {value}: give more minutes.":
        "Programme lassen sich in Teile von mehr als 0 Minuten zerlegen, nicht {value}: mehr Minuten angeben.",
    "Programs in parts of at most so many minutes; 0 leaves them whole": "Programme in Teilen von höchstens so vielen Minuten; 0 lässt sie ganz",
    "Raised by Hand": "Von Hand angehoben",
    "Spindle Start": "Anlauf der Spindel",
    "Split (min)": "Teilen (min)",
    "The cutter is raised by hand before the start; the program waits once for a look":
        "Der Fräser wird vor dem Start von Hand angehoben; das Programm wartet einmal, damit man nachsehen kann",
    "The lines are not those of '{file}' in the folder: plan with the same body and settings as before (--settings {file}).":
        "Die Bahnen sind nicht die von „{file}“ im Ordner: mit demselben Körper und denselben Einstellungen planen wie zuvor (--settings {file}).",
    "The program sends Z to machine zero: only for machines that find their zeros by switches at the top":
        "Das Programm fährt Z auf den Maschinennullpunkt: nur für Maschinen, die ihn mit Schaltern am oberen Ende finden",
    "The program stops until the router has been switched on by hand": "Das Programm hält an, bis die Fräse von Hand eingeschaltet ist",
    "The program switches the spindle on and waits; the control counts waits in milliseconds":
        "Das Programm schaltet die Spindel ein und wartet; die Steuerung zählt Wartezeiten in Millisekunden",
    "The program switches the spindle on and waits; the control counts waits in seconds":
        "Das Programm schaltet die Spindel ein und wartet; die Steuerung zählt Wartezeiten in Sekunden",
    "There is no pass line {line}: give one from 1 to {count}.": "Eine Fräsbahn {line} gibt es nicht: eine von 1 bis {count} angeben.",
    "Wait in Milliseconds": "In Millisekunden warten",
    "Wait in Seconds": "In Sekunden warten",
    "With From Line: diameter of the cutter whose run stopped, on the panel's side; 0 for the only one":
        "Mit „Ab Bahn“: Durchmesser des Fräsers, dessen Lauf stehen blieb, auf der Seite des Panels; 0, wenn es nur einen gibt",
    "Write only the program of the pass lines from this one on, to take up a run that stopped; 0 writes all":
        "Nur das Programm ab dieser Bahn schreiben, um einen abgebrochenen Lauf fortzusetzen; 0 schreibt alles",
    "Write programs even where they would hit something that is known, such as a clamp":
        "Programme auch dort schreiben, wo sie mit etwas Bekanntem kollidieren würden, etwa einer Spannpratze",
    # The timing test.
    "Enter Times of the Timing Test": "Zeiten des Zeittests eingeben",
    "Enter the five stopwatch times of the timing test: speeds, accelerations, corners and blocks ahead of the machine are set by them":
        "Die fünf gestoppten Zeiten des Zeittests eingeben: Danach werden Geschwindigkeiten, Beschleunigungen, Ecken und Sätze voraus gesetzt",
    "Folder to write into": "Ordner, in den geschrieben wird",
    "Pattern 1 (s)": "Muster 1 (s)",
    "Pattern 2 (s)": "Muster 2 (s)",
    "Pattern 3 (s)": "Muster 3 (s)",
    "Pattern 4 (s)": "Muster 4 (s)",
    "Pattern 5 (s)": "Muster 5 (s)",
    "Seconds that the fifth pattern took": "Sekunden, die das fünfte Muster gebraucht hat",
    "Seconds that the first pattern took": "Sekunden, die das erste Muster gebraucht hat",
    "Seconds that the fourth pattern took": "Sekunden, die das vierte Muster gebraucht hat",
    "Seconds that the second pattern took": "Sekunden, die das zweite Muster gebraucht hat",
    "Seconds that the third pattern took": "Sekunden, die das dritte Muster gebraucht hat",
    "Speeds {sx:.0f}, {sy:.0f}, {sz:.0f} mm/min, accelerations {ax:.0f}, {ay:.0f}, {az:.0f} mm/s², corners: {corners}, {blocks} blocks ahead; all "
    "times fit to {worst:.1f} %. Plan again to see it":
        "Geschwindigkeiten {sx:.0f}, {sy:.0f}, {sz:.0f} mm/min, Beschleunigungen {ax:.0f}, {ay:.0f}, {az:.0f} mm/s², Ecken: {corners}, {blocks} "
        "Sätze voraus; alle Zeiten passen auf {worst:.1f} %. Neu planen, um es zu sehen",
    "The scene is linked from another file: change its machine there":
        "Die Szene ist aus einer anderen Datei verknüpft: ihre Maschine dort ändern",
    "The times do not fit any machine well (off by {worst:.1f} %): time the patterns again, with the feed at 100 %":
        "Die Zeiten passen zu keiner Maschine gut ({worst:.1f} % daneben): die Muster noch einmal stoppen, mit dem Vorschub auf 100 %",
    "Unit of the lengths in the program": "Einheit der Längen im Programm",
    "Write Timing Test": "Zeittest schreiben",
    "Write the program of the timing test: moves in the air with the spindle off, under three minutes, whose times show what the machine can do":
        "Das Programm des Zeittests schreiben: Wege in der Luft bei stehender Spindel, unter drei Minuten, deren Zeiten zeigen, was die Maschine "
        "kann",
    "corner speed": "Eckengeschwindigkeit",
    "exact stop": "Genauhalt",
    "{file} written: it needs {x:.0f} x {y:.0f} x {z:.0f} mm of free room and about {seconds:.0f} s; time each of its five patterns":
        "{file} geschrieben: braucht {x:.0f} x {y:.0f} x {z:.0f} mm freien Raum und etwa {seconds:.0f} s; jedes der fünf Muster stoppen",
    # How heavy programs are.
    "Feeds are eased on {length:.2f} m so that no second holds more than the control takes, {rate} blocks: {minutes:.2f} minutes more":
        "Auf {length:.2f} m sind Vorschübe zurückgenommen, damit in keiner Sekunde mehr als die {rate} Sätze anfallen, die die Steuerung nimmt: "
        "{minutes:.2f} min mehr",
    "Program of {blocks} blocks and {size} bytes, {busiest} blocks in its busiest second, {mean:.0f} on average":
        "Programm mit {blocks} Sätzen und {size} Byte, {busiest} Sätze in der dichtesten Sekunde, {mean:.0f} im Mittel",
    "The control takes {rate} blocks in a second: where it stutters, lower the feed or allow a greater fusing tolerance":
        "Die Steuerung nimmt {rate} Sätze in einer Sekunde: wo sie stockt, den Vorschub senken oder eine größere Toleranz beim Zusammenfassen "
        "zulassen",
    "cancel words": "aufhebende Wörter",
    "first rise": "erstes Anheben",
    "fusing tolerance": "Toleranz beim Zusammenfassen",
    "path mode": "Bahnsteuerung",
    "program": "Programm",
    "spindle start": "Anlauf der Spindel",
    # Files that are replaced.
    "'{file}' in '{folder}' is of another body, '{body}': choose another folder.":
        "„{file}“ in „{folder}“ gehört zu einem anderen Körper, „{body}“: einen anderen Ordner wählen.",
}  # fmt: skip
