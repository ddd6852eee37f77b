"""The usual cautions, in one place for README, panel, bench sheet and program files."""

from __future__ import annotations

CAUTIONS: tuple[str, ...] = (
    "A router can maim: wear eye and ear protection, and keep hands, sleeves and hair away while the spindle turns.",
    "Extract the dust and wear a mask: hardwood dust causes cancer.",
    "Never run a cutter above the speed marked on it, nor with less shank in the collet than its maker asks.",
    "Keep clamps, dowels and screws out of the path, and make a dry run above the work first.",
    "Let the spindle stop before you reach in.",
    "Feeds and speeds here are suggestions: the cutter maker's limits, the machine's manual and local codes come first.",
)
"""After ISO 19085-3 (routing machines), Directive (EU) 2017/2398 (hardwood dust) and common practice."""
