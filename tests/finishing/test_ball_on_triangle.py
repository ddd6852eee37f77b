"""A ball on one triangle against a plain twin (bisection with trimesh's closest points) and closed forms."""

from __future__ import annotations

import numpy as np
import pytest
from ball_twins import resting_range

from addon.finishing.ball.ball_on_triangle import touching_heights
from addon.finishing.core.triangles import unit_normals

NOTHING_KNOWN = -1e9


def turned_up(triangles: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Corners and normals as they are asked for."""
    normals = unit_normals(triangles)[0]
    normals[normals[:, 2] < 0] *= -1
    return triangles.transpose(1, 2, 0), normals.T


def touching(triangle: np.ndarray, x: float, y: float, radius: float, known: float = NOTHING_KNOWN) -> float:
    one = np.ones(1)
    return float(touching_heights(*turned_up(triangle[None]), x * one, y * one, radius, known * one)[0])


@pytest.mark.parametrize("seed", range(4))
def test_any_triangle_as_by_bisection(seed: int) -> None:
    rng = np.random.default_rng(seed)
    count, radius = 400, float(rng.uniform(0.5, 5))
    triangles = rng.uniform(-3, 3, (count, 3, 3)) * rng.choice([0.1, 1.0], (count, 1, 3))
    upright = rng.random(count) < 0.2
    triangles[upright, :, :2] = triangles[upright, :1, :2] + np.array([[0], [1], [0.4]]) * rng.uniform(-2, 2, (upright.sum(), 1, 2))
    # Near enough that most balls touch: facet, edges and corners.
    x, y = (triangles[:, :, :2].mean(axis=1) + rng.normal(0, 0.6 * radius, (count, 2))).T
    expected, sure = resting_range(triangles, x, y, radius)
    found = touching_heights(*turned_up(triangles), x, y, radius, np.full(count, NOTHING_KNOWN))
    assert sure.sum() > 0.95 * count and np.isfinite(expected[sure]).sum() > 0.5 * count
    np.testing.assert_array_equal(np.isfinite(found[sure]), np.isfinite(expected[sure]))
    touched = sure & np.isfinite(expected)
    np.testing.assert_allclose(found[touched], expected[touched], atol=1e-6)
    # Nothing that lies above what is known is lost, on walls neither.
    close = touching_heights(*turned_up(triangles), x, y, radius, np.where(touched, found - 1e-6, NOTHING_KNOWN))
    np.testing.assert_array_equal(close[touched], found[touched])


FLAT = np.array([[0.0, 0, 2], [6, 0, 2], [0, 6, 2]])


def test_facet_edge_and_corner_of_a_level_triangle() -> None:
    # Closed forms: over the facet the tip stands on it; u beside an edge or corner it stands R - sqrt(R^2 - u^2) lower.
    sag = 3 - np.sqrt(9 - 1.5**2)
    assert touching(FLAT, 1.0, 1.0, 3.0) == pytest.approx(2.0)
    assert touching(FLAT, 2.0, -1.5, 3.0) == pytest.approx(2.0 - sag)
    assert touching(FLAT, 6 + 1.5 / np.sqrt(2), -1.5 / np.sqrt(2), 3.0) == pytest.approx(2.0 - sag)
    assert touching(FLAT, -3.0 - 1e-9, 1.0, 3.0) == -np.inf
    assert touching(FLAT[::-1], 1.0, 1.0, 3.0) == pytest.approx(2.0)  # whichever way the corners run


def test_a_slanted_facet_lifts_the_ball_by_its_normal() -> None:
    # Closed form: on a plane of slope t the tip stands R (1 / cos t - 1) above the plane over the axis.
    rise = np.tan(np.radians(35))
    slanted = np.array([[-20.0, -20, -20 * rise], [20, -20, 20 * rise], [0, 30, 0]])
    assert touching(slanted, 1.0, 0.0, 4.0) == pytest.approx(rise + 4 * (1 / np.cos(np.radians(35)) - 1))


def test_degenerate_triangles_are_edges_and_points() -> None:
    point = np.full((3, 3), 1.0)
    assert touching(point, 1.0, 1.0, 2.0) == pytest.approx(1.0)
    line = np.array([[0.0, 0, 0], [4, 0, 0], [2, 0, 0]])
    assert touching(line, 1.0, 1.0, 2.0) == pytest.approx(np.sqrt(3) - 2)


def test_nothing_above_the_known_height_is_lost() -> None:
    # What is known only saves work: the answer may then be anything that is no higher.
    for x, y in ((2.0, -1.5), (1.0, 1.0), (9.5, 0.0)):
        true = touching(FLAT, x, y, 3.0)
        assert touching(FLAT, x, y, 3.0, known=true - 0.01) == true
        assert touching(FLAT, x, y, 3.0, known=5.0) <= 5.0
