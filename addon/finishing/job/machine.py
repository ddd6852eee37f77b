"""The record of a three-axis router: what its axes, its control, spindle and collet nut can do."""

from __future__ import annotations

from dataclasses import dataclass, replace

from ..core.errors import BadRequest
from .setting_kinds import Choice, Number, Record, Setting, Text, YesNo, require

OVERLAP, CORNER_SPEED, EXACT_STOP = CORNER_KINDS = ("overlap", "corner speed", "exact stop")
"""How a control takes the corner between two blocks of a program. Overlap: the next block begins while the one before still slows down,
so that the corner is rounded within a tolerance. Corner speed: the corner is passed at a speed that depends on its angle. Exact stop:
every block ends at rest."""

LEAST_FACTOR, GREATEST_FACTOR = 0.2, 5.0
"""Measured over estimated time that is believed: beyond, the times belong to different runs or in different units (minutes, seconds)."""


SPEED = Number(1.0, 100000.0, "mm/min")
"""Speeds and feeds; accelerations in mm/s2 and turns of the spindle in 1/min have the same limits."""


def _speed(name: str, meaning: str, unit: str = "mm/min") -> Setting:
    return Setting(name, replace(SPEED, unit=unit), meaning)


MACHINE = Record(
    "Machine",
    (
        Setting("name", Text(), "Name of the machine"),
        _speed("speed_x", "Greatest speed of the X axis (axes as in ISO 841)"),
        _speed("speed_y", "Greatest speed of the Y axis"),
        _speed("speed_z", "Greatest speed of the Z axis"),
        _speed("acceleration_x", "Acceleration of the X axis", "mm/s²"),
        _speed("acceleration_y", "Acceleration of the Y axis", "mm/s²"),
        _speed("acceleration_z", "Acceleration of the Z axis", "mm/s²"),
        Setting("corners", Choice(CORNER_KINDS), "How the control takes the corner between two blocks of a program"),
        Setting(
            "corner_rounding",
            Number(0.0, 1.0, "mm"),
            "How far a rounded corner may leave the path: the tolerance of the overlap, or what sets the corner speed",
        ),
        Setting("blocks_ahead", Number(1, 10000, whole=True), "Blocks of the program that the control knows and can stop within, with the current one"),
        Setting(
            "blocks_per_second",
            Number(5, 100000, whole=True),
            "Blocks of the program that the control takes in a second: where it would have to take more, feeds are eased",
        ),
        _speed("air_feed", "Speed of moves in the air"),
        _speed("plunge_feed", "Feed of moves straight down, and the greatest speed downwards on ramps"),
        Setting("safe_height", Number(0.1, 200.0, "mm"), "Height above the stock for moves in the air"),
        Setting("bed_x", Number(10.0, 20000.0, "mm"), "Length of the bed along X"),
        Setting("bed_y", Number(10.0, 20000.0, "mm"), "Length of the bed along Y"),
        Setting("travel_z", Number(5.0, 2000.0, "mm"), "How far the spindle can move up and down"),
        _speed("spindle_least", "Least turns of the spindle", "1/min"),
        _speed("spindle_greatest", "Greatest turns of the spindle", "1/min"),
        Setting("spin_up_seconds", Number(0.0, 120.0, "s"), "How long a program waits after the spindle starts"),
        Setting("tool_change_minutes", Number(0.0, 120.0, "min"), "Minutes to change the cutter and set its zero"),
        Setting("nut_diameter", Number(1.0, 200.0, "mm"), "Diameter of the collet nut"),
        Setting("nut_length", Number(1.0, 200.0, "mm"), "Length of the collet nut"),
        Setting("time_factor", Number(LEAST_FACTOR, GREATEST_FACTOR), "Measured time over estimated time, 1 until a run has been measured"),
        Setting("timing_tested", YesNo(), "Whether speeds, accelerations, corners and blocks ahead come from a timing test on this machine"),
    ),
)
"""The record of a router."""


@dataclass(frozen=True)
class Machine:
    """Limits of a machine: see MACHINE. The defaults are a small hobby router's."""

    name: str = "Small router"
    speed_x: float = 5000.0
    speed_y: float = 5000.0
    speed_z: float = 1500.0
    acceleration_x: float = 400.0
    acceleration_y: float = 400.0
    acceleration_z: float = 150.0
    corner_rounding: float = 0.02
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
    blocks_per_second: int = 100

    def __post_init__(self) -> None:
        require(MACHINE, self)
        if self.spindle_least > self.spindle_greatest:
            raise BadRequest("Machine: Least Spindle is above Greatest Spindle: swap them.")
