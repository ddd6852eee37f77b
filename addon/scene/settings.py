"""What the user sets: on the object what belongs to a body, on the scene the rack and the machine.

All of it is saved with the file and follows undo. Lengths are stored in mm (see length_properties).
"""

from __future__ import annotations

import math
from dataclasses import fields

import bpy
from bpy.props import (
    BoolProperty,
    CollectionProperty,
    EnumProperty,
    FloatProperty,
    IntProperty,
    PointerProperty,
    StringProperty,
)

from ..finishing.cusp import cusp_on_flat, spacing_on_flat
from ..finishing.cutter import DEFAULT_RACK, Cutter
from ..finishing.machine import Machine
from .length_properties import Length, lengths, scale_for, stored_name


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
        "Junction Deviation", "How far a rounded corner may leave the path; sets the speed through corners", _MACHINE.junction_deviation, 0.0, 1.0
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
        name="Cutter Change (min)", description="Minutes to change the cutter and set its zero",
        default=_MACHINE.tool_change_minutes, min=0.0, max=120.0, precision=1,
    )  # fmt: skip
    time_factor: FloatProperty(
        name="Time Factor", description="Measured time over estimated time; 1 until a run has been measured",
        default=_MACHINE.time_factor, min=0.2, max=5.0, precision=3,
    )  # fmt: skip


class FinishingRack(bpy.types.PropertyGroup):
    """What a shop has: its cutters and its machine."""

    cutters: CollectionProperty(type=FinishingCutter)
    active_cutter: IntProperty(name="Active Cutter", description="Row of the rack that is shown below the list", default=0, min=0)
    machine: PointerProperty(type=FinishingMachine)


class FinishingOpeningChoice(bpy.types.PropertyGroup):
    """How one numbered opening is treated."""

    number: IntProperty()
    treatment: EnumProperty(
        name="Treatment",
        description="What to do with this opening",
        items=(
            ("auto", "As Set Above", "Treat it as all openings are treated"),
            ("skip", "Skip", "Leave it out, with a margin"),
            ("bridge", "Bridge", "Run over it at the level of the ground round it"),
            ("follow", "Follow", "Finish its floor too"),
        ),
    )


def _cutter_radius(settings: bpy.types.PropertyGroup) -> float:
    """Radius in mm of the cutter that spacing is thought for: the named one, else the last one planned with."""
    for item in bpy.context.scene.finishing.cutters:
        if item.name == settings.cutter_name:
            return item.diameter_mm / 2
    return settings.last_radius_mm


def _read_spacing(settings: bpy.types.PropertyGroup) -> float:
    radius = _cutter_radius(settings)
    return float(spacing_on_flat(radius, min(settings.cusp_mm, 0.999 * radius))) / scale_for(settings)


def _write_spacing(settings: bpy.types.PropertyGroup, value: float) -> None:
    radius = _cutter_radius(settings)
    spacing = min(max(value * scale_for(settings), 0.01), 1.9 * radius)
    settings.cusp_mm = min(max(float(cusp_on_flat(radius, spacing)), 0.0005), 5.0)


@lengths(
    cusp=Length("Cusp Height", "Height that may stand between pass lines, along the surface normal", 0.05, 0.0005, 5.0, 4),
    skip_margin=Length("Skip Margin", "Distance that the cutter's contact keeps from skipped ground", 0.5, 0.0, 100.0),
    overrun=Length("Overrun", "How far the cutter's axis may pass the outline of the body", 8.0, 0.0, 200.0),
    lowest_depth=Length("Lowest Depth", "Depth below the body's highest point that the tip never passes", 20.0, 0.0, 1000.0),
    opening_margin=Length("Opening Margin", "Distance that the cutter's contact keeps from a skipped opening", 0.5, 0.0, 100.0),
    uncut_height=Length("Tolerated Height", "Ground with less than this left uncut counts as finished", 0.05, 0.001, 10.0),
    cell=Length("Cell", "Edge of the cells of the height grid; finer is slower and needs more memory", 0.25, 0.02, 10.0),
    chord_tolerance=Length("Chord Tolerance", "How far straight moves may lie off the exact path", 0.002, 0.0002, 0.5, 4),
    stock_length=Length("Stock Length", "Length of the stock along the body's X", 490.0, 1.0, 20000.0, 1),
    stock_width=Length("Stock Width", "Width of the stock along the body's Y", 350.0, 1.0, 20000.0, 1),
    stock_thickness=Length("Stock Thickness", "Thickness of the stock along the body's Z", 45.0, 0.5, 2000.0, 2),
    stock_margin=Length("Stock Margin", "Stock round the body on each side, as long as length and width are not given", 25.0, 0.0, 1000.0, 1),
    into_spoilboard=Length("Into Spoilboard", "How far the path may go below the bottom of the stock", 0.0, 0.0, 50.0, 2),
    dowel_diameter=Length("Dowel Diameter", "Diameter of the dowels that the turned stock lands on", 8.0, 1.0, 40.0, 2),
    dowel_depth=Length("Dowel Depth", "How deep the dowel holes go into the spoilboard", 15.0, 1.0, 100.0, 1),
    body_lift=Length("Body Lift", "Height of the body's lowest point above the bottom of the stock", 0.0, 0.0, 1000.0, 2),
    last_radius=Length("Last Radius", "Radius that spacing is told for while the plan chooses the cutter", 8.0, 0.05, 100.0),
)
class FinishingBody(bpy.types.PropertyGroup):
    """Settings of one body: they live on its object."""

    side: EnumProperty(
        name="Side",
        description="Side of the body that lies up on the machine",
        items=(("top", "Top", "The side that looks up along Z"), ("back", "Back", "The side that looks down along Z")),
    )
    cutter_name: StringProperty(
        name="Cutter", description="Cutter of the rack to plan with; empty takes the largest one that fits"
    )
    spacing: FloatProperty(
        name="Spacing on Flat Ground", description="Distance between pass lines on flat ground: another way to say the cusp height",
        subtype="DISTANCE", unit="LENGTH", precision=3, get=_read_spacing, set=_write_spacing, options={"SKIP_SAVE"},
    )  # fmt: skip
    start: EnumProperty(
        name="Start",
        description="Where the pass lines start from",
        items=(
            ("best", "Best", "Try all starts and keep the one with the shortest run time"),
            ("edge", "From an Edge", "Lines run across the body, starting from one edge"),
            ("middle", "From the Middle", "Lines run beside a straight line through the middle"),
            ("border", "From the Border Inward", "Lines follow the border of the planned ground"),
        ),
    )
    use_start_angle: BoolProperty(name="Direction", description="Lay straight starts in a direction of your own", default=False)
    start_angle: FloatProperty(
        name="Direction", description="Direction of the pass lines from X", subtype="ANGLE", default=0.0, min=-math.pi, max=math.pi
    )
    use_grain: BoolProperty(name="Grain", description="The direction of the wood's grain is known: best tries lines along it", default=False)
    grain_angle: FloatProperty(
        name="Grain Direction", description="Direction of the wood's grain from X", subtype="ANGLE", default=0.0, min=-math.pi, max=math.pi
    )
    direction: EnumProperty(
        name="Cut Direction",
        description="Which way the cutter runs along neighbouring lines",
        items=(
            ("both", "Both Ways", "To and fro, with the least motion in the air"),
            ("climb", "Climb", "One way, the edge cuts with the feed"),
            ("conventional", "Conventional", "One way, the edge cuts against the feed"),
        ),
    )
    use_feed: BoolProperty(name="Own Feed", description="Use another feed than the cutter's own", default=False)
    feed: FloatProperty(
        name="Feed (mm/min)", description="Feed along pass lines in mm/min", default=3500.0, min=1.0, max=60000.0, precision=0, step=10000
    )
    use_budget: BoolProperty(name="Time Budget", description="The minutes that this side may take are known", default=False)
    budget_minutes: FloatProperty(
        name="Budget (min)", description="Minutes that finishing this side may take", default=15.0, min=0.1, max=6000.0, precision=1, step=100
    )
    wall_limit: FloatProperty(
        name="Wall Limit", description="Ground as steep as this from horizontal, or steeper, is left out",
        subtype="ANGLE", default=math.radians(60.0), min=math.radians(5.0), max=math.radians(89.0), precision=3,
    )  # fmt: skip
    use_overrun: BoolProperty(name="Limit Overrun", description="Limit how far the cutter's axis passes the outline", default=False)
    use_lowest_depth: BoolProperty(name="Limit Depth", description="Keep the tip above a lowest depth", default=False)
    openings: EnumProperty(
        name="Openings",
        description="What to do with pockets, holes and slots",
        items=(
            ("auto", "By Width", "Bridge openings narrower than the cutter and skip the others"),
            ("skip", "Skip", "Leave all of them out, with a margin"),
            ("bridge", "Bridge", "Run over all of them at the level of the ground round them"),
            ("follow", "Follow", "Finish their floors too"),
        ),
    )
    opening_choices: CollectionProperty(type=FinishingOpeningChoice)
    uncut_area: FloatProperty(
        name="Tolerated Area (mm²)", description="Area in mm² that may keep more than the tolerated height before a cutter counts as not fitting",
        default=50.0, min=0.0, max=1e6, precision=1,
    )  # fmt: skip
    use_stock_length: BoolProperty(name="Length", description="Give the length of the stock instead of a margin", default=False)
    use_stock_width: BoolProperty(name="Width", description="Give the width of the stock instead of a margin", default=False)
    use_stock_thickness: BoolProperty(name="Thickness", description="Give the thickness of the stock instead of the body's", default=False)
    use_body_lift: BoolProperty(name="Body Lift", description="Say how high the body lies in the stock instead of in its middle", default=False)
    turn_axis: EnumProperty(
        name="Turn About",
        description="Axis that the stock is turned over about",
        items=(("y", "Y Axis", "Turned over sideways"), ("x", "X Axis", "Turned over end to end")),
    )
    xy_zero: EnumProperty(
        name="X Y Zero",
        description="Where X and Y are zero",
        items=(("corner", "Lower Left Corner", "Corner of the stock, seen from above"), ("centre", "Centre", "Middle of the stock")),
    )
    z_zero: EnumProperty(
        name="Z Zero",
        description="What Z is zeroed on",
        items=(
            ("auto", "By Side", "The spoilboard for the first side, the stock's top for the second"),
            ("spoilboard", "Spoilboard", "The board under the stock"),
            ("stock top", "Stock Top", "The top of the stock, not of the body"),
        ),
    )
    dowel_count: EnumProperty(
        name="Dowels",
        description="Dowel holes that the turned stock lands on, placed in its margin",
        items=(("0", "None", "No dowels"), ("2", "Two", "Two on the turn axis"), ("4", "Four", "Four in the corners")),
    )
    first_side: EnumProperty(
        name="First Side",
        description="Side that is cut first",
        items=(("top", "Top", "The top is cut first"), ("back", "Back", "The back is cut first")),
    )


CLASSES = (FinishingCutter, FinishingMachine, FinishingRack, FinishingOpeningChoice, FinishingBody)


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


def register() -> None:
    """Register the property groups and put them on objects and scenes."""
    for group in CLASSES:
        bpy.utils.register_class(group)
    bpy.types.Object.finishing = PointerProperty(type=FinishingBody)
    bpy.types.Scene.finishing = PointerProperty(type=FinishingRack)


def unregister() -> None:
    """Take the properties away and unregister their groups."""
    del bpy.types.Scene.finishing
    del bpy.types.Object.finishing
    for group in reversed(CLASSES):
        bpy.utils.unregister_class(group)
