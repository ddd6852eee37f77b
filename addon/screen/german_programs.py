"""Cautions, programs and files in German."""

from __future__ import annotations

GERMAN_PROGRAMS: dict[str, str] = {
    # Cautions.
    "A router can maim: wear eye and ear protection, no gloves, jewellery or loose clothing, and tie long hair back.":
        "Eine Fräse kann verstümmeln: Augen und Ohren schützen; keine Handschuhe, kein Schmuck, keine weite Kleidung; langes Haar zurückbinden.",
    "Extract the dust and wear a mask: dust of hardwood, softwood and MDF harms, hardwood dust causes cancer, and dust is a fire risk.":
        "Den Staub absaugen und eine Maske tragen: Staub von Hartholz, Weichholz und MDF schadet, Hartholzstaub erzeugt Krebs, und Staub "
        "kann brennen.",
    "Clamp the stock so that it cannot move, and again after turning it over.":
        "Das Rohteil so spannen, dass es sich nicht bewegen kann, und nach dem Wenden wieder.",
    "See that no metal is in the wood, and keep clamps, dowels and screws out of the path.":
        "Nachsehen, dass kein Metall im Holz steckt; Spannpratzen, Dübel und Schrauben aus der Bahn halten.",
    "Unplug the router before changing cutters.": "Vor dem Fräserwechsel den Netzstecker der Fräse ziehen.",
    "Never run a cutter above the speed marked on it, nor with less shank in the collet than its maker asks.":
        "Nie einen Fräser schneller drehen, als auf ihm steht, noch mit weniger Schaft in der Spannzange, als sein Hersteller verlangt.",
    "Look at the program in the control's own preview, make the dry run above the work, and make the first run at reduced feed.":
        "Das Programm in der Vorschau der Steuerung ansehen, den Trockenlauf über dem Werkstück fahren und den ersten Lauf mit vermindertem "
        "Vorschub.",
    "If the program does not switch the router, switch it on first and let it reach its speed.":
        "Schaltet das Programm die Fräse nicht, sie vorher einschalten und ihre Drehzahl erreichen lassen.",
    "Never leave the machine running alone: stay by it with the stop switch in reach.":
        "Die Maschine nie allein laufen lassen: dabeibleiben, den Ausschalter in Reichweite.",
    "Keep hands away while the spindle turns, and let it stop before you reach in.":
        "Die Hände fernhalten, solange die Spindel dreht, und sie auslaufen lassen, ehe man hineingreift.",
    "Feeds and speeds here are suggestions: local codes, the machine's manual and the cutter's maker come first.":
        "Vorschübe und Drehzahlen sind Vorschläge: örtliche Vorschriften, das Handbuch der Maschine und der Hersteller des Fräsers gehen vor.",
}  # fmt: skip
