"""Stages of the pass lines of one cutter: cusp metric, distance field, lines in plan, exact heights, running order."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import replace

import numpy as np

from ..ball.axis_region import AxisRegion
from ..ball.cutter_view import CutterView
from ..ball.exact_surface import ExactSurface
from ..ball.rest_ground import RestGround
from ..core.array_types import FloatArray
from ..core.errors import NothingToPlan
from ..core.path import Path
from ..core.polyline import clipped
from ..core.stage_graph import Small, uses_all_threads
from ..job.body import Body
from ..job.keep_out import KeepOut
from ..job.machine import Machine
from ..job.stock import grain_on
from ..motion.hops import RouteSettings
from ..motion.route import RunLine, route_steps
from ..motion.run_time import run_time
from ..motion.trims import with_end_trims
from ..options.grain import across_grain
from ..passes.crest_meter import CrestMeter
from ..passes.laid_lines import LaidLine
from ..passes.laying import lay_passes
from ..passes.lifting import lifted_lines
from ..passes.pass_ground import PassGround
from ..passes.pass_ground import pass_ground as make_pass_ground
from ..passes.skip_borders import skip_border_lines
from ..passes.starts import PassField, Start, from_fuller_side, pass_field_steps, starts_to_try
from ..simulation.proof import ProvedGround, sample_ground
from ..simulation.surface_samples import SampleGround
from ..surface.ground import Ground
from ..surface.smooth_form import SmoothForm, with_form
from ..tooling.box_room import BesideBody
from ..tooling.free_height import FreeHeight

SHORTEST_KEPT = 1.5
"""mm; what skipping leaves of a line must be this long to be cut. Less than the shortest pass line, which loses a little when its corners
are rounded off and must not be dropped for it where nothing is skipped."""

OVER_BOXES = 1.0
"""mm between moves in the air and the highest keep-out box: common practice, no source."""

TRIAL_CHORD = 0.05
"""mm; chord tolerance of links where starts are compared at the grid's tip heights: what it leaves out is alike for all of them."""


def nothing_left() -> NothingToPlan:
    """What is raised where no ground is planned."""
    return NothingToPlan(
        "Nothing is left to plan: all of it is skipped, steeper than Wall Limit or out of reach. Skip less, raise Wall Limit, or take a smaller cutter."
    )


def too_narrow() -> NothingToPlan:
    """What is raised where ground is planned, but not as much as one line."""
    return NothingToPlan("No pass line fits on the planned surface: it is too narrow. Take a smaller cutter or Cusp Height.")


def single_start(lines_from: str, line_angle: float | None) -> Small[Start]:
    """The one start that is asked for. Where several are possible, as for "best", each is asked for by itself."""
    return starts_to_try(lines_from, line_angle)[0]


def starts_tried(
    lines_from: str, line_angle: float | None, grain_angle: float | None, side: str, stock_first_side: str, laid_pass_ground: PassGround | None
) -> tuple[Start, ...]:
    """The starts that are possible. At an angle of the plan's own choice lines begin on the fuller half of their ground."""
    starts = starts_to_try(lines_from, line_angle, grain_on(side, stock_first_side, grain_angle))
    if line_angle is not None or laid_pass_ground is None:
        return starts
    return tuple(from_fuller_side(start, laid_pass_ground.planned, laid_pass_ground.metric.grid) for start in starts)


def pass_ground(form_surface: CutterView, ground: Ground, region: AxisRegion, cusp: float, left_by_larger: RestGround | None) -> PassGround | None:
    """The cusp metric on the cells where passes are wanted; None where there are none."""
    # Bridges alone are no ground to finish: lines only cross them.
    if not (ground.planned.any() and region.cutting.any()):
        return None
    left = None if left_by_larger is None else np.pad(left_by_larger.left, form_surface.rim)
    return make_pass_ground(form_surface.tip, form_surface.uncut, form_surface.grid, region, form_surface.radius, cusp, left)


def crest_meter(
    form_surface: CutterView, form: SmoothForm, proved_ground: ProvedGround, surface: ExactSurface, feet: SampleGround, cusp: float
) -> CrestMeter:
    """What measures the crests between lines: over coarse facets on the form that they stand for."""
    own, reached = feet, proved_ground.reached
    if form.shows:
        rise = SmoothForm(np.pad(form.rise, form_surface.rim))
        over_form = replace(proved_ground, surface=with_form(proved_ground.surface, proved_ground.surface, rise, 0), closing=form_surface.closing)
        own, reached = sample_ground(over_form, surface.radius, surface.finder), over_form.reached
    return CrestMeter(form_surface.tip, own, reached, cusp)


def distance_field(pass_ground: PassGround | None, single_start: Start) -> Generator[float, None, PassField]:
    """Distance from the start in units of the cusp metric. Raises NothingToPlan."""
    if pass_ground is None:
        raise nothing_left()
    if not pass_ground.inside.any():
        raise too_narrow()
    return (yield from pass_field_steps(pass_ground.metric, pass_ground.planned, single_start))


def laid_field_length(laid_distance_field: PassField) -> float:
    """Length of the lines that the field promises before one is laid, mm."""
    return laid_distance_field.expected_length


def pass_lines(
    distance_field: PassField, pass_ground: PassGround, region: AxisRegion, form_surface: CutterView, crest_meter: CrestMeter
) -> Generator[float, None, tuple[LaidLine, ...]]:
    """The pass lines in plan."""
    return (yield from lay_passes(distance_field, pass_ground, region, form_surface.tip, form_surface.grid, crest_meter))


@uses_all_threads
def exact_heights(pass_lines: tuple[LaidLine, ...], surface: ExactSurface, chord_tolerance: float) -> Generator[float, None, list[FloatArray]]:
    """The lines lifted onto the exact tip surface."""
    if not pass_lines:
        return []
    lines = [line.points for line in pass_lines]
    return (yield from lifted_lines(lines, surface.exact_steps, surface.estimate, chord_tolerance, surface.radius))


def skip_borders(
    single_start: Start, unskipped_region: AxisRegion, region: AxisRegion, surface: ExactSurface, chord_tolerance: float, rim_pass: str
) -> Generator[float, None, list[FloatArray]]:
    """Lines along skipped ground, which straight lines end at; a start from the border inward follows it by itself, and so does a rim pass."""
    if single_start.kind == "border" or region is unskipped_region or rim_pass == "on":
        return []
    lines = skip_border_lines(unskipped_region, region)
    return (yield from lifted_lines(lines, surface.exact_steps, surface.estimate, chord_tolerance, surface.radius))


def run_lines(
    laid_exact_heights: list[FloatArray],
    laid_pass_lines: tuple[LaidLine, ...],
    laid_pass_ground: PassGround,
    skip_borders: list[FloatArray],
    rim_heights: list[FloatArray],
    pass_ground: PassGround | None,
    region: AxisRegion,
    unskipped_region: AxisRegion,
) -> list[RunLine]:
    """The lines as they are run: clipped at skipped ground, with what they may lose at their ends. Raises NothingToPlan."""
    if pass_ground is None:
        raise nothing_left()
    lines = [RunLine(points, line.uncut_left) for points, line in zip(laid_exact_heights, laid_pass_lines, strict=True)]
    if region is not unskipped_region:
        lines = _clipped(laid_exact_heights, laid_pass_lines, region)
    lines += [RunLine(points, True) for points in (*skip_borders, *rim_heights)]
    if not lines:
        raise too_narrow()
    return with_end_trims(lines, region, laid_pass_ground.metric)


def _clipped(points: list[FloatArray], laid: tuple[LaidLine, ...], region: AxisRegion) -> list[RunLine]:
    return [RunLine(kept, laid[number].uncut_left) for number, kept in clipped(points, region.may_cut, SHORTEST_KEPT)]


def safe_z(
    top_of_stock: float, machine_safe_height: float, boxes_here: tuple[KeepOut, ...], stock_body: Body | None, turned: FloatArray
) -> Small[float]:
    """Height in job mm of moves in the air: the safe height over the stock, also as it really is, and clear of every keep-out box."""
    highest = [top_of_stock + machine_safe_height, *(box.high[2] + OVER_BOXES for box in boxes_here)]
    if stock_body is not None:
        highest.append(float(stock_body.moved(turned).high[2]) + machine_safe_height)
    return max(highest)


def route_settings(
    cutting_way: str, cutter_feed: float, machine: Machine, safe_z: float, chord_tolerance: float, ball_radius: float, ramp_angle: float
) -> Small[RouteSettings]:
    """How lines are joined. The cutter's own feed decides between links and lifts, so that another feed keeps the path and only times it anew."""
    return RouteSettings(
        cutting_way=cutting_way,
        feed=cutter_feed,
        safe_z=safe_z,
        machine=machine,
        chord_tolerance=chord_tolerance,
        radius=ball_radius,
        ramp_angle=ramp_angle,
    )


def route(
    run_lines: list[RunLine], surface: ExactSurface, region: AxisRegion, route_settings: RouteSettings, free_height: FreeHeight, beside_work: BesideBody
) -> Generator[float, None, Path]:
    """The lines in running order, joined to one path, at the cutter's own feed."""
    return (yield from route_steps(run_lines, surface.exact_steps, surface.estimate, region.may_link, route_settings, free_height, beside_work.holds))


def trial_run(
    laid_pass_lines: tuple[LaidLine, ...],
    laid_pass_ground: PassGround,
    region: AxisRegion,
    surface: ExactSurface,
    route_settings: RouteSettings,
    free_height: FreeHeight,
    beside_work: BesideBody,
    machine: Machine,
) -> Generator[float, None, float]:
    """Run time of laid lines at the grid's tip heights: good enough to compare one start with another. Raises NothingToPlan."""
    if not laid_pass_lines:
        raise too_narrow()

    def estimated(points: FloatArray) -> Generator[float, None, FloatArray]:
        yield 0.0
        return surface.estimate(points.reshape(-1, 2)).reshape(points.shape[:-1])

    plans = [line.points for line in laid_pass_lines]
    lines = [
        RunLine(np.column_stack([points, surface.estimate(points)]), laid_pass_lines[number].uncut_left)
        for number, points in clipped(plans, region.may_cut, SHORTEST_KEPT)
    ]
    lines = with_end_trims(lines, region, laid_pass_ground.metric)
    settings = replace(route_settings, chord_tolerance=TRIAL_CHORD)
    path = yield from route_steps(lines, estimated, surface.estimate, region.may_link, settings, free_height, beside_work.holds)
    return run_time(path, machine).total_seconds


def share_across_grain(laid_pass_lines: tuple[LaidLine, ...], grain_angle: float | None, side: str, stock_first_side: str) -> float:
    """How far the lines run across the grain: 0 along it, 1 square to it; 0 where the grain is not known."""
    grain = grain_on(side, stock_first_side, grain_angle)
    return across_grain([line.points for line in laid_pass_lines], grain) if grain is not None else 0.0


STAGES = (
    single_start,
    starts_tried,
    pass_ground,
    crest_meter,
    distance_field,
    pass_lines,
    exact_heights,
    skip_borders,
    run_lines,
    safe_z,
    route_settings,
    route,
    laid_field_length,
    trial_run,
    share_across_grain,
)
