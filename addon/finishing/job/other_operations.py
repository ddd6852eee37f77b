"""Other operations on the same side: roughing, details, drilling. They have their place in the running order, and take their minutes."""

from __future__ import annotations

from dataclasses import dataclass

from ..core.errors import BadRequest
from .stock import SIDES

PLACES = ("before", "after")


@dataclass(frozen=True)
class OtherOperation:
    """One operation that is planned in another program or run by hand. minutes: its run time. side: "top" or "back".

    place: before or after the finishing. stick_out: mm, None where it is not known. z_zero: where its Z zero is, in the user's words, ""
    for that of the side.
    """

    name: str
    cutter: str
    minutes: float
    side: str = "top"
    place: str = "before"
    stick_out: float | None = None
    z_zero: str = ""

    def __post_init__(self) -> None:
        if self.side not in SIDES or self.place not in PLACES:
            raise BadRequest("Operation '{name}' must be on the side top or back, before or after the finishing.", name=self.name)
        if not self.minutes >= 0:
            raise BadRequest("Operation '{name}' must take 0 minutes or more, not {value}.", name=self.name, value=self.minutes)


def minutes_of_others(operations: tuple[OtherOperation, ...], side: str, tool_change_minutes: float) -> float:
    """Minutes of a side that go to other operations, with a tool change for each: what finishing cannot have."""
    own = [item for item in operations if item.side == side]
    return sum(item.minutes for item in own) + len(own) * tool_change_minutes
