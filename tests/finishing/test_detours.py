"""Short gap lines spliced into the pass lines beside them."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from addon.finishing.core.array_types import FloatArray, Mask
from addon.finishing.core.polyline import is_closed, travelled
from addon.finishing.passes.detours import spliced

LONGEST, FARTHEST, STEP = 15.0, 2.0, 0.25


def everywhere(points: FloatArray) -> Mask:
    return np.ones(len(points), bool)


def row_of(y: float, first: float = 0.0, last: float = 20.0) -> FloatArray:
    """A straight line along x with a point every half a millimetre."""
    x = np.arange(first, last + 0.1, 0.5)
    return np.column_stack([x, np.full(len(x), y)])


def test_a_line_runs_through_a_short_gap_beside_it_and_back() -> None:
    line, gap = row_of(0), np.array([[8.2, 0.9], [8.6, 1.6], [9.0, 2.4]])
    (out,), remaining = spliced([line], [gap], everywhere, LONGEST, FARTHEST, STEP)
    assert remaining == []
    # The nearest vertex to the gap's near end is (8, 0).
    np.testing.assert_array_equal(out, np.concatenate([line[:17], gap, line[17:]]))


def test_the_gap_is_entered_at_the_end_that_is_nearer_to_a_line() -> None:
    line, gap = row_of(0), np.array([[9.0, 2.4], [8.2, 0.9]])
    (out,), _ = spliced([line], [gap], everywhere, LONGEST, FARTHEST, STEP)
    np.testing.assert_array_equal(out[17:19], gap[::-1])


def test_the_nearest_line_takes_the_gap() -> None:
    lines, gap = [row_of(0), row_of(3)], np.array([[8.0, 2.2], [9.0, 2.3]])
    out, remaining = spliced(lines, [gap], everywhere, LONGEST, FARTHEST, STEP)
    assert remaining == [] and len(out[0]) == len(lines[0]) and len(out[1]) == len(lines[1]) + 2


def test_long_and_far_gaps_and_those_across_ground_that_may_not_be_cut_stay() -> None:
    line = row_of(0)
    long, far, behind = row_of(1, 2, 18), np.array([[8.0, 2.1], [9.0, 2.5]]), np.array([[14.0, 1.0], [15.0, 1.0]])
    out, remaining = spliced([line], [long, far, behind], lambda p: ~((p[:, 1] > 0.4) & (p[:, 1] < 0.6) & (p[:, 0] > 12)), LONGEST, FARTHEST, STEP)
    np.testing.assert_array_equal(out[0], line)
    assert [len(gap) for gap in remaining] == [len(long), 2, 2]


def test_the_way_back_is_checked_too() -> None:
    # By construction: the way out is free, the line's next vertex lies behind what may not be cut.
    line = np.array([[0.0, 0.0], [4.0, 0.0]])
    gap = np.array([[0.0, 1.0], [0.0, 1.8]])
    blocked = lambda p: ~((p[:, 0] > 1.9) & (p[:, 0] < 2.4) & (p[:, 1] > 0.5))  # noqa: E731
    assert len(spliced([line], [gap], everywhere, LONGEST, FARTHEST, STEP)[1]) == 0
    assert len(spliced([line], [gap], blocked, LONGEST, FARTHEST, STEP)[1]) == 1


def test_at_its_ends_a_line_is_prolonged() -> None:
    line = row_of(0)
    before, after = np.array([[-1.0, 0.2], [-2.0, 0.4]]), np.array([[21.0, 0.2], [22.0, 0.4]])
    (out,), remaining = spliced([line], [before, after], everywhere, LONGEST, FARTHEST, STEP)
    assert remaining == []
    np.testing.assert_array_equal(out, np.concatenate([before[::-1], line, after]))
    # Nowhere does it double back: its length is that of what is joined.
    assert travelled(out)[-1] < travelled(line)[-1] + 2 * np.hypot(2, 0.4) + 0.1


def test_a_closed_line_stays_closed() -> None:
    turn = np.linspace(0, 2 * np.pi, 41)
    ring = 10 * np.column_stack([np.cos(turn), np.sin(turn)])
    ring[-1] = ring[0]
    gaps = [np.array([[11.0, 0.1], [12.0, 0.1]]), np.array([[0.0, 11.0], [0.0, 12.0]]), np.array([[11.0, -0.5], [12.0, -0.6]])]
    (out,), remaining = spliced([ring], gaps, everywhere, LONGEST, FARTHEST, STEP)
    assert remaining == [] and is_closed(out) and len(out) == len(ring) + 6


def test_without_lines_or_gaps_nothing_changes() -> None:
    line = row_of(0)
    assert spliced([], [line], everywhere, LONGEST, FARTHEST, STEP) == ([], [line])
    assert spliced([line], [], everywhere, LONGEST, FARTHEST, STEP) == ([line], [])


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10**6))
def test_every_gap_is_run_through_or_stays_and_every_line_keeps_its_vertices(seed: int) -> None:
    rng = np.random.default_rng(seed)
    lines = [row_of(3 * k) + rng.normal(0, 0.05, (41, 2)) for k in range(4)]
    gaps = [np.cumsum(np.vstack([rng.uniform((-2, -2), (22, 11)), rng.normal(0, 0.8, (rng.integers(1, 6), 2))]), axis=0) for _ in range(12)]
    out, remaining = spliced(lines, gaps, lambda p: p[:, 0] < 17, LONGEST, FARTHEST, STEP)
    stay = {id(gap) for gap in remaining}
    for gap in gaps:
        runs = [
            number
            for number, line in enumerate(out)
            for part in (gap, gap[::-1])
            for k in range(len(line) - len(part) + 1)
            if np.array_equal(line[k : k + len(part)], part)
        ]
        assert len(runs) == (0 if id(gap) in stay else 1)
        nearest = min(float(np.hypot(*(line - end).T).min()) for line in lines for end in (gap[0], gap[-1]))
        if nearest > FARTHEST or (gap[:, 0] >= 17 + STEP).any():  # nothing narrower than the steps of the check counts
            assert id(gap) in stay
    for before, after in zip(lines, out, strict=True):
        kept = [k for k, point in enumerate(after.tolist()) if point in before.tolist()]
        np.testing.assert_array_equal(after[kept], before)
