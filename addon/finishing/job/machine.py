"""The record of a three-axis router: what its axes, spindle and collet nut can do."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields

from ..core.errors import BadRequest
from ..core.message import setting_name


@dataclass(frozen=True)
class Machine:
    """Limits of a machine. Axes as in ISO 841; the defaults are a small hobby router's.

    speed_*: greatest speed per axis, mm/min. acceleration_*: mm/s2. junction_deviation: mm, how far a rounded
    corner may leave the path (sets the corner speed). air_feed: speed of moves in the air, mm/min (clipped by the axes).
    plunge_feed: mm/min, moves straight down. safe_height: mm above the stock. bed_x, bed_y, travel_z: mm.
    spindle_least, spindle_greatest: 1/min. spin_up_seconds: waiting after the spindle starts. tool_change_minutes.
    nut_diameter, nut_length: collet nut, mm. time_factor: measured time over estimated time, 1 until calibrated.
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

    def __post_init__(self) -> None:
        may_be_zero = {"junction_deviation", "spin_up_seconds", "tool_change_minutes"}
        for field in fields(self):
            value = getattr(self, field.name)
            if field.name == "name":
                continue
            if not math.isfinite(value) or value < 0 or (value == 0 and field.name not in may_be_zero):
                raise BadRequest("Machine: {setting} must be above 0, not {value}.", setting=setting_name(field.name), value=value)
        if self.spindle_least > self.spindle_greatest:
            raise BadRequest("Machine: the least spindle speed is above the greatest one.")
