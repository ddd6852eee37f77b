"""The path of one chosen cutter over one side: ground, region, pass lines, exact heights, running order."""

from __future__ import annotations

from collections.abc import Callable, Generator
from dataclasses import dataclass, replace

import numpy as np

from ..ball.axis_region import AxisRegion, axis_region, reachable_ground
from ..ball.cutter_view import CutterView, cutter_view_steps, padded_ground, rim_cells
from ..ball.exact_surface import ExactSurface, exact_surface
from ..ball.exact_tip import TipFinder
from ..core.errors import NothingToPlan
from ..core.filters import coarsened
from ..core.grid import FloatArray
from ..core.masks import Mask, grown
from ..core.path import CUT, LINK, Path
from ..core.polyline import clipped
from ..core.stages import Progress, StageRunner, digest
from ..job.cutter import Cutter
from ..job.request import Request
from ..motion.route import RouteSettings, RunLine, route_steps
from ..motion.run_time import run_time
from ..motion.trims import with_spare_ends
from ..options.grain import GrainChoice, across_grain, weighed
from ..options.ground_costs import GroundCost, cost_of, skip_costs
from ..passes.crest_meter import CrestMeter
from ..passes.laid_lines import LaidLine
from ..passes.laying import lay_passes
from ..passes.lifting import lifted_lines
from ..passes.pass_ground import VALLEY_FRACTION, PassGround, pass_ground
from ..passes.skip_borders import skip_border_lines
from ..passes.starts import PassField, Start, pass_field_steps, starts_to_try
from ..simulation.proof import ProofSamples, ProvedGround, proof_samples
from ..surface.ground import Ground
from ..surface.side import Side, side_ground
from .side_stages import SideKeys

SHORTEST_KEPT = 1.5
"""mm; what skipping leaves of a line must be this long to be cut. Less than the shortest pass line, which loses a little when its corners
are rounded off and must not be dropped for it where nothing is skipped."""

STEEP_BAND = 10.0
"""Degrees below the wall limit: what ground as steep as that costs is told."""


@dataclass(frozen=True)
class CutterPath:
    """What the stages have found for one cutter. Maps are (rows, columns) on `view.grid`.

    proved: planned ground on which the ball can rest, and samples: where a cut of it is measured.
    path_key: digest of all that the path's geometry was made from; land_key: of the ground and the cutter.
    start: the chosen start in words. least_length: the bound L_min in mm. grain: what weighing the grain has done, None where there
    was nothing to weigh. ground_costs: what single pieces of ground cost.
    """

    view: CutterView
    ground: Ground
    region: AxisRegion
    proved: ProvedGround
    samples: ProofSamples
    surface: ExactSurface
    path: Path
    path_key: str
    land_key: str
    start: str
    least_length: float
    grain: GrainChoice | None
    ground_costs: tuple[GroundCost, ...]


@dataclass(frozen=True)
class _Land:
    """Ground and region of one cutter, with or without what is skipped."""

    ground: Ground
    region: AxisRegion


def cutter_path_steps(
    request: Request, side: Side, keys: SideKeys, cutter: Cutter, finder: TipFinder, stock_top: float, runner: StageRunner
) -> Generator[Progress, None, CutterPath]:
    """All stages of one cutter. stock_top: height of the stock's top in job mm. Raises NothingToPlan."""
    rim = rim_cells(cutter, side.grid)
    key = digest(keys.side, request.region, cutter.diameter)
    bare_ground = runner.get("ground", key, lambda: padded_ground(side_ground(side, request.region, cutter.diameter, with_skip=False), rim))
    planned_surface = bare_ground.heights[rim:-rim, rim:-rim]
    view = yield from runner.run("tip surface", key, 0.30, 0.42, lambda: cutter_view_steps(planned_surface, side.grid, cutter))
    bare = runner.get("region", key, lambda: _Land(bare_ground, _region(request, view, bare_ground)))
    land = bare
    if keys.skip:
        land = runner.get("skipped region", digest(key, keys.skip), lambda: _skipped_land(request, side, view, cutter))
    # Bridges alone are no ground to finish: lines only cross them on their way.
    if not (land.ground.planned.any() and land.region.cutting.any()):
        raise NothingToPlan("Nothing is left to plan: all ground is skipped, steeper than the wall limit or out of the cutter's reach.")
    if len(bare_ground.bridges):
        finder = runner.get("bridged triangles", key, lambda: finder.with_more(bare_ground.bridges))
    surface = runner.get(
        "exact surface", key,
        lambda: exact_surface(finder, view.grid, bare_ground.heights, view.tip, cutter.radius, _floor(request, bare_ground)),
    )  # fmt: skip
    laid, lay_key, grain = yield from _best_laid(request, view, bare, land, surface, cutter, key, keys.skip, stock_top, runner)
    exact_key = digest(lay_key, request.chord_tolerance)
    exact = yield from runner.run(
        "exact heights", exact_key, 0.55, 0.78,
        lambda: lifted_lines([x.points for x in laid.lines], surface.exact_steps, surface.estimate, request.chord_tolerance, cutter.radius),
    )  # fmt: skip
    lines = [RunLine(points, line.uncut_left) for points, line in zip(exact, laid.lines, strict=True)]
    if keys.skip:
        kept = clipped([line.points for line in lines], land.region.may_cut, SHORTEST_KEPT)
        lines = [RunLine(points, lines[number].uncut_left) for number, points in kept]
        if laid.start.kind != "border":  # which follows the skip borders by itself
            along = yield from runner.run(
                "skip borders", digest(exact_key, keys.skip), 0.77, 0.78,
                lambda: lifted_lines(
                    skip_border_lines(bare.region, land.region), surface.exact_steps, surface.estimate, request.chord_tolerance, cutter.radius
                ),
            )  # fmt: skip
            lines += [RunLine(points, True) for points in along]
    if not lines:
        raise NothingToPlan("No pass line fits on the planned ground: it is narrower than the spacing of the passes.")
    path_key = digest(exact_key, keys.skip, request.direction, request.machine, stock_top)
    costs = runner.beside(
        "ground costs", digest(key, keys.skip, request.cusp), lambda: _ground_costs(laid.pass_ground, bare, land, request.region.wall_limit)
    )
    reached = _reached(request, view, land, digest(key, keys.skip), runner)
    samples = runner.beside(
        "samples", digest(key, keys.skip, request.cusp),
        lambda: proof_samples(_proved(request, view, land, reached()), cutter.radius, finder),
    )  # fmt: skip
    settings = _route_settings(request, cutter, stock_top)
    bare_path = yield from runner.run(
        "route", path_key, 0.78, 0.85,
        lambda: route_steps(
            with_spare_ends(lines, land.region, laid.pass_ground.metric), surface.exact_steps, surface.estimate, land.region.may_link, settings
        ),
    )  # fmt: skip
    path = with_feed(bare_path, request.feed if request.feed is not None else cutter.feed)
    land_key = digest(key, keys.skip, request.cusp)
    least = runner.get("least length", land_key, lambda: laid.pass_ground.least_length_over(land.region))
    return CutterPath(
        view, land.ground, land.region, _proved(request, view, land, reached()), samples(), surface, path, path_key, digest(key, keys.skip),
        laid.start.name, least, grain, costs(),
    )  # fmt: skip


def with_feed(path: Path, feed: float) -> Path:
    """The path with another feed (mm/min) on lines and links; moves in the air keep theirs."""
    return replace(path, feed=np.where((path.kind == CUT) | (path.kind == LINK), feed, path.feed))


def _ground_costs(ground: PassGround, bare: _Land, land: _Land, wall_limit: float) -> tuple[GroundCost, ...]:
    """What skipped pieces, the overrun, and ground just below the wall limit cost, on the metric's cells."""
    grid, density = ground.metric.grid, ground.metric.line_density()
    factor = round(grid.cell / bare.region.grid.cell)

    def coarse(mask: Mask) -> Mask:
        return coarsened(mask.astype(np.float32), factor) >= 0.5

    cutting, body = coarse(land.region.cutting), coarse(land.ground.heights > -np.inf)
    steep = coarse(land.region.slope_degrees >= wall_limit - STEEP_BAND)
    return (
        *skip_costs(density, grid, coarse(bare.region.cutting), cutting),
        cost_of("overrun", density, grid, cutting & ~body),
        cost_of("steep", density, grid, cutting & steep),
    )


def _reached(request: Request, view: CutterView, land: _Land, land_key: str, runner: StageRunner) -> Callable[[], Mask]:
    """Planned ground of a land on which the ball can rest, without what no cutter of this size can reach; begun beside."""
    return runner.beside(
        "reached ground", digest(land_key, request.cusp),
        lambda: reachable_ground(_ground_for_cusp(land.ground, view, request.cusp), view.left, land.region, view.cutter.radius),
    )  # fmt: skip


def _proved(request: Request, view: CutterView, land: _Land, reached: Mask) -> ProvedGround:
    """What a cut is held against. reached: planned ground on which the ball can rest."""
    return ProvedGround(view.grid, view.left, land.ground.heights, reached, request.fit.uncut_height)


def _ground_for_cusp(ground: Ground, view: CutterView, cusp: float) -> Mask:
    """Planned ground without creases that the ball cannot reach: what stays there is uncut height, no cusp."""
    crease = view.uncut > VALLEY_FRACTION * cusp
    return ground.planned & ~grown(crease, view.grid.cell, 1.0) if crease.any() else ground.planned


def _region(request: Request, view: CutterView, ground: Ground) -> AxisRegion:
    return axis_region(view.tip, ground, view.grid, view.cutter.radius, request.region.wall_limit, request.region.overrun)


def _skipped_land(request: Request, side: Side, view: CutterView, cutter: Cutter) -> _Land:
    ground = padded_ground(side_ground(side, request.region, cutter.diameter), rim_cells(cutter, side.grid))
    return _Land(ground, _region(request, view, ground))


def _floor(request: Request, ground: Ground) -> float:
    """Lowest z that the tip may have, mm; minus infinity for none."""
    standing = ground.heights[ground.heights > -np.inf]
    if request.region.lowest_depth is None:
        return float(standing.min())
    return float(standing.max()) - request.region.lowest_depth


def _route_settings(request: Request, cutter: Cutter, stock_top: float) -> RouteSettings:
    # The cutter's own feed decides between links and lifts, so that another feed keeps the path and only times it anew.
    safe = stock_top + request.machine.safe_height
    return RouteSettings(request.direction, cutter.feed, safe, request.machine, request.chord_tolerance, cutter.radius)


@dataclass(frozen=True)
class _Laid:
    """Pass lines of one start in plan, and what they were laid on."""

    start: Start
    lines: tuple[LaidLine, ...]
    pass_ground: PassGround


def _best_laid(
    request: Request,
    view: CutterView,
    bare: _Land,
    land: _Land,
    surface: ExactSurface,
    cutter: Cutter,
    key: str,
    skip_key: str,
    stock_top: float,
    runner: StageRunner,
) -> Generator[Progress, None, tuple[_Laid, str, GrainChoice | None]]:
    """Lay the lines of every start that is asked for and keep those that run the shortest time, with their digest.

    Where the grain is known, time across it counts for more, and what that has done is given too.
    A start whose lines alone would take longer than the best so far, by the length its field promises, is not laid.
    """
    starts = starts_to_try(request.start, request.start_angle, request.grain_angle)
    tried: list[_Tried] = []
    for number, start in enumerate(starts):
        # A start from the border inward follows the skip borders; straight ones are laid as if nothing were skipped.
        own, own_skip = (land, skip_key) if start.kind == "border" else (bare, "")
        start_key = digest(key, request.cusp, start, own_skip)
        low, high = (0.42 + 0.13 * (number + k) / len(starts) for k in (0, 1))
        stage = "pass lines" if number == 0 else "other starts"
        reached = _reached(request, view, own, digest(key, own_skip), runner)
        meter = runner.beside(
            "crest meter", digest(key, request.cusp, own_skip, request.fit.uncut_height),
            lambda o=own, r=reached: _crest_meter(request, view, o, r(), surface.finder),  # type: ignore[misc]
        )  # fmt: skip
        ground = runner.get(
            "cusp metric", digest(key, request.cusp, own_skip),
            lambda o=own: pass_ground(view.tip, view.uncut, view.grid, o.region, cutter.radius, request.cusp),  # type: ignore[misc]
        )  # fmt: skip
        if not ground.inside.any():
            continue
        field = yield from runner.run(
            "distance field",
            start_key,
            low,
            (low + high) / 2,
            lambda g=ground, s=start: pass_field_steps(g.metric, g.planned, s),  # type: ignore[misc]
        )
        if tried and field.expected_length / (cutter.feed / 60) >= min(item.weight for item in tried):
            continue
        runner.begin_held()
        laid = yield from runner.run(
            stage, start_key, (low + high) / 2, high,
            lambda g=ground, f=field, o=own, m=meter: _lay_steps(view, o, g, f, m()),  # type: ignore[misc]
        )  # fmt: skip
        if len(starts) == 1:
            return laid, start_key, None
        time_key = digest(start_key, skip_key, request.direction, request.machine)
        seconds = yield from runner.run(
            "other starts", time_key, high, high,
            lambda x=laid: _estimated_seconds(request, x, land, surface, cutter, stock_top),  # type: ignore[misc]
        )  # fmt: skip
        if laid.lines:
            angle = request.grain_angle
            across = across_grain([line.points for line in laid.lines], angle) if angle is not None else 0.0
            tried.append(_Tried(weighed(seconds, across, request.grain_share), seconds, across, laid, start_key))
    if not tried:
        raise NothingToPlan("No pass line fits on the planned ground: it is narrower than the spacing of the passes.")
    best, quickest = min(tried, key=lambda item: item.weight), min(tried, key=lambda item: item.seconds)
    grain = None
    if request.grain_angle is not None:
        grain = GrainChoice(best.across, quickest.across, (best.seconds - quickest.seconds) / 60)
    return best.laid, best.key, grain


@dataclass(frozen=True)
class _Tried:
    """One start with its lines laid. weight: its seconds, with what runs across the grain counted for more."""

    weight: float
    seconds: float
    across: float
    laid: _Laid
    key: str


def _crest_meter(request: Request, view: CutterView, land: _Land, reached: Mask, finder: TipFinder) -> CrestMeter:
    """What measures the crests between lines. reached: planned ground on which the ball can rest."""
    return CrestMeter(view.tip, _proved(request, view, land, reached), view.cutter.radius, request.cusp, finder)


def _lay_steps(view: CutterView, land: _Land, ground: PassGround, field: PassField, meter: CrestMeter) -> Generator[float, None, _Laid]:
    """Pass lines of one start."""
    lines = yield from lay_passes(field, ground, land.region, view.tip, view.grid, meter)
    return _Laid(field.start, lines, ground)


def _estimated_seconds(
    request: Request, laid: _Laid, land: _Land, surface: ExactSurface, cutter: Cutter, stock_top: float
) -> Generator[float, None, float]:
    """Run time of laid lines at the grid's tip heights: good enough to tell one start from another."""

    def estimated(points: FloatArray) -> Generator[float, None, FloatArray]:
        yield 0.0
        return surface.estimate(points.reshape(-1, 2)).reshape(points.shape[:-1])

    kept = clipped([line.points for line in laid.lines], land.region.may_cut, SHORTEST_KEPT)
    lines = [RunLine(np.column_stack([points, surface.estimate(points)]), laid.lines[number].uncut_left) for number, points in kept]
    lines = with_spare_ends(lines, land.region, laid.pass_ground.metric)
    settings = replace(_route_settings(request, cutter, stock_top), chord_tolerance=0.05)
    path = yield from route_steps(lines, estimated, surface.estimate, land.region.may_link, settings)
    return run_time(path, request.machine).total_seconds
