"""What the cutter may be asked to take along its passes."""

from __future__ import annotations

from dataclasses import dataclass

from .setting_kinds import Choice, Number, Record, Setting, YesNo, require
from .wood import WOODS

BITE = Record(
    "Bite",
    (
        Setting("wood", Choice(tuple(wood.name for wood in WOODS)), "Kind of wood or board: it sets the chip load"),
        Setting("tip_bend_limit", Number(0.001, 2.0, "mm"), "How far the tip of the cutter may bend under its chips"),
        Setting("lower_feed", YesNo(), "Whether the feed is lowered where a limit would be passed; else the place is only reported"),
    ),
)
"""What may be asked of the cutter."""


@dataclass(frozen=True)
class BiteSettings:
    """What the cutter may be asked to take: see BITE."""

    wood: str = "hardwood"
    tip_bend_limit: float = 0.05
    lower_feed: bool = True

    def __post_init__(self) -> None:
        require(BITE, self)
