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
    "The last remark in the log: {remark}": "Die letzte Bemerkung im Protokoll: {remark}",
    # Cutters that were measured.
    "The {diameter:g} mm cutter cuts {true:g} mm and is planned so. Planned as {diameter:g} mm it would cut up to {error:.3f} mm too deep on slopes "
    "of up to {slope:.0f} degrees.":
        "Der {diameter:g}-mm-Fräser schneidet {true:g} mm und wird so geplant. Als {diameter:g} mm geplant, schnitte er an Hängen bis {slope:.0f} "
        "Grad um bis zu {error:.3f} mm zu tief.",
    "The {diameter:g} mm cutter cuts {true:g} mm and is planned so. Planned as {diameter:g} mm it would leave up to {error:.3f} mm more on slopes of "
    "up to {slope:.0f} degrees.":
        "Der {diameter:g}-mm-Fräser schneidet {true:g} mm und wird so geplant. Als {diameter:g} mm geplant, ließe er an Hängen bis {slope:.0f} Grad "
        "bis zu {error:.3f} mm mehr stehen.",
    "With a runout of {runout:g} mm the cutter goes up to {deeper:.3f} mm deeper than planned.":
        "Mit einem Rundlauf von {runout:g} mm geht der Fräser bis zu {deeper:.3f} mm tiefer als geplant.",
    "Clean collet and nut, and clamp the cutter again.": "Spannzange und Mutter reinigen und den Fräser neu spannen.",
    # Order of the sides.
    "Cut the {side} first: after it the weakest section of the stock is {share:.0%} as stiff as whole stock, after the other side {other:.0%}.":
        "Zuerst die {side} schneiden: Danach ist der schwächste Querschnitt des Rohlings {share:.0%} so steif wie der volle, nach der anderen Seite "
        "{other:.0%}.",
    "Set First Side, and plan both again: their zeros change.":
        "Die erste Seite umstellen und beide neu planen: Ihre Nullpunkte ändern sich.",
    # Test coupons.
    "Measured on a test coupon: {known}.": "An einem Probestück gemessen: {known}.",
    "The cutter cuts {diameter:.2f} mm; it was planned as {planned:g} mm.":
        "Der Fräser schneidet {diameter:.2f} mm; geplant war er als {planned:g} mm.",
    "Z zero was right within {off:.2f} mm.": "Der Z-Nullpunkt stimmte auf {off:.2f} mm.",
    "Z zero stood {off:.2f} mm too low, so that all was cut too deep: set it that much higher.":
        "Der Z-Nullpunkt stand {off:.2f} mm zu tief, sodass alles zu tief geschnitten ist: ihn um so viel höher setzen.",
    "Z zero stood {off:.2f} mm too high, so that all was cut too shallow: set it that much lower.":
        "Der Z-Nullpunkt stand {off:.2f} mm zu hoch, sodass alles zu flach geschnitten ist: ihn um so viel tiefer setzen.",
    "Runs take {factor:.3f} times their plain estimate on this machine.":
        "Läufe dauern auf dieser Maschine das {factor:.3f}-Fache ihrer reinen Schätzung.",
    "The cusp height is {cusp:g} mm.": "Die Kammhöhe ist {cusp:g} mm.",
}  # fmt: skip
