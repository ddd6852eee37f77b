"""The rack and the machine as they stand on the scene, and the frozen records made from them."""

from __future__ import annotations

import json
from dataclasses import asdict, fields

import bpy
from bpy.props import BoolProperty, CollectionProperty, EnumProperty, FloatProperty, IntProperty, PointerProperty, StringProperty

from ..finishing.core.errors import BadRequest
from ..finishing.job.cutter import DEFAULT_RACK, Cutter
from ..finishing.job.machine import CORNER_SPEED, EXACT_STOP, OVERLAP, Machine
from ..finishing.motion.run_time import GREATEST_FACTOR, LEAST_FACTOR
from .length_properties import Length, lengths, stored_name


def _renamed(cutter_item: bpy.types.PropertyGroup, _context: bpy.types.Context) -> None:
    """Keep the names of the rack's cutters apart, since a body names its cutter."""
    others = {other.name for other in cutter_item.id_data.finishing.cutters if other != cutter_item}
    if cutter_item.name in others:
        cutter_item.name = free_name(cutter_item.name, others)


def free_name(name: str, taken: set[str]) -> str:
    """The name itself, or with the first free number behind it."""
    number = 2
    candidate = name
    while candidate in taken:
        candidate = f"{name} ({number})"
        number += 1
    return candidate


@lengths(
    diameter=Length("Diameter", "Diameter of the cutter; the ball at its end has half of it as radius", 16.0, 0.2, 200.0),
    usable_length=Length("Usable Length", "From the tip to where the shank or a collar would rub", 50.0, 0.5, 400.0),
    shank_diameter=Length("Shank", "Diameter of the shank that the collet holds", 12.0, 0.5, 60.0),
    stick_out=Length("Stick-Out", "From the tip to the collet nut, as the cutter is clamped", 60.0, 1.0, 500.0),
)
class FinishingCutter(bpy.types.PropertyGroup):
    """One round-nose cutter of the rack."""

    name: StringProperty(name="Name", description="Name of the cutter, as on its box or drawer", default="Round-nose", update=_renamed)
    flutes: IntProperty(name="Flutes", description="Number of cutting edges", default=2, min=1, max=12)
    feed: FloatProperty(
        name="Feed (mm/min)", description="Feed along pass lines in mm/min", default=3500.0, min=1.0, max=60000.0, precision=0, step=10000
    )
    spindle_speed: FloatProperty(
        name="Spindle (1/min)", description="Turns of the spindle per minute", default=18000.0, min=100.0, max=100000.0, precision=0, step=100000
    )


def _speed(label: str, tooltip: str, default: float) -> object:
    return FloatProperty(name=label, description=tooltip, default=default, min=1.0, max=100000.0, precision=0, step=10000)


_MACHINE = Machine()


@lengths(
    junction_deviation=Length(
        "Corner Tolerance", "How far a rounded corner may leave the path; sets the speed through corners", _MACHINE.junction_deviation, 0.0, 1.0
    ),
    safe_height=Length("Safe Height", "Height above the stock for moves in the air", _MACHINE.safe_height, 0.1, 200.0),
    bed_x=Length("Bed X", "Length of the bed along X", _MACHINE.bed_x, 10.0, 20000.0, 1),
    bed_y=Length("Bed Y", "Length of the bed along Y", _MACHINE.bed_y, 10.0, 20000.0, 1),
    travel_z=Length("Z Travel", "How far the spindle can move up and down", _MACHINE.travel_z, 5.0, 2000.0, 1),
    nut_diameter=Length("Nut Diameter", "Diameter of the collet nut", _MACHINE.nut_diameter, 1.0, 200.0),
    nut_length=Length("Nut Length", "Length of the collet nut", _MACHINE.nut_length, 1.0, 200.0),
)
class FinishingMachine(bpy.types.PropertyGroup):
    """The record of the router."""

    name: StringProperty(name="Name", description="Name of the machine", default=_MACHINE.name)
    speed_x: _speed("X Speed (mm/min)", "Greatest speed of the X axis in mm/min", _MACHINE.speed_x)
    speed_y: _speed("Y Speed (mm/min)", "Greatest speed of the Y axis in mm/min", _MACHINE.speed_y)
    speed_z: _speed("Z Speed (mm/min)", "Greatest speed of the Z axis in mm/min", _MACHINE.speed_z)
    acceleration_x: _speed("X Acceleration (mm/s²)", "Acceleration of the X axis in mm/s²", _MACHINE.acceleration_x)
    acceleration_y: _speed("Y Acceleration (mm/s²)", "Acceleration of the Y axis in mm/s²", _MACHINE.acceleration_y)
    acceleration_z: _speed("Z Acceleration (mm/s²)", "Acceleration of the Z axis in mm/s²", _MACHINE.acceleration_z)
    air_feed: _speed("Air Speed (mm/min)", "Speed of moves in the air in mm/min", _MACHINE.air_feed)
    plunge_feed: _speed("Plunge Feed (mm/min)", "Feed straight down in mm/min", _MACHINE.plunge_feed)
    spindle_least: _speed("Least Spindle (1/min)", "Least turns of the spindle per minute", _MACHINE.spindle_least)
    spindle_greatest: _speed("Greatest Spindle (1/min)", "Greatest turns of the spindle per minute", _MACHINE.spindle_greatest)
    spin_up_seconds: FloatProperty(
        name="Spin-Up (s)", description="Seconds to wait after the spindle starts", default=_MACHINE.spin_up_seconds, min=0.0, max=120.0, precision=1
    )
    tool_change_minutes: FloatProperty(
        name="Tool Change (min)", description="Minutes to change the cutter and set its zero",
        default=_MACHINE.tool_change_minutes, min=0.0, max=120.0, precision=1,
    )  # fmt: skip
    time_factor: FloatProperty(
        name="Time Factor", description="Measured time over estimated time; 1 until a run has been measured",
        default=_MACHINE.time_factor, min=LEAST_FACTOR, max=GREATEST_FACTOR, precision=3,
    )  # fmt: skip
    corners: EnumProperty(
        name="Corners", description="How the control takes the corner between two blocks of a program", default=_MACHINE.corners,
        items=(
            (OVERLAP, "Overlap", "The next block begins while the one before still slows down: corners are rounded within the tolerance"),
            (CORNER_SPEED, "Corner Speed", "Corners are passed at a speed that depends on their angle and the tolerance"),
            (EXACT_STOP, "Exact Stop", "Every block ends at rest"),
        ),
    )  # fmt: skip
    blocks_ahead: IntProperty(
        name="Blocks Ahead", description="Blocks of the program that the control knows and can stop within", default=_MACHINE.blocks_ahead,
        min=1, max=10000,
    )  # fmt: skip
    timing_tested: BoolProperty(
        name="Timing Tested", description="Speeds, accelerations, corners and blocks ahead come from a timing test on this machine",
        default=_MACHINE.timing_tested,
    )  # fmt: skip


def rack_text(rack: bpy.types.PropertyGroup) -> str:
    """The rack as text, for presets."""
    return json.dumps([asdict(cutter_of(item)) for item in rack.cutters])


def set_rack_text(rack: bpy.types.PropertyGroup, text: str) -> None:
    """Put the cutters of a text on the rack, in place of those on it. A text that is none leaves the rack as it is."""
    try:
        cutters = [Cutter(**values) for values in json.loads(text)]
    except (ValueError, TypeError, BadRequest):
        return
    rack.cutters.clear()
    for cutter in cutters:
        set_record(rack.cutters.add(), cutter)
    rack.active_cutter = 0


class FinishingRack(bpy.types.PropertyGroup):
    """What a shop has: its cutters and its machine."""

    cutters: CollectionProperty(type=FinishingCutter)
    active_cutter: IntProperty(name="Active Cutter", description="Row of the rack that is shown below the list", default=0, min=0)
    machine: PointerProperty(type=FinishingMachine)
    as_text: StringProperty(
        name="Rack", description="All cutters of the rack as text: what a preset of the rack holds",
        get=rack_text, set=set_rack_text, options={"HIDDEN", "SKIP_SAVE"},
    )  # fmt: skip


def cutter_of(item: FinishingCutter) -> Cutter:
    """The cutter that a row of the rack describes."""
    return _record(item, Cutter)


def machine_of(item: FinishingMachine) -> Machine:
    """The machine that a record on the scene describes."""
    return _record(item, Machine)


def _record(item: bpy.types.PropertyGroup, kind: type) -> object:
    """A frozen record from properties of the same names, lengths from their mm."""
    values = {}
    for entry in fields(kind):
        name = stored_name(entry.name) if entry.name in item.length_names else entry.name
        value = getattr(item, name)
        # Single precision must not put 0.02000000048 into the records and their digests.
        values[entry.name] = round(value, 5) if isinstance(value, float) else value
    return kind(**values)


def set_record(item: bpy.types.PropertyGroup, record: Cutter | Machine) -> None:
    """Write a record into properties of the same names."""
    for entry in fields(record):
        name = stored_name(entry.name) if entry.name in item.length_names else entry.name
        setattr(item, name, getattr(record, entry.name))


def fill_rack(scene: bpy.types.Scene) -> None:
    """Put the built-in cutters on a rack that has none."""
    rack = scene.finishing
    if len(rack.cutters) == 0:
        for cutter in DEFAULT_RACK:
            set_record(rack.cutters.add(), cutter)
        rack.active_cutter = 0


CLASSES = (FinishingCutter, FinishingMachine, FinishingRack)
