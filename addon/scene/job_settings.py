"""Rows of lists that belong to a body: openings, other operations, keep-out boxes, plans kept for comparing."""

from __future__ import annotations

import bpy

from ..finishing.job.keep_out import KeepOut
from ..finishing.job.other_operations import OTHER_OPERATION, OtherOperation
from ..finishing.job.setting_kinds import Number
from .properties import choice, length, limits, number, switch, text_line, triple, whole_number, with_properties

DOWEL_PLACE = Number(-1e5, 1e5, "mm")
"""As the settings' tables have it for every place of a dowel or a tab."""

SIDE_ITEMS = (("top", "Top", "The side that looks up along Z"), ("back", "Back", "The side that looks down along Z"))

BOX_SIDE_ITEMS = (("both", "Both", "It stays where it is when the stock is turned over"), *SIDE_ITEMS)

TAB_ITEMS = (
    ("off", "None", "No tabs: the cutter knows of none"),
    ("auto", "As Many as Hold", "As few as bear the cutter's push and the body's weight, spread round the outline"),
    ("given", "Number", "So many, spread round the outline"),
)
"""How the number of tabs is settled."""

OPENING_ITEMS = (
    ("auto", "By Width", "Bridge openings narrower than the cutter and skip the others"),
    ("skip", "Skip", "Leave all of them out, with a margin"),
    ("bridge", "Bridge", "Run over all of them at the level of the surface round them"),
    ("follow", "Follow", "Finish their floors too"),
)
"""What to do with openings."""

TREATMENT_ITEMS = (
    ("auto", "As Set Above", "Treat it as all openings are treated"),
    ("skip", "Skip", "Leave it out, with a margin"),
    ("bridge", "Bridge", "Run over it at the level of the surface round it"),
    ("follow", "Follow", "Finish its floor too"),
)
"""What can be done with one opening."""


@with_properties
class FinishingOpeningChoice(bpy.types.PropertyGroup):
    """How one numbered opening is treated, or one floor of it. floor: its number, 0 for the opening as a whole."""

    number: int = whole_number()
    floor: int = whole_number(default=0)
    treatment: str = choice(
        name="Treatment",
        description="What to do with this opening",
        items=TREATMENT_ITEMS,
    )


@with_properties
class FinishingElsewhere(bpy.types.PropertyGroup):
    """One piece of work on a side that is planned elsewhere."""

    stick_out_mm: float = length(
        "Stick-Out",
        "From the tip to the collet nut, as this work's cutter is clamped; 0 where it is not known",
        0.0,
        within=OTHER_OPERATION.limits("stick_out"),
    )
    name: str = text_line(name="Work", description="What is done: roughing, details, drilling", default="Roughing")
    cutter: str = text_line(name="Cutter", description="Cutter that this work takes", default="Flat 22")
    minutes: float = number(
        name="Minutes", description="Run time of this work in minutes", default=20.0, **limits(OTHER_OPERATION.limits("minutes")), precision=1, step=100
    )
    side: str = choice(name="Side", description="Side that this work is done on", items=SIDE_ITEMS)
    place: str = choice(
        name="Place",
        description="Place in the running order",
        items=(("before", "Before", "Before the finishing"), ("after", "After", "After the finishing")),
    )
    z_zero: str = text_line(name="Z Zero", description="Where this work's Z zero is; empty for that of the side")


@with_properties
class FinishingKeepOut(bpy.types.PropertyGroup):
    """One box that the cutter must stay out of, in mm."""

    name: str = text_line(name="Name", description="What stands there: a clamp, a tab, a screw", default="Clamp")
    low: tuple[float, float, float] = triple(
        name="Low Corner (mm)",
        description="Lowest corner: X, Y, Z from the zero of its side; of the side cut first where it is there on both",
        size=3,
        default=(0.0, 0.0, 0.0),
    )
    high: tuple[float, float, float] = triple(
        name="High Corner (mm)", description="Highest corner: X, Y, Z, from the same zero", size=3, default=(40.0, 30.0, 60.0)
    )
    side: str = choice(
        name="Side", description="Side on which it is there: a clamp often on both, a tab turns over with the stock", items=BOX_SIDE_ITEMS
    )


@with_properties
class FinishingDowelPlace(bpy.types.PropertyGroup):
    """Where one dowel hole is, in the axes of the body as it lies."""

    x_mm: float = length("X", "X of the dowel hole in the body's axes", 0.0, within=DOWEL_PLACE, decimals=2)
    y_mm: float = length("Y", "Y of the dowel hole in the body's axes", 0.0, within=DOWEL_PLACE, decimals=2)


@with_properties
class FinishingTabPlace(bpy.types.PropertyGroup):
    """Where one tab is, in the axes of the body as it lies."""

    x_mm: float = length("X", "X of the tab in the body's axes", 0.0, within=DOWEL_PLACE, decimals=2)
    y_mm: float = length("Y", "Y of the tab in the body's axes", 0.0, within=DOWEL_PLACE, decimals=2)


@with_properties
class FinishingFigures(bpy.types.PropertyGroup):
    """One plan that was kept for comparing: its figures, and the settings that make it again."""

    name: str = text_line(name="Name", description="Name of the kept plan", default="Plan")
    text: str = text_line(name="Figures", description="The figures and settings of the kept plan", options={"HIDDEN"})
    chosen: bool = switch(name="Chosen", description="The plan that was chosen among those kept", default=False)


def other_operation_of(item: FinishingElsewhere) -> OtherOperation:
    """The record of a row."""
    stick_out = round(item.stick_out_mm, 3) or None
    minutes = round(item.minutes, 3)
    return OtherOperation(item.name, item.cutter, minutes, side=item.side, place=item.place, stick_out=stick_out, z_zero=item.z_zero)


def keep_out_of(item: FinishingKeepOut) -> KeepOut:
    """The record of a row. Raises BadRequest when its corners are the wrong way round."""
    low, high = ([round(value, 4) for value in corner] for corner in (item.low, item.high))
    return KeepOut(item.name, (low[0], low[1], low[2]), (high[0], high[1], high[2]), item.side)


CLASSES = (FinishingOpeningChoice, FinishingElsewhere, FinishingKeepOut, FinishingDowelPlace, FinishingTabPlace, FinishingFigures)
