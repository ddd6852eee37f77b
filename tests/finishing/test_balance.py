"""Lines moved closer together where the cusp between them stands too high: the meter against closed forms, the moving against plain twins
and by its effect."""

from __future__ import annotations

from collections.abc import Callable, Generator

import numpy as np
import pytest
from random_bodies import random_body
from shapes import graph

from addon.finishing.ball.exact_tip import TipFinder
from addon.finishing.ball.tip_surface import closing_steps, tip_surface
from addon.finishing.core.array_types import FloatArray, Mask
from addon.finishing.core.grid import Grid
from addon.finishing.core.level_lines import level_lines
from addon.finishing.core.stepping import finished
from addon.finishing.job.body import make_body
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.request import Request
from addon.finishing.passes.crest_balance import FIRST_LOOK, SECOND_LOOK, SHARING_LINES, _crests, _stretched_steps, balanced_steps
from addon.finishing.passes.crest_meter import CrestMeter
from addon.finishing.passes.cusp_metric import cusp_metric
from addon.finishing.passes.starts import PassField, Start
from addon.finishing.planning.plan import make_plan
from addon.finishing.simulation.proof import ProvedGround, sample_ground

RADIUS, CUSP, CELL = 6.0, 0.05, 0.25
NOTHING = np.zeros((0, 2))


def channel(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """A channel of 9 mm radius between two slanted planes along x: its curvature jumps at both flanks."""
    half = 9.0 * np.sin(np.radians(25))
    aside = np.abs(y - 20)
    arc = 9.0 - np.sqrt(81.0 - np.minimum(aside, half) ** 2)
    return 8 + arc + np.maximum(aside - half, 0) * np.tan(np.radians(25)) + 0 * x


def ground_of(surface: Callable[[np.ndarray, np.ndarray], np.ndarray]) -> tuple[Grid, np.ndarray, ProvedGround, TipFinder]:
    grid = Grid(left=0.0, front=0.0, cell=CELL, rows=161, columns=161)
    heights = surface(*np.meshgrid(grid.x(), grid.y())).astype(np.float32)
    tip = tip_surface(heights, RADIUS, CELL)
    planned = np.zeros(grid.shape, bool)
    planned[30:-30, 30:-30] = True
    closed = np.where(planned, finished(closing_steps(tip, RADIUS, CELL)), heights)
    triangles = graph(surface, np.linspace(-1, 41, 22), np.linspace(-1, 41, 421))
    return grid, tip, ProvedGround(grid=grid, closing=closed, surface=heights, planned=planned, tolerance=0.05), TipFinder(triangles)


@pytest.mark.parametrize("rho", [None, 25.0, -12.0])
def test_meter_on_lines_along_a_cylinder(rho: float | None) -> None:
    # Closed form: on a cylinder of radius rho the ball's centres lie on one of rho + R (rho - R in a hollow), two of them a turn of 2 a apart;
    # the crest between stands where the two balls meet, half-way: (rho + R) cos a - rho - sqrt(R^2 - (rho + R)^2 sin^2 a) above a crown.
    curvature = 0.0 if rho is None else 1 / rho

    def surface(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        z = 0 * y if rho is None else np.sign(rho) * np.sqrt(np.maximum(rho**2 - (y - 20) ** 2, 0))
        return 30 + z + 0 * x

    grid, tip, ground, finder = ground_of(surface)
    meter = CrestMeter(tip, sample_ground(ground, RADIUS, finder), ground.reached, CUSP)
    step = 1.4  # between the contacts, along the arc
    if rho is None:
        away, expected = step / 2, RADIUS - np.sqrt(RADIUS**2 - step**2 / 4)
    else:
        turn, centres = step / 2 / abs(rho), abs(rho + RADIUS)
        away, up = centres * np.sin(turn), np.sign(rho) * (centres * np.cos(turn) - abs(rho))
        expected = up - np.sqrt(RADIUS**2 - away**2)
    lines = [np.array([[2.0, 20 + side * away], [38.0, 20 + side * away]]) for side in (-1, 1)]
    places = np.column_stack([np.linspace(15, 25, 9), np.full(9, 20.0)])
    measured = finished(meter.excess_steps(meter.swept(lines), places)) * CUSP
    # Between cells heights are read straight, off by their curvature times cell^2 / 8; and a ball over cells rests too low by that of
    # the gap between ball and ground.
    curvatures = abs(curvature / (1 + RADIUS * curvature)) + abs(curvature) + abs(1 / RADIUS + curvature)
    np.testing.assert_allclose(measured, expected, rtol=0, atol=CELL**2 / 8 * curvatures + 1e-4)


def straight_field(grid: Grid, phase: float, spacing: float) -> PassField:
    """Straight level lines along x, one unit a spacing apart, everywhere alike."""
    distance = (grid.y()[:, None] - phase) / spacing + np.zeros(grid.shape)
    return PassField(Start("edge"), distance, 0.0, 0.0)


def lines_on(grid: Grid) -> Callable[[PassField, Mask], list[FloatArray]]:
    """The level lines of a field, (n, 2), where a mask is set."""
    return lambda field, near: [line.points for line in level_lines(field.distance, grid, field.first, near)]


@pytest.mark.parametrize("phase", [0.0, 0.3, 0.6, 0.9])
def test_no_crest_on_the_flanks_of_a_channel_stays_too_high(phase: float) -> None:
    # By construction: lines of even spacing that suit the planes are too far apart in the channel, whatever their phase.
    grid, tip, ground, finder = ground_of(channel)
    metric = cusp_metric(tip, grid, RADIUS, CUSP, smoothing=0.3)
    meter = CrestMeter(tip, sample_ground(ground, RADIUS, finder), ground.reached, CUSP)
    field = straight_field(grid, phase, 1.0)
    lines_of, everywhere = lines_on(grid), np.ones(grid.shape, bool)
    places = np.column_stack([np.full(1200, 20.0), np.linspace(10, 30, 1200)])
    before = finished(meter.excess_steps(meter.swept(lines_of(field, everywhere)), places)).max()
    stretched, high = finished(balanced_steps(field, metric, lines_of, [], np.zeros(grid.shape, bool), meter))
    after = finished(meter.excess_steps(meter.swept(lines_of(stretched, everywhere)), places)).max()
    assert before > 1.2 and after < 1.1 and not high.any()
    # What is gained there is given back within a few lines: no line is added.
    assert len(lines_of(stretched, everywhere)) == len(lines_of(field, everywhere))


def test_crests_that_stretching_does_not_bring_down_are_closed() -> None:
    # Flanks with a crease between them, on coarse facets: what lowers one crest raises its neighbour, round after round.
    body = make_body("creased", 5.0 * random_body(24).triangles)
    plan = make_plan(Request(body, cutter=Cutter("Round-nose 12", 12.0), rack_table=False, lines_from="edge", line_angle=0.0))
    assert plan.proof.worst_cusp <= 1.10 * plan.request.cusp  # 1.17 where they are left


def test_even_ground_is_left_alone() -> None:
    grid, tip, ground, finder = ground_of(lambda x, y: 10 + 0 * x)
    metric = cusp_metric(tip, grid, RADIUS, CUSP, smoothing=0.3)
    meter = CrestMeter(tip, sample_ground(ground, RADIUS, finder), ground.reached, CUSP)
    field = straight_field(grid, 0.2, 1.5)
    stretched, high = finished(balanced_steps(field, metric, lines_on(grid), [], np.zeros(grid.shape, bool), meter))
    assert stretched is field and not high.any()


def test_nothing_is_measured_without_lines_or_off_the_ground() -> None:
    grid, tip, ground, finder = ground_of(channel)
    meter = CrestMeter(tip, sample_ground(ground, RADIUS, finder), ground.reached, CUSP)
    assert finished(meter.excess_steps(meter.swept([]), np.array([[20.0, 20.0]]))) == 0
    assert finished(meter.excess_steps(meter.swept([np.array([[2.0, 1.0], [38.0, 1.0]])]), np.array([[20.0, 1.0]]))) == 0
    assert len(finished(meter.excess_steps(meter.swept([]), NOTHING))) == 0


class ParabolaMeter:
    """A meter over crests that are known: from the lines at -1/2 and +1/2 along x the cusp grows with the squares of the distances."""

    def __init__(self, first: np.ndarray, second: np.ndarray) -> None:
        self._first, self._second = first, second

    def excess_steps(self, sweep: None, places: np.ndarray) -> Generator[float, None, np.ndarray]:
        yield 0.0
        row, u = places[:, 1].astype(int), places[:, 0]
        return np.minimum(self._first[row] * (0.5 + u) ** 2, self._second[row] * (0.5 - u) ** 2)


def test_crests_are_found_where_a_dense_search_finds_them() -> None:
    # Every crest is searched densely for the highest place between its two lines; the product measures two places of it, twice.
    rng = np.random.default_rng(4)
    first, second = rng.uniform(2.0, 9.0, (2, 60))
    u = np.linspace(-0.5, 0.5, 20_001)
    standing = np.minimum(first[:, None] * (0.5 + u) ** 2, second[:, None] * (0.5 - u) ** 2)
    middles, across = np.column_stack([np.zeros(60), np.arange(60)]), np.tile([1.0, 0.0], (60, 1))
    meter = ParabolaMeter(first, second)
    height, at = finished(_crests(meter, None, middles, across, np.zeros(60), FIRST_LOOK))  # type: ignore[arg-type]
    height, at = finished(_crests(meter, None, middles, across, at, SECOND_LOOK))  # type: ignore[arg-type]
    np.testing.assert_allclose(height, standing.max(axis=1), rtol=1e-3)
    np.testing.assert_allclose(at, u[standing.argmax(axis=1)], atol=1e-3)


def moved_by_hand(x: float, gaps: dict[int, float]) -> float:
    """How far the field at a value x moves for stretches of the gaps whose middles lie at these numbers: p(x) of the module's text, added up."""
    total = 0.0
    for middle, stretch in gaps.items():
        away = abs(x - middle)
        within = away if away <= 0.5 else max(0.0, 0.5 - 0.5 * (away - 0.5) / SHARING_LINES)
        total += stretch * within * (1 if x > middle else -1)
    return total


@pytest.mark.parametrize("turned", [False, True])
def test_a_stretched_field_is_that_by_hand_and_gives_back_what_it_takes(turned: bool) -> None:
    # Straight lines along x (or y), two gaps between them stretched: place by place the sum over both, written out.
    grid = Grid(left=0.0, front=0.0, cell=0.25, rows=9 if turned else 201, columns=201 if turned else 9)
    across = grid.x()[None, :] if turned else grid.y()[:, None]
    field = PassField(Start("edge"), across / 2.0 + np.zeros(grid.shape), 0.5, 0.0)  # lines at 0.5, 1.5 ...: the middles of gaps are whole
    gaps = {9: 0.3, 11: 0.1}
    stretch = np.zeros(grid.shape)
    for middle, wanted in gaps.items():
        stretch[np.abs(field.distance - middle) <= 0.5] = wanted
    slope = np.full(grid.shape, 0.5)
    slopes = (slope, 0 * slope) if turned else (0 * slope, slope)
    stretched, felt = finished(_stretched_steps(field, grid, stretch, *slopes))
    before, after = (values[4] if turned else values[:, 4] for values in (field.distance, stretched.distance))
    expected = np.array([x + moved_by_hand(x, gaps) for x in before])
    clear = (np.abs(before % 1.0 - 0.5) > 0.13) | (np.abs(before - 10) > 4)  # on the lines themselves two gaps' stretch meet in one cell
    np.testing.assert_allclose(after[clear], expected[clear], atol=0.02)
    # A stretched gap has grown by its stretch, less what it gives for the other; six lines away nothing has moved, and no line has been added.
    grown_to = 0.8 * 1.3 - 0.8 * 0.1 * 0.5 / SHARING_LINES
    assert np.interp(9.4, before, after) - np.interp(8.6, before, after) == pytest.approx(grown_to, abs=0.01)
    np.testing.assert_allclose(after[before < 2], before[before < 2], atol=1e-6)
    np.testing.assert_allclose(after[before > 18], before[before > 18], atol=1e-6)
    # Crests are measured again in the gaps beside a stretched one, and nowhere farther than the lines that give for it.
    assert felt[np.abs(field.distance - 9) < 1.4].all() and not felt[field.distance > 19].any()


def test_after_a_slight_stretch_only_the_gaps_beside_it_are_measured_again() -> None:
    grid = Grid(left=0.0, front=0.0, cell=0.25, rows=201, columns=9)
    field = straight_field(grid, 0.0, 2.0)
    stretch = np.where(np.abs(field.distance - 9.5) <= 0.5, 0.03, 0.0)
    slope = np.full(grid.shape, 0.5)
    _, felt = finished(_stretched_steps(field, grid, stretch, 0 * slope, slope))
    away = np.abs(field.distance - 9.5)
    assert felt[away < 1.8].all() and not felt[away > 2.3].any()
