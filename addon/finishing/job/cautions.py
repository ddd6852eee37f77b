"""The usual cautions, in one place for README, panel, bench sheet, summary and program files."""

from __future__ import annotations

CAUTIONS: tuple[str, ...] = (
    "A router can maim: wear eye and ear protection, no gloves, jewellery or loose clothing, and tie long hair back.",
    "Extract the dust and wear a mask: dust of hardwood, softwood and MDF harms, hardwood dust causes cancer, and dust is a fire risk.",
    "Clamp the stock so that it cannot move, and again after turning it over.",
    "See that no metal is in the wood, and keep clamps, dowels and screws out of the path.",
    "Unplug the router before changing cutters.",
    "Never run a cutter above the speed marked on it, nor with less shank in the collet than its maker asks.",
    "Look at the program in the control's own preview, make the dry run above the work, and make the first run at reduced feed.",
    "If the program does not switch the router, switch it on first and let it reach its speed.",
    "Never leave the machine running alone: stay by it with the stop switch in reach.",
    "Keep hands away while the spindle turns, and let it stop before you reach in.",
    "Feeds and speeds here are suggestions: local codes, the machine's manual and the cutter's maker come first.",
)
"""After ISO 19085-3 (routing machines), Directive (EU) 2017/2398 (hardwood dust) and common practice."""
