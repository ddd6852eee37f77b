"""The divider between two finished surfaces: a line over the body, taken by its grip and dragged along the body's X."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import bpy
import numpy as np

from ..finishing.core.array_types import Double, FloatArray
from ..finishing.core.message import Message
from ..finishing.job.cutter import cutter_words
from ..finishing.planning.finished_ground import SideBySide
from ..finishing.planning.result import Plan
from ..scene.active import results_of
from ..scene.blender_data import present
from ..scene.redrawing import redraw_views
from ..scene.results import BodyResults
from ..scene.setup_drag import PRECISE, along_line
from ..scene.view_settings import view_of
from ..screen.language import in_users_language
from .batches import draw_plain
from .depth import ui_scale
from .free_space import free_space
from .layers import BodyLayers
from .lettering_on_screen import fill_box, width_of, write
from .marks_data import chain
from .mouse_following import GizmoOutcome
from .places_that_matter import pixels_of
from .setup_drawing import DARK, PALE, draw_grip
from .setup_gizmos import ray_in_job
from .setup_places import DIVIDER

GRIP = "divider"
"""Name of the one place to take hold of."""

ALONG = np.array([1.0, 0.0, 0.0])
"""The divider is moved along X of the job."""

MOST_POINTS = 200
"""Points of the line over the body at most."""

SIZE, EDGE, BESIDE = 12.0, 6.0, 22.0
"""Pixels: letters and margin of what stands beside the line, and its distance from the grip."""


@dataclass(frozen=True)
class DividerLine:
    """Where the divider stands. points: (n, 3) job mm over the ground, nan where there is none; grip: (3,) where it is taken hold of."""

    points: Double
    grip: Double


def divider_line(finish: SideBySide, heights: FloatArray, share: float) -> DividerLine | None:
    """The divider at a share of the body's length over heights (rows, columns) of the finished surface; None where no ground is below it."""
    grid, (low, high) = finish.own.grid, finish.reach()
    x = low + share * (high - low)
    first, last = (round((end - grid.left) / grid.cell) for end in (low + grid.cell / 2, high - grid.cell / 2))
    column = min(max(round((x - grid.left) / grid.cell), first), last)
    rows = np.arange(0, grid.rows, max(1, -(-grid.rows // MOST_POINTS)))
    ground = heights[rows, column]
    known = np.flatnonzero(np.isfinite(ground))
    if len(known) == 0:
        return None
    points = np.column_stack([np.full(len(rows), x), grid.y()[rows], np.where(np.isfinite(ground), ground, np.nan)])
    return DividerLine(points, points[known[len(known) // 2]])


def draw_divider(context: bpy.types.Context, results: BodyResults, layers: BodyLayers, body_object: bpy.types.Object) -> None:
    """Draw the divider and its grip in pixels, with what stands on either side, where two finished surfaces are shown."""
    view, finish, place = view_of(context), results.finish, results.world_from_job(body_object)
    shown = layers.shown_map(results, view) if view.surface_map == "finished" else None
    line = None
    if finish is not None and finish.other is not None and shown is not None and place is not None:
        line = divider_line(finish, shown.heights, view.divider)
    others = results.matching_left()
    if line is None or place is None or not others:
        return
    scale, hot = ui_scale(), DIVIDER.hot == GRIP
    over = pixels_of(context, line.points, place)
    pieces = chain(over)
    pieces = pieces[np.isfinite(pieces).all(axis=(1, 2))].reshape(-1, 2)
    grip, beside = pixels_of(context, np.array([line.grip, line.grip + ALONG]), place)
    if not len(pieces) or not np.isfinite([grip, beside]).all():
        return
    for ink, width in ((DARK, 4.0), (PALE, 2.0)):
        draw_plain("LINES", pieces, ink, width * scale)
    draw_grip(grip, scale, hot=hot)
    DIVIDER.drawn[present(context.region).as_pointer()] = [(GRIP, float(grip[0]), float(grip[1]))]
    left, right = (others[0], results.plans[0]) if beside[0] >= grip[0] else (results.plans[0], others[0])
    _draw_names(context, grip, (left, right), scale)


def plan_words(plan: Plan) -> Message:
    """What a plan is told from others by."""
    return Message("{cutter}, cusp {cusp:g} mm", cutter=cutter_words(plan.cutter), cusp=plan.request.cusp)


def _draw_names(context: bpy.types.Context, grip: Double, plans: tuple[Plan, Plan], scale: float) -> None:
    """Cutter and cusp height of the plans to the left and to the right of the grip, in the free part of the view."""
    free, edge, size = free_space(context), EDGE * scale, SIZE * scale
    for plan, side in zip(plans, (-1, 1), strict=True):
        words = in_users_language(plan_words(plan))
        width = width_of(words, size)
        left = grip[0] + BESIDE * scale if side > 0 else grip[0] - BESIDE * scale - width
        left = float(np.clip(left, free.left + edge, max(free.right - width - edge, free.left + edge)))
        bottom = float(grip[1]) - size / 2
        fill_box(left - edge, bottom - edge, left + width + edge, bottom + size + edge)
        write(words, left, bottom, size)


class FINISHING_GT_divider(bpy.types.Gizmo):
    """The grip of the divider; it is hit where it was drawn."""

    bl_idname = "FINISHING_GT_divider"

    _place: Double | None = None
    _world_from_job: Double | None = None
    _before = 0.0
    _start: float | None = None

    def test_select(self, context: bpy.types.Context, location: Sequence[int] | None) -> int:
        """Whether the mouse is on the grip."""
        return DIVIDER.point(context, location)

    def invoke(self, context: bpy.types.Context, event: bpy.types.Event) -> GizmoOutcome:
        """The mouse is pressed on the grip."""
        results = results_of(context)
        finish = None if results is None else results.finish
        placed = None if results is None or context.object is None else results.world_from_job(context.object)
        if finish is None or placed is None:
            return {"CANCELLED"}
        self._before = view_of(context).divider
        line = divider_line(finish, finish.highest(), self._before)
        if line is None:
            return {"CANCELLED"}
        self._place, self._world_from_job, self._start = line.grip, np.asarray(placed, np.float64), self._measured(context, event, line.grip, placed)
        return {"RUNNING_MODAL"}

    def modal(self, context: bpy.types.Context, event: bpy.types.Event, _tweak: object) -> GizmoOutcome:
        """The divider goes along with the mouse, slowly with Shift, over the body and not beyond it."""
        results, place, placed = results_of(context), self._place, self._world_from_job
        finish = None if results is None else results.finish
        if finish is None or place is None or placed is None:
            return {"CANCELLED"}
        now = self._measured(context, event, place, placed)
        if now is not None:
            self._start = now if self._start is None else self._start
            low, high = finish.reach()
            moved = (now - self._start) * (PRECISE if event.shift else 1.0)
            view_of(context).divider = float(np.clip(self._before + moved / (high - low), 0.0, 1.0))
            redraw_views()
        return {"RUNNING_MODAL"}

    def exit(self, context: bpy.types.Context, cancel: bool | None) -> None:
        """The mouse is let go; with ESC or the right button the divider stands where it stood."""
        if cancel and self._place is not None:
            view_of(context).divider = self._before
        self._place = self._world_from_job = self._start = None

    def draw(self, context: bpy.types.Context) -> None:
        """Nothing: the grip is drawn in pixels."""

    def _measured(self, context: bpy.types.Context, event: bpy.types.Event, place: Double, placed: FloatArray) -> float | None:
        """How far along X from a place (3,) the mouse points, in mm; None where X is seen end-on."""
        ray = ray_in_job(context, np.asarray(placed, np.float64), (event.mouse_region_x, event.mouse_region_y))
        return along_line(place, ALONG, *ray)


class FINISHING_GGT_divider(bpy.types.GizmoGroup):
    """The divider's grip, while two finished surfaces are shown."""

    bl_idname = "FINISHING_GGT_divider"
    bl_label = "Finishing Divider"
    bl_space_type = "VIEW_3D"
    bl_region_type = "WINDOW"
    bl_options = {"3D", "PERSISTENT"}

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        """Whether there is a divider."""
        view, results = view_of(context), results_of(context)
        finish = None if results is None else results.finish
        return bool(view.show and view.surface_map == "finished" and finish is not None and finish.other is not None)

    def setup(self, context: bpy.types.Context) -> None:
        """Put the one gizmo in."""
        self.gizmos.new(FINISHING_GT_divider.bl_idname)


CLASSES = (FINISHING_GT_divider, FINISHING_GGT_divider)
