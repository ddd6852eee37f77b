"""The record of a three-axis router: what its axes, its control, spindle and collet nut can do."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields

from ..core.errors import BadRequest
from ..core.message import setting_name

OVERLAP, CORNER_SPEED, EXACT_STOP = CORNER_KINDS = ("overlap", "corner speed", "exact stop")
"""How a control takes the corner between two blocks of a program. Overlap: the next block begins while the one before still slows down,
so that the corner is rounded within a tolerance. Corner speed: the corner is passed at a speed that depends on its angle. Exact stop:
every block ends at rest."""

NOT_NUMBERS = {"name", "corners", "timing_tested"}
MAY_BE_ZERO = {"junction_deviation", "spin_up_seconds", "tool_change_minutes"}
"""Fields that make sense at 0; all other numbers must be above it."""


@dataclass(frozen=True)
class Machine:
    """Limits of a machine. Axes as in ISO 841; the defaults are a small hobby router's.

    speed_*: greatest speed per axis, mm/min. acceleration_*: mm/s2. corners: how the control takes corners, one of CORNER_KINDS.
    junction_deviation: mm, how far a rounded corner may leave the path: the tolerance of the overlap, or what sets the corner speed.
    blocks_ahead: how many blocks of the program the control knows, the one it is in among them; it must be able to stop within them.
    air_feed: speed of moves in the air, mm/min (clipped by the axes). plunge_feed: mm/min, moves straight down.
    safe_height: mm above the stock. bed_x, bed_y, travel_z: mm.
    spindle_least, spindle_greatest: 1/min. spin_up_seconds: waiting after the spindle starts. tool_change_minutes.
    nut_diameter, nut_length: collet nut, mm. time_factor: measured time over estimated time, 1 until calibrated.
    timing_tested: whether speeds, accelerations, corners and blocks ahead come from a timing test on this machine.
    """

    name: str = "Small router"
    speed_x: float = 5000.0
    speed_y: float = 5000.0
    speed_z: float = 1500.0
    acceleration_x: float = 400.0
    acceleration_y: float = 400.0
    acceleration_z: float = 150.0
    junction_deviation: float = 0.02
    air_feed: float = 5000.0
    plunge_feed: float = 900.0
    safe_height: float = 5.0
    bed_x: float = 800.0
    bed_y: float = 1000.0
    travel_z: float = 150.0
    spindle_least: float = 6000.0
    spindle_greatest: float = 24000.0
    spin_up_seconds: float = 4.0
    tool_change_minutes: float = 2.0
    nut_diameter: float = 30.0
    nut_length: float = 25.0
    time_factor: float = 1.0
    corners: str = OVERLAP
    blocks_ahead: int = 32
    timing_tested: bool = False

    def __post_init__(self) -> None:
        if self.corners not in CORNER_KINDS:
            raise BadRequest("Machine: corners must be one of {choices}, not '{given}'.", choices=CORNER_KINDS, given=self.corners)
        if not isinstance(self.blocks_ahead, int) or self.blocks_ahead < 1:
            raise BadRequest("Machine: blocks ahead must be a whole number of at least 1, not {given}.", given=self.blocks_ahead)
        for field in fields(self):
            value = getattr(self, field.name)
            if field.name in NOT_NUMBERS:
                continue
            allowed = value >= 0 if field.name in MAY_BE_ZERO else value > 0
            if not (math.isfinite(value) and allowed):
                if field.name in MAY_BE_ZERO:
                    raise BadRequest("Machine: {setting} must be 0 or more, not {value}.", setting=setting_name(field.name), value=value)
                raise BadRequest("Machine: {setting} must be above 0, not {value}.", setting=setting_name(field.name), value=value)
        if self.spindle_least > self.spindle_greatest:
            raise BadRequest("Machine: the least spindle speed is above the greatest one.")
