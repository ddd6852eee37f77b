"""Exact tip heights against plain twins, dense points and closed forms."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from ball_twins import resting_range
from hypothesis import given, settings
from hypothesis import strategies as st
from shapes import franke, graph

from addon.finishing.ball.ball_on_triangle import touching_heights
from addon.finishing.ball.exact_surface import exact_surface, lower_bounds
from addon.finishing.ball.exact_tip import TipFinder, _groups, _raising_buckets
from addon.finishing.ball.tip_surface import tip_surface
from addon.finishing.ball.triangle_tree import Buckets
from addon.finishing.core.grid import Grid
from addon.finishing.core.stepping import finished
from addon.finishing.surface.height_map import height_map

VALUES = json.loads((Path(__file__).parents[1] / "reference_values.json").read_text())


def tip_heights(finder: TipFinder, points: np.ndarray, radius: float, lower: object = None) -> np.ndarray:
    return finished(finder.tip_heights_steps(points, radius, lower))


SAMPLES = 60
"""Points along each edge of a triangle."""


def sampled_tip(triangles: np.ndarray, x: float, y: float, radius: float, count: int = SAMPLES) -> float:
    """Independent: the highest a ball is lifted by dense points on all triangles."""
    u, v = np.meshgrid(np.linspace(0, 1, count), np.linspace(0, 1, count))
    keep = u + v <= 1 + 1e-12
    u, v = u[keep], v[keep]
    a, b, c = triangles[:, 0], triangles[:, 1], triangles[:, 2]
    points = (a[:, None] + u[None, :, None] * (b - a)[:, None] + v[None, :, None] * (c - a)[:, None]).reshape(-1, 3)
    rest = radius**2 - (points[:, 0] - x) ** 2 - (points[:, 1] - y) ** 2
    return float(np.where(rest >= 0, points[:, 2] - radius + np.sqrt(np.maximum(rest, 0)), -np.inf).max())


def random_triangles(rng: np.random.Generator, count: int) -> np.ndarray:
    """Upright ones, slivers, overlapping, looking down, and far larger than a bucket."""
    triangles = rng.uniform(-5, 5, (count, 1, 3)) + rng.uniform(-3, 3, (count, 3, 3)) * rng.choice([0.02, 1.0, 3.0], (count, 1, 3))
    triangles[0, :, :2] = triangles[0, :1, :2]  # an upright sliver
    return triangles


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10**6), st.floats(0.5, 6))
def test_exact_tip_heights_on_any_triangles(seed: int, radius: float) -> None:
    # Dense points never lie higher. Every point of a triangle has one of them within their spacing, so that a ball larger by that spacing is
    # lifted by them at least as high, but for twice the spacing: once in its radius, once in height.
    rng = np.random.default_rng(seed)
    triangles = random_triangles(rng, 12)
    points = rng.uniform(-6, 6, (8, 2))
    exact = tip_heights(TipFinder(triangles, upward_only=False), points, radius)
    spacing = float(np.linalg.norm(triangles - np.roll(triangles, 1, axis=1), axis=2).max()) / (SAMPLES - 1)
    for (x, y), z in zip(points, exact, strict=True):
        assert sampled_tip(triangles, x, y, radius) - 1e-9 <= z <= sampled_tip(triangles, x, y, radius + spacing) + 2 * spacing


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 10**6), st.floats(0.8, 6), st.booleans())
def test_the_search_equals_a_ball_on_every_triangle(seed: int, radius: float, grouped: bool) -> None:
    # Plain twin: the highest of a ball coming down on every triangle alone, each by bisection with trimesh's closest points.
    rng = np.random.default_rng(seed)
    triangles = random_triangles(rng, 10)
    finder = TipFinder(triangles[:6], upward_only=False).with_more(triangles[6:])
    points = rng.uniform(-5, 5, (3, 2))
    if grouped:
        points = points[:, None] + np.linspace(0, 1, 4)[:, None] * rng.uniform(-1, 1, (3, 1, 2))
    found = tip_heights(finder, points, radius)
    assert found.shape == points.shape[:-1]
    flat = points.reshape(-1, 2)
    alone, sure = resting_range(np.repeat(triangles, len(flat), axis=0), np.tile(flat[:, 0], 10), np.tile(flat[:, 1], 10), radius)
    expected, sure = alone.reshape(10, -1).max(axis=0), sure.reshape(10, -1).all(axis=0)
    assert sure.any()
    np.testing.assert_array_equal(np.isfinite(found.ravel()[sure]), np.isfinite(expected[sure]))
    touched = sure & np.isfinite(expected)
    np.testing.assert_allclose(found.ravel()[touched], expected[touched], atol=1e-6)


@pytest.mark.parametrize("radius", [0.6, 4.0, 10.0])
def test_groups_give_what_their_points_give_alone(radius: float) -> None:
    # On a mesh of many buckets, with walls and a pocket, and enough groups for two jobs.
    def pocketed(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        return np.where((np.abs(x - 20) < 6) & (np.abs(y - 12) < 4), 2.0, 8 + np.sin(x / 4) + np.cos(y / 3))

    finder = TipFinder(graph(pocketed, np.linspace(0, 40, 61), np.linspace(0, 25, 41)))
    rng = np.random.default_rng(2)
    groups = rng.uniform([0, 0], [40, 25], (300, 2))[:, None] + np.linspace(0, 1, 4)[:, None] * rng.uniform(-1.5, 1.5, (300, 1, 2))
    alone = tip_heights(finder, groups.reshape(-1, 2), radius).reshape(groups.shape[:2])
    np.testing.assert_array_equal(tip_heights(finder, groups, radius), alone)
    # Bounds just below the truth change nothing either, with some of them unknown.
    lower = np.where(rng.random(alone.shape) < 0.1, -np.inf, alone - 1e-4)
    np.testing.assert_array_equal(tip_heights(finder, groups, radius, lower), alone)


@pytest.mark.parametrize("count", [2, 3, 5, 7])
@pytest.mark.parametrize("groups", [1, 4])
def test_groups_of_any_size_give_what_their_points_give_alone(groups: int, count: int) -> None:
    # A single group too, whose points lie far apart.
    finder = TipFinder(graph(lambda x, y: np.sin(x) + np.cos(y / 2), np.linspace(0, 12, 41), np.linspace(0, 12, 41)))
    rng = np.random.default_rng(count)
    points = rng.uniform(3, 9, (groups, 1, 2)) + rng.uniform(-2.5, 2.5, (groups, count, 2))
    alone = tip_heights(finder, points.reshape(-1, 2), 1.5)
    assert np.isfinite(alone).all()
    np.testing.assert_array_equal(tip_heights(finder, points, 1.5), alone.reshape(groups, count))


def test_points_of_a_group_may_coincide() -> None:
    # Closed form: on level ground the tip stands at its height, however often it is asked for.
    points = np.broadcast_to(np.array([0.3, -0.2]), (2, 3, 2))
    assert tip_heights(TipFinder(standing_square(0.0, 0.0, 4.0, 5.0)), points, 1.5) == pytest.approx(np.full((2, 3), 5.0))


def standing_square(x: float, y: float, half_width: float, z: float) -> np.ndarray:
    """A level square of two triangles round a place."""
    corners = np.array([[x - half_width, y - half_width, z], [x + half_width, y - half_width, z], [x + half_width, y + half_width, z],
                        [x - half_width, y + half_width, z]])  # fmt: skip
    return corners[[[0, 1, 2], [0, 2, 3]]]


@pytest.mark.parametrize("toward", [(1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)])
@pytest.mark.parametrize("reach", [0.12, 3.0])
def test_what_only_the_far_end_of_a_group_touches_is_found(reach: float, toward: tuple[float, float]) -> None:
    # Closed form: a ball of 1 mm whose axis stands 0.96 mm beside the edge of a level square rests 1 - 0.28 mm lower than on it. From the middle
    # of the group, and from its other end, the square is out of reach.
    along = np.array(toward)
    finder = TipFinder(standing_square(*((reach + 0.96 + 4.0) * along), 4.0, 5.0))
    found = tip_heights(finder, np.array([[-reach * along, 0 * along, reach * along]]), 1.0)
    assert found[0] == pytest.approx([-np.inf, -np.inf, 4.28])
    # Far from everything the ball is lifted by nothing, alone and in a group.
    assert (tip_heights(finder, np.array([-90 * along]), 1.0) == -np.inf).all()
    assert (tip_heights(finder, np.array([[-90 * along, -91 * along]]), 1.0) == -np.inf).all()


@pytest.mark.parametrize("along", [(1.0, 0.0), (0.0, 1.0)])
def test_a_tip_narrower_than_the_group_lifts_the_point_above_it(along: tuple[float, float]) -> None:
    # Closed form: on a point 0.01 mm above ground that is known already the ball stands 0.01 mm higher; 1 mm beside it that point is too low
    # by R - sqrt(R^2 - 1) to be felt.
    finder = TipFinder(standing_square(0.0, 0.0, 0.001, 5.01))
    points = np.array([[-1.0 * np.array(along), np.zeros(2), np.array(along)]])
    assert tip_heights(finder, points, 2.0, np.full((1, 3), 5.0))[0] == pytest.approx([5.0, 5.01, 5.0], abs=1e-9)


@pytest.mark.parametrize("along", [(1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0), (0.6, -0.8)])
@pytest.mark.parametrize("number", [1, 2])
def test_the_lowest_of_a_group_is_lifted_though_its_ends_stand_high(along: tuple[float, float], number: int) -> None:
    # By construction: what is known falls from end to end and dips at one point between, and there alone a narrow tip stands above it.
    known = np.array([[6.0, 5.6, 5.4, 5.0]])
    known[0, number] = 4.0
    finder = TipFinder(standing_square(*(number * np.array(along)), 0.001, 4.01))
    expected = np.where(np.arange(4) == number, 4.01, known)
    assert tip_heights(finder, np.arange(4)[None, :, None] * np.array(along), 2.0, known) == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize("along", [(1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)])
def test_the_lowest_of_a_group_is_lifted_by_what_stands_beside_it(along: tuple[float, float]) -> None:
    # Closed form: as above, where a ball of 2 mm slants as what is known does: a tip 0.01 mm higher and 0.075 mm aside.
    known = np.array([[4.55, 4.85, 4.0, 5.45]])
    finder = TipFinder(standing_square(*(0.575 * np.array(along)), 1e-6, 4.01))
    found = tip_heights(finder, np.array([-1.5, -0.5, 0.5, 1.5])[None, :, None] * np.array(along), 2.0, known)
    assert found[0] == pytest.approx([4.55, 4.85, 4.01 - 2 + np.sqrt(4 - 0.075**2), 5.45], abs=1e-6)


@pytest.mark.parametrize("radius", [0.3, 1.0, 1.5, 4.0])
@pytest.mark.parametrize("grouped", [False, True])
def test_an_edge_is_felt_up_to_the_radius_and_no_farther(radius: float, grouped: bool) -> None:
    # Closed form: beside the edge of a level square by a, the tip of a ball rests R - sqrt(R^2 - a^2) below it.
    finder = TipFinder(standing_square(0.0, 0.0, 2.0, 5.0))
    beside = radius * np.array([0.5, 0.97, 0.999, 1.001])
    expected = np.where(beside < radius, 5 - radius + np.sqrt(np.maximum(radius**2 - beside**2, 0)), -np.inf)
    for across in (np.array([1.0, 0.0]), np.array([-1.0, 0.0]), np.array([0.0, 1.0]), np.array([0.0, -1.0])):
        points = (2.0 + beside)[:, None] * across + 0.3 * across[::-1]
        found = tip_heights(finder, points[None] if grouped else points, radius)
        assert found.ravel() == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize("radius", [1.5, 6.0])
@pytest.mark.parametrize("half_width", [0.0, 0.2, 0.9])
def test_a_bucket_that_can_raise_the_ball_is_never_dropped(radius: float, half_width: float) -> None:
    # Plain twin of the innermost bound: the ball on every triangle of one bucket alone, at every point of one group. Bounds that lie
    # 0.001 mm below what these triangles give must keep the bucket; bounds far above must drop most.
    triangles = graph(lambda x, y: 8 + np.sin(x / 2) + np.where(y > 6, 3.0, 0.0), np.linspace(0, 12, 25), np.linspace(0, 12, 25))
    buckets = Buckets(triangles)
    rng = np.random.default_rng(5)
    kept = tried = 0
    for number, level in enumerate(buckets.levels[:4]):
        for bucket in range(len(level.height)):
            own = np.arange(level.first[bucket], level.last[bucket])
            for below in reversed(buckets.levels[:number]):
                own = np.concatenate([np.arange(below.first[k], below.last[k]) for k in own])
            middle = np.array([level.middle_x[bucket], level.middle_y[bucket]]) + rng.uniform(-1, 1, 2) * 0.6 * radius
            points = middle + rng.uniform(-half_width, half_width, (4 if half_width else 1, 2))
            pairs = np.repeat(own, len(points)), np.tile(points, (len(own), 1))
            at_x, at_y = pairs[1][:, 0] + buckets.origin[0], pairs[1][:, 1] + buckets.origin[1]
            one = touching_heights(buckets.corners[:, :, pairs[0]], buckets.normals[:, pairs[0]], at_x, at_y, radius, np.full(len(at_x), -1e9))
            tips = one.reshape(len(own), -1).max(axis=0) - buckets.origin[2]
            if not np.isfinite(tips).all():
                continue
            x, y = np.float32(points[None, :, 0]), np.float32(points[None, :, 1])
            tried += 1
            for over, expected in ((-1e-3, True), (6.0, False)):
                # Unlike bounds at the points, so that the plane under them slants.
                bound = np.float32(tips[None] + over) - np.float32(rng.uniform(0, 0.3, tips.shape) * (tips != tips.max()))
                found = len(_raising_buckets(level, _groups(x, y, bound), np.array([0]), np.array([bucket]), np.float32(radius)))
                assert found or not expected
                kept += found and not expected
    assert tried > 100 and kept < 0.3 * tried


def test_the_far_end_of_a_group_is_counted_in_full() -> None:
    # Closed form: on a plane of the rise m the tip stands R (sqrt(1 + m^2) - 1) above the plane. Level bounds just below that at the
    # upper of two points keep the bucket over whose middle the group stands, though the ball touches it far from there.
    radius, rise = 6.0, 0.3
    buckets = Buckets(graph(lambda x, y: rise * x + 0 * y, np.linspace(0, 16, 33), np.linspace(0, 16, 33)))
    level = buckets.levels[3]
    bucket = int(np.argmax(np.minimum(level.half_x, level.half_y)))
    assert level.half_x[bucket] > 3.5 and level.slope_x[bucket] == pytest.approx(rise, abs=1e-5)
    x = level.middle_x[bucket] + np.float32([[-0.9, 0.9]])
    y = level.middle_y[bucket] + np.float32([[0.0, 0.0]])
    tip = rise * float(x[0, 1]) + radius * (np.sqrt(1 + rise**2) - 1) + (level.height[bucket] - rise * level.middle_x[bucket])
    bound = np.full((1, 2), tip - 1e-3, np.float32)
    which = np.array([bucket])
    assert len(_raising_buckets(level, _groups(x, y, bound), np.array([0]), which, np.float32(radius)))
    # The bound is sharp: a little above, and it is dropped.
    assert not len(_raising_buckets(level, _groups(x, y, bound + np.float32(0.02)), np.array([0]), which, np.float32(radius)))


def test_faces_that_look_down_and_nothing_at_all() -> None:
    up = np.array([[[0.0, 0, 1], [4, 0, 1], [0, 4, 1]]])
    assert tip_heights(TipFinder(up), np.array([[1.0, 1.0]]), 2.0)[0] == pytest.approx(1.0)
    down = up[:, ::-1]
    assert tip_heights(TipFinder(down), np.array([[1.0, 1.0]]), 2.0)[0] == -np.inf
    assert tip_heights(TipFinder(down, upward_only=False), np.array([[1.0, 1.0]]), 2.0)[0] == pytest.approx(1.0)
    # However small; a wall looks neither up nor down, and stays: the ball stands on its top.
    assert tip_heights(TipFinder(down / 10), np.array([[0.1, 0.1]]), 2.0)[0] == -np.inf
    wall = np.array([[[0.0, -9, 0], [0, 9, 0], [0, 0, 7]]])
    for turned in (wall, wall[:, ::-1]):
        assert tip_heights(TipFinder(turned), np.array([[0.0, 0.0]]), 2.0)[0] == pytest.approx(7.0)
    assert tip_heights(TipFinder(up), np.zeros((0, 2)), 2.0).shape == (0,)
    assert tip_heights(TipFinder(up), np.zeros((0, 4, 2)), 2.0).shape == (0, 4)
    assert tip_heights(TipFinder(np.zeros((0, 3, 3))), np.array([[1.0, 1.0]]), 2.0)[0] == -np.inf


def test_heights_of_frankes_surface() -> None:
    # Published values at three places (tests/reference_values.json "franke"), read by a ball of no size.
    finder = TipFinder(graph(lambda x, y: 100 * franke(x / 100, y / 100), np.linspace(0, 100, 201), np.linspace(0, 100, 201)))
    for x, y, z in VALUES["franke"]["values"]:
        assert tip_heights(finder, np.array([[100.0 * x, 100.0 * y]]), 1e-6)[0] == pytest.approx(100 * z, abs=1e-4)


def test_bounds_only_speed_up() -> None:
    triangles = graph(lambda x, y: np.sin(x / 2) + np.cos(y / 3), np.arange(0, 20.5, 0.5), np.arange(0, 20.5, 0.5))
    grid = Grid.over(np.array([0.0, 0.0]), np.array([20.0, 20.0]), 0.25, margin=4.0)
    heights = height_map(triangles, grid)
    tip = tip_surface(heights, 3.0, grid.cell)
    finder = TipFinder(triangles)
    points = np.random.default_rng(1).uniform(1, 19, (500, 2))
    lower = lower_bounds(heights, tip, grid, points, 3.0)
    plain = tip_heights(finder, points, 3.0)
    assert (lower <= plain + 1e-9).all()
    np.testing.assert_array_equal(tip_heights(finder, points, 3.0, lower), plain)


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
    on_dome = tip_heights(TipFinder(dome), points, radius)
    np.testing.assert_allclose(on_dome, np.sqrt((rho + radius) ** 2 - square) - radius, atol=2 * facet)
    in_bowl = tip_heights(TipFinder(bowl), points, radius)
    np.testing.assert_allclose(in_bowl, -np.sqrt((rho - radius) ** 2 - square) - radius, atol=2 * facet)


@pytest.mark.parametrize("case", VALUES["left_at_the_root_of_a_V"]["cases"], ids=str)
def test_root_of_a_v(case: dict) -> None:
    # Closed form: R (1 / sin g - 1) stays above the root of a V of half angle g. Two triangles, so the finder is exact.
    rise = 1 / np.tan(np.radians(case["g_deg"]))
    a, b = np.array([0.0, -50, 0]), np.array([0.0, 50, 0])
    right = np.array([[a, [40, -50, 40 * rise], [40, 50, 40 * rise]], [a, [40, 50, 40 * rise], b]])
    left = right[:, ::-1] * [-1, 1, 1]
    tip = tip_heights(TipFinder(np.concatenate([right, left])), np.array([[0.0, 0.0]]), case["R"])
    assert tip[0] == pytest.approx(case["left"], abs=1e-6)


def test_the_surface_that_lines_ask_for_keeps_to_its_floor() -> None:
    # By construction: the exact heights, but nowhere below the floor; the estimate is the grid's own surface, finite off it too.
    triangles = graph(lambda x, y: x - 10 + 0 * y, np.linspace(0, 20, 11), np.linspace(0, 20, 11))
    grid = Grid.over(np.array([0.0, 0.0]), np.array([20.0, 20.0]), 0.5, margin=3.0)
    heights = height_map(triangles, grid)
    finder, tip = TipFinder(triangles), tip_surface(heights, 2.0, grid.cell)
    surface = exact_surface(finder, grid, heights, tip, 2.0, floor=-4.0)
    points = np.column_stack([np.linspace(-1, 21, 60), np.full(60, 9.7)])
    np.testing.assert_array_equal(finished(surface.exact_steps(points)), np.maximum(tip_heights(finder, points, 2.0), -4.0))
    inside = (points[:, 0] > 1) & (points[:, 0] < 19)
    # Closed form: R (sqrt 2 - 1) above a plane of 45 degrees; the ball over cells stands up to d^2/(2 R) cos^-3 lower.
    np.testing.assert_allclose(surface.estimate(points)[inside], points[inside, 0] - 10 + 2 * (np.sqrt(2) - 1), atol=0.1)
    assert np.isfinite(surface.estimate(np.array([[-90.0, 500.0]]))).all()
