"""What is drawn for one body: arrays of its results made into batches, kept until a result or a choice changes."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from dataclasses import dataclass
from typing import TypeVar

import bpy
import gpu
import numpy as np
from gpu_extras.batch import batch_for_shader

from ..finishing.core.grid import FloatArray, Grid
from ..finishing.core.message import Message
from ..finishing.core.path import CUT
from ..finishing.job.stock import corners_in_job
from ..finishing.pictures.legend import (
    Legend,
    bite_legend,
    curvature_legend,
    cusp_legend,
    feed_legend,
    fit_legend,
    height_legend,
    order_legend,
    rounded_up,
    slope_legend,
)
from ..finishing.pictures.ramps import SKIP_HATCH, colour
from ..finishing.planning.result import Plan
from ..finishing.planning.survey import Survey
from ..scene.results import BodyResults
from .marks_data import box_lines, cutter_ghost, pin_lines, zero_lines
from .playback import cut_colours, cut_times, ghost_colours
from .render_data import (
    LineSet,
    SurfaceMesh,
    hatch_lines,
    lift_lines,
    link_lines,
    map_colours,
    path_lines,
    pieces_reached,
    surface_mesh,
    tip_at,
)

Made = TypeVar("Made")

LINK_COLOUR = colour(0.80, 0.10, 75)
LIFT_COLOUR = colour(0.86, 0.03, 250)
STOCK_COLOUR = colour(0.82, 0.02, 90)
ZERO_COLOUR = colour(0.93, 0.02, 90)
FINDING_COLOUR = colour(0.90, 0.14, 100)
PIN_SIZE = 9.0
"""mm."""
CUT_COLOUR = colour(0.86, 0.05, 80)
STANDING_COLOUR = colour(0.55, 0.05, 60)
GHOST_COLOUR = colour(0.80, 0.03, 250)
GHOST_OPACITY = 0.55

PLAYED_POINTS = 90_000
"""Points of the ground while a run is played: its colours are made anew for every picture."""

PLAYED_PIECES = 4000
"""Pieces of line drawn behind the cutter while a run is played: the last passes, so that the cut ground shows."""


@dataclass(frozen=True)
class ShownMap:
    """A map as it is shown. values: (rows, columns) on `grid`, nan where clear; heights: the surface it lies on."""

    grid: Grid
    heights: FloatArray
    values: FloatArray
    legend: Legend


class BodyLayers:
    """The batches of one body. Every layer is made when it is first drawn and again when its key changes."""

    def __init__(self) -> None:
        self._kept: dict[str, tuple[Hashable, object]] = {}

    def get(self, name: str, key: Hashable, make: Callable[[], Made]) -> Made:
        """The layer of a name, made anew when its key is not the one it was made with."""
        kept = self._kept.get(name)
        if kept is None or kept[0] != key:
            self._kept[name] = kept = (key, make())
        return kept[1]  # type: ignore[return-value]

    def shown_map(self, results: BodyResults, view: bpy.types.PropertyGroup) -> ShownMap | None:
        """The map that is chosen, None when there is none to show."""
        key = (results.revision, view.surface_map, view.fit_cutter)
        return self.get("map", key, lambda: _shown_map(results, view.surface_map, view.fit_cutter))

    def surface(self, results: BodyResults, view: bpy.types.PropertyGroup, opacity: float) -> gpu.types.GPUBatch | None:
        """The coloured surface of the chosen map."""
        shown = self.shown_map(results, view)
        if shown is None:
            return None
        key = (results.revision, view.surface_map, view.fit_cutter, round(opacity, 3))
        return self.get("surface", key, lambda: self._surface_batch(shown, opacity))

    def _surface_batch(self, shown: ShownMap, opacity: float) -> gpu.types.GPUBatch:
        mesh: SurfaceMesh = self.get("mesh", id(shown.heights), lambda: surface_mesh(shown.heights, shown.grid))
        colours = map_colours(mesh, shown.values, shown.legend, opacity)
        shader = gpu.shader.from_builtin("SMOOTH_COLOR")
        return batch_for_shader(shader, "TRIS", {"pos": mesh.positions, "color": colours}, indices=mesh.triangles)

    def lines_legend(self, results: BodyResults, view: bpy.types.PropertyGroup) -> Legend | None:
        """What the colours of the pass lines tell."""
        plan = results.plan
        if plan is None:
            return None
        return self.get("lines legend", (results.revision, view.lines_by), lambda: _lines_legend(plan, view.lines_by))

    def pass_lines(self, results: BodyResults, view: bpy.types.PropertyGroup) -> gpu.types.GPUBatch | None:
        """The pass lines."""
        plan, legend = results.plan, self.lines_legend(results, view)
        if plan is None:
            return None
        key = (results.revision, view.lines_by)
        return self.get("pass lines", key, lambda: _line_batch(path_lines(plan.path, legend, _line_values(plan, view.lines_by))))

    def links(self, results: BodyResults) -> gpu.types.GPUBatch | None:
        """Links on the surface, dashed."""
        plan = results.plan
        if plan is None:
            return None
        return self.get("links", results.revision, lambda: _line_batch(link_lines(plan.path, LINK_COLOUR)))

    def lifts(self, results: BodyResults) -> gpu.types.GPUBatch | None:
        """Moves in the air, dotted."""
        plan = results.plan
        if plan is None:
            return None
        return self.get("lifts", results.revision, lambda: _line_batch(lift_lines(plan.path, LIFT_COLOUR)))

    def left_out(self, results: BodyResults) -> gpu.types.GPUBatch | None:
        """Hatching on the ground that is left out."""

        def make() -> gpu.types.GPUBatch | None:
            if results.plan is not None:
                plan = results.plan
                return _line_batch(hatch_lines(plan.ground.forbidden, plan.heights, plan.grid, SKIP_HATCH))
            side = results.survey.side
            return _line_batch(hatch_lines(side.skipped, side.heights, side.grid, SKIP_HATCH))

        if results.plan is None and results.survey is None:
            return None
        return self.get("left out", results.revision, make)

    def cut_ground(self, results: BodyResults, seconds: float, opacity: float) -> gpu.types.GPUBatch | None:
        """The ground at a moment of the run: cut by then, or standing yet."""
        plan = results.plan
        if plan is None:
            return None
        mesh: SurfaceMesh = self.get("playback mesh", results.revision, lambda: surface_mesh(plan.heights, plan.grid, PLAYED_POINTS))
        times = self.get("cut times", results.revision, lambda: cut_times(plan.path, plan.run_time.at, plan.region).ravel()[mesh.cells])

        def make() -> gpu.types.GPUBatch:
            colours = cut_colours(mesh, times, seconds, CUT_COLOUR, STANDING_COLOUR, opacity)
            shader = gpu.shader.from_builtin("SMOOTH_COLOR")
            return batch_for_shader(shader, "TRIS", {"pos": mesh.positions, "color": colours}, indices=mesh.triangles)

        return self.get("cut ground", (results.revision, round(seconds, 2), round(opacity, 3)), make)

    def ghost(self, results: BodyResults) -> gpu.types.GPUBatch | None:
        """The cutter with its tip at the origin."""
        plan = results.plan
        if plan is None:
            return None

        def make() -> gpu.types.GPUBatch:
            shape = cutter_ghost(plan.cutter)
            colours = ghost_colours(shape, GHOST_COLOUR, GHOST_OPACITY)
            shader = gpu.shader.from_builtin("SMOOTH_COLOR")
            return batch_for_shader(shader, "TRIS", {"pos": shape.positions, "color": colours}, indices=shape.triangles)

        return self.get("ghost", results.revision, make)

    def tip(self, results: BodyResults, seconds: float) -> FloatArray:
        """Where the tip is at a moment of the run, (3,) job mm."""
        return tip_at(results.plan.path, results.plan.run_time.at, seconds)[0]

    def lines_reached(self, results: BodyResults, view: bpy.types.PropertyGroup, seconds: float) -> gpu.types.GPUBatch | None:
        """The pass lines that are cut by a moment of the run."""
        plan, legend = results.plan, self.lines_legend(results, view)
        if plan is None:
            return None
        key = (results.revision, view.lines_by)
        lines: LineSet = self.get("lines played", key, lambda: path_lines(plan.path, legend, _line_values(plan, view.lines_by)))
        count = pieces_reached(lines, tip_at(plan.path, plan.run_time.at, seconds)[1])
        first = max(0, count - PLAYED_PIECES)
        shown = LineSet(lines.positions[2 * first : 2 * count], lines.colours[2 * first : 2 * count], lines.rows[first:count])
        return self.get("lines reached", (*key, count), lambda: _line_batch(shown))

    def findings(self, results: BodyResults) -> gpu.types.GPUBatch | None:
        """Pins where findings have their places; openings show themselves."""
        plan = results.plan
        if plan is None:
            return None

        def make() -> gpu.types.GPUBatch | None:
            places = [f.place for f in plan.findings if f.place is not None and f.key != "opening"]
            return _line_batch(pin_lines(np.array(places), PIN_SIZE, FINDING_COLOUR)) if places else None

        return self.get("findings", results.revision, make)

    def stock(self, results: BodyResults) -> gpu.types.GPUBatch | None:
        """The stock box."""
        newest = newest_of(results)
        if newest is None:
            return None
        corners = corners_in_job(newest.stock, newest.request.side)
        return self.get("stock", results.revision, lambda: _line_batch(box_lines(*corners, STOCK_COLOUR)))

    def zero(self, results: BodyResults) -> gpu.types.GPUBatch | None:
        """The zero mark with its axes; Z is the way the spindle stands over this side."""
        newest = newest_of(results)
        if newest is None:
            return None

        def make() -> gpu.types.GPUBatch | None:
            low, high = corners_in_job(newest.stock, newest.request.side)
            return _line_batch(zero_lines(np.zeros(3), 0.12 * float(max(high - low)), ZERO_COLOUR))

        return self.get("zero", results.revision, make)


def newest_of(results: BodyResults) -> Plan | Survey | None:
    """The newest result, which stock and side are told by."""
    return results.plan if results.plan is not None else results.survey


def _shown_map(results: BodyResults, name: str, fit_cutter: str) -> ShownMap | None:
    """Find the values of a map among the results."""
    plan, newest = results.plan, newest_of(results)
    if name in ("slope", "curvature") and newest is not None:
        if name == "slope":
            return ShownMap(newest.grid, newest.heights, newest.maps.slope_degrees, slope_legend())
        radius = plan.cutter.radius if plan is not None else 8.0
        return ShownMap(newest.grid, newest.heights, newest.maps.strongest(), curvature_legend(radius))
    if name == "fit":
        return _fit_map(results, fit_cutter)
    if name == "uncut" and plan is not None:
        planned = np.where(plan.ground.planned, plan.uncut, np.nan)
        return ShownMap(plan.grid, plan.heights, planned, _fit_scale(plan.request.fit.uncut_height, planned, Message("Uncut height")))
    if name == "cusp" and plan is not None:
        return ShownMap(plan.grid, plan.heights, plan.proof.cusp, cusp_legend(plan.request.cusp))
    return None


def _fit_map(results: BodyResults, cutter_name: str) -> ShownMap | None:
    """The fit map of a cutter by name."""
    for cutter, fit_map in results.fit_maps.items():
        if cutter.name == cutter_name:
            tolerance = fit_map.fit_tolerance
            title = Message("Fit of {cutter}", cutter=cutter.name)
            return ShownMap(fit_map.grid, fit_map.heights, fit_map.uncut, _fit_scale(tolerance, fit_map.uncut, title))
    return None


def _fit_scale(tolerance: float, uncut: FloatArray, title: Message) -> Legend:
    """A fit legend that reaches as high as the map does, with a title of its own."""
    legend = fit_legend(tolerance, max(rounded_up(_greatest(uncut)), 4 * tolerance))
    return Legend(title, legend.ramp, legend.low, legend.high, legend.unit, legend.ticks)


def _greatest(values: FloatArray) -> float:
    """The greatest number of a map, 0 when it has none."""
    known = values[np.isfinite(values)]
    return float(known.max()) if len(known) else 0.0


def _lines_legend(plan: Plan, by: str) -> Legend:
    cut = plan.path.kind == CUT
    if by == "height":
        z = plan.path.points[cut, 2]
        return height_legend(float(z.min()), float(max(z.max(), z.min() + 0.1)))
    if by == "feed":
        feed = plan.path.feed[cut]
        return feed_legend(float(feed.min()), float(feed.max()))
    if by == "bite":
        section = plan.bite.engagement.section
        return bite_legend(float(section.max()) if len(section) else 1.0)
    return order_legend(plan.path.line_count)


def _line_values(plan: Plan, by: str) -> FloatArray | None:
    if by == "bite":
        section = np.zeros(len(plan.path))
        np.maximum.at(section, plan.bite.engagement.row, plan.bite.engagement.section)
        return section
    return {"height": plan.path.points[:, 2], "feed": plan.path.feed}.get(by)


def _line_batch(lines: LineSet) -> gpu.types.GPUBatch | None:
    """Pieces of line as a batch, None when there are none."""
    if len(lines.positions) == 0:
        return None
    shader = gpu.shader.from_builtin("POLYLINE_FLAT_COLOR")
    return batch_for_shader(shader, "LINES", {"pos": lines.positions, "color": lines.colours})
