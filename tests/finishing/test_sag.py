"""The ball's sag and its lower bounds against the definition."""

from __future__ import annotations

import numpy as np
import pytest
from ball_twins import ball_cells
from hypothesis import given
from hypothesis import strategies as st

from addon.finishing.ball.sag import ball_sag, radius_in_cells, sag_tangent, touching_offset


def sag(x: np.ndarray, y: np.ndarray, radius: float) -> np.ndarray:
    """Definition: R - sqrt(R^2 - d^2), infinite outside the ball."""
    room = radius**2 - x**2 - y**2
    return np.where(room >= 0, radius - np.sqrt(np.maximum(room, 0)), np.inf)


@pytest.mark.parametrize("radius, cell, cells", [(2.0, 0.25, 8), (0.9, 0.3, 3), (8.0, 0.3, 26), (0.1, 0.25, 0)])
def test_sag_on_cells(radius: float, cell: float, cells: int) -> None:
    assert radius_in_cells(radius, cell) == cells
    inside, expected = ball_cells(radius, cell)
    found = ball_sag(radius, cell)
    assert found.shape == (2 * cells + 1, 2 * cells + 1)
    np.testing.assert_array_equal(np.isfinite(found), inside)
    np.testing.assert_allclose(found[inside], expected[inside], atol=1e-12)


@given(st.floats(0.5, 30), st.floats(0, 1.6), st.floats(0, 6.3), st.integers(0, 10**6))
def test_the_bound_lies_below_the_sag_everywhere(radius: float, share: float, turn: float, seed: int) -> None:
    # Held against the definition at offsets all round, whatever the offset it is made for, outside the ball too.
    at = share * radius * np.array([np.cos(turn), np.sin(turn)])
    x, y = np.float32(at[:1]), np.float32(at[1:])
    value, slope_x, slope_y, half_curvature = (float(v[0]) for v in sag_tangent(x, y, np.float32(radius)))
    rng = np.random.default_rng(seed)
    away = rng.uniform(-1.1, 1.1, (400, 2)) * radius
    e_x, e_y = away[:, 0] - float(x[0]), away[:, 1] - float(y[0])
    bound = value + slope_x * e_x + slope_y * e_y + half_curvature * (e_x**2 + e_y**2)
    rounding = 60 * float(np.finfo(np.float32).eps) * radius
    assert (bound <= sag(away[:, 0], away[:, 1], radius) + rounding).all()
    # And it is sharp: it touches the sag at the offset that it is made for, or at 0.985 R in its direction.
    touch = at * min(1.0, 0.985 / max(share, 1e-9))
    there = value + slope_x * (touch[0] - float(x[0])) + slope_y * (touch[1] - float(y[0]))
    assert there == pytest.approx(float(sag(touch[:1], touch[1:], radius)[0]), abs=rounding * (1 if share < 0.98 else 10))


@given(st.floats(0.5, 30), st.floats(0, 2), st.floats(0, 6.3))
def test_where_the_tangent_touches(radius: float, share: float, turn: float) -> None:
    # Definition: the offset itself, or the point at 0.985 R in its direction; the centre lies sqrt(R^2 - d^2) above the ball there.
    x, y = (np.array([share * radius * f(turn)]) for f in (np.cos, np.sin))
    at_x, at_y, height = touching_offset(x, y, radius)
    distance = float(np.hypot(at_x, at_y)[0])
    assert distance == pytest.approx(min(share, 0.985) * radius, rel=1e-9, abs=1e-12)
    assert abs(float((at_x * y - at_y * x)[0])) < 1e-9 * radius**2
    assert float(height[0]) == pytest.approx(np.sqrt(radius**2 - distance**2), rel=1e-9)
