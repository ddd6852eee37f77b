"""Fusing straight moves: against the plain recursion, against shapely's distances, and on small cases by hand."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, MultiPoint

from addon.finishing.core.fusing import fused


def fused_plainly(points: np.ndarray, tolerance: float) -> list[int]:
    """The recursion as Douglas and Peucker wrote it (1973, Cartographica 10:112), one section after the other: the slow twin."""

    def distance(point: np.ndarray, start: np.ndarray, end: np.ndarray) -> float:
        chord = end - start
        squared = float(chord @ chord)
        share = 0.0 if squared == 0 else min(max(float((point - start) @ chord) / squared, 0.0), 1.0)
        return float(np.linalg.norm(point - start - share * chord))

    def kept_between(first: int, last: int) -> list[int]:
        distances = [distance(points[k], points[first], points[last]) for k in range(first + 1, last)]
        if not distances or max(distances) <= tolerance:
            return []
        worst = first + 1 + int(np.argmax(distances))
        return [*kept_between(first, worst), worst, *kept_between(worst, last)]

    return [0, *kept_between(0, len(points) - 1), len(points) - 1]


def random_route(seed: int, dimensions: int) -> np.ndarray:
    rng = np.random.default_rng(seed)
    return np.cumsum(rng.normal(0, 0.2, (60, dimensions)), axis=0)


@given(st.integers(0, 2**32 - 1), st.floats(0.001, 0.5), st.sampled_from((2, 3)))
@settings(max_examples=60, deadline=None)
def test_all_sections_at_once_keep_what_the_recursion_keeps(seed: int, tolerance: float, dimensions: int) -> None:
    points = random_route(seed, dimensions)
    assert fused(points, tolerance).tolist() == fused_plainly(points, tolerance)


@given(st.integers(0, 2**32 - 1), st.floats(0.001, 0.5))
@settings(max_examples=60, deadline=None)
def test_no_point_is_farther_from_the_route_than_the_tolerance(seed: int, tolerance: float) -> None:
    # shapely's distance of every point from the fused route, in plan.
    points = random_route(seed, 2)
    kept = fused(points, tolerance)
    assert kept[0] == 0 and kept[-1] == 59 and (np.diff(kept) > 0).all()
    for a, b in zip(kept[:-1], kept[1:], strict=True):
        chord = LineString(points[[a, b]])
        assert max(chord.distance(point) for point in MultiPoint(points[a : b + 1]).geoms) <= tolerance + 1e-9


def test_straight_closed_and_short_routes() -> None:
    straight = np.column_stack([np.linspace(0, 10, 50), np.zeros(50), np.linspace(0, 2, 50)])
    assert fused(straight, 1e-6).tolist() == [0, 49]
    ring = np.array([[0.0, 0, 0], [1, 0, 0], [1, 1, 0], [0, 1, 0], [0, 0, 0]])
    assert fused(ring, 0.01).tolist() == [0, 1, 2, 3, 4]
    assert fused(straight[:1], 0.1).tolist() == [0] and fused(straight[:2], 0.1).tolist() == [0, 1]
    assert fused(np.zeros((0, 3)), 0.1).tolist() == []


def test_a_point_that_is_visited_twice_does_not_hide_the_turn_between() -> None:
    # Out and back again: the chord has no length, and the far end must stay.
    assert fused(np.array([[0.0, 0, 0], [1, 0, 0], [5, 0, 0], [0, 0, 0]]), 0.01).tolist() == [0, 2, 3]


def test_a_circle_keeps_the_fewest_points_within_a_factor_of_two() -> None:
    # Closed form: a chord over the angle a leaves a circle by R (1 - cos(a / 2)), so a tolerance t needs pi / acos(1 - t / R) chords at least.
    radius, tolerance = 10.0, 0.01
    angle = np.linspace(0, 2 * np.pi, 5001)
    kept = fused(radius * np.column_stack([np.cos(angle), np.sin(angle)]), tolerance)
    fewest = np.pi / np.arccos(1 - tolerance / radius)
    assert fewest <= len(kept) - 1 <= 2 * fewest + 1
    assert len(kept) - 1 == pytest.approx(2 ** np.ceil(np.log2(fewest)), abs=2)  # halved again and again from one chord


@given(st.integers(0, 2**32 - 1), st.floats(0.001, 0.5))
@settings(max_examples=60, deadline=None)
def test_what_lies_between_fixed_points_is_fused_by_itself(seed: int, tolerance: float) -> None:
    points = random_route(seed, 3)
    fixed = np.random.default_rng(seed).integers(0, 8, len(points)) == 0
    fixed[[0, -1]] = True
    bounds = np.flatnonzero(fixed)
    alone = {int(a) + k for a, b in zip(bounds[:-1], bounds[1:], strict=True) for k in fused_plainly(points[a : b + 1], tolerance)}
    assert fused(points, tolerance, fixed).tolist() == sorted(alone)
    assert np.count_nonzero(fixed) == len(bounds)  # the caller's marks are left alone
