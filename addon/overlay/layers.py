"""What is drawn for one body: arrays of its results made into batches, kept until a result or a choice changes."""

from __future__ import annotations

import time
from collections.abc import Callable, Hashable
from dataclasses import replace
from typing import TypeVar, cast

import numpy as np

from ..finishing.core.array_types import FloatArray, Single
from ..finishing.core.digests import digest
from ..finishing.pictures.legend import Legend, order_legend
from ..finishing.pictures.raking_light import RakingLight, lit_relief, relief_of
from ..finishing.pictures.ramps import SKIP_HATCH, colour
from ..finishing.planning.finished_ground import FinishedGround, SideBySide
from ..finishing.planning.result import Plan
from ..finishing.planning.survey import Survey
from ..scene.results import BodyResults
from ..scene.view_settings import FinishingView
from .batches import Batch, coloured_lines, coloured_triangles
from .coming import Coming
from .contact_lines import contact_points
from .cut_shader import CutArrays, CutGround, cut_arrays
from .marks_data import cutter_ghost, pin_lines
from .playback import cut_times, ghost_colours
from .render_data import (
    LineSet,
    ground_shade,
    hatch_lines,
    joined_lines,
    lift_lines,
    link_lines,
    map_colours,
    path_lines,
    pieces_reached,
    surface_mesh,
    tip_at,
    with_hatched_ground,
)
from .shown_maps import ShownMap, finished_map, line_values, lines_legend, shown_map

Made = TypeVar("Made")

LINK_COLOUR = colour(0.80, 0.10, 75)
LIFT_COLOUR = colour(0.86, 0.03, 250)
FINDING_COLOUR = colour(0.90, 0.14, 100)
PIN_SIZE = 9.0
"""mm."""
HATCH_MM = 0.3
"""mm between the lines of a hatching for every pixel that they lie apart in a picture."""
CUT_COLOUR = colour(0.86, 0.05, 80)
STANDING_COLOUR = colour(0.55, 0.05, 60)
GHOST_COLOUR = colour(0.80, 0.03, 250)
GHOST_OPACITY = 0.55

PLAYED_PIECES = 4000
"""Pieces of line drawn behind the cutter while a run is played: the last passes, so that the cut ground shows."""

SECONDS_AT_ONCE = 0.015
"""Seconds of processor time in which a redraw makes new layers; what is left is made by the next, so that none keeps the window still for long."""


def _lamp(view: FinishingView) -> RakingLight:
    """The lamp that the view has."""
    return RakingLight(round(float(np.degrees(view.light_from)), 2), heights_times=round(view.heights_times, 3))


class BodyLayers:
    """The batches of one body. Every layer is made when it is first drawn and again when its key changes.

    waiting: whether layers were put off in the redraw that has begun, so that another one is needed.
    """

    def __init__(self) -> None:
        self._kept: dict[str, tuple[Hashable, object]] = {}
        self._coming: dict[str, tuple[Hashable, Coming[object]]] = {}
        self._left: float | None = None
        self.waiting = False

    def begin(self, seconds: float = SECONDS_AT_ONCE) -> None:
        """A redraw of the window begins: it makes new layers for some seconds of processor time, one at least. Without this all are made."""
        self._left, self.waiting = seconds, False

    def get(self, name: str, key: Hashable, make: Callable[[], Made]) -> Made:
        """The layer of a name, made anew when its key is not the one it was made with."""
        kept = self._kept.get(name)
        if kept is None or kept[0] != key:
            self._kept[name] = kept = (key, make())
        return cast(Made, kept[1])

    def in_time(self, name: str, key: Hashable, make: Callable[[], Made]) -> Made | None:
        """The same where this redraw has time left to make it; as it was before, or None, where it has not."""
        kept = self._kept.get(name)
        if (kept is not None and kept[0] == key) or self._left is None:
            return self.get(name, key, make)
        if self._left <= 0:
            self.waiting = True
            return cast("Made | None", None if kept is None else kept[1])
        # Making alone counts: where the processor draws too, drawing would leave no time for it.
        began = time.thread_time()
        made = self.get(name, key, make)
        self._left -= time.thread_time() - began
        return made

    def _worked_out(self, name: str, key: Hashable, make: Callable[[], Made]) -> Made | None:
        """Arrays that take so long that a thread makes them while the window is drawn; None until they are there. make holds nothing of Blender's."""
        if self._left is None:
            return make()
        coming = self._coming.get(name)
        if coming is None or coming[0] != key:
            self._coming[name] = coming = (key, Coming(make))
        if not coming[1].is_there:
            self.waiting = True
            return None
        return cast("Made", coming[1].value())

    def _of_plan(self, results: BodyResults, name: str, key: Hashable, make: Callable[[Plan], Made]) -> Made | None:
        """A layer of the plan that is looked at, None without one."""
        plan = results.plan
        return None if plan is None else self.in_time(name, (results.revision, key), lambda: make(plan))

    def _of_newest(self, results: BodyResults, name: str, make: Callable[[Plan | Survey], Made]) -> Made | None:
        """A layer of the newest result, None without one."""
        newest = results.newest
        return None if newest is None else self.get(name, results.revision, lambda: make(newest))

    def shown_map(self, results: BodyResults, view: FinishingView) -> ShownMap | None:
        """The map that is chosen, None when there is none to show."""
        finish = results.finish
        if view.surface_map == "finished":
            return None if finish is None else self.get("map", self._map_key(results, view), lambda: self._finished(finish, results, view))
        return self.get("map", self._map_key(results, view), lambda: shown_map(results, view.surface_map, view.fit_cutter))

    def _finished(self, finish: SideBySide, results: BodyResults, view: FinishingView) -> ShownMap:
        """The finished surface; slopes are kept when the lamp is turned, and light when the divider is moved."""
        lamp = _lamp(view)

        def light_on(name: str, ground: FinishedGround) -> Single:
            relief = self.get(f"relief {name}", results.revision, lambda: relief_of(ground.heights, ground.grid.cell))
            return self.get(f"light {name}", (results.revision, lamp), lambda: lit_relief(relief, lamp))

        heights = self.get("finished heights", results.revision, finish.highest)
        lights = (light_on("own", finish.own), None if finish.other is None else light_on("other", finish.other))
        return finished_map(finish, heights, lights, view.divider, lamp.heights_times)

    def _map_key(self, results: BodyResults, view: FinishingView) -> Hashable:
        """What the map depends on."""
        lamp = (round(view.light_from, 3), round(view.heights_times, 3), round(view.divider, 4)) if view.surface_map == "finished" else ()
        return (results.revision, view.surface_map, view.fit_cutter, lamp)

    def surface(self, results: BodyResults, view: FinishingView, opacity: float) -> Batch | None:
        """The coloured surface of the chosen map."""
        shown = self.shown_map(results, view)
        if shown is None:
            return None
        map_key = self._map_key(results, view)
        key = (map_key, round(opacity, 3))
        return self.in_time("surface", key, lambda: self._surface_batch(shown, self.get("mesh key", map_key, lambda: _held(shown)), opacity))

    def _surface_batch(self, shown: ShownMap, mesh_key: str, opacity: float) -> Batch:
        mesh = self.get("mesh", mesh_key, lambda: surface_mesh(shown.heights, shown.grid))
        if shown.is_lit:
            mesh = replace(mesh, shade=np.ones_like(mesh.shade))
        colours = map_colours(mesh, shown.values, shown.legend, opacity)
        for hatch, mask in shown.hatched:
            colours = with_hatched_ground(colours, mesh, mask, hatch.ground, opacity)
        return coloured_triangles(mesh.positions, colours, mesh.triangles)

    def hatched(self, results: BodyResults, view: FinishingView) -> Batch | None:
        """Hatching on ground that the chosen map has no values for, each kind in its own way; None where there is none."""
        shown = self.shown_map(results, view)
        if shown is None or not shown.hatched:
            return None

        def make() -> Batch | None:
            kinds = (
                hatch_lines(mask, shown.heights, shown.grid, hatch.line, spacing=HATCH_MM * hatch.spacing, rising=hatch.rising)
                for hatch, mask in shown.hatched
            )
            return coloured_lines(joined_lines(kinds))

        return self.in_time("hatched", (results.revision, view.surface_map, view.fit_cutter), make)

    def lines_legend(self, results: BodyResults, view: FinishingView) -> Legend | None:
        """What the colours of the pass lines mean."""
        plan = results.plan
        return None if plan is None else self.get("lines legend", (results.revision, view.lines_by), lambda: lines_legend(plan, view.lines_by))

    def pass_lines(self, results: BodyResults, view: FinishingView, faded: bool = False) -> Batch | None:
        """The pass lines, faded while a map is shown, or where that is asked for."""
        legend = self.lines_legend(results, view)
        opacity = 1.0 if view.surface_map == "none" and not faded else round(view.line_opacity, 2)
        if legend is None or opacity == 0:
            return None
        key = (view.lines_by, view.lines_at, opacity)
        return self._of_plan(results, "pass lines", key, lambda plan: coloured_lines(_line_set(plan, legend, view.lines_by, view.lines_at, opacity)))

    def coming_lines(self, results: BodyResults) -> Batch | None:
        """Lines of the work under way, before their plan is there."""
        path = results.preview_lines
        if path is None or results.plan is not None:
            return None
        legend = order_legend(path.line_count)
        return self.get("coming lines", results.revision, lambda: coloured_lines(path_lines(path, legend, None, 1.0)))

    def links(self, results: BodyResults) -> Batch | None:
        """Links on the surface, dashed."""
        return self._of_plan(results, "links", None, lambda plan: coloured_lines(link_lines(plan.path, LINK_COLOUR)))

    def lifts(self, results: BodyResults) -> Batch | None:
        """Moves in the air, dotted."""
        return self._of_plan(results, "lifts", None, lambda plan: coloured_lines(lift_lines(plan.path, LIFT_COLOUR)))

    def left_out(self, results: BodyResults) -> Batch | None:
        """Hatching on what a plan leaves out beside the marks of the user, which are drawn from the body itself."""

        def make(plan: Plan) -> Batch | None:
            return coloured_lines(hatch_lines(plan.ground.forbidden & ~plan.ground.skipped, plan.heights, plan.grid, SKIP_HATCH))

        return self._of_plan(results, "left out", None, make)

    def cut_ground(self, results: BodyResults) -> CutGround | None:
        """The ground of a run that is played; at which moment is said when it is drawn."""
        plan = results.plan
        if plan is None:
            return None

        def work_out() -> CutArrays:
            times = cut_times(plan.path, plan.run_time.at, plan.region)
            return cut_arrays(plan.body.triangles.astype(np.float32), times, ground_shade(plan.heights, plan.grid))

        kept = self._kept.get("cut ground")
        if kept is not None and kept[0] == results.revision:
            self._coming.pop("cut ground", None)
            return cast("CutGround", kept[1])
        arrays = self._worked_out("cut ground", results.revision, work_out)
        return None if arrays is None else self.in_time("cut ground", results.revision, lambda: CutGround(arrays, plan.grid))

    def ghost(self, results: BodyResults) -> Batch | None:
        """The cutter with its tip at the origin."""

        def make(plan: Plan) -> Batch:
            shape = cutter_ghost(plan.cutter)
            return coloured_triangles(shape.positions, ghost_colours(shape, GHOST_COLOUR, GHOST_OPACITY), shape.triangles)

        return self._of_plan(results, "ghost", None, make)

    def tip(self, plan: Plan, seconds: float) -> FloatArray:
        """Where the tip is at a moment of the run, (3,) job mm."""
        return tip_at(plan.path, plan.run_time.at, seconds)[0]

    def lines_reached(self, results: BodyResults, view: FinishingView, seconds: float) -> Batch | None:
        """The pass lines that are cut by a moment of the run."""
        plan, legend = results.plan, self.lines_legend(results, view)
        if plan is None or legend is None:
            return None
        lines = self.get("lines played", (results.revision, view.lines_by), lambda: _line_set(plan, legend, view.lines_by))
        count = pieces_reached(lines, tip_at(plan.path, plan.run_time.at, seconds)[1])
        first = max(0, count - PLAYED_PIECES)

        def make() -> Batch | None:
            return coloured_lines(LineSet(lines.positions[2 * first : 2 * count], lines.colours[2 * first : 2 * count], lines.rows[first:count]))

        return self.get("lines reached", (results.revision, view.lines_by, count), make)

    def findings(self, results: BodyResults) -> Batch | None:
        """Pins where findings have their places; openings show themselves."""

        def make(plan: Plan) -> Batch | None:
            places = [plan.findings[number].place for number in pinned(plan)]
            return coloured_lines(pin_lines(np.array(places), PIN_SIZE, FINDING_COLOUR)) if places else None

        return self._of_plan(results, "findings", None, make)


def pinned(plan: Plan) -> list[int]:
    """Numbers of the findings that have pins: those with a place, but for openings, which show themselves."""
    return [number for number, finding in enumerate(plan.findings) if finding.place is not None and finding.key != "opening"]


def _held(shown: ShownMap) -> str:
    """What the mesh of a map holds: maps of one surface share it, whichever arrays hold their heights."""
    return digest(shown.heights, shown.grid)


def _line_set(plan: Plan, legend: Legend, by: str, at: str = "tip", opacity: float = 1.0) -> LineSet:
    """The pass lines as arrays. at: "tip" or "contact"."""
    path = plan.path
    if at == "contact":
        path = replace(path, points=np.asarray(contact_points(path.points, plan.tip, plan.grid, plan.cutter.radius), float))
    return path_lines(path, legend, line_values(plan, by), opacity)
