"""The swept ball against a slow plain twin, which meets every ray with every capsule, one after the other."""

from __future__ import annotations

import math

import numpy as np
import pytest

from addon.finishing.simulation.swept_ball import SweptBall, _least_entry

RADIUS = 6.0
CLOSE = 2e-5
"""mm; what single precision may be off by."""
GRAZING, GRAZING_CLOSE = 0.6, 2e-2
"""Entry heights over the radius from which they change fast with the ray's place, and what single precision may be off by there."""


def entry_by_hand(foot: np.ndarray, normal: np.ndarray, start: np.ndarray, end: np.ndarray, radius: float) -> float:
    """Where the line through a foot enters the capsule of one move: the first of its two balls and of the tube between them; inf: nowhere."""
    found = math.inf
    for centre in (start, end):
        up = float((centre - foot) @ normal)
        room = radius**2 - (float((centre - foot) @ (centre - foot)) - up * up)
        if room >= 0:
            found = min(found, up - math.sqrt(room))
    length = float(np.linalg.norm(end - start))
    if length > 0:
        axis = (end - start) / length
        # The tube: points at the distance R from its axis. A quadratic in the height t of the line's point.
        across, away = normal - (normal @ axis) * axis, (foot - start) - ((foot - start) @ axis) * axis
        a, b, c = float(across @ across), 2 * float(across @ away), float(away @ away) - radius**2
        if a > 1e-12 and b * b >= 4 * a * c:
            t = (-b - math.sqrt(b * b - 4 * a * c)) / (2 * a)
            if 0 <= float((foot + t * normal - start) @ axis) <= length:
                found = min(found, t)
    return found


def entries_by_hand(feet: np.ndarray, normals: np.ndarray, starts: np.ndarray, ends: np.ndarray, radius: float) -> np.ndarray:
    """Least entry of every ray over all moves, (n,)."""
    pairs = list(zip(starts, ends, strict=True))
    return np.array([min(entry_by_hand(foot, normal, a, b, radius) for a, b in pairs) for foot, normal in zip(feet, normals, strict=True)])


def assert_same(found: np.ndarray, expected: np.ndarray) -> None:
    """The same heights, but where a ray just meets a move or just misses it, and where it is cut into, which need not be told how deep."""
    met = np.isfinite(expected) & (expected < 0.98 * RADIUS) & (expected > -5e-4)
    assert met.sum() > len(expected) / 3
    grazing = expected > GRAZING * RADIUS
    np.testing.assert_allclose(found[met & ~grazing], expected[met & ~grazing], atol=CLOSE)
    np.testing.assert_allclose(found[met & grazing], expected[met & grazing], atol=GRAZING_CLOSE)
    assert (found[expected > 1.02 * RADIUS] > 0.98 * RADIUS).all()


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("kind", ["short", "long", "no length", "upright"])
def test_entry_heights_equal_those_by_hand(seed: int, kind: str) -> None:
    rng = np.random.default_rng(seed)
    starts = np.column_stack([rng.uniform(0, 25, (60, 2)), RADIUS + rng.uniform(0, 0.4, 60)])
    spread = {"short": [0.2, 0.2, 0.02], "long": [4, 4, 0.4], "no length": [0, 0, 0], "upright": [0, 0, 3]}[kind]
    ends = starts + rng.normal(0, 1, (60, 3)) * spread
    ends[:, 2] = np.maximum(ends[:, 2], RADIUS)
    feet = np.column_stack([rng.uniform(-2, 27, (120, 2)), np.zeros(120)])
    normals = rng.normal(0, 0.2, (120, 3)) + [0, 0, 1]
    normals[:20] = [0, 0, 1]  # along the upright moves themselves
    normals /= np.linalg.norm(normals, axis=1)[:, None]
    # Tilted rays over flat ground: as if the ground were sharply crowned, nothing can be ruled out early.
    found = SweptBall(starts, ends, RADIUS, 0.7).entry_heights(feet, normals, np.full(120, 1e3))
    assert_same(found, entries_by_hand(feet, normals, starts, ends, RADIUS))


@pytest.mark.parametrize("bin_size", [0.25, 0.7, 3.0])
def test_no_move_is_ruled_out_that_counts_on_a_crown(bin_size: float) -> None:
    # Lines over a sphere, far apart in one half: rays there must look far beyond the first ring, and those in the other half may stop early.
    rho = 30.0
    y = np.concatenate([np.arange(-14, 0, 0.9), [3.5, 9.0, 14.0]])
    x = np.linspace(-12, 12, 17)
    starts, ends = [], []
    for each in y:
        line = np.column_stack([x, np.full(len(x), each), np.sqrt((rho + RADIUS) ** 2 - x * x - each * each)])
        starts.append(line[:-1])
        ends.append(line[1:])
    rng = np.random.default_rng(2)
    plan = rng.uniform(-9, 9, (80, 2))
    feet = np.column_stack([plan, np.sqrt(rho**2 - (plan**2).sum(axis=1))])
    found = SweptBall(np.concatenate(starts), np.concatenate(ends), RADIUS, bin_size).entry_heights(feet, feet / rho, np.full(80, 1 / rho))
    expected = entries_by_hand(feet, feet / rho, np.concatenate(starts), np.concatenate(ends), RADIUS)
    assert (expected > 0.5).any() and (expected < 0.02).any()
    assert_same(found, expected)


def test_the_nearest_ball_counts_wherever_it_lies_among_the_bins() -> None:
    # Flat ground with a ball standing here and there, few to a bin's neighbourhood: the nearest one is entered first, and it must be seen
    # though a farther one lies in a bin that is looked at earlier.
    rng = np.random.default_rng(8)
    balls = np.column_stack([rng.uniform(0, 40, (150, 2)), np.full(150, RADIUS)])
    feet = np.column_stack([rng.uniform(3, 37, (400, 2)), np.zeros(400)])
    found = SweptBall(balls, balls, RADIUS, 1.0).entry_heights(feet, np.tile([0.0, 0.0, 1.0], (400, 1)), np.zeros(400))
    aside = np.hypot(*(feet[:, None, :2] - balls[None, :, :2]).transpose(2, 0, 1)).min(axis=1)
    assert (aside > 2.5).any() and aside.max() < 0.98 * RADIUS
    np.testing.assert_allclose(found, RADIUS - np.sqrt(RADIUS**2 - aside**2), atol=1e-4)


def test_the_least_entry_is_that_of_a_dense_search() -> None:
    # Every ball that touches the one under the foot without overlapping it, with its centre at least so far aside.
    for under in (0.5, 3.0, 40.0, 1e5):
        outer = RADIUS + under
        for distance in (0.3, 1.0, 4.0, 6.0):
            aside = np.linspace(distance, RADIUS, 100_001)
            up = np.sqrt(outer**2 - aside**2) - outer
            entry = up + RADIUS - np.sqrt(RADIUS**2 - aside**2)
            assert float(_least_entry(distance, RADIUS, np.array([under]))[0]) == pytest.approx(entry.min(), abs=1e-9)


def test_nothing_is_entered_without_moves_and_nothing_is_asked_without_rays() -> None:
    none = np.zeros((0, 3))
    feet, normals = np.zeros((3, 3)), np.tile([0.0, 0.0, 1.0], (3, 1))
    assert (SweptBall(none, none, RADIUS, 1.0).entry_heights(feet, normals, np.zeros(3)) == np.inf).all()
    move = np.array([[0.0, 0.0, RADIUS]])
    assert len(SweptBall(move, move, RADIUS, 1.0).entry_heights(none, none, np.zeros(0))) == 0


def test_a_ray_far_from_all_moves_never_enters() -> None:
    move = np.array([[0.0, 0.0, RADIUS]])
    feet = np.array([[1e6, -1e6, 0.0], [0.0, 2 * RADIUS + 1, 0.0], [0.5, 0.0, 0.0]])
    found = SweptBall(move, move + [1.0, 0, 0], RADIUS, 1.0).entry_heights(feet, np.tile([0.0, 0.0, 1.0], (3, 1)), np.zeros(3))
    assert found.tolist()[:2] == [np.inf, np.inf] and found[2] == pytest.approx(0, abs=1e-6)
