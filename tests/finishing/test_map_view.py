"""From grid to pixels: where things lie, means and bilinear values, borders, shading."""

from __future__ import annotations

import numpy as np
import pytest

from addon.finishing.core.grid import Grid
from addon.finishing.pictures.map_view import LIGHT, SHADE_LIMITS, MapView, body_extent, shading

BOX = (52.0, 100.0, 1142.0, 900.0)


def grid_of(cell: float) -> Grid:
    return Grid.over(np.array([-62.0, -62.0]), np.array([62.0, 62.0]), cell)


def disc(grid: Grid) -> np.ndarray:
    """Heights of a flat round plate of radius 60, -inf outside."""
    x, y = np.meshgrid(grid.x(), grid.y())
    return np.where(np.hypot(x, y) < 60, 20.0, -np.inf)


def view_of(grid: Grid, heights: np.ndarray, box: tuple[float, float, float, float] = BOX) -> MapView:
    view = MapView.fitted(grid, heights, box)
    assert view is not None
    return view


@pytest.mark.parametrize("cell", [0.1, 0.5, 3.0])
def test_the_body_fills_its_box_and_lies_in_its_middle(cell: float) -> None:
    grid = grid_of(cell)
    view = view_of(grid, disc(grid))
    # The height of the box decides, and a cell of air lies all round.
    assert view.rows.stop - view.rows.start == pytest.approx(800, abs=1) and view.rows.start == pytest.approx(100, abs=1)
    assert (view.columns.start + view.columns.stop) / 2 == pytest.approx((BOX[0] + BOX[2]) / 2, abs=1)
    x, y = view.pixels(np.array([[0.0, 0.0], [0.0, 30.0]]))
    assert x[0] == pytest.approx((view.columns.start + view.columns.stop) / 2, abs=cell * view.scale)
    assert y[0] - y[1] == pytest.approx(30 * view.scale)  # y of the job runs upwards, rows downwards


def test_no_body_has_no_view() -> None:
    grid = grid_of(1.0)
    nothing = np.full(grid.shape, -np.inf)
    assert body_extent(grid, nothing) is None and MapView.fitted(grid, nothing, BOX) is None


def test_points_beside_the_body_are_in_view_too() -> None:
    grid = grid_of(1.0)
    assert body_extent(grid, disc(grid), np.array([[100.0, -90.0, 5.0]])) == pytest.approx((-60, -90, 100, 60), abs=1.1)


SMALL_BOX = (10.0, 10.0, 210.0, 160.0)
"""Some 5 pixels in a mm, so that fine cells are gathered into blocks."""


@pytest.mark.parametrize("cell, box", [(0.03, SMALL_BOX), (0.07, SMALL_BOX), (0.15, BOX), (0.5, BOX), (2.0, BOX)])
def test_a_linear_map_is_resampled_to_itself(cell: float, box: tuple[float, float, float, float]) -> None:
    # Means over blocks and bilinear values both give a linear function exactly.
    grid = Grid.over(np.array([0.0, 0.0]), np.array([40.0, 30.0]), cell)
    x, y = np.meshgrid(grid.x(), grid.y())
    view = view_of(grid, np.ones(grid.shape), box)
    shown, known = view.resampled(2 + 0.5 * x - 0.25 * y)
    columns, rows = np.meshgrid(np.arange(view.columns.start, view.columns.stop) + 0.5, np.arange(view.rows.start, view.rows.stop) + 0.5)
    at_x = view.left + (columns - view.columns.start) / view.scale
    at_y = view.top - (rows - view.rows.start) / view.scale
    whole = (known > 0.999) & (at_x > 1 + cell) & (at_x < 39 - cell) & (at_y > 1 + cell) & (at_y < 29 - cell)
    assert whole.mean() > 0.5
    assert np.abs(shown - (2 + 0.5 * at_x - 0.25 * at_y))[whole].max() < 0.002


@pytest.mark.parametrize("cell, box", [(0.03, SMALL_BOX), (0.2, SMALL_BOX), (0.5, BOX)])
def test_a_step_stays_as_sharp_as_its_cells_or_the_pixels_allow(cell: float, box: tuple[float, float, float, float]) -> None:
    grid = Grid.over(np.array([0.0, 0.0]), np.array([40.0, 30.0]), cell)
    x, _ = np.meshgrid(grid.x(), grid.y())
    view = view_of(grid, np.ones(grid.shape), box)
    shown, _ = view.resampled(np.where(x < 20, 0.0, 1.0))
    row = shown[shown.shape[0] // 2]
    between = ((row > 0.02) & (row < 0.98)).sum()
    assert between <= max(cell * view.scale, 1) + 1  # a step between two pixels touches both


def test_values_that_are_not_there_take_no_part() -> None:
    grid = grid_of(1.0)
    values = np.where(disc(grid) > 0, 7.0, np.nan)
    shown, known = view_of(grid, disc(grid)).resampled(values)
    assert shown[known > 0.01] == pytest.approx(7.0, abs=1e-4) and not shown[known == 0].any() and np.isfinite(shown).all()


@pytest.mark.parametrize("cell", [0.1, 0.5, 2.0])
def test_a_mask_covers_its_area(cell: float) -> None:
    # Closed form: a disc of radius 60 has pi 60^2 mm2; the border is about a pixel wide whatever the cell.
    grid = grid_of(cell)
    view = view_of(grid, disc(grid))
    cover = view.cover(disc(grid) > 0)
    assert cover.sum() / view.scale**2 == pytest.approx(np.pi * 60**2, rel=0.02)
    between = ((cover > 0.01) & (cover < 0.99)).sum()
    assert between < 4 * 2 * np.pi * 60 * view.scale
    edge = view.edge(cover)
    assert edge.max() <= 1 and 0 < edge.sum() < 3 * 2 * np.pi * 60 * view.scale and not edge[cover == 0].any()


def test_flat_ground_is_not_shaded_and_slopes_follow_the_light() -> None:
    grid = Grid.over(np.array([0.0, 0.0]), np.array([40.0, 30.0]), 0.5)
    x, _ = np.meshgrid(grid.x(), grid.y())
    view = view_of(grid, np.ones(grid.shape))
    inner = np.s_[60:-60, 60:-60]
    assert shading(view, np.full(grid.shape, 5.0), 0.6)[inner] == pytest.approx(1.0, abs=1e-4)
    # Closed form (Lambert): the cosine between ground and light over that of flat ground, for a slope of 0.2 along x.
    for slope in (0.2, -0.2):
        normal = np.array([-slope, 0, 1]) / np.hypot(slope, 1)
        light = LIGHT / np.linalg.norm(LIGHT)
        expected = 1 + 0.6 * (normal @ light / light[2] - 1)
        assert np.median(shading(view, slope * x, 0.6)[inner]) == pytest.approx(expected, abs=0.01)
    assert shading(view, 0.2 * x, 0.0)[inner] == pytest.approx(1.0, abs=0.01)


def test_the_floor_of_a_pocket_is_darker_but_never_black() -> None:
    # A pocket of 8 mm, wholly inside the square of 12 mm that the darkness is judged by.
    grid = Grid.over(np.array([0.0, 0.0]), np.array([300.0, 200.0]), 1.0)
    x, y = np.meshgrid(grid.x(), grid.y())
    view = view_of(grid, np.ones(grid.shape))
    pocket = (np.abs(x - 150) < 4.5) & (np.abs(y - 100) < 4.5)
    shade = shading(view, np.where(pocket, 5.0, 20.0), 0.6)
    middle = shade[shade.shape[0] // 2, shade.shape[1] // 2]
    assert middle < 0.95 and SHADE_LIMITS[0] - 1e-6 <= shade.min() and shade.max() <= SHADE_LIMITS[1] + 1e-6
