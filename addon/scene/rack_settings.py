"""The rack and the machine as they stand on the scene, and the frozen records made from them."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, fields
from types import MappingProxyType
from typing import Any, TypeVar

import bpy

from ..finishing.core.errors import BadRequest
from ..finishing.job.cutter import CUTTER, DEFAULT_RACK, Cutter
from ..finishing.job.machine import CORNER_SPEED, EXACT_STOP, MACHINE, OVERLAP, SPEED, Machine
from .length_properties import stored_name
from .program_properties import FinishingProgram
from .properties import Rows, attached, choice, length, limits, number, record, rows, switch, text_line, whole_number, with_properties

Record = TypeVar("Record", Cutter, Machine)

SCENE_PROPERTY = "finishing"
"""Name of rack and machine on every scene."""

DECIMALS_KEPT = 5
"""Single precision must not put 0.02000000048 into the records and their digests."""


def _renamed(cutter_item: FinishingCutter, _context: bpy.types.Context) -> None:
    """Keep the names of the rack's cutters different, since a body names its cutter."""
    scene = cutter_item.id_data
    if not isinstance(scene, bpy.types.Scene):
        return
    others = {other.name for other in shop_of(scene).cutters if other != cutter_item}
    if cutter_item.name in others:
        cutter_item.name = free_name(cutter_item.name, others)


def free_name(name: str, taken: set[str]) -> str:
    """The name itself, or with the first free number behind it."""
    count = 2
    candidate = name
    while candidate in taken:
        candidate = f"{name} ({count})"
        count += 1
    return candidate


@with_properties
class FinishingCutter(bpy.types.PropertyGroup):
    """One round-nose cutter of the rack."""

    diameter_mm: float = length(
        "Diameter", "Diameter of the cutter; the ball at its end has half of it as radius", 16.0, within=CUTTER.limits("diameter")
    )
    usable_length_mm: float = length(
        "Usable Length", "From the tip to where the shank or a collar would rub", 50.0, within=CUTTER.limits("usable_length")
    )
    shank_diameter_mm: float = length("Shank Diameter", "Diameter of the shank that the collet holds", 12.0, within=CUTTER.limits("shank_diameter"))
    stick_out_mm: float = length("Stick-Out", "From the tip to the collet nut, as the cutter is clamped", 60.0, within=CUTTER.limits("stick_out"))
    measured_diameter_mm: float = length(
        "Measured",
        "Diameter over the edges as measured at rest, which it is planned with; 0 where it was not measured",
        0.0,
        within=CUTTER.limits("measured_diameter"),
    )
    runout_mm: float = length(
        "Runout", "Total reading of an indicator on the ball while the spindle is turned by hand", 0.0, within=CUTTER.limits("runout")
    )
    top_diameter_mm: float = length(
        "Top Diameter",
        "Diameter at which the taper of a tapered cutter ends; 0 where it ends at the shank's diameter",
        0.0,
        within=CUTTER.limits("top_diameter"),
    )
    half_angle: float = number(
        name="Half Angle (°)",
        description="Angle between the flank of a tapered cutter and its axis; 0 for a straight one",
        default=0.0,
        **limits(CUTTER.limits("half_angle")),
        precision=2,
    )
    name: str = text_line(name="Name", description="Name of the cutter, as on its box or drawer", default="Round-nose", update=_renamed)
    flutes: int = whole_number(name="Flutes", description="Number of cutting edges", default=2, **limits(CUTTER.limits("flutes")))
    feed: float = number(
        name="Feed (mm/min)", description="Feed along pass lines in mm/min", default=3500.0, **limits(CUTTER.limits("feed")), precision=0, step=10000
    )
    spindle_speed: float = number(
        name="Spindle (1/min)",
        description="Turns of the spindle per minute",
        default=18000.0,
        **limits(CUTTER.limits("spindle_speed")),
        precision=0,
        step=100000,
    )


def _speed(label: str, tooltip: str, default: float) -> float:
    """A speed, feed or acceleration, shown without decimals."""
    return number(name=label, description=tooltip, default=default, **limits(SPEED), precision=0, step=10000)


_MACHINE = Machine()


@with_properties
class FinishingMachine(bpy.types.PropertyGroup):
    """The record of the router."""

    corner_rounding_mm: float = length(
        "Corner Rounding",
        "How far a rounded corner may leave the path; sets the speed through corners",
        _MACHINE.corner_rounding,
        within=MACHINE.limits("corner_rounding"),
    )
    safe_height_mm: float = length(
        "Safe Height", "Height above the stock for moves in the air", _MACHINE.safe_height, within=MACHINE.limits("safe_height")
    )
    bed_x_mm: float = length("Bed X", "Length of the bed along X", _MACHINE.bed_x, within=MACHINE.limits("bed_x"), decimals=1)
    bed_y_mm: float = length("Bed Y", "Length of the bed along Y", _MACHINE.bed_y, within=MACHINE.limits("bed_y"), decimals=1)
    travel_z_mm: float = length(
        "Z Travel", "How far the spindle can move up and down", _MACHINE.travel_z, within=MACHINE.limits("travel_z"), decimals=1
    )
    nut_diameter_mm: float = length("Nut Diameter", "Diameter of the collet nut", _MACHINE.nut_diameter, within=MACHINE.limits("nut_diameter"))
    nut_length_mm: float = length("Nut Length", "Length of the collet nut", _MACHINE.nut_length, within=MACHINE.limits("nut_length"))
    name: str = text_line(name="Name", description="Name of the machine", default=_MACHINE.name)
    speed_x: float = _speed("X Speed (mm/min)", "Greatest speed of the X axis in mm/min", _MACHINE.speed_x)
    speed_y: float = _speed("Y Speed (mm/min)", "Greatest speed of the Y axis in mm/min", _MACHINE.speed_y)
    speed_z: float = _speed("Z Speed (mm/min)", "Greatest speed of the Z axis in mm/min", _MACHINE.speed_z)
    acceleration_x: float = _speed("X Acceleration (mm/s²)", "Acceleration of the X axis in mm/s²", _MACHINE.acceleration_x)
    acceleration_y: float = _speed("Y Acceleration (mm/s²)", "Acceleration of the Y axis in mm/s²", _MACHINE.acceleration_y)
    acceleration_z: float = _speed("Z Acceleration (mm/s²)", "Acceleration of the Z axis in mm/s²", _MACHINE.acceleration_z)
    air_feed: float = _speed("Air Speed (mm/min)", "Speed of moves in the air in mm/min", _MACHINE.air_feed)
    plunge_feed: float = _speed(
        "Plunge Feed (mm/min)",
        "Feed straight down in mm/min. Ramps run at the feed of the lines, but come down no faster than this",
        _MACHINE.plunge_feed,
    )
    spindle_least: float = _speed("Least Spindle (1/min)", "Least turns of the spindle per minute", _MACHINE.spindle_least)
    spindle_greatest: float = _speed("Greatest Spindle (1/min)", "Greatest turns of the spindle per minute", _MACHINE.spindle_greatest)
    spin_up_seconds: float = number(
        name="Spin-Up (s)",
        description="Seconds to wait after the spindle starts",
        default=_MACHINE.spin_up_seconds,
        **limits(MACHINE.limits("spin_up_seconds")),
        precision=1,
    )
    tool_change_minutes: float = number(
        name="Tool Change (min)",
        description="Minutes to change the cutter and set its zero",
        default=_MACHINE.tool_change_minutes,
        **limits(MACHINE.limits("tool_change_minutes")),
        precision=1,
    )
    time_factor: float = number(
        name="Time Factor",
        description="Measured time over estimated time; 1 until a run has been measured",
        default=_MACHINE.time_factor,
        **limits(MACHINE.limits("time_factor")),
        precision=3,
    )
    corners: str = choice(
        name="Corners",
        description="How the control takes the corner between two blocks of a program",
        default=_MACHINE.corners,
        items=(
            (OVERLAP, "Overlap", "The next block begins while the one before still slows down: corners are rounded within the tolerance"),
            (CORNER_SPEED, "Corner Speed", "Corners are passed at a speed that depends on their angle and the tolerance"),
            (EXACT_STOP, "Exact Stop", "Every block ends at rest"),
        ),
    )
    blocks_ahead: int = whole_number(
        name="Blocks Ahead",
        description="Blocks of the program that the control knows and can stop within",
        default=_MACHINE.blocks_ahead,
        **limits(MACHINE.limits("blocks_ahead")),
    )
    blocks_per_second: int = whole_number(
        name="Blocks a Second",
        description="Blocks of the program that the control takes in a second: where it would have to take more, feeds are eased",
        default=_MACHINE.blocks_per_second,
        **limits(MACHINE.limits("blocks_per_second")),
    )
    timing_tested: bool = switch(
        name="Timing Tested",
        description="Speeds, accelerations, corners and blocks ahead come from a timing test on this machine",
        default=_MACHINE.timing_tested,
    )


def rack_text(shop: FinishingShop) -> str:
    """The rack as text, for presets."""
    return json.dumps([asdict(cutter_of(item)) for item in shop.cutters])


def cutters_of_text(text: str) -> list[Cutter]:
    """The cutters that a text describes. Raises BadRequest when it does not describe cutters."""
    try:
        return [Cutter(**values) for values in json.loads(text)]
    except BadRequest:
        raise
    except (ValueError, TypeError, RecursionError) as error:
        raise BadRequest("The rack's text does not describe cutters: take a rack preset, or enter the cutters.") from error


def put_on_rack(shop: FinishingShop, cutters: Sequence[Cutter]) -> None:
    """Put cutters on the rack, in place of those on it."""
    shop.cutters.clear()
    for cutter in cutters:
        set_record(shop.cutters.add(), cutter)
    shop.active_cutter = 0


@with_properties
class FinishingShop(bpy.types.PropertyGroup):
    """What a shop has: its cutters and its machine."""

    cutters: Rows[FinishingCutter] = rows(FinishingCutter)
    active_cutter: int = whole_number(name="Active Cutter", description="Row of the rack that is shown below the list", default=0, min=0)
    machine: FinishingMachine = record(FinishingMachine)
    program: FinishingProgram = record(FinishingProgram)
    as_text: str = text_line(
        name="Rack",
        description="All cutters of the rack as text: what a preset of the rack holds",
        get=rack_text,
        options={"HIDDEN", "SKIP_SAVE"},
    )


def cutter_of(item: FinishingCutter) -> Cutter:
    """The cutter that a row of the rack describes."""
    return _record(item, Cutter)


def machine_of(item: FinishingMachine) -> Machine:
    """The machine that a record on the scene describes."""
    return _record(item, Machine)


def shop_of(scene: bpy.types.Scene) -> FinishingShop:
    """Rack and machine of a scene."""
    return attached(scene, SCENE_PROPERTY, FinishingShop)


def _record(item: FinishingCutter | FinishingMachine, kind: type[Record]) -> Record:
    """A frozen record from properties of the same names, lengths from their mm."""
    values: dict[str, Any] = {}
    for name, held in PROPERTIES[kind].items():
        value = getattr(item, held)
        values[name] = round(value, DECIMALS_KEPT) if isinstance(value, float) else value
    return kind(**values)


def _properties(group: type[bpy.types.PropertyGroup], kind: type[Cutter] | type[Machine]) -> dict[str, str]:
    """Field of a record: name of the property that holds its value; lengths are stored in mm."""
    declared = group.__annotations__
    return {field.name: stored_name(field.name) if stored_name(field.name) in declared else field.name for field in fields(kind)}


PROPERTIES: Mapping[type[Cutter] | type[Machine], Mapping[str, str]] = MappingProxyType(
    {Cutter: _properties(FinishingCutter, Cutter), Machine: _properties(FinishingMachine, Machine)}
)
"""Looked up once: panels read the whole rack at every redraw."""


def set_record(item: FinishingCutter | FinishingMachine, values: Cutter | Machine) -> None:
    """Write a record into properties of the same names."""
    for name, held in PROPERTIES[type(values)].items():
        setattr(item, held, getattr(values, name))


def fill_rack(scene: bpy.types.Scene) -> None:
    """Put the built-in cutters on a rack that has none."""
    shop = shop_of(scene)
    if len(shop.cutters) == 0:
        for cutter in DEFAULT_RACK:
            set_record(shop.cutters.add(), cutter)
        shop.active_cutter = 0


CLASSES = (FinishingCutter, FinishingMachine, FinishingShop)
