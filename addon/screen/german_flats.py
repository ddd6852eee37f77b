"""What is left out as work for flat cutters, and what stands along borders and on ground that is not reached, in German."""

from __future__ import annotations

GERMAN_FLATS: dict[str, str] = {
    # Flats.
    "A flat of {area:.1f} cm² is left out, which saves about {minutes:.1f} minutes.":
        "Eine Ebene von {area:.1f} cm² ist ausgespart, was etwa {minutes:.1f} Minuten spart.",
    "A flat of {area:.1f} cm² is planned with the round-nose cutter, which takes about {minutes:.1f} minutes.":
        "Eine Ebene von {area:.1f} cm² ist mit dem Kugelfräser geplant, was etwa {minutes:.1f} Minuten braucht.",
    "A flat of {area:.1f} cm² lies in the stock's own face and needs no cut: leaving it out saves about {minutes:.1f} minutes.":
        "Eine Ebene von {area:.1f} cm² liegt in der Oberfläche des Rohlings selbst und muss nicht gefräst werden: Sie auszusparen spart etwa "
        "{minutes:.1f} Minuten.",
    "By Stock": "Nach Rohling",
    "Finish flats with the round-nose cutter too": "Auch Ebenen mit dem Kugelfräser schlichten",
    "Flat Margin": "Rand auf Ebenen",
    "Flats": "Ebenen",
    "How far pass lines run on over a flat that is left out, so that no step is left":
        "Wie weit Bahnen auf eine ausgesparte Ebene hinauslaufen, damit keine Stufe bleibt",
    "It is work for a flat cutter: leave flats out, and finish it in the same run as the other flat work.":
        "Sie ist Arbeit für einen Schaftfräser: Ebenen aussparen und diese im selben Lauf wie die anderen Ebenen schlichten.",
    "It is work for a flat cutter; the pass lines run on over it for {margin:g} mm.":
        "Sie ist Arbeit für einen Schaftfräser; die Bahnen laufen {margin:g} mm auf sie hinaus.",
    "Leave flats, walls and openings out, as work for flat cutters": "Ebenen, Wände und Öffnungen aussparen, als Arbeit für Schaftfräser",
    "Leave out all flats, as work for a flat cutter": "Alle Ebenen aussparen, als Arbeit für einen Schaftfräser",
    "Leave out flats in the stock's own face, which need no cut":
        "Ebenen aussparen, die in der Oberfläche des Rohlings liegen und nicht gefräst werden müssen",
    "Leave to Flat Cutters": "Schaftfräsern überlassen",
    "Leaving out the flats that are planned saves about {minutes:.1f} minutes": "Die geplanten Ebenen auszusparen spart etwa {minutes:.1f} Minuten",
    "No flats are planned": "Es sind keine Ebenen geplant",
    "The pass lines run on over it for {margin:g} mm. If roughing has cut into it, plan it: set Flats to Follow.":
        "Die Bahnen laufen {margin:g} mm auf sie hinaus. Ist beim Schruppen in sie hineingefräst worden, ist sie zu planen: Ebenen auf Folgen "
        "stellen.",
    "What is left out must be some of {choices}, not '{given}'.": "Ausgespart werden kann {choices}, nicht „{given}“.",
    "What to do with level surfaces": "Was mit ebenen Flächen geschieht",
    "flat in the stock's own face, which needs no cut": "Ebene in der Oberfläche des Rohlings selbst, die nicht gefräst werden muss",
    "flat surface": "Ebene",
    "opening {number}, a {kind}": "Öffnung {number}, {kind}",
    "walls of {limit:g} degrees and steeper": "Wände von {limit:g} Grad und steiler",
    # The rim pass.
    "A pass along outline, openings and skipped surface, where other pass lines end and leave ridges":
        "Eine Bahn an Umriss, Öffnungen und Aussparungen entlang, wo andere Bahnen enden und Kämme stehen lassen",
    "A pass along the rims cuts it down: {length:.1f} m, about {minutes:.1f} minutes. Set Rim Pass to On.":
        "Ein Umlauf an den Rändern trägt es ab: {length:.1f} m, etwa {minutes:.1f} Minuten. Umlauf am Rand einschalten.",
    "A pass along the rims where a border would stand higher than 1.5 times the cusp height":
        "Ein Umlauf an den Rändern, wo ein Rand höher als das 1,5-Fache der Kammhöhe stünde",
    "Along borders a thousandth of the surface stands higher than {height:.2f} mm, {times:.1f} times the cusp height.":
        "An den Rändern steht ein Tausendstel der Fläche höher als {height:.2f} mm, das {times:.1f}-Fache der Kammhöhe.",
    "Always a pass along the rims": "Immer ein Umlauf an den Rändern",
    "Auto": "Automatisch",
    "No pass along the rims": "Kein Umlauf an den Rändern",
    "Off": "Aus",
    "On": "Ein",
    "Rim Pass": "Umlauf am Rand",
    "Rims: {length:.1f} m, about {minutes:.1f} minutes": "Ränder: {length:.1f} m, etwa {minutes:.1f} Minuten",
    "The pass along the rims is {length:.1f} m long and takes about {minutes:.1f} minutes.":
        "Der Umlauf an den Rändern ist {length:.1f} m lang und braucht etwa {minutes:.1f} Minuten.",
    # Borders, and ground that is not reached.
    "Along borders, {area:.1f} cm² within {width:.1f} mm of them: half <= {half:.4f}, 99.9 % <= {most:.4f}, all <= {all:.4f} mm":
        "An den Rändern, {area:.1f} cm² bis {width:.1f} mm davon: die Hälfte <= {half:.4f}, 99,9 % <= {most:.4f}, alles <= {all:.4f} mm",
    "Not reached: none of the planned surface": "Nicht erreicht: nichts von der geplanten Fläche",
    "Not reached: {area:.1f} cm² of the planned surface, where up to {height:.2f} mm stay of what roughing has left":
        "Nicht erreicht: {area:.1f} cm² der geplanten Fläche, wo bis zu {height:.2f} mm von dem bleiben, was das Schruppen stehen ließ",
    "Simulated cusp away from borders: half of the surface <= {half:.4f}, 99.9 % <= {most:.4f}, all <= {all:.4f} mm":
        "Simulierte Kammhöhe abseits der Ränder: die Hälfte der Fläche <= {half:.4f}, 99,9 % <= {most:.4f}, alles <= {all:.4f} mm",
}  # fmt: skip
