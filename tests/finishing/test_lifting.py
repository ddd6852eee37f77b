"""Lines lifted onto the tip surface: chords against closed forms, and the halving against a slow plain twin."""

from __future__ import annotations

from collections.abc import Callable, Generator

import numpy as np
import pytest

from addon.finishing.core.array_types import FloatArray
from addon.finishing.core.polyline import is_closed
from addon.finishing.core.stepping import finished
from addon.finishing.passes.lifting import HALVINGS, LEAST_STEP, lifted_lines, longest_chord, refined

RADIUS, TOLERANCE = 6.0, 0.002
Heights = Callable[[FloatArray], FloatArray]


def as_surface(heights: Heights) -> Callable[[FloatArray], Generator[float, None, FloatArray]]:
    """Heights of points (..., 2) in steps, as the exact surface gives them."""

    def surface(points: FloatArray) -> Generator[float, None, FloatArray]:
        yield 0.0
        return heights(points)

    return surface


def waves(points: FloatArray) -> FloatArray:
    """Smooth ground that curves both ways, with one sharp edge across it."""
    x, y = points[..., 0], points[..., 1]
    return 3 * np.sin(x / 4) * np.cos(y / 5) + np.maximum(0, 0.3 * (x - 11.37))


def lifted(lines: list[FloatArray], heights: Heights, estimate: Heights | None = None, radius: float = RADIUS) -> list[FloatArray]:
    return finished(lifted_lines(lines, as_surface(heights), estimate or heights, TOLERANCE, radius))


def off_chord(line: FloatArray, heights: Heights) -> FloatArray:
    """How far the surface stands above each chord (negative: below) at 200 places of it, (chords, 200)."""
    fraction = np.linspace(0, 1, 200)[None, :, None]
    places = line[:-1, None] + fraction * np.diff(line, axis=0)[:, None]
    return heights(places[..., :2]) - places[..., 2]


def test_chords_stay_within_the_tolerance_on_both_sides() -> None:
    x = np.linspace(0, 30, 61)
    lines = [np.column_stack([x, 2 * np.sin(x / 3) + y]) for y in (0.0, 4.0, 9.0)]
    for line, plan in zip(lifted(lines, waves), lines, strict=True):
        np.testing.assert_array_equal(line[[0, -1], :2], plan[[0, -1]])
        np.testing.assert_allclose(line[:, 2], waves(line[:, :2]), atol=1e-12)
        above = off_chord(line, waves)
        # Below a chord only its middle is checked: where the edge lies elsewhere, it may be up to twice as deep.
        assert above.max() <= TOLERANCE and above.min() >= -2 * TOLERANCE


def test_there_are_no_more_points_than_the_curvature_asks() -> None:
    # Closed form: on a cylinder of radius r chords of sqrt(8 r tolerance) stand off by the tolerance; on flat ground they are as long as they may.
    # On a crown they may stand off by half of it, four fifths where they are short.
    r = 30.0
    least = 20 / np.sqrt(8 * r * TOLERANCE)
    for sign, most in ((-1, 1.5), (1, 2.0)):
        (line,) = lifted([np.array([[-10.0, 0.0], [10.0, 0.0]])], lambda p, s=sign: s * np.sqrt(r**2 - p[..., 0] ** 2))  # type: ignore[misc]
        assert least < len(line) - 1 < most * least
    (line,) = lifted([np.array([[0.0, 0.0], [29.9, 0.0]])], lambda p: 0 * p[..., 0])
    assert len(line) - 1 == np.ceil(29.9 / longest_chord(RADIUS, TOLERANCE))


def test_bends_in_plan_ask_for_fewer_points_than_bends_of_the_ground() -> None:
    # Closed form: on level ground a circle of radius r has chords that lie beside it by their length squared / (8 r), here as much as is let pass:
    # sqrt(R / 4 mm) tolerances. Chords over an even slope lie in it, however the line bends on it.
    r, turn = 20.0, np.linspace(0, 1.5 * np.pi, 8000)
    circle = r * np.column_stack([np.cos(turn), np.sin(turn)])
    counts = []
    for slope in (0.0, 1.5):
        (line,) = lifted([circle], lambda p, s=slope: s * p[..., 0])  # type: ignore[misc]
        middle, chord = (line[1:, :2] + line[:-1, :2]) / 2, np.linalg.norm(np.diff(line[:, :2], axis=0), axis=1)
        assert (r - np.hypot(*middle.T)).max() <= 1.02 * np.sqrt(RADIUS / 4) * TOLERANCE
        assert off_chord(line, lambda p, s=slope: s * p[..., 0]).max() <= TOLERANCE  # type: ignore[misc]
        counts.append(len(chord))
    fewest = 1.5 * np.pi * r / np.sqrt(8 * r * np.sqrt(RADIUS / 4) * TOLERANCE)
    assert fewest <= counts[0] <= 1.2 * fewest and counts[1] == counts[0]


def halved_by_hand(start: FloatArray, end: FloatArray, heights: Heights, depth: int) -> list[FloatArray]:
    """The points after the first of one chord, cut in its middle until it is within tolerance; what a chord is checked for is written out."""
    at = [start + fraction * (end - start) for fraction in (0.25, 0.5, 0.75)]
    above = [float(heights(point[None, :2])[0]) - float(point[2]) for point in at]
    # Four fifths of the tolerance, less what an edge hides between checks a quarter of the chord apart on this ball; a half at least, but where the
    # quarters miss those of an arc (3/4, 1, 3/4 of its rise) by half the tolerance.
    hidden = (float(np.linalg.norm(end - start)) / 4) ** 2 / (8 * RADIUS)
    bent = max(abs(above[0] - above[2]), abs(above[0] + above[2] - 1.5 * above[1])) > TOLERANCE / 2
    let_pass = max(0.8 * TOLERANCE - hidden, min(max(TOLERANCE - hidden, 0), TOLERANCE / 2) if bent else TOLERANCE / 2)
    if depth == HALVINGS or not (max(above) > let_pass or -above[1] > TOLERANCE):
        return [end]
    middle = (start + end) / 2
    middle[2] = heights(middle[None, :2])[0]
    return halved_by_hand(start, middle, heights, depth + 1) + halved_by_hand(middle, end, heights, depth + 1)


@pytest.mark.parametrize("seed", range(4))
def test_halving_equals_a_plain_recursion(seed: int) -> None:
    rng = np.random.default_rng(seed)
    plans = [np.cumsum(rng.normal(0, 1.5, (rng.integers(2, 9), 2)), axis=0) + [10, 0] for _ in range(6)]
    made = finished(refined(plans, as_surface(waves), TOLERANCE, RADIUS))
    for plan, line in zip(plans, made, strict=True):
        points = np.column_stack([plan, waves(plan)])
        expected = [points[0]]
        for start, end in zip(points[:-1], points[1:], strict=True):
            expected += halved_by_hand(start, end, waves, 0)
        np.testing.assert_allclose(line, expected, atol=1e-9)
        assert len(line) > len(plan)


def test_the_tip_of_a_detour_is_kept_when_lines_are_lifted() -> None:
    # By construction: on flat ground chords are as long as they may be, yet a detour must reach what it was laid for.
    x = np.arange(0, 30.5, 0.5)
    tip = np.array([15.3, 1.37])
    line = np.concatenate([np.column_stack([x[:31], 0 * x[:31]]), tip[None], np.column_stack([x[31:], 0 * x[31:]])])
    (made,) = lifted([line], lambda p: np.zeros(p.shape[:-1]))
    assert np.hypot(*(made[:, :2] - tip).T).min() < 1e-9
    lengths = np.hypot(*np.diff(made[:, :2], axis=0).T)
    assert lengths.max() <= longest_chord(RADIUS, TOLERANCE) + 1e-9 and lengths.min() > LEAST_STEP / 4


def test_an_edge_does_not_hide_between_the_places_where_chords_are_checked() -> None:
    # Closed form: a ball of radius R over edges that stand d out of flat ground runs on arcs, max(0, d + sqrt(R^2 - u^2) - R) high. Nothing
    # of this shows in the estimate. What shows less than half the tolerance at the checks may not stand out farther than the whole: beside an edge
    # the heights over a chord are not those of an arc.
    radius = 2.0
    edges = np.cumsum(np.random.default_rng(5).uniform(1.0, 3.0, 150))

    def height(points: FloatArray) -> FloatArray:
        u = np.abs(points[..., 0, None] - edges).min(axis=-1)
        return np.maximum(0.0046 + np.sqrt(np.maximum(radius**2 - u**2, 0)) - radius, 0)

    (made,) = lifted([np.array([[0.0, 0.0], [320.0, 0.0]])], height, lambda p: np.zeros(len(p)), radius)
    dense = np.linspace(0, 320, 200_001)
    standing = height(np.column_stack([dense, 0 * dense])) - np.interp(dense, made[:, 0], made[:, 2])
    assert standing.max() <= TOLERANCE


def test_closed_short_and_missing_lines() -> None:
    turn = np.linspace(0, 2 * np.pi, 33)
    ring = 0.05 * np.column_stack([np.cos(turn), np.sin(turn)]) + [5, 5]
    ring[-1] = ring[0]
    made = lifted([ring, np.array([[1.0, 2.0], [1.0, 2.0]])], waves)
    assert is_closed(made[0]) and len(made[0]) >= 4  # a small ring stays one: three chords at least
    np.testing.assert_allclose(made[1], np.tile([1, 2, float(waves(np.array([1.0, 2.0])))], (2, 1)))
    assert lifted([], waves) == []
