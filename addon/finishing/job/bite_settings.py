"""What the cutter may be asked to take along its passes."""

from __future__ import annotations

from dataclasses import dataclass

from ..core.errors import BadRequest
from .wood import WOODS


@dataclass(frozen=True)
class BiteSettings:
    """What the cutter may be asked to take.

    wood: name of a kind of wood. greatest_bend: mm that the tip may bend. lower_feed: where a limit would be passed, whether the
    feed is lowered; else the place is only reported.
    """

    wood: str = "hardwood"
    greatest_bend: float = 0.05
    lower_feed: bool = True

    def __post_init__(self) -> None:
        if self.wood not in {wood.name for wood in WOODS}:
            raise BadRequest("The wood must be one of {choices}, not '{given}'.", choices=tuple(wood.name for wood in WOODS), given=self.wood)
        if not self.greatest_bend > 0:
            raise BadRequest("The greatest bend must be above 0 mm, not {value}.", value=self.greatest_bend)
