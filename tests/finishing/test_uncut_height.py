"""The ball with its axis anywhere, over a surface of cells, against scipy and closed forms."""

from __future__ import annotations

import numpy as np
import pytest
from ball_twins import reference_dilation
from scipy import ndimage

from addon.finishing.ball.uncut_height import FreeBall
from addon.finishing.core.grid import Grid
from addon.finishing.core.stepping import finished


def test_crease_between_cells_is_measured_exactly() -> None:
    # Closed form as above with the root off the cells: the grid alone reads too high by up to the slope times half a cell.
    steep = 1 / np.tan(np.radians(60))
    grid = Grid.over(np.array([-12 + 0.1, -4]), np.array([12, 4]), 0.25)
    x, y = np.meshgrid(grid.x(), grid.y())
    surface = (steep * np.abs(x)).astype(np.float32)
    row, column = np.nonzero(np.abs(x) < 0.13)
    places = np.stack([x[row, column], y[row, column], surface[row, column]], axis=1)
    ball = FreeBall(surface, grid, 3.0)
    found = finished(ball.uncut_heights_steps(places, places[:, None, :2], 0.0, last_step=0.002))
    centre = 3.0 / np.sin(np.radians(60))
    expected = centre - np.sqrt(9 - places[:, 0] ** 2) - places[:, 2]
    inside = np.abs(places[:, 1]) < 2
    np.testing.assert_allclose(found[inside], expected[inside], atol=0.004)  # cells beside the contacts: d^2/(8R) and slope


def test_free_ball_equals_scipy_on_cells() -> None:
    # Reference library: scipy.ndimage.grey_dilation with the ball as structure.
    rng = np.random.default_rng(5)
    cell, radius = 0.5, 4.0
    surface = ndimage.gaussian_filter(rng.normal(0, 3, (40, 50)), 1.5).astype(np.float32)
    grid = Grid(0.0, 0.0, cell, *surface.shape)
    axes = np.stack(np.meshgrid(grid.x(), grid.y()), axis=-1).reshape(-1, 2)
    tips = finished(FreeBall(surface, grid, radius).tip_heights_steps(axes)).reshape(surface.shape)
    np.testing.assert_allclose(tips, reference_dilation(surface, radius, cell), atol=2e-6)
    assert finished(FreeBall(surface, grid, radius).tip_heights_steps(np.array([[500.0, 0.0]])))[0] == -np.inf


def test_free_ball_between_cells_equals_a_search_through_all() -> None:
    # Plain twin: the ball on every cell.
    rng = np.random.default_rng(6)
    grid = Grid(2.0, -3.0, 0.4, 20, 30)
    surface = rng.uniform(0, 2, grid.shape).astype(np.float32)
    surface[5:9, 10:20] = -np.inf
    axes = np.column_stack([rng.uniform(0, 16, 60), rng.uniform(-5, 7, 60)])
    x, y = np.meshgrid(grid.x(), grid.y())
    room = 3.0**2 - (axes[:, 0, None, None] - x) ** 2 - (axes[:, 1, None, None] - y) ** 2
    expected = np.where(room >= 0, surface - 3.0 + np.sqrt(np.maximum(room, 0)), -np.inf).max(axis=(1, 2))
    np.testing.assert_allclose(finished(FreeBall(surface, grid, 3.0).tip_heights_steps(axes)), expected, atol=5e-5)


@pytest.mark.parametrize("radius", [2.0, 6.0])
def test_a_ball_that_fits_leaves_nothing(radius: float) -> None:
    # Closed form: in a bowl of 10 mm any smaller ball touches every place; cells leave it d^2/(8R) and the search its last step.
    grid = Grid.over(np.array([-9.0, -9.0]), np.array([9.0, 9.0]), 0.25)
    x, y = np.meshgrid(grid.x(), grid.y())
    r = np.minimum(np.hypot(x, y), 8.0)
    surface = (10 - np.sqrt(100 - r * r)).astype(np.float32)
    row, column = np.nonzero((np.hypot(x, y) < 2) & (x > 0.6))
    places = np.stack([x[row, column], y[row, column], surface[row, column]], axis=1)
    # From the axis that the bowl's slope gives, or from a poor guess: straight over the place.
    guess = places[:, None, :2] * (1 - radius / 10)
    found = finished(FreeBall(surface, grid, radius).uncut_heights_steps(places, guess, 0.0, last_step=0.002))
    assert found.max() < 0.25**2 / (8 * radius) + 1e-4
    poor = finished(FreeBall(surface, grid, radius).uncut_heights_steps(places, places[:, None, :2], 0.0, last_step=0.002))
    assert poor.max() < 0.005
