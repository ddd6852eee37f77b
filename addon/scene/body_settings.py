"""What belongs to one body: side, skip, cutter, cusp height, stock, wood. It lives on the body's object."""

from __future__ import annotations

import math

import bpy
from bpy.props import BoolProperty, CollectionProperty, EnumProperty, FloatProperty, IntProperty, PointerProperty, StringProperty

from ..finishing.core.cusp_formulas import cusp_on_flat, spacing_on_flat
from ..finishing.job.wood import WOODS
from .job_settings import FinishingElsewhere, FinishingFigures, FinishingKeepOut, FinishingOpeningChoice
from .length_properties import Length, lengths, scale_for


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
    allowance=Length("Allowance", "What roughing leaves on the body, along the surface normal", 0.5, 0.0, 20.0, 2),
    step_down=Length("Step-Down", "Height of the terraces that roughing leaves", 4.0, 0.1, 100.0, 2),
    roughing_diameter=Length("Roughing Cutter", "Diameter of the flat cutter that roughs", 22.0, 1.0, 100.0, 1),
    slot_width=Length("Slot Width", "Width of the slot between the body and stock that still stands", 22.0, 0.5, 500.0, 1),
    greatest_bend=Length("Greatest Bend", "How far the tip of the cutter may bend under its chips", 0.05, 0.001, 2.0, 3),
    rest_overlap=Length("Overlap", "How far a smaller cutter goes beyond what the larger one leaves", 1.0, 0.0, 20.0, 2),
    last_radius=Length("Last Radius", "Radius that spacing is told for while the plan chooses the cutter", 8.0, 0.05, 100.0),
)
class FinishingBody(bpy.types.PropertyGroup):
    """Settings of one body: they live on its object."""

    side: EnumProperty(
        name="Side",
        description="Side of the body that lies up on the machine",
        items=(("top", "Top", "The side that looks up along Z"), ("back", "Back", "The side that looks down along Z")),
    )
    cutter_name: StringProperty(name="Cutter", description="Cutter of the rack to plan with; empty takes the largest one that fits")
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
    grain_share: FloatProperty(
        name="Grain Weight", description="How much longer passes may take to run along the grain, as a share of the run time",
        subtype="PERCENTAGE", default=5.0, min=0.0, max=100.0, precision=0,
    )  # fmt: skip
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
    smaller_cutters: BoolProperty(
        name="Smaller Cutters", description="Plan what the cutter cannot reach with the next smaller ones of the rack", default=False
    )
    use_step_down: BoolProperty(name="Step-Down", description="Roughing leaves terraces of this height", default=False)
    use_slot_width: BoolProperty(name="Slot Width", description="The slot beside the body is not as wide as the roughing cutter", default=False)
    stock_object: PointerProperty(
        name="Stock as It Stands", description="Object that is the stock before finishing, in place of what roughing leaves",
        type=bpy.types.Object, poll=lambda _settings, candidate: candidate.type == "MESH",
    )  # fmt: skip
    wood: EnumProperty(
        name="Wood",
        description="Kind of wood or board: what chips it bears",
        items=tuple((wood.name, wood.name[:1].upper() + wood.name[1:], f"Chips up to {wood.greatest_chip:g} mm") for wood in WOODS),
    )
    lower_feed: BoolProperty(
        name="Lower Feed", description="Lower the feed where the bite is too large; else the places are told as findings", default=True
    )
    elsewhere: CollectionProperty(type=FinishingElsewhere)
    active_elsewhere: IntProperty(name="Active Work", description="Row that is shown below the list", default=0, min=0)
    keep_out: CollectionProperty(type=FinishingKeepOut)
    active_keep_out: IntProperty(name="Active Box", description="Row that is shown below the list", default=0, min=0)
    kept_plans: CollectionProperty(type=FinishingFigures)
    active_kept: IntProperty(name="Active Plan", description="Row of the plans kept for comparing", default=0, min=0)
    first_side: EnumProperty(
        name="First Side",
        description="Side that is cut first",
        items=(("top", "Top", "The top is cut first"), ("back", "Back", "The back is cut first")),
    )


CLASSES = (FinishingBody,)
