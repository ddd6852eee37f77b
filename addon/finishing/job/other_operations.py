"""Other operations on the same side: roughing, details, drilling. They have their place in the running order, and take their minutes."""

from __future__ import annotations

from dataclasses import dataclass

from .setting_kinds import Choice, Number, OrNothing, Record, Setting, Text, require
from .stock import SIDES

PLACES = ("before", "after")

OTHER_OPERATION = Record(
    "Other operation",
    (
        Setting("name", Text(), "What is done: roughing, details, drilling"),
        Setting("cutter", Text(), "Cutter that this operation takes"),
        Setting("minutes", Number(0.0, 6000.0, "min"), "Its run time"),
        Setting("side", Choice(SIDES), "Side that it is done on"),
        Setting("place", Choice(PLACES), "Before or after the finishing"),
        Setting("stick_out", OrNothing(Number(0.0, 500.0, "mm"), "not known"), "From the tip to the collet nut, as its cutter is clamped"),
        Setting("z_zero", Text(), "Where its Z zero is, in your words; empty for that of the side"),
    ),
    needed=("name", "cutter", "minutes"),
    partial=False,
)
"""Another operation on a side."""


@dataclass(frozen=True)
class OtherOperation:
    """One operation that is planned in another program or run by hand: see OTHER_OPERATION."""

    name: str
    cutter: str
    minutes: float
    side: str = "top"
    place: str = "before"
    stick_out: float | None = None
    z_zero: str = ""

    def __post_init__(self) -> None:
        require(OTHER_OPERATION, self)


def minutes_of_others(operations: tuple[OtherOperation, ...], side: str, tool_change_minutes: float) -> float:
    """Minutes of a side that go to other operations, with a tool change for each: what finishing cannot have."""
    own = [item for item in operations if item.side == side]
    return sum(item.minutes for item in own) + len(own) * tool_change_minutes
