"""What the viewport shows. It belongs to the window manager: looking at another map is nothing to undo."""

from __future__ import annotations

import bpy

from ..finishing.job.setting_kinds import Number
from .blender_data import present
from .properties import attached, choice, length, number, switch, text_line, with_properties
from .redrawing import redraw_views
from .results import STORE

MANAGER_PROPERTY = "finishing_view"
"""Name of the choices on the window manager."""

SURFACE_MAPS = (
    ("none", "None", "Show no map"),
    ("slope", "Slope", "Slope of the body from horizontal"),
    ("curvature", "Curvature", "How tightly the body bends: hollows and crowns"),
    ("fit", "Fit", "What a cutter of the rack cannot reach"),
    ("uncut", "Uncut", "Height that the planned cutter leaves uncut"),
    ("cusp", "Cusp", "Height that stands between the pass lines, by a simulated cut"),
    ("finished", "Finished", "The surface as it will be cut, under a low lamp; made by Show Finished Surface"),
)


def _changed(_view: FinishingView, _context: bpy.types.Context) -> None:
    redraw_views()


def _run_seconds() -> float:
    """Run time of the active body's plan; 0 without one."""
    results = STORE.find(bpy.context.object)
    return results.plan.run_time.total_seconds if results is not None and results.plan is not None else 0.0


def _played_share(view: FinishingView) -> float:
    whole = _run_seconds()
    return min(view.playhead / whole, 1.0) if whole > 0 else 0.0


def _set_played_share(view: FinishingView, share: float) -> None:
    view.playhead = share * _run_seconds()


@with_properties
class FinishingView(bpy.types.PropertyGroup):
    """Choices about what is drawn over the bodies."""

    brush_radius_mm: float = length("Radius", "Radius of the Skip tool's brush on the body", 12.0, within=Number(0.2, 500.0, "mm"), decimals=1)
    tool_before: str = text_line(name="Tool Before", description="Tool that was active before one of the extension's", options={"HIDDEN", "SKIP_SAVE"})
    show: bool = switch(name="Show Overlay", description="Draw maps, pass lines and marks over the body", default=True, update=_changed)
    surface_map: str = choice(name="Map", description="Map that is drawn on the body", items=SURFACE_MAPS, update=_changed)
    fit_cutter: str = text_line(name="Fit of", description="Cutter whose fit is shown", update=_changed)
    light_from: float = number(
        name="Light From", description="Direction to the low lamp, from X towards Y", default=1.5708, subtype="ANGLE", update=_changed
    )
    heights_times: float = number(
        name="Heights Times",
        description="By what the heights that the lamp shows are enlarged: 1 for the true form",
        default=1.0,
        min=0.1,
        max=50.0,
        update=_changed,
    )
    divider: float = number(
        name="Divider",
        description="How much of the body shows the plan that was set as the left one",
        default=0.5,
        min=0.0,
        max=1.0,
        subtype="FACTOR",
        update=_changed,
    )
    opacity: float = number(name="Opacity", description="Opacity of the map", default=0.85, min=0.05, max=1.0, subtype="FACTOR", update=_changed)
    show_lines: bool = switch(name="Pass Lines", description="Draw the pass lines", default=True, update=_changed)
    lines_by: str = choice(
        name="Colour",
        description="What the colour of pass lines means",
        items=(
            ("order", "Order", "Running order"),
            ("height", "Height", "Height of the tip"),
            ("feed", "Feed", "Feed that is asked for"),
            ("bite", "Bite", "Section of the stock that the pass line takes"),
        ),
        update=_changed,
    )
    line_width: float = number(name="Width", description="Width of pass lines in pixels", default=1.5, min=0.5, max=6.0, precision=1, update=_changed)
    line_opacity: float = number(
        name="Lines on Map",
        description="How strongly the pass lines are drawn while a map is shown",
        default=0.25,
        min=0.0,
        max=1.0,
        subtype="FACTOR",
        update=_changed,
    )
    lines_at: str = choice(
        name="Lines At",
        description="Where the pass lines are drawn",
        items=(
            ("tip", "Tip", "Where the cutter's tip runs, as programs have it"),
            ("contact", "Contact", "Where the cutter touches the body"),
        ),
        update=_changed,
    )
    legend_folded: bool = switch(name="Fold Legend", description="Show only the titles of the legend; a click on it does the same", update=_changed)
    show_links: bool = switch(name="Links", description="Draw links on the surface, dashed", default=True, update=_changed)
    show_lifts: bool = switch(name="Lifts", description="Draw entries, exits and lifts, dotted", default=True, update=_changed)
    show_skip: bool = switch(name="Left Out", description="Hatch the surface that is left out", default=True, update=_changed)
    show_stock: bool = switch(name="Stock", description="Draw stock box, dowels, tabs, keep-out boxes and grain", default=True, update=_changed)
    show_zero: bool = switch(name="Zero", description="Draw the zero mark and the side's Z arrow", default=True, update=_changed)
    show_findings: bool = switch(name="Findings", description="Mark the places of findings with pins", default=True, update=_changed)
    show_readout: bool = switch(name="Readout", description="Show values under the cursor", default=True, update=_changed)
    readout_folded: bool = switch(name="Fold Readout", description="Show only the title of the readout; a click on it does the same", update=_changed)
    show_legend: bool = switch(name="Legend", description="Show the legend of colours", default=True, update=_changed)
    show_cutter: bool = switch(
        name="Cutter", description="Show the cutter at its place in the run, and the surface that is cut by then", default=False, update=_changed
    )
    playhead: float = number(
        name="Elapsed (s)", description="Elapsed run time in seconds", default=0.0, min=0.0, precision=1, step=100, update=_changed
    )
    played_share: float = number(
        name="Elapsed",
        description="How much of the run time of the active body's plan has elapsed",
        min=0.0,
        max=1.0,
        subtype="FACTOR",
        get=_played_share,
        set=_set_played_share,
        options={"SKIP_SAVE"},
    )
    playing: bool = switch(name="Playing", description="The run is being played", default=False, options={"HIDDEN", "SKIP_SAVE"})
    show_trade_off: bool = switch(
        name="Minutes Chart",
        description="Draw minutes against cusp height for every cutter of the rack in a corner of the view",
        default=False,
        update=_changed,
    )
    chart_folded: bool = switch(name="Fold Chart", description="Show only the title of the chart; a click on it does the same", update=_changed)
    play_speed: float = number(
        name="Times Faster", description="How many times faster than the machine the run is played", default=20.0, min=0.1, max=1000.0, precision=1
    )


def view_of(context: bpy.types.Context) -> FinishingView:
    """What the viewport shows."""
    return attached(present(context.window_manager), MANAGER_PROPERTY, FinishingView)


CLASSES = (FinishingView,)
