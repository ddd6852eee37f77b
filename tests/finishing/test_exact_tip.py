"""Heights, tip surface, closing and exact tip heights against reference libraries and closed forms."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from matplotlib import cbook
from scipy import ndimage
from shapes import block, graph
from skimage.restoration import ellipsoid_kernel, rolling_ball

from addon.finishing.ball.ball_dilation import symmetric_dilation_steps
from addon.finishing.ball.sag import ball_sag
from addon.finishing.ball.bounded_dilation import bounded_dilation_steps
from addon.finishing.ball.exact_surface import lower_bounds
from addon.finishing.ball.exact_tip import TipFinder
from addon.finishing.ball.tip_surface import closing, tip_surface
from addon.finishing.core.grid import Grid
from addon.finishing.core.stepping import finished
from addon.finishing.surface.height_map import height_map, top_marks

VALUES = json.loads((Path(__file__).parents[1] / "reference_values.json").read_text())


def reference_dilation(heights: np.ndarray, radius: float, cell: float) -> np.ndarray:
    """scipy.ndimage.grey_dilation by a ball, the library call a user would otherwise write."""
    sag = ball_sag(radius, cell)
    inside = np.isfinite(sag)
    structure = np.where(inside, -sag, 0).astype(np.float32)
    return ndimage.grey_dilation(heights, footprint=inside, structure=structure, mode="constant", cval=-np.inf)


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
    left = closing(tip, 4.0, 0.25)[rim:-rim, rim:-rim]
    # Inside, away from the padding, scipy's own closing says the same.
    sag = ball_sag(4.0, 0.25)
    inside = np.isfinite(sag)
    reference = ndimage.grey_closing(terrain, footprint=inside, structure=np.where(inside, -sag, 0).astype(np.float32))
    np.testing.assert_allclose(left[32:-32, 32:-32], reference[32:-32, 32:-32], atol=2e-5)
    assert (left >= terrain - 1e-5).all()


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


def test_heights_agree_with_ray_casting() -> None:
    # trimesh's ray casting on a closed block with a wavy top.
    triangles = block(lambda x, y: 5 + np.sin(x / 3) + 0.5 * np.cos(y / 2), 20.0, 15.0, 0.9)
    mesh = trimesh.Trimesh(triangles.reshape(-1, 3), np.arange(3 * len(triangles)).reshape(-1, 3))
    grid = Grid.over(np.array([0.0, 0.0]), np.array([20.0, 15.0]), 0.37, margin=1.0)
    found = height_map(triangles, grid)
    x, y = np.meshgrid(grid.x(), grid.y())
    origins = np.column_stack([x.ravel(), y.ravel(), np.full(x.size, 50.0)])
    places, rays, _ = mesh.ray.intersects_location(origins, np.tile([0, 0, -1.0], (x.size, 1)))
    expected = np.full(x.size, -np.inf)
    np.maximum.at(expected, rays, places[:, 2])
    agree = np.isfinite(expected) == np.isfinite(found.ravel())
    assert agree.mean() > 0.995  # rays along the very edge may go either way
    both = np.isfinite(expected) & np.isfinite(found.ravel())
    np.testing.assert_allclose(found.ravel()[both], expected[both], atol=1e-9)


def franke(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Franke's test surface on the unit square (Franke 1979, NPS-53-79-003, as in values.json)."""
    return (
        0.75 * np.exp(-((9 * x - 2) ** 2 + (9 * y - 2) ** 2) / 4)
        + 0.75 * np.exp(-((9 * x + 1) ** 2) / 49 - (9 * y + 1) / 10)
        + 0.5 * np.exp(-((9 * x - 7) ** 2 + (9 * y - 3) ** 2) / 4)
        - 0.2 * np.exp(-((9 * x - 4) ** 2) - (9 * y - 7) ** 2)
    )


def test_heights_of_frankes_surface() -> None:
    # Published values at three places; the meshed surface, 100 mm a side, is read by the grid and by a ball of no size.
    triangles = graph(lambda x, y: 100 * franke(x / 100, y / 100), np.linspace(0, 100, 201), np.linspace(0, 100, 201))
    grid = Grid(0.0, 0.0, 0.5, 201, 201)
    heights = height_map(triangles, grid)
    finder = TipFinder(triangles)
    for x, y, z in VALUES["franke"]["values"]:
        assert franke(np.array(x), np.array(y)) == pytest.approx(z, abs=1e-9)
        assert heights[round(200 * y), round(200 * x)] == pytest.approx(100 * z, abs=1e-4)
        assert finder.tip_heights(np.array([[100.0 * x, 100.0 * y]]), 1e-6)[0] == pytest.approx(100 * z, abs=1e-4)


def test_marks_follow_the_top_surface() -> None:
    triangles = block(lambda x, y: np.full(np.shape(x), 5.0), 10.0, 10.0, 1.0)
    middle = triangles.mean(axis=1)
    marked = (middle[:, 0] < 5) & (middle[:, 2] > 4)
    grid = Grid.over(np.array([0.0, 0.0]), np.array([10.0, 10.0]), 0.5)
    marks = top_marks(triangles, marked, grid, height_map(triangles, grid))
    assert marks[:, :10].all() and not marks[:, 11:].any()


def sampled_tip(triangles: np.ndarray, x: float, y: float, radius: float, count: int = 60) -> float:
    """Independent: the highest a ball is lifted by dense points on all triangles."""
    u, v = np.meshgrid(np.linspace(0, 1, count), np.linspace(0, 1, count))
    keep = u + v <= 1 + 1e-12
    u, v = u[keep], v[keep]
    a, b, c = triangles[:, 0], triangles[:, 1], triangles[:, 2]
    points = (a[:, None] + u[None, :, None] * (b - a)[:, None] + v[None, :, None] * (c - a)[:, None]).reshape(-1, 3)
    rest = radius**2 - (points[:, 0] - x) ** 2 - (points[:, 1] - y) ** 2
    return float(np.where(rest >= 0, points[:, 2] - radius + np.sqrt(np.maximum(rest, 0)), -np.inf).max())


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10**6), st.floats(0.5, 6))
def test_exact_tip_heights_on_any_triangles(seed: int, radius: float) -> None:
    # Random triangles: upright, slivers, overlapping, looking down. Dense points never lie higher, and come close.
    rng = np.random.default_rng(seed)
    triangles = rng.uniform(-5, 5, (12, 1, 3)) + rng.uniform(-3, 3, (12, 3, 3)) * rng.choice([0.02, 1.0], (12, 1, 3))
    triangles[0, :, :2] = triangles[0, :1, :2]  # an upright sliver
    finder = TipFinder(triangles, upward_only=False)
    points = rng.uniform(-6, 6, (8, 2))
    exact = finder.tip_heights(points, radius)
    for (x, y), z in zip(points, exact, strict=True):
        sampled = sampled_tip(triangles, x, y, radius)
        if np.isfinite(sampled):
            assert z >= sampled - 1e-9
        # And never higher than the ball resting on some triangle alone, each measured by itself.
        alone = max(TipFinder(triangle[None], upward_only=False).tip_heights(np.array([[x, y]]), radius)[0] for triangle in triangles)
        assert z == alone


def test_bounds_only_speed_up() -> None:
    triangles = graph(lambda x, y: np.sin(x / 2) + np.cos(y / 3), np.arange(0, 20.5, 0.5), np.arange(0, 20.5, 0.5))
    grid = Grid.over(np.array([0.0, 0.0]), np.array([20.0, 20.0]), 0.25, margin=4.0)
    heights = height_map(triangles, grid)
    tip = tip_surface(heights, 3.0, grid.cell)
    finder = TipFinder(triangles)
    points = np.random.default_rng(1).uniform(1, 19, (500, 2))
    lower = lower_bounds(heights, tip, grid, points, 3.0)
    plain = finder.tip_heights(points, 3.0)
    assert (lower <= plain + 1e-9).all()
    np.testing.assert_array_equal(finder.tip_heights(points, 3.0, lower), plain)


@pytest.mark.parametrize("radius", [1.5, 3.0, 6.0])
def test_tip_on_dome_and_bowl(radius: float) -> None:
    # Closed form: on a dome of radius rho the centre runs on rho + R, in a bowl on rho - R.
    rho = 20.0
    x = np.arange(-12, 12.01, 0.2)
    dome = graph(lambda a, b: np.sqrt(rho**2 - a * a - b * b), x, x)
    bowl = graph(lambda a, b: -np.sqrt(rho**2 - a * a - b * b), x, x)
    points = np.random.default_rng(2).uniform(-4, 4, (50, 2))
    square = (points**2).sum(axis=1)
    facet = 0.2**2 / (4 * rho)  # how far facets of 0.2 mm lie below the sphere, with the diagonal
    on_dome = TipFinder(dome).tip_heights(points, radius)
    np.testing.assert_allclose(on_dome, np.sqrt((rho + radius) ** 2 - square) - radius, atol=2 * facet)
    in_bowl = TipFinder(bowl).tip_heights(points, radius)
    np.testing.assert_allclose(in_bowl, -np.sqrt((rho - radius) ** 2 - square) - radius, atol=2 * facet)


@pytest.mark.parametrize("case", VALUES["left_at_the_root_of_a_V"]["cases"], ids=str)
def test_root_of_a_v(case: dict) -> None:
    # Closed form: R (1 / sin g - 1) stays above the root of a V of half angle g. Two triangles, so the finder is exact.
    rise = 1 / np.tan(np.radians(case["g_deg"]))
    a, b = np.array([0.0, -50, 0]), np.array([0.0, 50, 0])
    right = np.array([[a, [40, -50, 40 * rise], [40, 50, 40 * rise]], [a, [40, 50, 40 * rise], b]])
    left = right[:, ::-1] * [-1, 1, 1]
    tip = TipFinder(np.concatenate([right, left])).tip_heights(np.array([[0.0, 0.0]]), case["R"])
    assert tip[0] == pytest.approx(case["left"], abs=1e-6)
