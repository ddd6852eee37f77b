"""Tip surface and closing against scipy and scikit-image."""

from __future__ import annotations

import numpy as np
import pytest
from ball_twins import ball_cells, reference_dilation
from matplotlib import cbook
from scipy import ndimage
from skimage.restoration import ellipsoid_kernel, rolling_ball

from addon.finishing.ball import ball_dilation
from addon.finishing.ball.ball_dilation import symmetric_dilation_steps
from addon.finishing.ball.bounded_dilation import bounded_dilation_steps
from addon.finishing.ball.tip_surface import closing_steps, tip_surface, tip_surface_steps
from addon.finishing.core.stepping import finished


@pytest.mark.parametrize("radius, cell", [(2.0, 0.25), (4.1, 0.3), (8.0, 0.5), (12.5, 0.25)])
def test_tip_surface_is_scipys_dilation_on_random_heights_with_holes(radius: float, cell: float) -> None:
    rng = np.random.default_rng(0)
    heights = rng.uniform(0, 5, (90, 131)).astype(np.float32)
    heights[rng.random(heights.shape) < 0.3] = -np.inf
    np.testing.assert_array_equal(tip_surface(heights, radius, cell), reference_dilation(heights, radius, cell))


def test_tip_surface_and_closing_on_real_terrain() -> None:
    # matplotlib's sample data: a real terrain model (jacksboro_fault_dem), scaled to a body's size.
    with cbook.get_sample_data("jacksboro_fault_dem.npz") as data:
        terrain = data["elevation"].astype(np.float32)[:120, :160] / 20
    rim = 17
    wide = np.pad(terrain, rim, constant_values=-np.inf)
    tip = tip_surface(wide, 4.0, 0.25)
    np.testing.assert_array_equal(tip, reference_dilation(wide, 4.0, 0.25))
    closing = finished(closing_steps(tip, 4.0, 0.25))[rim:-rim, rim:-rim]
    # Inside, away from the padding, scipy's own closing says the same.
    inside, sag = ball_cells(4.0, 0.25)
    reference = ndimage.grey_closing(terrain, footprint=inside, structure=-sag.astype(np.float32))
    np.testing.assert_allclose(closing[32:-32, 32:-32], reference[32:-32, 32:-32], atol=2e-5)
    assert (closing >= terrain - 1e-5).all()


@pytest.mark.parametrize("radius, cell", [(1.5, 0.25), (4.1, 0.3), (10.0, 0.25)])
def test_both_dilations_equal_scipys_whatever_the_radius(radius: float, cell: float) -> None:
    # A body with a wall, a hole and a slope, where branch and bound has something to drop; and white noise, where it has not.
    x, y = np.meshgrid(np.arange(150) * cell, np.arange(110) * cell)
    body = (10 + 0.4 * x + 2 * np.sin(x / 5) * np.cos(y / 7)).astype(np.float32)
    body[:, 90:] -= 8
    body[30:50, 20:45] = -np.inf
    noise = np.random.default_rng(3).uniform(0, 4, (70, 80)).astype(np.float32)
    for heights in (body, noise):
        expected = reference_dilation(heights, radius, cell)
        np.testing.assert_array_equal(finished(bounded_dilation_steps(heights, radius, cell)), expected)
        np.testing.assert_array_equal(finished(symmetric_dilation_steps(heights, radius, cell)), expected)


def test_a_grid_without_ground_lifts_nothing() -> None:
    nothing = np.full((30, 40), -np.inf, np.float32)
    assert (tip_surface(nothing, 12.0, 0.25) == -np.inf).all() and (tip_surface(nothing, 4.0, 0.25) == -np.inf).all()


def test_tip_surface_is_minus_skimages_rolling_ball() -> None:
    # skimage rolls a ball under the upside-down surface; its kernel is a ball of whole cells.
    rng = np.random.default_rng(5)
    heights = ndimage.gaussian_filter(rng.random((60, 60)), 2).astype(np.float32) * 20
    cells = 6
    rolled = rolling_ball(-heights, kernel=ellipsoid_kernel((2 * cells, 2 * cells), cells))
    tip = tip_surface(heights, float(cells), 1.0)
    np.testing.assert_allclose(-rolled[10:-10, 10:-10], tip[10:-10, 10:-10], atol=2e-3)


def test_tiles_and_pieces_join_without_a_seam(monkeypatch: pytest.MonkeyPatch) -> None:
    # By construction: tiles and pieces so small that there are many give scipy's dilation too.
    monkeypatch.setattr(ball_dilation, "TILE_ROWS", 23)
    monkeypatch.setattr(ball_dilation, "TILE_COLUMNS", 31)
    monkeypatch.setattr(ball_dilation, "SECONDS_PER_PIECE", 1e-6)
    heights = np.random.default_rng(9).uniform(0, 3, (70, 81)).astype(np.float32)
    np.testing.assert_array_equal(finished(symmetric_dilation_steps(heights, 2.0, 0.25)), reference_dilation(heights, 2.0, 0.25))


@pytest.mark.parametrize("radius", [3.0, 10.0])
def test_cells_that_matter_are_exact_whatever_the_others(radius: float) -> None:
    x, y = np.meshgrid(np.arange(140) * 0.25, np.arange(100) * 0.25)
    heights = (np.sin(x / 3) + 0.1 * y).astype(np.float32)
    wanted = (x > 12) & (x < 20) & (y < 9)
    found = finished(tip_surface_steps(heights, radius, 0.25, wanted))
    np.testing.assert_array_equal(found[wanted], reference_dilation(heights, radius, 0.25)[wanted])


def test_work_yields_its_progress_in_order() -> None:
    for radius in (2.0, 10.0):
        progress = list(tip_surface_steps(np.zeros((200, 200), np.float32), radius, 0.25))
        assert progress == sorted(progress) and progress[0] >= 0 and progress[-1] == pytest.approx(1.0)


@pytest.mark.parametrize("radius", [3.0, 9.0])
def test_closing_of_a_groove(radius: float) -> None:
    # Closed form: over a groove with upright walls, w wide, the ball dips R - sqrt(R^2 - w^2/4) below its shoulders, if that is not the floor.
    cell, width = 0.25, 2.5
    x = np.arange(-20, 20 + cell / 2, cell)
    heights = np.where(np.abs(x) < width / 2, -5.0, 0.0).astype(np.float32) + np.zeros((100, 1), np.float32)
    rim = int(radius / cell) + 1
    closing = finished(closing_steps(tip_surface(np.pad(heights, rim, constant_values=-np.inf), radius, cell), radius, cell))[rim:-rim, rim:-rim]
    middle = closing[50, len(x) // 2]
    assert middle == pytest.approx(np.sqrt(radius**2 - width**2 / 4) - radius, abs=1e-5)
    np.testing.assert_allclose(closing[50, np.abs(x) > width / 2 + cell], 0.0, atol=1e-5)
