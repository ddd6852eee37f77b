"""Pass lines where fronts meet, and the gaps between them, on ground whose cusps have a closed form."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial import cKDTree
from shapes import block, graph

from addon.finishing.ball.axis_region import AxisRegion
from addon.finishing.ball.exact_tip import TipFinder
from addon.finishing.core.cusp_formulas import spacing_on_flat
from addon.finishing.core.grid import FloatArray, Grid
from addon.finishing.core.level_lines import level_lines
from addon.finishing.core.path import CUT, LINK
from addon.finishing.core.polyline import travelled
from addon.finishing.core.stepping import finished
from addon.finishing.job.body import make_body
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.request import Request
from addon.finishing.passes.crest_meter import CrestMeter
from addon.finishing.passes.cusp_metric import CuspMetric
from addon.finishing.passes.gaps import distance_to_lines
from addon.finishing.passes.laying import lay_passes
from addon.finishing.passes.lifting import lifted_lines, longest_chord
from addon.finishing.passes.pass_ground import pass_ground
from addon.finishing.passes.starts import Start, pass_field_steps
from addon.finishing.planning.plan import make_plan
from addon.finishing.simulation.proof import ProvedGround

RADIUS, CUSP = 6.0, 0.05


def flat(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    return np.full(np.shape(x), 12.0)


@pytest.mark.parametrize("degrees", [33.0, 38.0, 45.0, 52.0])
def test_no_peak_stays_where_fronts_meet(degrees: float) -> None:
    # Closed form: over flat ground, u away from the nearest move, R - sqrt(R^2 - u^2) stays. The ground is a wedge, the rest is skipped:
    # fronts from its sides meet at a sharp angle, and peaks stand between the tips of lines. The moves are found by scipy's tree.
    length, width, spacing = 60.0, 40.0, float(spacing_on_flat(RADIUS, CUSP))
    body = make_body("flat", block(flat, length, width, 0.5))
    across = np.array([-np.sin(np.radians(degrees)), np.cos(np.radians(degrees))])
    middle = body.triangles.mean(axis=1)
    skip = (middle[:, :2] @ across > 2.0) & (middle[:, 2] > 11)
    made = make_plan(Request(replace(body, skip=skip), cutter=Cutter("Round-nose 12", 2 * RADIUS), start="border", rack_table=False, cusp=CUSP))
    surface = np.flatnonzero((made.path.kind == CUT) | (made.path.kind == LINK))
    before, after = made.path.points[surface - 1, :2], made.path.points[surface, :2]
    moves = (before + np.linspace(0, 1, 31)[:, None, None] * (after - before)).reshape(-1, 2)
    inside = 0.5 + 1.2 * spacing
    x, y = np.arange(inside, length - inside, 0.05), np.arange(inside, width - inside, 0.05)
    places = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    places = places[places @ across < 2.0 - 0.5 - inside]
    u = cKDTree(moves).query(places + made.job_from_body[:2, 3])[0]
    assert (RADIUS - np.sqrt(RADIUS**2 - u.max() ** 2)) / CUSP < 1.10


def zigzag(noise: float) -> float:
    """How much longer than straight, as a share, pass lines are in plan over flat ground with noise (mm) of a scan, 3 mm off its ends."""
    length, lot = 30.0, np.random.default_rng(5).normal(0, noise, (41, 61))

    def scanned(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        return 12 + lot[np.rint(2 * y).astype(int), np.rint(2 * x).astype(int)]

    body = make_body("scan", block(scanned, length, 20, 0.5))
    made = make_plan(Request(body, cutter=Cutter("Round-nose 8", 8.0), cell=0.125, start="edge", start_angle=0.0, rack_table=False))
    moves = np.concatenate([np.diff(line[:, :2], axis=0) for line in made.path.lines()])
    places = np.concatenate([line[1:, 0] for line in made.path.lines()]) - made.job_from_body[0, 3]
    moves = moves[(places > 3) & (places < length - 3)]
    return float(np.hypot(moves[:, 0], moves[:, 1]).sum() / np.abs(moves[:, 0]).sum() - 1)


@pytest.mark.parametrize("noise", [0.0, 0.005, 0.01, 0.02])
def test_no_zigzag_from_the_noise_of_a_scan(noise: float) -> None:
    # Closed form: over flat ground lines are straight.
    assert zigzag(noise) <= (0.005 if noise else 1e-6)


def test_smoothing_keeps_lines_from_zigzag(monkeypatch: pytest.MonkeyPatch) -> None:
    smooth = zigzag(0.01)
    monkeypatch.setattr("addon.finishing.passes.pass_ground.TIP_SMOOTHING", 0.1)
    monkeypatch.setattr("addon.finishing.passes.pass_ground.METRIC_SMOOTHING", 0.1)
    assert zigzag(0.01) > 3 * smooth


class FixedMeter(CrestMeter):
    """Says of every place that is measured the same cusp, over the asked one."""

    said = 0.5

    def excess_steps(self, sweep, places):  # noqa: ANN001, ANN201
        yield 0.0
        return np.where(self.measures(places), self.said, 0.0)


def test_a_gap_stays_open_where_its_cusp_is_tolerable() -> None:
    # By construction: lines from the border inward leave gaps on the ridges, by the cusp metric; the meter decides whether they are closed.
    grid = Grid(0.0, 0.0, 0.25, 241, 161)
    heights = flat(*np.meshgrid(grid.x(), grid.y())).astype(np.float32)
    planned = np.zeros(grid.shape, bool)
    planned[2:-2, 2:-2] = True
    row, column = np.indices(grid.shape, np.int32)
    region = AxisRegion(grid, planned, planned, row, column, np.zeros(grid.shape, np.float32))
    ground = pass_ground(heights, np.zeros(grid.shape, np.float32), grid, region, RADIUS, CUSP)
    field = finished(pass_field_steps(ground.metric, ground.planned, Start("border")))
    finder = TipFinder(graph(flat, np.linspace(-1, 61, 3), np.linspace(-1, 41, 3)))
    proved = ProvedGround(grid, heights, heights, planned, 0.05)
    laid = {}
    for meter in (FixedMeter, CrestMeter):
        lines = finished(lay_passes(field, ground, region, heights, grid, meter(heights, proved, RADIUS, CUSP, finder)))
        laid[meter] = sum(float(travelled(line.points)[-1]) for line in lines)
    # What only the real meter closes are the gaps of about one spacing's width along the ridges; nothing else differs.
    assert laid[CrestMeter] > laid[FixedMeter] + 5
    levels = level_lines(field.distance, ground.metric.grid, field.first, np.abs(field.distance) < 1e8)
    assert laid[FixedMeter] < 1.02 * sum(float(travelled(line.whole)[-1]) for line in levels)


def test_the_tip_of_a_detour_is_kept_when_lines_are_raised() -> None:
    # By construction: on flat ground chords are as long as they may be, yet a detour must reach what it was laid for.
    x = np.arange(0, 30.5, 0.5)
    tip = np.array([15.3, 1.37])
    line = np.concatenate([np.column_stack([x[:31], 0 * x[:31]]), tip[None], np.column_stack([x[31:], 0 * x[31:]])])

    def level(points: FloatArray):  # noqa: ANN202
        yield 0.0
        return np.zeros(points.shape[:-1])

    (made,) = finished(lifted_lines([line], level, lambda points: np.zeros(len(points)), 0.002, RADIUS))
    assert np.hypot(*(made[:, :2] - tip).T).min() < 1e-9
    assert np.hypot(*np.diff(made[:, :2], axis=0).T).max() <= longest_chord(RADIUS, 0.002) + 1e-9


def test_an_edge_does_not_hide_between_the_places_where_chords_are_checked() -> None:
    # Closed form: a ball of radius R over edges that stand d out of flat ground runs on arcs, max(0, d + sqrt(R^2 - u^2) - R) high. Nothing
    # of this shows in the estimate. What shows less than half the tolerance at the checks may stand out by that much more.
    radius, tolerance = 2.0, 0.002
    edges = np.cumsum(np.random.default_rng(5).uniform(1.0, 3.0, 150))

    def height(points: FloatArray) -> FloatArray:
        u = np.abs(points[..., 0, None] - edges).min(axis=-1)
        return np.maximum(0.0046 + np.sqrt(np.maximum(radius**2 - u**2, 0)) - radius, 0)

    def surface(points: FloatArray):  # noqa: ANN202
        yield 0.0
        return height(points)

    (made,) = finished(lifted_lines([np.array([[0.0, 0.0], [320.0, 0.0]])], surface, lambda points: np.zeros(len(points)), tolerance, radius))
    dense = np.linspace(0, 320, 200_001)
    standing = height(np.column_stack([dense, 0 * dense])) - np.interp(dense, made[:, 0], made[:, 2])
    assert standing.max() <= 1.5 * tolerance


def test_distances_to_lines_equal_a_search_through_all() -> None:
    # Brute force: the g-distance of every wanted cell to every point of densely sampled lines, on a metric that is the same everywhere.
    grid = Grid(-3.0, 2.0, 0.5, 60, 80)
    xx, xy, yy = 0.30, 0.08, 0.22
    same = [np.full(grid.shape, v) for v in (xx, xy, yy, 0.0, 0.0)]
    metric = CuspMetric(grid, CUSP, RADIUS, *same)
    rng = np.random.default_rng(3)
    x = np.linspace(0, 36, 25)
    lines: list[FloatArray] = [np.column_stack([x, y + 1.5 * np.sin(x / 6 + y)]) for y in (6.0, 12.5, 19.0, 25.0)]
    wanted = rng.random(grid.shape) < 0.3
    wanted &= (grid.x() > 1) & (grid.x() < 35)  # beside the lines, not beyond their ends, which count as half a cell longer
    found = distance_to_lines(metric, lines, wanted)
    dense = np.concatenate([np.column_stack([np.interp(np.linspace(0, len(p) - 1, 4000), np.arange(len(p)), p[:, k]) for k in (0, 1)]) for p in lines])
    r, c = np.nonzero(wanted)
    apart = np.column_stack([grid.left + grid.cell * c, grid.front + grid.cell * r])[:, None] - dense[None]
    exact = np.sqrt((xx * apart[..., 0] ** 2 + 2 * xy * apart[..., 0] * apart[..., 1] + yy * apart[..., 1] ** 2).min(axis=1))
    near = exact < 1.2
    # A cell keeps one point of the lines, whose straight piece stands for them: a bend within it is off by a fraction of a cell (0.25 units).
    np.testing.assert_allclose(found[r, c][near], exact[near], atol=0.04)
    assert (found[r, c][exact > 1.3] > 1.2).all()
