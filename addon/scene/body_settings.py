"""What belongs to one body: side, skip, cutter, cusp height, stock, wood. It lives on the body's object."""

from __future__ import annotations

import math

import bpy

from ..finishing.job.bite_settings import BITE
from ..finishing.job.dowels import DOWELS
from ..finishing.job.ground_settings import FIT, REGION
from ..finishing.job.request import CLIMB_ONLY, CONVENTIONAL_ONLY, PLAN, RAMP, TO_AND_FRO
from ..finishing.job.roughing import ROUGHING
from ..finishing.job.setting_kinds import Number
from ..finishing.job.stock import STOCK
from ..finishing.job.tabs import MOST_TABS, TABS
from ..finishing.job.wood import WOODS
from .finish_choice import (
    read_finish,
    read_spacing,
    read_spacing_in_millimetres,
    write_finish,
    write_spacing,
    write_spacing_in_millimetres,
)
from .job_settings import (
    OPENING_ITEMS,
    SIDE_ITEMS,
    TAB_ITEMS,
    FinishingDowelPlace,
    FinishingElsewhere,
    FinishingFigures,
    FinishingKeepOut,
    FinishingOpeningChoice,
    FinishingTabPlace,
)
from .properties import Rows, attached, choice, length, limits, number, object_choice, rows, switch, text_line, whole_number, with_properties
from .side_choice import SIDE_CHOICE

OBJECT_PROPERTY = "finishing"
"""Name of the settings on every object."""


def _side_chosen(settings: FinishingBody, _context: bpy.types.Context) -> None:
    body_object = settings.id_data
    if isinstance(body_object, bpy.types.Object):
        SIDE_CHOICE.tell(body_object)


def _is_mesh(_settings: FinishingBody, candidate: bpy.types.Object) -> bool:
    return candidate.type == "MESH"


@with_properties
class FinishingBody(bpy.types.PropertyGroup):
    """Settings of one body: they live on its object."""

    cusp_mm: float = length(
        "Cusp Height", "Height that may stand between pass lines, along the surface normal", 0.05, within=PLAN.limits("cusp"), decimals=4
    )
    skip_margin_mm: float = length(
        "Skip Margin", "Distance that the cutter's contact keeps from skipped surface", 0.5, within=REGION.limits("skip_margin")
    )
    overrun_mm: float = length("Overrun", "How far the cutter's axis may pass the outline of the body", 8.0, within=REGION.limits("overrun"))
    deepest_tip_mm: float = length(
        "Deepest Tip", "Depth below the body's highest point that the tip never passes", 20.0, within=REGION.limits("deepest_tip")
    )
    fixed_spacing_mm: float = length(
        "Spacing", "Distance between pass lines on a flat surface, with whatever cutter is chosen", 2.0, within=PLAN.limits("spacing")
    )
    opening_margin_mm: float = length(
        "Opening Margin", "Distance that the cutter's contact keeps from a skipped opening", 0.5, within=REGION.limits("opening_margin")
    )
    flat_margin_mm: float = length(
        "Flat Margin", "How far pass lines run on over a flat that is left out, so that no step is left", 2.0, within=REGION.limits("flat_margin")
    )
    uncut_height_mm: float = length(
        "Tolerated Height", "Surface with less than this left uncut counts as finished", 0.05, within=FIT.limits("uncut_height")
    )
    smooth_mm: float = length("Greatest Deviation", "No point of the mesh is moved farther than this", 0.1, within=PLAN.limits("smooth"))
    cell_mm: float = length("Cell", "Edge of the cells of the height grid; finer is slower and needs more memory", 0.25, within=PLAN.limits("cell"))
    chord_tolerance_mm: float = length(
        "Chord Tolerance",
        "How far the straight moves of pass lines may lie off the exact curve",
        0.002,
        within=PLAN.limits("chord_tolerance"),
        decimals=4,
    )
    stock_length_mm: float = length("Stock Length", "Length of the stock along the body's X", 490.0, within=STOCK.limits("length"), decimals=1)
    stock_width_mm: float = length("Stock Width", "Width of the stock along the body's Y", 350.0, within=STOCK.limits("width"), decimals=1)
    stock_thickness_mm: float = length(
        "Stock Thickness", "Thickness of the stock along the body's Z", 45.0, within=STOCK.limits("thickness"), decimals=2
    )
    stock_margin_mm: float = length(
        "Stock Margin", "Stock round the body on each side, as long as length and width are not given", 25.0, within=STOCK.limits("margin"), decimals=1
    )
    into_spoilboard_mm: float = length(
        "Into Spoilboard", "How far the tip may go below the bottom of the stock", 0.0, within=STOCK.limits("into_spoilboard"), decimals=2
    )
    dowel_diameter_mm: float = length(
        "Dowel Diameter", "Diameter of the dowels that the turned stock lands on", 8.0, within=DOWELS.limits("diameter"), decimals=2
    )
    dowel_depth_mm: float = length("Dowel Depth", "How deep the dowel holes go into the spoilboard", 15.0, within=DOWELS.limits("depth"), decimals=1)
    dowel_clearance_mm: float = length(
        "Dowel Clearance", "What stays between a dowel hole and the cutter, the stock's edge or a clamp", 2.0, within=DOWELS.limits("clearance")
    )
    dowel_peck_mm: float = length("Drill Peck", "Depth of one bite of the drill", 4.0, within=DOWELS.limits("peck"), decimals=1)
    tab_width_mm: float = length("Tab Width", "Width of a tab, along the outline", 22.0, within=TABS.limits("width"), decimals=1)
    tab_height_mm: float = length("Tab Height", "Height of a tab, along Z", 8.0, within=TABS.limits("height"), decimals=1)
    tab_level_mm: float = length("Tab Level", "Height of the tabs' undersides above the stock's bottom", 10.0, within=TABS.limits("height_in_stock"))
    height_in_stock_mm: float = length(
        "Height in Stock", "Height of the body's lowest point above the bottom of the stock", 0.0, within=STOCK.limits("height_in_stock"), decimals=2
    )
    allowance_mm: float = length(
        "Left by Roughing", "What roughing leaves on the body, along the surface normal", 0.5, within=ROUGHING.limits("allowance"), decimals=2
    )
    terrace_height_mm: float = length(
        "Terrace Height", "Height of the terraces that roughing leaves", 4.0, within=ROUGHING.limits("terrace_height"), decimals=2
    )
    roughing_diameter_mm: float = length(
        "Roughing Cutter", "Diameter of the flat cutter that roughs", 22.0, within=ROUGHING.limits("cutter_diameter"), decimals=1
    )
    channel_width_mm: float = length(
        "Channel Width", "Width of the channel between the body and stock that still stands", 22.0, within=ROUGHING.limits("channel_width"), decimals=1
    )
    tip_bend_limit_mm: float = length(
        "Tip Bend Limit", "How far the tip of the cutter may bend under its chips", 0.05, within=BITE.limits("tip_bend_limit"), decimals=3
    )
    overlap_with_larger_mm: float = length(
        "Overlap with Larger Cutter",
        "How far a smaller cutter goes beyond what the larger one leaves",
        1.0,
        within=PLAN.limits("overlap_with_larger"),
        decimals=2,
    )
    last_radius_mm: float = length(
        "Last Radius", "Radius that the spacing is meant for while the plan chooses the cutter", 8.0, within=Number(0.1, 100.0, "mm")
    )
    side: str = choice(name="Side", description="Side of the body that lies up on the machine", items=SIDE_ITEMS, update=_side_chosen)
    finish: str = choice(
        name="Finish",
        description="How fine the pass lines leave the surface: by name, or by the cusp height or the spacing itself",
        items=(
            ("coarse", "Coarse", "0.1 mm stand between the pass lines: soon done, much to sand"),
            ("normal", "Normal", "0.05 mm stand between the pass lines"),
            ("fine", "Fine", "0.02 mm stand between the pass lines: little to sand"),
            ("cusp", "Cusp Height", "The height that may stand between the pass lines is typed"),
            ("spacing", "Spacing", "The distance between the pass lines on a flat surface is typed, and stays when another cutter is chosen"),
        ),
        get=read_finish,
        set=write_finish,
        options={"SKIP_SAVE"},
    )
    own_cusp: bool = switch(name="Typed Cusp Height", description="The cusp height is typed", default=False, options={"HIDDEN"})
    up: str = choice(
        name="Face Up",
        description="Axis of the body that looks up on the machine",
        items=(
            ("auto", "By Size", "Z, but a body that stands on its edge is laid flat"),
            ("x", "X", "The face that looks along X"),
            ("y", "Y", "The face that looks along Y, as in files with Y up"),
            ("z", "Z", "The face that looks along Z"),
        ),
    )
    smoothing: str = choice(
        name="Smoothing",
        description="What to do with a mesh whose points scatter, as those of a scan do",
        items=(
            ("none", "Off", "Plan the mesh as it is"),
            ("auto", "By Roughness", "Smooth it by as much as its points scatter"),
            ("given", "Up To", "Smooth it, no point by more than a greatest deviation"),
        ),
    )
    cutter_name: str = text_line(name="Cutter", description="Cutter of the rack to plan with; empty takes the set that finishes the side soonest")
    cutter_in_spindle: str = text_line(
        name="In the Spindle", description="Cutter that is in the spindle before this side: another one costs a tool change. Empty where none is"
    )
    following_cutters: str = text_line(
        name="Followed By", description="Diameters in mm or names of the rack's smaller cutters that take what remains, with commas between them"
    )
    measured: str = text_line(name="Measured On Coupon", description="What comes from a test coupon: cutter, zero, minutes, cusp")
    spacing: float = number(
        name="Spacing",
        description="Distance between pass lines on a flat surface: another way to say the cusp height",
        subtype="DISTANCE",
        unit="LENGTH",
        precision=3,
        get=read_spacing,
        set=write_spacing,
        options={"SKIP_SAVE"},
    )
    spacing_in_millimetres: float = number(
        name="Spacing",
        description="Distance between pass lines on a flat surface: another way to say the cusp height",
        subtype="DISTANCE_CAMERA",
        unit="CAMERA",
        precision=3,
        get=read_spacing_in_millimetres,
        set=write_spacing_in_millimetres,
        options={"SKIP_SAVE"},
    )
    use_fixed_spacing: bool = switch(
        name="Keep Spacing",
        description="Say the spacing in place of the cusp height: it stays when another cutter is chosen",
        default=False,
    )
    lines_from: str = choice(
        name="Lay Lines From",
        description="Where pass lines are laid from",
        items=(
            ("best", "Best", "Try all of them and keep the one with the shortest run time"),
            ("edge", "An Edge", "Lines run across the body, laid from one edge on"),
            ("middle", "The Middle", "Lines run beside a straight line through the middle"),
            ("border", "The Border Inward", "Lines follow the border of the planned surface"),
        ),
    )
    use_line_angle: bool = switch(name="Line Angle", description="Lay straight lines at an angle of your own", default=False)
    line_angle: float = number(
        name="Line Angle", description="Angle of straight pass lines from X", subtype="ANGLE", default=0.0, min=-math.pi, max=math.pi
    )
    use_grain: bool = switch(name="Grain", description="The angle of the wood's grain is known: best tries lines along it", default=False)
    grain_angle: float = number(
        name="Grain Angle",
        description="Grain's angle from X, seen on the side cut first",
        subtype="ANGLE",
        default=0.0,
        min=-math.pi,
        max=math.pi,
    )
    grain_share: float = number(
        name="Grain Weight",
        description="How much longer pass lines may take to run along the grain, as a share of the run time",
        subtype="PERCENTAGE",
        default=5.0,
        min=0.0,
        max=100.0,
        precision=0,
    )
    cutting_way: str = choice(
        name="Cutting Way",
        description="Which way the cutter runs along neighbouring lines",
        items=(
            (TO_AND_FRO, "To and Fro", "One line forth, the next one back, with the least motion in the air"),
            (CLIMB_ONLY, "Climb Only", "One way, the edge cuts with the feed"),
            (CONVENTIONAL_ONLY, "Conventional Only", "One way, the edge cuts against the feed"),
        ),
    )
    ramp_angle: float = number(
        name="Ramp Angle",
        description="Angle between the surface and the ramps on which the cutter comes down to it and leaves it",
        subtype="ANGLE",
        default=math.radians(3.0),
        min=math.radians(RAMP.least),
        max=math.radians(RAMP.greatest),
        precision=2,
    )
    rim_pass: str = choice(
        name="Rim Pass",
        description="A pass along outline, openings and skipped surface, where other pass lines end and leave ridges",
        items=(
            ("off", "Off", "No pass along the rims"),
            ("auto", "Auto", "A pass along the rims where a border would stand higher than 1.5 times the cusp height"),
            ("on", "On", "Always a pass along the rims"),
        ),
    )
    use_feed: bool = switch(name="Own Feed", description="Use another feed than the cutter's own", default=False)
    feed: float = number(
        name="Feed (mm/min)", description="Feed along pass lines in mm/min", default=3500.0, **limits(PLAN.limits("feed")), precision=0, step=10000
    )
    use_budget: bool = switch(name="Time Budget", description="The minutes that this side may take are known", default=False)
    budget_minutes: float = number(
        name="Budget (min)",
        description="Minutes that finishing this side may take",
        default=15.0,
        **limits(PLAN.limits("budget_minutes")),
        precision=1,
        step=100,
    )
    meet_budget: bool = switch(
        name="Plan for It",
        description="Cutters, feeds and cusp height are chosen to meet the budget; else it is only held against the run",
        default=True,
    )
    wall_limit: float = number(
        name="Wall Limit",
        description="Surface as steep as this from horizontal, or steeper, is left out",
        subtype="ANGLE",
        default=math.radians(60.0),
        min=math.radians(REGION.limits("wall_limit").least),
        max=math.radians(REGION.limits("wall_limit").greatest),
        precision=3,
    )
    use_overrun: bool = switch(name="Limit Overrun", description="Limit how far the cutter's axis passes the outline", default=False)
    use_deepest_tip: bool = switch(name="Deepest Tip", description="Let the tip go no deeper than this", default=False)
    openings: str = choice(name="Openings", description="What to do with pockets, holes and slots", items=OPENING_ITEMS)
    flats: str = choice(
        name="Flats",
        description="What to do with level surfaces",
        items=(
            ("auto", "By Stock", "Leave out flats in the stock's own face, which need no cut"),
            ("skip", "Skip", "Leave out all flats, as work for a flat cutter"),
            ("follow", "Follow", "Finish flats with the round-nose cutter too"),
        ),
    )
    opening_choices: Rows[FinishingOpeningChoice] = rows(FinishingOpeningChoice)
    uncut_area: float = number(
        name="Tolerated Area (mm²)",
        description="Area in mm² that may keep more than the tolerated height before a cutter counts as not fitting",
        default=50.0,
        **limits(FIT.limits("uncut_area")),
        precision=1,
    )
    use_stock_length: bool = switch(name="Length", description="Give the length of the stock instead of a margin", default=False)
    use_stock_width: bool = switch(name="Width", description="Give the width of the stock instead of a margin", default=False)
    use_stock_thickness: bool = switch(name="Thickness", description="Give the thickness of the stock instead of the body's", default=False)
    use_height_in_stock: bool = switch(
        name="Height in Stock", description="Say how high the body lies in the stock instead of in its middle", default=False
    )
    turn_axis: str = choice(
        name="Turn About",
        description="Axis that the stock is turned over about",
        items=(("y", "Y Axis", "Turned over sideways"), ("x", "X Axis", "Turned over end to end")),
    )
    xy_zero: str = choice(
        name="X Y Zero",
        description="Where X and Y are zero",
        items=(("corner", "Lower Left Corner", "Corner of the stock, seen from above"), ("centre", "Centre", "Middle of the stock")),
    )
    z_zero: str = choice(
        name="Z Zero",
        description="What Z is zeroed on",
        items=(
            ("auto", "By Side", "The spoilboard for the first side, the stock's top for the second"),
            ("spoilboard", "Spoilboard", "The board under the stock"),
            ("stock top", "Stock Top", "The top of the stock, not of the body"),
        ),
    )
    dowel_count: str = choice(
        name="Dowels",
        description="Dowel holes that the turned stock lands on, placed in its margin",
        items=(("0", "None", "No dowels"), ("2", "Two", "Two on the turn axis"), ("4", "Four", "Four in the corners")),
    )
    tabs: str = choice(name="Tabs", description="Bridges of wood that hold the body in its stock; the cutter keeps off them", items=TAB_ITEMS)
    tab_count: int = whole_number(name="Number of Tabs", description="How many tabs hold the body in its stock", default=6, min=1, max=MOST_TABS)
    use_tab_level: bool = switch(
        name="Tab Level", description="Say at which height the tabs lie instead of where the rim holds them best", default=False
    )
    tab_places: Rows[FinishingTabPlace] = rows(FinishingTabPlace)
    dowel_places: Rows[FinishingDowelPlace] = rows(FinishingDowelPlace)
    dowel_feed: float = number(
        name="Drill Feed (mm/min)", description="Feed of the drill downwards", default=300.0, **limits(DOWELS.limits("feed")), precision=0
    )
    dowel_spindle_speed: float = number(
        name="Drill Spindle (1/min)", description="Turns of the drill", default=12000.0, **limits(DOWELS.limits("spindle_speed")), precision=0
    )
    smaller_cutters: bool = switch(
        name="Smaller Cutters", description="Plan what the cutter cannot reach with the next smaller ones of the rack", default=False
    )
    use_terrace_height: bool = switch(name="Terrace Height", description="Roughing leaves terraces of this height", default=False)
    use_channel_width: bool = switch(
        name="Channel Width", description="The channel beside the body is not as wide as the roughing cutter", default=False
    )
    stock_object: bpy.types.Object | None = object_choice(
        name="Stock as It Stands",
        description="Object that is the stock before finishing, in place of what roughing leaves",
        poll=_is_mesh,
    )
    wood: str = choice(
        name="Wood",
        description="Kind of wood or board: what chips it bears",
        items=tuple((wood.name, wood.name[:1].upper() + wood.name[1:], f"Chips up to {wood.greatest_chip:g} mm") for wood in WOODS),
    )
    lower_feed: bool = switch(
        name="Lower Feed", description="Lower the feed where the bite is too large; else the places are told as findings", default=True
    )
    elsewhere: Rows[FinishingElsewhere] = rows(FinishingElsewhere)
    active_elsewhere: int = whole_number(name="Active Work", description="Row that is shown below the list", default=0, min=0)
    keep_out: Rows[FinishingKeepOut] = rows(FinishingKeepOut)
    active_keep_out: int = whole_number(name="Active Box", description="Row that is shown below the list", default=0, min=0)
    kept_plans: Rows[FinishingFigures] = rows(FinishingFigures)
    active_kept: int = whole_number(name="Active Plan", description="Row of the plans kept for comparing", default=0, min=0)
    first_side: str = choice(
        name="First Side",
        description="Side that is cut first",
        items=(("top", "Top", "The top is cut first"), ("back", "Back", "The back is cut first")),
    )


def settings_of(body_object: bpy.types.Object) -> FinishingBody:
    """The settings of a body."""
    return attached(body_object, OBJECT_PROPERTY, FinishingBody)


CLASSES = (FinishingBody,)
