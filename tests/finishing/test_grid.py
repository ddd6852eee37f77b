"""The grid: where cells lie, and values read between them."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import ndimage

from addon.finishing.core.grid import Grid


@given(st.floats(-50, 50), st.floats(0.1, 60), st.floats(0.1, 60), st.sampled_from([0.125, 0.25, 0.3]), st.floats(0, 9))
def test_a_grid_over_a_box_covers_it_and_its_margin(low: float, length: float, width: float, cell: float, margin: float) -> None:
    grid = Grid.over(np.array([low, -low]), np.array([low + length, -low + width]), cell, margin)
    for centres, first, last in ((grid.x(), low, low + length), (grid.y(), -low, -low + width)):
        assert centres[0] <= first - margin + 1e-9 and centres[-1] >= last + margin - 1e-9
        # And hardly more, alike at both ends: the margin is rounded up to whole cells, and so is the extent, half of that at each end.
        assert centres[0] >= first - margin - 1.5 * cell - 1e-9 and centres[-1] <= last + margin + 1.5 * cell + 1e-9
        np.testing.assert_allclose(first - centres[0], centres[-1] - last, atol=1e-9)
    assert grid.shape == (len(grid.y()), len(grid.x()))


def test_values_between_cells_are_scipys_linear_ones() -> None:
    # Reference library: scipy.ndimage.map_coordinates of order 1, the border's values repeated outwards.
    rng = np.random.default_rng(2)
    grid = Grid(left=3.0, front=-7.0, cell=0.4, rows=9, columns=13)
    values = rng.normal(size=grid.shape)
    points = np.column_stack([rng.uniform(1, 11, 400), rng.uniform(-9, -1, 400)])
    expected = ndimage.map_coordinates(values, [(points[:, 1] + 7.0) / 0.4, (points[:, 0] - 3.0) / 0.4], order=1, mode="nearest")
    np.testing.assert_allclose(grid.sample(values, points), expected, atol=1e-12)


@pytest.mark.parametrize("rows, columns", [(1, 1), (1, 5), (4, 1)])
def test_values_on_grids_of_one_row_or_column(rows: int, columns: int) -> None:
    grid = Grid(left=0.0, front=0.0, cell=1.0, rows=rows, columns=columns)
    values = np.arange(rows * columns, dtype=float).reshape(rows, columns)
    middle = np.array([[(columns - 1) / 2, (rows - 1) / 2]])
    assert grid.sample(values, middle)[0] == pytest.approx((rows * columns - 1) / 2)


def test_nearest_cells_and_their_middles() -> None:
    grid = Grid(left=10.0, front=20.0, cell=0.5, rows=6, columns=8)
    row, column = np.array([0, 2, 5]), np.array([0, 7, 3])
    points = grid.middles(row, column)
    np.testing.assert_allclose(points, [[10, 20], [13.5, 21], [11.5, 22.5]])
    for shift in ((0.24, -0.24), (-0.24, 0.24)):
        found = grid.nearest(points + shift)
        np.testing.assert_array_equal(found, (row, column))
    # Points off the grid are drawn to its border.
    np.testing.assert_array_equal(grid.nearest(np.array([[-99.0, 99.0]])), ([5], [0]))


def test_padded_and_coarsened_grids_keep_their_cells_in_place() -> None:
    grid = Grid(left=1.0, front=2.0, cell=0.5, rows=5, columns=7)
    wide = grid.padded(3)
    np.testing.assert_allclose(wide.x()[3:-3], grid.x())
    np.testing.assert_allclose(wide.y()[3:-3], grid.y())
    coarse = grid.coarsened(2)
    assert coarse.shape == (3, 4) and coarse.cell_area == 1.0
    # The coarse cells reach as far past the fine ones on both sides.
    np.testing.assert_allclose(coarse.x().mean(), grid.x().mean())
    np.testing.assert_allclose(coarse.y().mean(), grid.y().mean())
    assert np.ptp(coarse.x()) == 3.0 and np.ptp(coarse.y()) == 2.0
