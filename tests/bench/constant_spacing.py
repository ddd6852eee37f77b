"""Passes of one constant spacing in plan, straight or parallel to the border, for a plan to be held against.

They cover the same ground with the same cutter. Their spacing is what the steepest and most bent ground needs, everywhere: it is
corrected until their own simulated cut keeps the asked cusp height on 99.9 % of the ground. Heights, links, lifts and run time come
from the same code as the plan's own.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from scipy import ndimage

from addon.finishing.ball.exact_surface import exact_surface
from addon.finishing.ball.exact_tip import TipFinder
from addon.finishing.core.array_types import FloatArray
from addon.finishing.core.filters import gradient
from addon.finishing.core.level_lines import level_lines
from addon.finishing.core.path import CUT, LINK, Path
from addon.finishing.core.polyline import all_resampled, clipped
from addon.finishing.core.stepping import finished
from addon.finishing.job.stock import stock_top
from addon.finishing.motion.hops import RouteSettings
from addon.finishing.motion.route import RunLine, route_steps
from addon.finishing.motion.trims import with_end_trims
from addon.finishing.passes.laid_lines import SHORTEST_LINE
from addon.finishing.passes.lifting import lifted_lines
from addon.finishing.passes.pass_ground import PassGround, pass_ground
from addon.finishing.planning.result import Plan
from addon.finishing.simulation.proof import ProvedGround, prove

NEAR_ENOUGH, MOST_CORRECTIONS = 0.02, 6
"""How far the simulated cusp may lie off the asked one, and how often the spacing is corrected for it."""


def constant_spacing_path(plan: Plan, border: bool) -> tuple[Path, float, float]:
    """The path, its spacing in mm, and the cusp in mm that its own simulated cut keeps on 99.9 % of the ground.

    border: parallel to the border of the planned ground, else straight along x.
    """
    request, radius = plan.request, plan.cutter.radius
    ground = pass_ground(plan.tip, plan.uncut, plan.grid, plan.region, radius, request.cusp)
    away, spacing = _distance_and_spacing(ground, border)
    finder = TipFinder(plan.body.triangles, upward_only=False).with_more(plan.ground.bridges)
    proved = ProvedGround(plan.grid, plan.closing, plan.ground.heights, np.isfinite(plan.proof.cusp), request.fit.uncut_height)
    tries: list[tuple[Path, float, float]] = []
    for _ in range(MOST_CORRECTIONS):
        path = _path(plan, ground, away, spacing, finder)
        cusp = dict(prove(path, radius, request.cusp, proved, finder).cusp_percentiles)[99.9]
        tries.append((path, spacing, cusp))
        if abs(cusp / request.cusp - 1) < NEAR_ENOUGH:
            break
        spacing *= float(np.sqrt(request.cusp / cusp))  # the cusp grows with the square of the spacing
    # Where lines just miss a peak or not, the cusp jumps: the nearest of the tries stands.
    return min(tries, key=lambda made: abs(made[2] / request.cusp - 1))


def _distance_and_spacing(ground: PassGround, border: bool) -> tuple[FloatArray, float]:
    """Distance in mm from where the passes begin, (rows, columns) on the metric's grid, and a first guess of the spacing."""
    metric, inside = ground.metric, ground.inside
    grid = metric.grid
    if border:
        away = ndimage.gaussian_filter(ndimage.distance_transform_edt(inside, sampling=grid.cell), 0.5 / grid.cell)
    else:
        away = np.broadcast_to(grid.y()[:, None], grid.shape) - float(np.broadcast_to(grid.y()[:, None], grid.shape)[inside].min())
    across_x, across_y = gradient(away, grid.cell)
    size = np.maximum(np.hypot(across_x, across_y), 1e-9)
    across_x, across_y = across_x / size, across_y / size
    # Lines s apart in plan are s / sqrt(n g^-1 n) apart in the cusp metric.
    room = np.sqrt(metric.inverse_squared(across_x, across_y))
    return away, float(np.quantile(room[inside], 0.001))


def _path(plan: Plan, ground: PassGround, away: FloatArray, spacing: float, finder: TipFinder) -> Path:
    """Level lines of the distance, a spacing apart, as a path like that of a plan."""
    request, radius, grid = plan.request, plan.cutter.radius, ground.metric.grid
    levels = [line.whole for line in level_lines(away / spacing, grid, 0.5) if len(line.points) > 2]
    kept = [points for _, points in clipped(all_resampled(levels, grid.cell), plan.region.may_cut, SHORTEST_LINE)]
    lowest = float(plan.ground.heights[plan.ground.heights > -np.inf].min())
    surface = exact_surface(finder, plan.grid, plan.ground.heights, plan.tip, radius, lowest)
    exact = finished(lifted_lines(kept, surface.exact_steps, surface.estimate, request.chord_tolerance, radius))
    safe = stock_top(plan.stock, request.side) + request.machine.safe_height
    settings = RouteSettings("to and fro", plan.cutter.feed, safe, request.machine, request.chord_tolerance, radius)
    runs = with_end_trims([RunLine(points, True) for points in exact], plan.region, ground.metric)
    path = finished(route_steps(runs, surface.exact_steps, surface.estimate, plan.region.may_link, settings))
    feed = request.feed if request.feed is not None else plan.cutter.feed
    return replace(path, feed=np.where((path.kind == CUT) | (path.kind == LINK), feed, path.feed))
