"""What was run and measured, and what follows from it, in German."""

from __future__ import annotations

GERMAN_MEASURED: dict[str, str] = {
    # What was run before.
    "Runs of this machine, cutter and wood that were logged: {runs}. Minutes are {factor:.3f} times the plain estimate, their median.":
        "Festgehaltene Läufe dieser Maschine, dieses Fräsers und dieses Holzes: {runs}. Die Minuten sind das {factor:.3f}-Fache der reinen "
        "Schätzung, ihr Median.",
    "Runs of this machine, cutter and wood with about this cusp height that were logged with their grit: {runs}. Sanding starts with grit {grit}, "
    "their median.":
        "Läufe dieser Maschine, dieses Fräsers und dieses Holzes mit etwa dieser Kammhöhe, deren Körnung festgehalten ist: {runs}. Das Schleifen "
        "beginnt mit Körnung {grit}, ihrem Median.",
    "The last remark in the log: {remark}": "Die letzte Bemerkung im Laufprotokoll: {remark}",
    # Cutters that were measured.
    "Clean collet and nut, and clamp the cutter again.": "Spannzange und Mutter reinigen und den Fräser neu spannen.",
    "The {diameter:g} mm cutter cuts {true:g} mm and is planned so. Planned as {diameter:g} mm it would cut up to {error:.3f} mm too deep on slopes "
    "of up to {slope:.0f} degrees.":
        "Der {diameter:g}-mm-Fräser fräst {true:g} mm breit und wird so geplant. Als {diameter:g} mm geplant, würde er an Schrägen bis {slope:.0f} "
        "Grad bis zu {error:.3f} mm zu tief fräsen.",
    "The {diameter:g} mm cutter cuts {true:g} mm and is planned so. Planned as {diameter:g} mm it would leave up to {error:.3f} mm more on slopes of "
    "up to {slope:.0f} degrees.":
        "Der {diameter:g}-mm-Fräser fräst {true:g} mm breit und wird so geplant. Als {diameter:g} mm geplant, würde er an Schrägen bis {slope:.0f} "
        "Grad bis zu {error:.3f} mm mehr stehen lassen.",
    "With a runout of {runout:g} mm the cutter goes up to {deeper:.3f} mm deeper than planned.":
        "Mit einem Rundlauffehler von {runout:g} mm geht der Fräser bis zu {deeper:.3f} mm tiefer als geplant.",
    # Tapered cutters.
    "Set Wall Limit to {limit:g} degrees, or take a straight cutter there.":
        "Wandgrenze auf {limit:g} Grad stellen oder dort einen geraden Fräser nehmen.",
    "The flank of the {diameter:g} mm cutter keeps its ball off slopes above {limit:g} degrees: {area:.0f} mm² of the planned surface are steeper.":
        "Die Flanke des {diameter:g}-mm-Fräsers hält seine Kugel von Schrägen über {limit:g} Grad ab: {area:.0f} mm² der geplanten Fläche "
        "sind steiler.",
    "Taper": "Kegel",
    "{angle:g}° to {top:g} mm": "{angle:g}° bis {top:g} mm",
    # Order of the sides.
    "Cut the {side} first: after it the weakest section of the stock is {share:.0%} as stiff as whole stock, after the other side {other:.0%}.":
        "Zuerst die {side} fräsen: Danach hat der schwächste Querschnitt des Rohlings noch {share:.0%} der Steifigkeit des vollen, nach der anderen "
        "Seite {other:.0%}.",
    "Set First Side, and plan both again: their zeros change.": "Die erste Seite umstellen und beide neu planen: Ihre Nullpunkte ändern sich.",
    # Test coupons.
    "Measured on a test coupon: {known}.": "An einem Probestück gemessen: {known}.",
    "Runs take {factor:.3f} times their plain estimate on this machine.":
        "Läufe dauern auf dieser Maschine das {factor:.3f}-Fache ihrer reinen Schätzung.",
    "The cusp height is {cusp:g} mm.": "Die Kammhöhe beträgt {cusp:g} mm.",
    "The cutter cuts {diameter:.2f} mm; it was planned as {planned:g} mm.":
        "Der Fräser fräst {diameter:.2f} mm breit; geplant war er mit {planned:g} mm.",
    "Z zero stood {off:.2f} mm too high, so that all was cut too shallow: set it that much lower.":
        "Der Z-Nullpunkt lag {off:.2f} mm zu hoch, sodass alles zu flach gefräst ist: ihn um so viel tiefer setzen.",
    "Z zero stood {off:.2f} mm too low, so that all was cut too deep: set it that much higher.":
        "Der Z-Nullpunkt lag {off:.2f} mm zu tief, sodass alles zu tief gefräst ist: ihn um so viel höher setzen.",
    "Z zero was right within {off:.2f} mm.": "Der Z-Nullpunkt stimmte auf {off:.2f} mm.",
}  # fmt: skip
