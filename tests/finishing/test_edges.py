"""Edges between cells, on surfaces whose walls and jumps are known by construction."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import ndimage

from addon.finishing.core.grid import Grid
from addon.finishing.core.stepping import finished
from addon.finishing.surface.edges import Edges, edges_steps, near_edge_cells

CELL = 0.25


def edges_of(heights: np.ndarray) -> Edges:
    return finished(edges_steps(heights, CELL))


def plan(half: float = 6.0) -> tuple[np.ndarray, np.ndarray]:
    count = 2 * round(half / CELL) + 1
    grid = Grid(-half, -half, CELL, count, count)
    x, y = np.meshgrid(grid.x(), grid.y())
    return x, y


def inner(edges: Edges) -> tuple[np.ndarray, np.ndarray]:
    """Edges along x and y without those of the grid's border."""
    return edges.along_x[:, 1:], edges.along_y[1:]


@pytest.mark.parametrize("height", [0.4, 2.0, -3.0])
def test_a_wall_between_two_flats_lies_between_their_cells(height: float) -> None:
    # By construction: one row of edges, nothing else. 0.4 mm over a cell of 0.25 are 58 degrees: a jump, for it stands alone.
    x, _ = plan()
    along_x, along_y = inner(edges_of(np.where(x > 1.1, height, 0.0)))
    expected = (x[:, :-1] < 1.1) & (x[:, 1:] > 1.1)
    np.testing.assert_array_equal(along_x, expected)
    assert not along_y.any()


@pytest.mark.parametrize("degrees", [30, 55, 70, 78])
@pytest.mark.parametrize("turn", [0, 30, 45])
def test_a_slope_is_not_an_edge_however_steep(degrees: float, turn: float) -> None:
    # By construction: a plane below 80 degrees has no wall, and no rise of it stands alone.
    x, y = plan()
    across = x * np.cos(np.radians(turn)) + y * np.sin(np.radians(turn))
    for mask in inner(edges_of(across * np.tan(np.radians(degrees)))):
        assert not mask.any()


def test_a_drafted_wall_is_separated_from_the_ground_on_both_sides() -> None:
    # By construction: a wall of 85 degrees, two cells wide in plan; its cells have edges to all their neighbours, and the flats none.
    x, y = plan()
    height = np.clip(x * np.tan(np.radians(85)), 0, 2 * CELL * np.tan(np.radians(85)))
    edges = edges_of(height)
    on_wall = (x > 0.01) & (x < 2 * CELL - 0.01)
    for mask, axis in ((edges.along_x, 1), (edges.along_y, 0)):
        ahead = np.roll(mask, -1, axis=axis)
        assert mask[on_wall].all() and ahead[on_wall].all()
    flat = (np.abs(x - CELL) > 3 * CELL) & (np.abs(x) < 5.5) & (np.abs(y) < 5.5)
    assert not edges.along_x[flat].any() and not edges.along_y[flat].any()


def test_the_end_of_the_body_and_of_the_grid_are_edges() -> None:
    x, y = plan()
    body = np.hypot(x, y) < 4
    edges = edges_of(np.where(body, 3.0, -np.inf))
    np.testing.assert_array_equal(edges.exists, body)
    assert (edges.heights == 0).all()  # from the lowest point of the body, 0 outside
    both = body[:, 1:] & body[:, :-1]
    np.testing.assert_array_equal(edges.along_x[:, 1:], ~both)
    np.testing.assert_array_equal(edges.along_y[1:], ~(body[1:] & body[:-1]))
    assert edges.along_x[:, 0].all() and edges.along_y[0].all()


def test_a_cell_half_way_up_a_wall_belongs_to_the_wall() -> None:
    # By construction: one column of cells stands at half the height of a wall of 4 mm. It has the ground on neither side.
    x, _ = plan()
    column = np.argmin(np.abs(x[0]))
    height = np.where(x > 0, 4.0, 0.0)
    height[:, column] = 2.0
    edges = edges_of(height)
    assert edges.along_x[:, column].all() and edges.along_x[:, column + 1].all()
    others = np.delete(np.arange(x.shape[1]), [0, column, column + 1])
    assert not edges.along_x[:, others].any()


def test_a_jump_on_a_slope_is_an_edge_only_if_it_stands_out() -> None:
    # By construction: on a slope of 15 degrees one rise is steeper. More than three times as steep it is a jump, else part of the slope.
    x, _ = plan()
    gentle = np.tan(np.radians(15)) * CELL
    for rise, expected in ((6.0 * gentle, True), (2.5 * 2 * gentle, False)):
        slope = gentle if expected else 2 * gentle
        height = slope * np.rint(x / CELL) + np.where(x > 0.1, rise - slope, 0.0)
        assert np.degrees(np.arctan(rise / CELL)) > 50
        along_x, along_y = inner(edges_of(height))
        np.testing.assert_array_equal(along_x, expected & (x[:, :-1] < 0.1) & (x[:, 1:] > 0.1))
        assert not along_y.any()


def test_a_cell_at_the_foot_of_a_wall_that_stands_off_the_ground_belongs_to_the_wall() -> None:
    # By construction: a wall of 4 mm whose lowest cell stands 0.2 mm above the ground: no jump by itself, but no ground either.
    x, _ = plan()
    column = np.argmin(np.abs(x[0]))
    height = np.where(x > 0, 4.0, 0.0)
    height[:, column] = 0.2
    edges = edges_of(height)
    assert edges.along_x[:, column].all() and edges.along_x[:, column + 1].all()
    # On the ground's own level it is ground.
    height[:, column] = 0.02
    edges = edges_of(height)
    assert not edges.along_x[:, column].any() and edges.along_x[:, column + 1].all()


@pytest.mark.parametrize("half_width", [2, 3, 7])
def test_cells_near_an_edge_are_scipys_dilation(half_width: int) -> None:
    # Reference library: scipy.ndimage.maximum_filter. An edge lies between cells c - 1 and c, so half a cell less to its own side.
    rng = np.random.default_rng(half_width)
    shape = (40, 50)
    edges = Edges(np.ones(shape, bool), np.zeros(shape, np.float32), rng.random(shape) < 0.003, rng.random(shape) < 0.003)
    expected = np.zeros(shape, bool)
    for mask, axis in ((edges.along_x, 1), (edges.along_y, 0)):
        window = [2 * half_width + 1] * 2
        window[axis] = 2 * half_width
        origin = [0, 0]
        origin[axis] = -1  # an even window leans towards the start; here it covers c - half_width + 1 .. c + half_width
        expected |= ndimage.maximum_filter(mask, size=window, mode="constant", cval=1, origin=origin)
    np.testing.assert_array_equal(near_edge_cells(edges, half_width), expected)
