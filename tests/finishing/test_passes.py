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
from addon.finishing.core.grid import Grid
from addon.finishing.core.level_lines import level_lines
from addon.finishing.core.path import CUT, LINK
from addon.finishing.core.polyline import travelled
from addon.finishing.core.stepping import finished
from addon.finishing.job.body import make_body
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.request import Request
from addon.finishing.passes.crest_meter import CrestMeter
from addon.finishing.passes.gap_closing import doubtful_ground
from addon.finishing.passes.laying import lay_passes
from addon.finishing.passes.pass_ground import pass_ground
from addon.finishing.passes.starts import Start, pass_field_steps
from addon.finishing.planning.plan import make_plan
from addon.finishing.simulation.proof import ProvedGround, sample_ground

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
    made = make_plan(Request(replace(body, skip=skip), cutter=Cutter("Round-nose 12", 2 * RADIUS), lines_from="border", rack_table=False, cusp=CUSP))
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
    """How much longer than straight, over the straight length, pass lines are in plan over flat ground with noise (mm) of a scan, 3 mm off its ends."""
    length, errors = 30.0, np.random.default_rng(5).normal(0, noise, (41, 61))

    def scanned(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        return 12 + errors[np.rint(2 * y).astype(int), np.rint(2 * x).astype(int)]

    body = make_body("scan", block(scanned, length, 20, 0.5))
    made = make_plan(Request(body, cutter=Cutter("Round-nose 8", 8.0), cell=0.125, lines_from="edge", line_angle=0.0, rack_table=False))
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


def test_gaps_are_looked_for_on_ridges_and_along_the_border_alone() -> None:
    # Closed form: fronts from the sides of a rectangle meet on the bisectors of its corners and on the line between them, nowhere else.
    grid = Grid(left=0.0, front=0.0, cell=0.25, rows=161, columns=241)
    x, y = np.meshgrid(grid.x(), grid.y())
    planned = (x > 2) & (x < 58) & (y > 2) & (y < 38)
    row, column = np.indices(grid.shape, np.int32)
    region = AxisRegion(
        grid=grid, cutting=planned, linking=planned, contact_row=row, contact_column=column, slope_degrees=np.zeros(grid.shape, np.float32)
    )
    heights = flat(x, y).astype(np.float32)
    ground = pass_ground(heights, np.zeros(grid.shape, np.float32), grid, region, RADIUS, CUSP)
    meeting, border = doubtful_ground(finished(pass_field_steps(ground.metric, ground.planned, Start("border"))), ground)
    coarse, spacing = ground.metric.grid, float(spacing_on_flat(RADIUS, CUSP))
    x, y = np.meshgrid(coarse.x(), coarse.y())
    sides = np.sort([x - 2, 58 - x, y - 2, 38 - y], axis=0)
    on_ridge = sides[1] - sides[0]  # how much farther the second side is than the first
    deep = (sides[0] > 2 * spacing) & ground.inside
    assert meeting[deep & (on_ridge < 0.2)].all() and not meeting[deep & (on_ridge > 3 * spacing)].any()
    assert border[(sides[0] > 0.5) & (sides[0] < 0.9 * spacing)].all() and not border[sides[0] > 1.3 * spacing].any()
    # From an edge fronts meet nowhere in there.
    meeting, _ = doubtful_ground(finished(pass_field_steps(ground.metric, ground.planned, Start("edge"))), ground)
    assert not meeting[deep].any()


class FixedMeter(CrestMeter):
    """Says of every place that is measured the same cusp, over the asked one."""

    said = 0.5

    def excess_steps(self, sweep, places):  # noqa: ANN001, ANN201
        yield 0.0
        return np.where(self.measures(places), self.said, 0.0)


def test_a_gap_stays_open_where_its_cusp_is_tolerable() -> None:
    # By construction: lines from the border inward leave gaps on the ridges, by the cusp metric; the meter decides whether they are closed.
    grid = Grid(left=0.0, front=0.0, cell=0.25, rows=241, columns=161)
    heights = flat(*np.meshgrid(grid.x(), grid.y())).astype(np.float32)
    planned = np.zeros(grid.shape, bool)
    planned[2:-2, 2:-2] = True
    row, column = np.indices(grid.shape, np.int32)
    region = AxisRegion(
        grid=grid, cutting=planned, linking=planned, contact_row=row, contact_column=column, slope_degrees=np.zeros(grid.shape, np.float32)
    )
    ground = pass_ground(heights, np.zeros(grid.shape, np.float32), grid, region, RADIUS, CUSP)
    field = finished(pass_field_steps(ground.metric, ground.planned, Start("border")))
    finder = TipFinder(graph(flat, np.linspace(-1, 61, 3), np.linspace(-1, 41, 3)))
    proved = ProvedGround(grid=grid, closing=heights, surface=heights, planned=planned, tolerance=0.05)
    laid = {}
    for meter in (FixedMeter, CrestMeter):
        lines = finished(lay_passes(field, ground, region, heights, grid, meter(heights, sample_ground(proved, RADIUS, finder), proved.reached, CUSP)))
        laid[meter] = sum(float(travelled(line.points)[-1]) for line in lines)
    # What only the real meter closes are the gaps of about one spacing's width along the ridges; nothing else differs.
    assert laid[CrestMeter] > laid[FixedMeter] + 5
    levels = level_lines(field.distance, ground.metric.grid, field.first, np.abs(field.distance) < 1e8)
    assert laid[FixedMeter] < 1.02 * sum(float(travelled(line.whole)[-1]) for line in levels)
