"""Limits of speed at corners and bends against their slow plain twin, and what axes allow against closed forms."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import plain_corners
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from addon.finishing.job.machine import Machine
from addon.finishing.motion.corners import corner_limits
from addon.finishing.motion.moves import MM_PER_MIN, Moves, along


def moves_through(points: np.ndarray, machine: Machine, feed: float) -> Moves:
    vectors = np.diff(points, axis=0)
    length = np.linalg.norm(vectors, axis=1)
    return Moves.limited_by(machine, vectors, length, np.full(len(length), feed))


def winding_path(rng: np.random.Generator) -> np.ndarray:
    """Straight moves, sharp corners, and curves of fine chords, in space."""
    points, heading = [np.zeros(3)], rng.uniform(0, 2 * np.pi)
    for _ in range(rng.integers(3, 9)):
        kind = rng.integers(3)
        count, chord, turn = (1, rng.uniform(0.05, 20), rng.uniform(-3, 3)) if kind == 0 else (rng.integers(5, 40), rng.uniform(0.01, 0.5), 0.0)
        if kind == 2:
            turn = rng.choice([-1, 1]) * chord / rng.uniform(0.3, 60)
        for _ in range(count):
            heading += turn
            step = chord * rng.uniform(0.5, 1.5) * np.array([np.cos(heading), np.sin(heading), rng.normal(0, 0.3 if kind == 0 else 0.002)])
            points.append(points[-1] + step)
    return np.array(points)


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10**6), st.sampled_from([0.0, 0.005, 0.02, 0.1]), st.floats(300, 9000))
def test_limits_are_those_of_the_plain_twin(seed: int, deviation: float, feed: float) -> None:
    points = winding_path(np.random.default_rng(seed))
    machine = replace(Machine(), corner_rounding=deviation)
    moves = moves_through(points, machine, feed)
    found = corner_limits(moves, machine)[1:-1]
    accelerations = (machine.acceleration_x, machine.acceleration_y, machine.acceleration_z)
    expected = np.array(plain_corners.limits(points.tolist(), accelerations, deviation))
    # A bend that cannot slow the machine down at all may be left without a limit.
    own = np.maximum(moves.speed[1:], moves.speed[:-1]) ** 2
    np.testing.assert_allclose(np.minimum(found, own), np.minimum(expected, own), rtol=1e-6, atol=1e-6)


def test_the_plain_twin_on_a_fine_circle() -> None:
    # Closed form: v^2 = a r; equal axes along the diagonal give sqrt(2) of one, so a lies between 400 and 566 mm/s2.
    angle = np.linspace(0, np.pi, 400)
    points = np.column_stack([5 * np.cos(angle), 5 * np.sin(angle), 0 * angle])
    limits = plain_corners.limits(points.tolist(), (400, 400, 400), 0.02)[100:-100]
    assert min(limits) > 400 * 5 * 0.98 and max(limits) < 400 * 5 * math.sqrt(2) * 1.02


@pytest.mark.parametrize(
    ("direction", "allowed"),
    [((1, 0, 0), 60), ((0, -1, 0), 30), ((0, 0, 1), 12), ((0.6, 0.8, 0), 37.5), ((0.6, 0, 0.8), 15), ((0.8, 0.6, 0), 50)],
)
def test_the_axis_that_reaches_its_limit_first_decides(direction: tuple, allowed: float) -> None:
    # Closed form: limit over the part of the direction along the axis, the least of the three.
    assert along(np.array([60.0, 30.0, 12.0]), np.array([direction])) == pytest.approx([allowed])


def test_moves_are_clipped_by_feed_and_axes() -> None:
    # Closed form: 3-4-5 triangle in x and z, where Z at 1500 mm/min and 150 mm/s2 allows 1500 / 0.8 and 150 / 0.8.
    machine = Machine()
    moves = moves_through(np.array([[0, 0, 0], [3, 0, 4], [3, 10, 4]], float), machine, 4000)
    assert moves.direction == pytest.approx(np.array([[0.6, 0, 0.8], [0, 1, 0]]))
    assert moves.length == pytest.approx([5, 10])
    assert moves.speed == pytest.approx([1875 * MM_PER_MIN, 4000 * MM_PER_MIN])
    assert moves.acceleration == pytest.approx([187.5, 400])
