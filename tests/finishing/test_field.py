"""Distance field against closed forms."""

from __future__ import annotations

import numpy as np
import pytest

from addon.finishing.core.grid import Grid
from addon.finishing.passes.cusp_metric import CuspMetric
from addon.finishing.passes.distance_field import FAR, distance_field


def constant_metric(grid: Grid, xx: float, xy: float, yy: float) -> CuspMetric:
    one = np.ones(grid.shape)
    return CuspMetric(grid, 0.05, 8.0, xx * one, xy * one, yy * one, 0 * one, 0 * one)


@pytest.mark.parametrize("xx, xy, yy", [(0.3, 0.0, 0.3), (0.4, 0.15, 0.2), (0.2, -0.15, 0.5)])
def test_distance_from_a_point_in_a_constant_metric(xx: float, xy: float, yy: float) -> None:
    # Closed form: sqrt(v^T g v). The scheme is of first order, so the error shrinks with the cell.
    errors = []
    for cell in (1.0, 0.5):
        grid = Grid(-30, -40, cell, int(90 / cell), int(70 / cell))
        x, y = grid.x()[None, :], grid.y()[:, None]
        exact = np.sqrt(xx * x * x + 2 * xy * x * y + yy * y * y)
        start = np.where(np.hypot(x, y) < 4, exact, FAR)
        found = distance_field(constant_metric(grid, xx, xy, yy), start)
        errors.append(float(np.abs(found - exact).max()))
    assert errors[1] < 0.3
    assert errors[1] < 0.75 * errors[0]


def test_distance_from_a_line_is_exact_in_a_constant_metric() -> None:
    # Closed form: across a straight front the distance is |t| / sqrt(n^T g^-1 n), whatever its direction.
    grid = Grid(0, 0, 0.5, 120, 160)
    metric = constant_metric(grid, 0.4, 0.15, 0.2)
    start = np.full(grid.shape, FAR)
    start[0] = 0
    found = distance_field(metric, start)
    determinant = 0.4 * 0.2 - 0.15**2
    exact = grid.y()[:, None] * np.sqrt(determinant / 0.4) + np.zeros(grid.shape)
    # Rays slant by 22 mm over the height: cells near the sides are fed from the corners of the start, not from its inside.
    np.testing.assert_allclose(found[:, 50:80], exact[:, 50:80], atol=1e-9)


def test_fronts_go_round_what_is_not_allowed() -> None:
    # Closed form: the way round a wall's end is two straight pieces.
    grid = Grid(0, 0, 0.5, 101, 101)
    allowed = np.ones(grid.shape, bool)
    allowed[50, :80] = False
    start = np.full(grid.shape, FAR)
    start[20, 20] = 0
    found = distance_field(constant_metric(grid, 1, 0, 1), start, allowed)
    exact = np.hypot(60, 30) * 0.5 + np.hypot(60, 30) * 0.5
    assert found[80, 20] == pytest.approx(exact, rel=0.03)
    assert (found[~allowed] == FAR).all()
