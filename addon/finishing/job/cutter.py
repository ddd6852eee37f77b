"""The round-nose cutter and the rack of cutters that are at hand."""

from __future__ import annotations

import math
from dataclasses import dataclass

from ..core.errors import BadRequest
from ..core.message import setting_name


@dataclass(frozen=True)
class Cutter:
    """A round-nose (ball) cutter; lengths in mm, named in ISO 13399 by the symbols in brackets.

    diameter (DC, the ball's radius RE is half of it), flutes (NOF), usable_length (LU, from the tip to where the
    shank or a collar would rub), shank_diameter (DCON), stick_out (LPR, from the tip to the collet nut),
    feed in mm/min, spindle_speed in 1/min.
    """

    name: str
    diameter: float
    flutes: int = 2
    usable_length: float = 50.0
    shank_diameter: float = 12.0
    stick_out: float = 60.0
    feed: float = 3500.0
    spindle_speed: float = 18000.0

    def __post_init__(self) -> None:
        for field in ("diameter", "usable_length", "shank_diameter", "stick_out", "feed", "spindle_speed"):
            value = getattr(self, field)
            if not (math.isfinite(value) and value > 0):
                raise BadRequest(
                    "Cutter '{cutter}': {setting} must be above 0, not {value}.", cutter=self.name, setting=setting_name(field), value=value
                )
        if self.flutes < 1:
            raise BadRequest("Cutter '{cutter}': a cutter has at least one flute.", cutter=self.name)

    @property
    def radius(self) -> float:
        """Radius of the ball in mm."""
        return self.diameter / 2


DEFAULT_RACK: tuple[Cutter, ...] = (
    Cutter("Round-nose 6", 6.0, shank_diameter=6.0, usable_length=25.0, stick_out=35.0, feed=2500.0),
    Cutter("Round-nose 8", 8.0, shank_diameter=8.0, usable_length=30.0, stick_out=40.0, feed=3000.0),
    Cutter("Round-nose 10", 10.0, shank_diameter=8.0, usable_length=35.0, stick_out=45.0, feed=3000.0),
    Cutter("Round-nose 12", 12.0, usable_length=40.0, stick_out=55.0),
    Cutter("Round-nose 16", 16.0),
    Cutter("Round-nose 22", 22.0),
    Cutter("Round-nose 25", 25.0, spindle_speed=16000.0),
    Cutter("Round-nose 32", 32.0, spindle_speed=14000.0),
)
"""A rack of our own for a small shop; sizes from 16 to 32 mm for body work are common practice, no source."""
