"""Kinds of wood and board: the chip load that suits them and what cutting them takes."""

from __future__ import annotations

from dataclasses import dataclass

from ..core.errors import BadRequest
from .cutter import Cutter
from .machine import Machine


@dataclass(frozen=True)
class Wood:
    """A kind of wood or board.

    least_chip, greatest_chip: chip load in mm per tooth, for cuts as deep as the cutter is wide. cutting_pressure: force per
    area of chip in N/mm2.
    """

    name: str
    least_chip: float
    greatest_chip: float
    cutting_pressure: float


WOODS: tuple[Wood, ...] = (
    Wood("hardwood", 0.13, 0.18, 40.0),
    Wood("softwood", 0.15, 0.20, 20.0),
    Wood("plywood", 0.15, 0.23, 35.0),
    Wood("MDF", 0.30, 0.38, 45.0),
)
"""Chip loads: router-bit makers' charts for solid carbide of 1/4 inch, cut 1 x diameter deep. They are the only published
ones at hand; larger cutters bear more, so they are on the safe side. Cutting pressures: from memory, no source."""

DERATING = ((1.0, 1.0), (2.0, 0.75), (3.0, 0.5))
"""(depth over diameter, share of the chip load that remains), from the same charts."""


def wood_named(name: str) -> Wood:
    """The wood of a name. Raises BadRequest when there is none."""
    for wood in WOODS:
        if wood.name == name:
            return wood
    raise BadRequest("The wood must be one of {choices}, not '{given}'.", choices=tuple(wood.name for wood in WOODS), given=name)


def greatest_feed(wood: Wood, spindle_speed: float, flutes: int) -> float:
    """Greatest feed in mm/min within the wood's chip load: feed = speed x flutes x chip load. spindle_speed: 1/min."""
    return spindle_speed * flutes * wood.greatest_chip


def hurried_feed(cutter: Cutter, wood_name: str, machine: Machine) -> float:
    """The fastest feed of a cutter within chip load and axes, and no slower than its own, mm/min."""
    most = greatest_feed(wood_named(wood_name), cutter.spindle_speed, cutter.flutes)
    return max(cutter.feed, min(most, machine.speed_x, machine.speed_y))
