"""Distance field against closed forms."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import ndimage

from addon.finishing.core.grid import Grid
from addon.finishing.passes.cusp_metric import CuspMetric
from addon.finishing.passes.distance_field import FAR, SETTLED, distance_field
from addon.finishing.passes.metric_extension import extended_metric


def constant_metric(grid: Grid, xx: float, xy: float, yy: float) -> CuspMetric:
    one = np.ones(grid.shape)
    return CuspMetric(grid=grid, cusp=0.05, radius=8.0, xx=xx * one, xy=xy * one, yy=yy * one, slope_x=0 * one, slope_y=0 * one)


def least_by_hand(start: np.ndarray, metric: CuspMetric, allowed: np.ndarray) -> np.ndarray:
    """Distances that no cell can lower through any of its eight triangles, each searched densely along its edge; cell by cell, until none does."""
    rows, columns = start.shape
    fraction = np.linspace(0, 1, 201)
    distance = np.where(allowed, start, FAR)
    corners = [((0, a), (b, a)) for a in (-1, 1) for b in (-1, 1)] + [((a, 0), (a, b)) for a in (-1, 1) for b in (-1, 1)]
    changed = True
    while changed:
        changed = False
        for row, column in np.argwhere(allowed).tolist():
            for straight, diagonal in corners:
                ends = [(row + r, column + c) for r, c in (straight, diagonal)]
                if not all(0 <= r < rows and 0 <= c < columns for r, c in ends):
                    continue
                x, y = ((1 - fraction) * a + fraction * b for a, b in ((straight[1], diagonal[1]), (straight[0], diagonal[0])))
                to_go = np.sqrt(metric.xx[row, column] * x * x + 2 * metric.xy[row, column] * x * y + metric.yy[row, column] * y * y)
                arrives = ((1 - fraction) * distance[ends[0]] + fraction * distance[ends[1]] + metric.grid.cell * to_go).min()
                if arrives < distance[row, column] - 1e-9:
                    distance[row, column], changed = arrives, True
    return distance


@pytest.mark.parametrize("seed", range(3))
def test_sweeps_end_where_a_plain_search_ends(seed: int) -> None:
    # The metric turns from place to place and stretches up to nine times more one way than the other; a wall has to be gone round.
    rng = np.random.default_rng(seed)
    grid = Grid(left=0, front=0, cell=0.5, rows=18, columns=22)
    turn, strong = (ndimage.gaussian_filter(rng.normal(0, 1, grid.shape), 3) for _ in range(2))
    turn, strong = 12 * turn, np.exp(1.1 * np.tanh(6 * strong))
    c, s = np.cos(turn), np.sin(turn)
    root_xx, root_xy, root_yy = strong * c * c + s * s / strong, (strong - 1 / strong) * c * s, strong * s * s + c * c / strong
    metric = CuspMetric(
        grid=grid, cusp=0.05, radius=8.0, slope_x=turn, slope_y=turn,
        xx=root_xx**2 + root_xy**2, xy=root_xy * (root_xx + root_yy), yy=root_yy**2 + root_xy**2,
    )  # fmt: skip
    allowed = np.ones(grid.shape, bool)
    allowed[9, 4:] = False
    start = np.full(grid.shape, FAR)
    start[2, 15] = 0.0
    expected = least_by_hand(start, metric, allowed)
    found = distance_field(metric, start, allowed)
    np.testing.assert_allclose(found, expected, rtol=1e-4, atol=4 * SETTLED)
    assert expected[allowed].max() < FAR and (expected[15, allowed[15]] > expected[5].max() / 2).any()


def test_the_extended_metric_keeps_the_known_ground_and_goes_on_from_the_nearest() -> None:
    grid = Grid(left=0, front=0, cell=0.5, rows=40, columns=60)
    x, y = np.meshgrid(np.arange(60), np.arange(40))
    metric = constant_metric(grid, 1.0, 0.0, 1.0)
    metric.xx[:] = np.where(x < 30, 1.0, 3.0)
    known = (np.abs(y - 20) < 8) & (np.abs(x - 30) < 20) & (np.abs(x - 30) > 4)
    # What lies beyond the known ground never counts, however wild.
    metric.xx[~known], metric.yy[~known], metric.xy[~known] = 99.0, -5.0, 7.0
    extended = extended_metric(metric, known, smoothing=0.0)
    for part, original in ((extended.xx, metric.xx), (extended.xy, metric.xy), (extended.yy, metric.yy)):
        np.testing.assert_allclose(part[known], original[known], rtol=1e-6)
    np.testing.assert_allclose(extended.yy, 1.0, rtol=1e-6)
    np.testing.assert_allclose(extended.xy, 0.0, atol=1e-6)
    np.testing.assert_allclose(extended.xx[20, :11], 1.0, rtol=0.05)
    np.testing.assert_allclose(extended.xx[20, 50:], 3.0, rtol=0.05)
    assert (np.diff(extended.xx[20, 26:35]) >= -1e-6).all() and 1.0 < extended.xx[20, 30] < 3.0
    # Smoothed, a step within the known ground is blurred, and still nothing comes in from beyond.
    smooth = extended_metric(metric, known, smoothing=0.8)
    np.testing.assert_allclose(smooth.yy, 1.0, rtol=1e-5)
    assert smooth.xx.max() < 3.001 and smooth.xx.min() > 0.999


@pytest.mark.parametrize("xx, xy, yy", [(0.3, 0.0, 0.3), (0.4, 0.15, 0.2), (0.2, -0.15, 0.5)])
def test_distance_from_a_point_in_a_constant_metric(xx: float, xy: float, yy: float) -> None:
    # Closed form: sqrt(v^T g v). The scheme is of first order, so the error shrinks with the cell.
    errors = []
    for cell in (1.0, 0.5):
        grid = Grid(left=-30, front=-40, cell=cell, rows=int(90 / cell), columns=int(70 / cell))
        x, y = grid.x()[None, :], grid.y()[:, None]
        exact = np.sqrt(xx * x * x + 2 * xy * x * y + yy * y * y)
        start = np.where(np.hypot(x, y) < 4, exact, FAR)
        found = distance_field(constant_metric(grid, xx, xy, yy), start)
        errors.append(float(np.abs(found - exact).max()))
    assert errors[1] < 0.3
    assert errors[1] < 0.75 * errors[0]


def test_distance_from_a_line_is_exact_in_a_constant_metric() -> None:
    # Closed form: across a straight front the distance is |t| / sqrt(n^T g^-1 n), whatever its direction.
    grid = Grid(left=0, front=0, cell=0.5, rows=120, columns=160)
    metric = constant_metric(grid, 0.4, 0.15, 0.2)
    start = np.full(grid.shape, FAR)
    start[0] = 0
    found = distance_field(metric, start)
    determinant = 0.4 * 0.2 - 0.15**2
    exact = grid.y()[:, None] * np.sqrt(determinant / 0.4) + np.zeros(grid.shape)
    # Rays slant by 22 mm over the height: cells near the sides are fed from the corners of the start, not from its inside.
    np.testing.assert_allclose(found[:, 50:80], exact[:, 50:80], atol=1e-9)


def test_fronts_go_round_what_is_not_allowed() -> None:
    # Closed form: the shortest route round a wall's end is two straight pieces.
    grid = Grid(left=0, front=0, cell=0.5, rows=101, columns=101)
    allowed = np.ones(grid.shape, bool)
    allowed[50, :80] = False
    start = np.full(grid.shape, FAR)
    start[20, 20] = 0
    found = distance_field(constant_metric(grid, 1, 0, 1), start, allowed)
    exact = np.hypot(60, 30) * 0.5 + np.hypot(60, 30) * 0.5
    assert found[80, 20] == pytest.approx(exact, rel=0.03)
    assert (found[~allowed] == FAR).all()


@pytest.mark.parametrize("rows, columns", [(4, 300), (300, 4), (3, 200), (2, 2)])
def test_the_extended_metric_is_there_however_long_and_narrow_the_ground(rows: int, columns: int) -> None:
    # Two bodies far apart: coarser and coarser means came down to one row, and stayed nothing at its other end.
    metric = constant_metric(Grid(left=0, front=0, cell=0.5, rows=rows, columns=columns), 1.0, 0.5, 2.0)
    known = np.zeros((rows, columns), bool)
    known[:2, :2] = True
    extended = extended_metric(metric, known, smoothing=0.8)
    for part, value in ((extended.xx, 1.0), (extended.xy, 0.5), (extended.yy, 2.0)):
        np.testing.assert_allclose(part, value, rtol=1e-5)


@pytest.mark.parametrize("rows, columns", [(24, 37), (31, 31), (40, 18)])
def test_a_turned_metric_is_extended_as_before(rows: int, columns: int) -> None:
    # A turn by a quarter exchanges xx and yy, and turns the sign of xy.
    rng = np.random.default_rng(8)
    metric = constant_metric(Grid(left=0, front=0, cell=0.5, rows=rows, columns=columns), 1.0, 0.5, 2.0)
    for part in (metric.xx, metric.xy, metric.yy):
        part *= rng.uniform(0.5, 1.5, part.shape)
    known = np.zeros((rows, columns), bool)
    known[5:11, 4:9] = known[13, 14] = True
    here = extended_metric(metric, known, smoothing=0.6)
    turned = constant_metric(Grid(left=0, front=0, cell=0.5, rows=columns, columns=rows), 1.0, 0.5, 2.0)
    turned.xx[:], turned.xy[:], turned.yy[:] = np.rot90(metric.yy), -np.rot90(metric.xy), np.rot90(metric.xx)
    there = extended_metric(turned, np.rot90(known), smoothing=0.6)
    for part, same in ((there.xx, here.yy), (there.xy, -here.xy), (there.yy, here.xx)):
        np.testing.assert_allclose(part, np.rot90(same), rtol=1e-5, atol=1e-6)
