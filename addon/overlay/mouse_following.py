"""Follows the mouse over the 3D views: for the readout, for dragging and folding what lies over the view, for choosing on the chart."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

import bpy

from ..scene.blender_data import present
from ..scene.results import STORE
from ..scene.view_settings import view_of
from .depth import ui_scale
from .legend_drawing import LEGEND
from .readout import CURSOR, READOUT
from .setup_places import DIVIDER, HANDLES, PINS
from .trade_off_drawing import CHART, PRESSED, TITLE_ROW
from .view_boxes import BOXES

FOLDS = {LEGEND: "legend_folded", CHART: "chart_folded", READOUT: "readout_folded"}
"""What says of each box whether the user has folded it."""

STILL = 3
"""Pixels that the mouse may move while it is pressed without dragging anything."""

GizmoOutcome = set[Literal["RUNNING_MODAL", "CANCELLED", "FINISHED", "PASS_THROUGH", "INTERFACE"]]
"""What Blender's calls of a gizmo return."""


class FINISHING_GT_cursor(bpy.types.Gizmo):
    """Draws nothing: Blender asks it at every move of the mouse whether it is hit, and so it knows where the mouse is.

    It is hit over legend, chart, readout and pins: a drag moves the first three, a press on the chart's axes chooses cutter and cusp height, one on its
    title, on the legend or on the readout folds it, one on a pin opens its finding.
    """

    bl_idname = "FINISHING_GT_cursor"

    _start = _last = (0, 0)
    _name: str | None = None

    def test_select(self, context: bpy.types.Context, location: Sequence[int] | None) -> int:
        """Note where the mouse is; the gizmo is hit over legend, chart and pins."""
        if location is None:
            return -1
        place = (float(location[0]), float(location[1]))
        region = present(context.region)
        if (region.as_pointer(), place) != (CURSOR.region, CURSOR.place):
            CURSOR.region, CURSOR.place = region.as_pointer(), place
            region.tag_redraw()
        if any(
            each.under(region.as_pointer(), *place, ui_scale()) is not None for each in (HANDLES, DIVIDER)
        ):  # drawn over legend and chart, and taken before them
            PINS.hot = None
            return -1
        under_box = BOXES.under(region.as_pointer(), *place)
        PINS.hot = None if under_box is not None else PINS.under(region.as_pointer(), *place, ui_scale())
        return -1 if under_box is None and PINS.hot is None else 0

    def invoke(self, context: bpy.types.Context, event: bpy.types.Event) -> GizmoOutcome:
        """The mouse is pressed on a box."""
        self._start = self._last = (event.mouse_region_x, event.mouse_region_y)
        self._name = BOXES.held = BOXES.under(present(context.region).as_pointer(), *self._start)
        return {"RUNNING_MODAL"}

    def modal(self, context: bpy.types.Context, event: bpy.types.Event, _tweak: object) -> GizmoOutcome:
        """The box goes along with the mouse."""
        place = (event.mouse_region_x, event.mouse_region_y)
        if self._name is not None and max(abs(place[0] - self._start[0]), abs(place[1] - self._start[1])) > STILL:
            BOXES.drag(present(context.region).as_pointer(), self._name, place[0] - self._last[0], place[1] - self._last[1])
            self._last = CURSOR.place = place
            present(context.region).tag_redraw()
        return {"RUNNING_MODAL"}

    def exit(self, context: bpy.types.Context, cancel: bool | None) -> None:
        """The mouse is let go: a press without a drag chooses on the chart, folds the legend and reads a finding."""
        BOXES.held = None
        if cancel or self._last != self._start:
            return
        view, region = view_of(context), present(context.region)
        if self._name is None:
            if PINS.hot is not None:
                bpy.ops.finishing.read_finding("INVOKE_DEFAULT", number=int(PINS.hot))  # type: ignore[attr-defined]  # as below
            return
        found = PRESSED.at(region.as_pointer(), *self._start) if self._name == CHART else None
        if found is not None:
            # Called from code, an operator leaves no step to undo unless it is told to.
            choose = bpy.ops.finishing.choose_on_chart  # type: ignore[attr-defined]  # the stubs know Blender's own alone
            choose("EXEC_DEFAULT", True, cutter=found[0], cusp=found[1])
        elif self._name != CHART or self._on_title(context):
            folded = FOLDS[self._name]
            setattr(view, folded, BOXES.press(self._name, getattr(view, folded)))
            region.tag_redraw()

    def _on_title(self, context: bpy.types.Context) -> bool:
        """Whether the mouse was pressed on the title of the chart."""
        box = BOXES.drawn.get((present(context.region).as_pointer(), CHART))
        return box is not None and box.top - self._start[1] <= TITLE_ROW * ui_scale()

    def draw(self, context: bpy.types.Context) -> None:
        """Nothing to see."""


class FINISHING_GGT_cursor(bpy.types.GizmoGroup):
    """Follows the mouse for readout, legend, chart and pins, as long as there are results to read."""

    bl_idname = "FINISHING_GGT_cursor"
    bl_label = "Finishing Readout"
    bl_space_type = "VIEW_3D"
    bl_region_type = "WINDOW"
    bl_options = {"3D", "PERSISTENT"}

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        """Whether there is anything to read."""
        view = view_of(context)
        if view.show and (view.show_readout or view.show_legend or view.show_trade_off or view.show_findings) and len(STORE) > 0:
            return True
        CURSOR.region = None
        return False

    def setup(self, context: bpy.types.Context) -> None:
        """Put the one gizmo in."""
        self.gizmos.new(FINISHING_GT_cursor.bl_idname)


CLASSES = (FINISHING_GT_cursor, FINISHING_GGT_cursor)
