"""Findings, suggestions, and the answers about time and sanding in German."""

from __future__ import annotations

GERMAN_FINDINGS: dict[str, str] = {
    # What the cutter cannot reach.
    "A cutter of {diameter:.1f} mm (R {radius:.2f}) would fit. Skip the hollow, raise Tolerated Height or Tolerated Area, or take a smaller cutter.":
        "Ein Fräser von {diameter:.1f} mm (R {radius:.2f}) würde passen. Die Mulde aussparen, geduldete Höhe oder geduldete Fläche heben oder einen "
        "kleineren Fräser nehmen.",
    "A straight cutter of up to {diameter:.1f} mm (R {radius:.2f}) would fit, or a slimmer taper.":
        "Ein gerader Fräser bis {diameter:.1f} mm (R {radius:.2f}) würde passen, oder ein schlankerer Kegel.",
    "A smaller cutter reaches more of it.": "Ein kleinerer Fräser erreicht mehr davon.",
    "No cutter on the rack fits the whole of the planned surface: the {diameter:g} mm cutter leaves {area:.0f} mm² standing more than {tolerance:g} "
    "mm proud, {worst:.2f} mm at worst.":
        "Kein Fräser des Bestands eignet sich für die ganze geplante Fläche: Der {diameter:g}-mm-Fräser lässt {area:.0f} mm² mehr als {tolerance:g} "
        "mm zu hoch stehen, schlimmstenfalls {worst:.2f} mm.",
    "No cutter that was tried would fit. Skip the hollow, raise Tolerated Height or Tolerated Area, or take a smaller cutter.":
        "Keiner der versuchten Fräser würde passen. Die Mulde aussparen, geduldete Höhe oder geduldete Fläche heben oder einen kleineren Fräser "
        "nehmen.",
    "Set Smoothing to By Roughness (--smooth auto), which moves no point by more than {allowed:.2f} mm.":
        "Glättung auf „Nach Rauheit“ stellen (--smooth auto): Sie bewegt keinen Punkt um mehr als {allowed:.2f} mm.",
    "The body stands on its edge and is planned lying, with its {axis} axis up.":
        "Der Körper steht auf der Kante und wird liegend geplant, mit der {axis}-Achse nach oben.",
    "The cutter does not fit the whole of the planned surface: the {diameter:g} mm cutter leaves {area:.0f} mm² standing more than {tolerance:g} mm "
    "proud, {worst:.2f} mm at worst.":
        "Der Fräser eignet sich nicht für die ganze geplante Fläche: Der {diameter:g}-mm-Fräser lässt {area:.0f} mm² mehr als {tolerance:g} mm zu "
        "hoch stehen, schlimmstenfalls {worst:.2f} mm.",
    "The mesh is rough, as scans are: its points scatter by {roughness:.3f} mm, so that pass lines lie closer than the form asks for.":
        "Das Mesh ist rau wie ein Scan: Seine Punkte streuen um {roughness:.3f} mm, sodass Bahnen enger liegen, als die Form verlangt.",
    "The mesh was smoothed: its points scatter by {roughness:.3f} mm and were moved by {moved:.3f} mm at most, {usual:.3f} mm usually; {allowed:.3f} "
    "mm were allowed.":
        "Das Mesh wurde geglättet: Seine Punkte streuen um {roughness:.3f} mm und wurden um höchstens {moved:.3f} mm bewegt, meist um {usual:.3f} "
        "mm; erlaubt waren {allowed:.3f} mm.",
    "The {diameter:g} mm cutter leaves {area:.0f} mm² standing more than {tolerance:g} mm proud, {worst:.2f} mm at worst; Tolerated Area is "
    "{tolerated:g} mm².":
        "Der {diameter:g}-mm-Fräser lässt {area:.0f} mm² mehr als {tolerance:g} mm zu hoch stehen, schlimmstenfalls {worst:.2f} mm; die geduldete "
        "Fläche ist {tolerated:g} mm².",
    "With Face Up at Z (--up z) it is planned as it stands.": "Mit „Oben liegt“ auf Z (--up z) wird er geplant, wie er steht.",
    # Time.
    "Allow a cusp height of about {cusp:.3f} mm: the run takes {minutes:.1f} minutes.":
        "Eine Kammhöhe von etwa {cusp:.3f} mm zulassen: Der Lauf dauert {minutes:.1f} Minuten.",
    "Give the side more minutes, or skip some of it.": "Der Seite mehr Minuten geben oder Flächen aussparen.",
    "Give the side more minutes, or take operations off it.": "Der Seite mehr Minuten geben oder ihr Arbeitsgänge abnehmen.",
    "Leave out the overrun beyond the outline: the run takes {minutes:.1f} minutes.":
        "Den Überlauf über den Umriss hinaus weglassen: Der Lauf dauert {minutes:.1f} Minuten.",
    "Lower Wall Limit to {limit:g} degrees: the run takes {minutes:.1f} minutes.":
        "Die Wandgrenze auf {limit:g} Grad senken: Der Lauf dauert {minutes:.1f} Minuten.",
    "No cutter that fits finishes this side in {left:.1f} minutes.": "Kein geeigneter Fräser schlichtet diese Seite in {left:.1f} Minuten.",
    "No set of cutters finishes this side in {left:.1f} minutes; {cutters} comes nearest, with about {minutes:.1f}.":
        "Kein Fräsersatz schlichtet diese Seite in {left:.1f} Minuten; am nächsten kommt {cutters} mit etwa {minutes:.1f}.",
    "Other operations and their tool changes take {taken:.1f} of the side's {budget:g} minutes: none are left.":
        "Andere Arbeitsgänge und ihre Fräserwechsel brauchen {taken:.1f} der {budget:g} Minuten dieser Seite: Es bleiben keine übrig.",
    "Other operations take {taken:.1f} of this side's {budget:g} minutes, which leaves none for finishing.":
        "Andere Arbeitsgänge brauchen {taken:.1f} der {budget:g} Minuten dieser Seite: Zum Schlichten bleiben keine übrig.",
    "Planned for {left:.1f} minutes alone, the side would get the cutters {cutters} and a cusp height of about {cusp:.2f} mm.":
        "Allein auf {left:.1f} Minuten hin geplant, bekäme die Seite die Fräser {cutters} und eine Kammhöhe von etwa {cusp:.2f} mm.",
    "Planned for {left:.1f} minutes: cutters {cutters}, cusp height {cusp:.3f} mm, feed {feed:.0f} mm/min, {minutes:.1f} minutes.":
        "Geplant für {left:.1f} Minuten: Fräser {cutters}, Kammhöhe {cusp:.3f} mm, Vorschub {feed:.0f} mm/min, {minutes:.1f} Minuten.",
    "Raise the feed to {feed:.0f} mm/min, within the chip load of {wood} and the speed of the axes: the run takes {minutes:.1f} minutes.":
        "Den Vorschub auf {feed:.0f} mm/min erhöhen, im Rahmen des Zahnvorschubs für {wood} und der Geschwindigkeit der Achsen: Der Lauf dauert "
        "{minutes:.1f} Minuten.",
    "Skipping {area:.1f} cm² here saves about {minutes:.1f} minutes.": "Hier {area:.1f} cm² auszusparen spart etwa {minutes:.1f} Minuten.",
    "Take the cutters {cutters}, which leave {area:.0f} mm² uncut: the side takes about {minutes:.1f} minutes.":
        "Die Fräser {cutters} nehmen, die {area:.0f} mm² ungefräst lassen: Die Seite dauert etwa {minutes:.1f} Minuten.",
    "Take the cutters {cutters}: the side takes about {minutes:.1f} minutes.":
        "Die Fräser {cutters} nehmen: Die Seite dauert etwa {minutes:.1f} Minuten.",
    "The finest cusp height that is planned, {cusp:g} mm, takes {minutes:.2f} of the {left:g} minutes.":
        "Die feinste Kammhöhe, die geplant wird, {cusp:g} mm, braucht {minutes:.2f} der {left:g} Minuten.",
    "The least that is possible is {minutes:.1f} minutes: cutters {cutters}, cusp height {cusp:.3f} mm, feed {feed:.0f} mm/min.":
        "Schneller als in {minutes:.1f} Minuten geht es nicht: Fräser {cutters}, Kammhöhe {cusp:.3f} mm, Vorschub {feed:.0f} mm/min.",
    "The overrun beyond the outline takes about {minutes:.1f} minutes.": "Der Überlauf über den Umriss hinaus braucht etwa {minutes:.1f} Minuten.",
    "The run takes {minutes:.1f} minutes, {over:.1f} over the budget of {budget:g}.":
        "Der Lauf dauert {minutes:.1f} Minuten, {over:.1f} mehr als das Zeitbudget von {budget:g}.",
    "The run takes {minutes:.1f} minutes, {over:.1f} over the {left:g} that other operations leave of the budget of {budget:g}.":
        "Der Lauf dauert {minutes:.1f} Minuten, {over:.1f} mehr als die {left:g}, die andere Arbeitsgänge vom Zeitbudget von {budget:g} übrig "
        "lassen.",
    "The side takes {minutes:.2f} of the {left:g} minutes: one pass line more would take it past them.":
        "Die Seite braucht {minutes:.2f} der {left:g} Minuten: Eine Bahn mehr würde sie überschreiten.",
    "What helps most:": "Am meisten hilft:",
    "With the smaller cutters and their tool changes the side takes {minutes:.1f} minutes, {over:.1f} over the budget of {budget:g}.":
        "Mit den kleineren Fräsern und ihren Wechseln dauert die Seite {minutes:.1f} Minuten, {over:.1f} mehr als das Zeitbudget von {budget:g}.",
    # The proof, the bite, and whether the cutter runs free.
    "Keep-out boxes keep the cutter off {area:.0f} mm² of the planned surface.":
        "Sperrkästen halten den Fräser von {area:.0f} mm² der geplanten Fläche fern.",
    "Let it stick out {length:.0f} mm or more, as far as its grip in the collet allows.":
        "Den Fräser mit {length:.0f} mm Ausspannlänge oder mehr spannen, soweit seine Einspannlänge in der Spannzange es erlaubt.",
    "Look at these places when sanding, or skip such small pieces.": "Diese Stellen beim Schleifen ansehen oder so kleine Flächenstücke aussparen.",
    "Lower the feed there to {feed:.0f} mm/min, rough closer, or take a stiffer cutter.":
        "Den Vorschub dort auf {feed:.0f} mm/min senken, mit weniger Aufmaß schruppen oder einen steiferen Fräser nehmen.",
    "Move the clamp or tab, skip the surface beside it, or raise Safe Height above it.":
        "Spannpratze oder Steg versetzen, die Fläche daneben aussparen oder die Sichere Höhe darüber anheben.",
    "Move the clamps and finish that part in a run of its own, or leave it to hand work.":
        "Die Spannpratzen versetzen und diese Fläche in einem eigenen Lauf fertig fräsen oder der Handarbeit überlassen.",
    "Rough a channel wider than {width:g} mm (Channel Width), take a smaller cutter, or set less Overrun.":
        "Einen Kanal breiter als {width:g} mm schruppen (Kanalbreite), einen kleineren Fräser nehmen oder weniger Überlauf einstellen.",
    "Set a finer Cell or a smaller Chord Tolerance.": "Die Zelle feiner oder die Sehnentoleranz kleiner stellen.",
    "Set a speed that the machine can run and the cutter's maker allows.":
        "Eine Drehzahl einstellen, die die Maschine schafft und der Hersteller des Fräsers erlaubt.",
    "Take a cutter with a usable length of {length:.0f} mm, or one with a thinner shank.":
        "Einen Fräser mit {length:.0f} mm nutzbarer Länge nehmen oder einen mit dünnerem Schaft.",
    "The bite is too large over {share:.1%} of the pass lines: at worst it is {depth:.1f} mm deep and {width:.1f} mm wide, which bends the tip by "
    "{bend:.3f} mm at {feed:.0f} mm/min, more than {limit:g} mm.":
        "Der Eingriff ist auf {share:.1%} der Bahnen zu groß: Schlimmstenfalls ist er {depth:.1f} mm tief und {width:.1f} mm breit und biegt die "
        "Spitze bei {feed:.0f} mm/min um {bend:.3f} mm durch, mehr als {limit:g} mm.",
    "The bite is too large over {share:.1%} of the pass lines: at worst it is {depth:.1f} mm deep and {width:.1f} mm wide, with chips of {chip:.2f} "
    "mm at {feed:.0f} mm/min, more than the {greatest:.2f} mm that {wood} takes.":
        "Der Eingriff ist auf {share:.1%} der Bahnen zu groß: Schlimmstenfalls ist er {depth:.1f} mm tief und {width:.1f} mm breit, mit Spänen von "
        "{chip:.2f} mm bei {feed:.0f} mm/min, mehr als die {greatest:.2f} mm, die {wood} verträgt.",
    "The channel of {channel:g} mm beside the body is too narrow: the {diameter:g} mm cutter rubs {depth:.1f} mm deep against stock that still "
    "stands.":
        "Der Kanal von {channel:g} mm neben dem Körper ist zu schmal: Der {diameter:g}-mm-Fräser reibt {depth:.1f} mm tief am stehenden Rohling.",
    "Rough a channel wider than {width:g} mm round the body first, take a smaller cutter, or set less Overrun.":
        "Zuerst rings um den Körper einen Kanal breiter als {width:g} mm schruppen, einen kleineren Fräser nehmen oder weniger Überlauf einstellen.",
    "Rough them with a smaller flat cutter and set Roughing Cutter to it, or skip them.":
        "Sie mit einem kleineren Schaftfräser schruppen und ihn als Schruppfräser eintragen, oder sie aussparen.",
    "The flat cutter of {flat:g} mm that roughs does not come into all hollows: up to {height:.1f} mm of wood may stand on {area:.0f} mm² of the "
    "planned surface, more than the radius of the {diameter:g} mm cutter.":
        "Der Schruppfräser von {flat:g} mm kommt nicht in alle Mulden: Auf {area:.0f} mm² der geplanten Fläche können bis zu {height:.1f} mm Holz "
        "stehen, mehr als der Radius des {diameter:g}-mm-Fräsers.",
    "The {diameter:g} mm cutter rubs {depth:.1f} mm deep against the given stock beside the body.":
        "Der {diameter:g}-mm-Fräser reibt {depth:.1f} mm tief am angegebenen Rohling neben dem Körper.",
    "The cutter runs {depth:.1f} mm into '{box}'.": "Der Fräser fährt {depth:.1f} mm in „{box}“.",
    "The cutter's spindle speed of {speed:.0f} 1/min lies outside the machine's {least:.0f} to {greatest:.0f} 1/min.":
        "Die Drehzahl des Fräsers von {speed:.0f} 1/min liegt außerhalb der {least:.0f} bis {greatest:.0f} 1/min der Maschine.",
    "The feed is lowered there, to {feed:.0f} mm/min at the worst place.":
        "Der Vorschub wird dort gesenkt, an der schlimmsten Stelle auf {feed:.0f} mm/min.",
    "The shank of {diameter:g} mm goes {depth:.1f} mm into stock that still stands.":
        "Der Schaft von {diameter:g} mm geht {depth:.1f} mm in den stehenden Rohling.",
    "The shank of {diameter:g} mm goes {depth:.1f} mm into the body.": "Der Schaft von {diameter:g} mm geht {depth:.1f} mm in den Körper.",
    "The simulated cut goes {depth:.4f} mm below the body, more than {limit:g} mm.":
        "In der Frässimulation geht der Fräser {depth:.4f} mm unter die Oberfläche des Körpers, mehr als {limit:g} mm.",
    "With the cutter sticking out {stick_out:g} mm, the collet nut goes {depth:.1f} mm into stock that still stands.":
        "Bei {stick_out:g} mm Ausspannlänge geht die Spannmutter {depth:.1f} mm in den stehenden Rohling.",
    "With the cutter sticking out {stick_out:g} mm, the collet nut goes {depth:.1f} mm into the body.":
        "Bei {stick_out:g} mm Ausspannlänge geht die Spannmutter {depth:.1f} mm in den Körper.",
    "{count} of {total} entries go straight down onto the surface, since there is no room for a ramp: they may leave a mark.":
        "{count} von {total} Anfahrten gehen senkrecht nach unten auf die Fläche, weil für eine Rampe kein Platz ist: Sie können eine Marke "
        "hinterlassen.",
    # Stock, zeros and dowels.
    "Dowel {number} does not lie inside the stock.": "Dübel {number} liegt nicht im Rohling.",
    "Dowel {number} lies under '{box}'.": "Dübel {number} liegt unter „{box}“.",
    "Dowel {number} lies {distance:.1f} mm too close to the body.": "Dübel {number} liegt {distance:.1f} mm zu nah am Körper.",
    "Dowel {number} lies {distance:.1f} mm too close to where the cutter goes.": "Dübel {number} liegt {distance:.1f} mm zu nah am Weg des Fräsers.",
    "Move it inwards or use larger stock.": "Ihn nach innen versetzen oder einen größeren Rohling nehmen.",
    "Move the clamp or the dowel.": "Spannpratze oder Dübel versetzen.",
    "Raise Deepest Tip, or check where the body lies in the stock.": "Tiefste Spitze anheben oder prüfen, wo der Körper im Rohling liegt.",
    "Set Dowels to two or four, or give places in pairs that mirror each other about the turn axis.":
        "Dübel auf zwei oder vier stellen oder Positionen in Paaren angeben, die sich an der Wendeachse spiegeln.",
    "The tip goes {depth:.2f} mm below the bottom of the stock, more than the {allowed:g} mm allowed.":
        "Die Spitze geht {depth:.2f} mm unter die Unterseite des Rohlings, mehr als die erlaubten {allowed:g} mm.",
    "The two sides are zeroed on different faces of the stock: if it is 1 mm thicker than nominal, the sides end up 1 mm too far apart.":
        "Die beiden Seiten haben ihre Nullpunkte auf verschiedenen Flächen des Rohlings: Ist er 1 mm dicker als angegeben, liegen die Seiten 1 mm zu "
        "weit auseinander.",
    "Turned over about {axis}, dowel {number} misses every hole by {distance:.2f} mm.":
        "Um {axis} gewendet, verfehlt Dübel {number} jedes Loch um {distance:.2f} mm.",
    "Use a wider Stock Margin, thinner dowels, or less Overrun.": "Einen breiteren Rand des Rohlings, dünnere Dübel oder weniger Überlauf nehmen.",
    "Zero the first side on the spoilboard and the second on the top of the stock.":
        "Den Nullpunkt der ersten Seite auf die Opferplatte legen, den der zweiten auf die Oberseite des Rohlings.",
    # Grain.
    "Lower Grain Weight to get the quickest pass lines.": "Gewicht der Maserung senken, um die schnellsten Fräsbahnen zu bekommen.",
    "Raise Grain Weight to have them run along it.": "Gewicht der Maserung erhöhen, damit sie mit ihr laufen.",
    "The pass lines run only {along:.0%} along the grain: the quickest lines still win.":
        "Die Bahnen laufen nur zu {along:.0%} mit der Maserung: Die schnellsten gewinnen trotzdem.",
    "The pass lines run {along:.0%} along the grain and take about {minutes:.1f} minutes longer than the quickest ones, which run {quickest:.0%} "
    "along it.":
        "Die Bahnen laufen zu {along:.0%} mit der Maserung und brauchen etwa {minutes:.1f} Minuten länger als die schnellsten, die zu {quickest:.0%} "
        "mit ihr laufen.",
    # What is left out, and what may better be.
    "A flat of {area:.1f} cm²: a flat cutter does it better.": "Eine Ebene von {area:.1f} cm²: Ein Schaftfräser macht das besser.",
    "In it: {floors}.": "Darin: {floors}.",
    "Opening {number}, a through hole {width:.1f} mm wide, is {treated}.":
        "Öffnung {number}, ein durchgehendes Loch, {width:.1f} mm breit: {treated}.",
    "Opening {number}, a through hole {width:.1f} mm wide.": "Öffnung {number}, ein durchgehendes Loch, {width:.1f} mm breit.",
    "Opening {number}, a {kind} {width:.1f} mm wide and {depth:.1f} mm deep, is {treated}.":
        "Öffnung {number}, eine {kind}, {width:.1f} mm breit und {depth:.1f} mm tief: {treated}.",
    "Opening {number}, a {kind} {width:.1f} mm wide and {depth:.1f} mm deep.":
        "Öffnung {number}, eine {kind}, {width:.1f} mm breit und {depth:.1f} mm tief.",
    "Opening {number}, floor {floor}: {floors}.": "Öffnung {number}, Boden {floor}: {floors}.",
    "They are left out; finish them by hand.": "Sie bleiben ausgespart und sind von Hand zu schlichten.",
    "They are work for a flat cutter.": "Sie sind Arbeit für einen Schaftfräser.",
    "Walls steeper than {limit:g} degrees, {area:.1f} cm²: the side of a flat cutter does them better.":
        "Wände steiler als {limit:g} Grad, {area:.1f} cm²: Die Umfangsschneiden eines Schaftfräsers machen das besser.",
    "a floor": "ein Boden",
    "a recess": "ein Absatz",
    "a through hole {width:.1f} mm wide": "ein durchgehendes Loch {width:.1f} mm breit",
    "an island": "eine Insel",
    "bridged": "überbrückt",
    "followed": "Boden mitgeschlichtet",
    "left out": "ausgespart",
    "{area:.0f} mm² are {limit:g} degrees or steeper and are left out.":
        "{area:.0f} mm² sind {limit:g} Grad steil oder steiler und bleiben ausgespart.",
    "{area:.0f} mm² of the body are undercut: neither side can reach them.":
        "{area:.0f} mm² des Körpers sind hinterschnitten: Keine der beiden Seiten erreicht sie.",
    "{kind} {width:.1f} mm wide and from {low:.1f} to {high:.1f} mm deep": "{kind} {width:.1f} mm breit und {low:.1f} bis {high:.1f} mm tief",
    "{kind} {width:.1f} mm wide and {depth:.1f} mm deep": "{kind} {width:.1f} mm breit und {depth:.1f} mm tief",
    # Sets of cutters.
    "A {diameter:g} mm cutter, which is not on the rack, would finish this side in about {minutes:.1f} minutes, {saved:.1f} fewer, with the "
    "{smaller:g} mm cutter after it.":
        "Ein {diameter:g}-mm-Fräser, der nicht im Bestand ist, wäre mit dieser Seite in etwa {minutes:.1f} Minuten fertig, {saved:.1f} weniger, mit "
        "dem {smaller:g}-mm-Fräser danach.",
    "A {diameter:g} mm cutter, which is not on the rack, would finish this side in about {minutes:.1f} minutes, {saved:.1f} fewer.":
        "Ein {diameter:g}-mm-Fräser, der nicht im Bestand ist, wäre mit dieser Seite in etwa {minutes:.1f} Minuten fertig, {saved:.1f} weniger.",
    "Nothing remains that the {diameter:g} mm cutter of the set could reach: it is not run.":
        "Es bleibt nichts stehen, was der {diameter:g}-mm-Fräser des Fräsersatzes erreichen könnte: Er wird nicht eingesetzt.",
    "The {size} cutter is in no set: it would rub {depth:.1f} mm deep against stock that still stands.":
        "Der Fräser {size} ist in keinem Fräsersatz: Er würde {depth:.1f} mm tief am stehenden Rohling reiben.",
    "The {size} cutter is in no set: its shank or collet nut would go {depth:.1f} mm into stock that still stands.":
        "Der Fräser {size} ist in keinem Fräsersatz: Schaft oder Spannmutter kämen {depth:.1f} mm tief in den stehenden Rohling.",
    "The {size} cutter is in no set: its shank or collet nut would go {depth:.1f} mm into the body.":
        "Der Fräser {size} ist in keinem Fräsersatz: Schaft oder Spannmutter kämen {depth:.1f} mm tief in den Körper.",
    "The {diameter:g} mm cutter leaves {area:.0f} mm² standing more than {tolerance:g} mm proud; the {smaller:g} mm cutter takes it.":
        "Der {diameter:g}-mm-Fräser lässt {area:.0f} mm² mehr als {tolerance:g} mm zu hoch stehen; der {smaller:g}-mm-Fräser nimmt sie weg.",
    # Sanding.
    "Strips beside hollows and edges, where the ball cannot rest: {area:.1f} cm², up to {height:.2f} mm high, {volume:.2f} cm³: a narrow "
    "scraper first, then grit {practice} by hand.":
        "Streifen an Hohlkehlen und Kanten, wo die Kugel nicht aufliegen kann: {area:.1f} cm², bis {height:.2f} mm hoch, {volume:.2f} cm³: erst eine "
        "schmale Ziehklinge, dann Körnung {practice} von Hand.",
    "Strips beside hollows and edges, where the ball cannot rest: {area:.1f} cm², up to {height:.2f} mm high, {volume:.2f} cm³: from grit {grit} "
    "on by hand.":
        "Streifen an Hohlkehlen und Kanten, wo die Kugel nicht aufliegen kann: {area:.1f} cm², bis {height:.2f} mm hoch, {volume:.2f} cm³: ab Körnung "
        "{grit} von Hand.",
    "Along the rims: {area:.1f} cm², ridges up to {height:.2f} mm, {volume:.2f} cm³: a scraper first, then grit {practice}.":
        "An den Rändern: {area:.1f} cm², Kämme bis {height:.2f} mm, {volume:.2f} cm³: erst die Ziehklinge, dann Körnung {practice}.",
    "Along the rims: {area:.1f} cm², ridges up to {height:.2f} mm, {volume:.2f} cm³: from grit {grit} on.":
        "An den Rändern: {area:.1f} cm², Kämme bis {height:.2f} mm, {volume:.2f} cm³: ab Körnung {grit}.",
    "Between the pass lines: {area:.1f} cm², ridges up to {height:.3f} mm, {volume:.2f} cm³: a scraper first, then grit {practice}.":
        "Zwischen den Bahnen: {area:.1f} cm², Kämme bis {height:.3f} mm, {volume:.2f} cm³: erst die Ziehklinge, dann Körnung {practice}.",
    "Between the pass lines: {area:.1f} cm², ridges up to {height:.3f} mm, {volume:.2f} cm³: from grit {grit} on (practice starts with {practice}).":
        "Zwischen den Bahnen: {area:.1f} cm², Kämme bis {height:.3f} mm, {volume:.2f} cm³: ab Körnung {grit} (üblich ist {practice}).",
    "Between the pass lines: {area:.1f} cm², ridges up to {height:.3f} mm, {volume:.2f} cm³: start with grit {grit}, the median of your logged runs.":
        "Zwischen den Bahnen: {area:.1f} cm², Kämme bis {height:.3f} mm, {volume:.2f} cm³: mit Körnung {grit} beginnen, dem Median der "
        "festgehaltenen Läufe.",
    "By hand: {count} smaller pieces, {small:.0f} mm² in all, up to {height:.2f} mm high, {cubic:.1f} mm³.":
        "Von Hand: {count} kleinere Stellen, zusammen {small:.0f} mm², bis {height:.2f} mm hoch, {cubic:.1f} mm³.",
    "By hand: {small:.0f} mm² at X {x:.0f}, Y {y:.0f}, up to {height:.2f} mm high, {cubic:.1f} mm³: scrape or carve it down first.":
        "Von Hand: {small:.0f} mm² bei X {x:.0f}, Y {y:.0f}, bis {height:.2f} mm hoch, {cubic:.1f} mm³: zuerst abziehen oder abstechen.",
    "Sanding: {volume:.1f} cm³ in all, no hand work.": "Schleifen: insgesamt {volume:.1f} cm³, keine Handarbeit.",
    "Sanding: {volume:.1f} cm³ in all, {area:.0f} mm² of it by hand.": "Schleifen: insgesamt {volume:.1f} cm³, davon {area:.0f} mm² von Hand.",
    # What has changed since a plan was written.
    "Delete them where they were left behind; what belongs to the body must lie within {apart:g} mm of it.":
        "Löschen, was liegen geblieben ist; was zum Körper gehört, muss höchstens {apart:g} mm von ihm entfernt liegen.",
    "Small parts lie apart from the body and are left out: {count} with {faces} faces. The largest measures {length:.1f} x {width:.1f} x "
    "{height:.1f} mm and lies at X {x:.1f}, Y {y:.1f}, Z {z:.1f} mm of the model.":
        "Kleine Teile liegen abseits des Körpers und bleiben weg: {count} mit {faces} Flächen. Das größte misst {length:.1f} x {width:.1f} x "
        "{height:.1f} mm und liegt bei X {x:.1f}, Y {y:.1f}, Z {z:.1f} mm des Modells.",
    "The mesh is open: along {length:.0f} mm, in {count} borders, its edges belong to one face only. The longest, {longest:.0f} mm, lies round "
    "X {x:.1f}, Y {y:.1f}, Z {z:.1f}.":
        "Das Mesh ist offen: Auf {length:.0f} mm, in {count} Rändern, gehören seine Kanten nur zu einer Fläche. Der längste, {longest:.0f} mm, liegt "
        "um X {x:.1f}, Y {y:.1f}, Z {z:.1f}.",
    "Where faces are missing, close the mesh or export it again: what is seen through a hole is planned as if it were meant.":
        "Wo Flächen fehlen, das Mesh schließen oder neu exportieren: Was durch ein Loch zu sehen ist, wird geplant, als wäre es so gemeint.",
    "The mesh was thinned from {given} triangles to {kept}. Its points scatter by {roughness:.3f} mm, and each that is left is the mean "
    "of a small patch: no point may lie more than {within:.2f} mm from the thinned mesh, {times:g} times the scatter, and {deviation:.3f} "
    "mm were measured at most. Figures of the simulated cut are those of the thinned mesh.":
        "Das Mesh wurde von {given} Dreiecken auf {kept} ausgedünnt. Seine Punkte streuen um {roughness:.3f} mm, und jeder neue ist das Mittel eines "
        "kleinen Flecks: Kein Punkt darf mehr als {within:.2f} mm vom ausgedünnten Mesh liegen, {times:g}-mal die Streuung; gemessen wurden höchstens "
        "{deviation:.3f} mm. Die Werte der Frässimulation gelten für das ausgedünnte Mesh.",
    "The mesh was thinned from {given} triangles to {kept}. Its surface may lie {within:g} mm from the given one, and {deviation:.4f} mm were "
    "measured at most; figures of the simulated cut are those of the thinned mesh.":
        "Das Mesh wurde von {given} Dreiecken auf {kept} ausgedünnt. Seine Oberfläche darf {within:g} mm von der gegebenen abweichen, gemessen wurden "
        "höchstens {deviation:.4f} mm; die Werte der Frässimulation gelten für das ausgedünnte Mesh.",
    "The CSV is on its own: without its plan.json there is no telling which body it was made for.":
        "Die CSV steht allein: Ohne ihre plan.json ist nicht zu erkennen, für welchen Körper sie gemacht ist.",
    "The body '{name}' is not as it was when the plan was written.": "Der Körper „{name}“ ist nicht mehr wie beim Schreiben des Plans.",
    "The body has {count} parts that lie apart from each other; all of them are planned, in one stock.":
        "Der Körper hat {count} Teile, die voneinander entfernt liegen; alle werden geplant, in einem Rohling.",
    "These settings have changed: {settings}.": "Diese Einstellungen haben sich geändert: {settings}.",
    "Where only one of them is meant, plan it as an object of its own.": "Wenn nur eines davon gemeint ist, es als eigenes Objekt planen.",
}  # fmt: skip
"""Template: what is shown for it. The places are the same, in the order that German wants."""
