"""Lines in plan raised to the exact tip surface, as dense as the chord tolerance asks."""

from __future__ import annotations

from collections.abc import Callable, Generator

import numpy as np

from .grid import FloatArray
from .polyline import at_distances, is_closed, travelled
from .stepping import within

LEAST_STEP, GREATEST_STEP = 0.25, 3.0
"""Distance between points in mm before the chords are checked."""

HALVINGS = 7
"""Rounds of halving: a chord of 3 mm ends at 0.02 mm, where even a kink of 45 degrees keeps the tolerance nearly."""


def raised(
    lines: list[FloatArray],
    surface: Callable[[FloatArray], Generator[float, None, FloatArray]],
    estimate: Callable[[FloatArray], FloatArray],
    tolerance: float,
) -> Generator[float, None, list[FloatArray]]:
    """Give lines (n, 2) their exact tip heights; returns polylines (m, 3) with chords within the tolerance.

    surface: exact tip heights of points (k, 2), as a generator of shares that returns (k,). estimate: cheap tip heights of
    points, good enough to guess how strongly a line bends. tolerance: greatest height difference in mm between chords and the
    surface, on either side.
    """
    if not lines:
        return []
    plans = [_bend_sampled(line, estimate, tolerance) for line in lines]
    first = np.cumsum([0] + [len(p) for p in plans])
    flat = np.concatenate(plans)
    line_number = np.repeat(np.arange(len(plans)), np.diff(first))
    heights = np.zeros(len(flat))
    todo_middle = np.ones(len(flat), bool)  # whether the chord that starts at the point is still to be checked
    todo_middle[first[1:] - 1] = False
    heights = yield from within(surface(flat), 0.0, 0.5)  # type: ignore[assignment]
    points = np.column_stack([flat, heights])
    share = 0.5
    for _ in range(HALVINGS):
        start = np.flatnonzero(todo_middle)
        if len(start) == 0:
            break
        middle = (points[start] + points[start + 1]) / 2
        exact = yield from within(surface(middle[:, :2]), share, (1 + share) / 2)
        share = (1 + share) / 2
        # A facet's edge may stand out by up to twice what shows in the middle of the chord, so gouge gets half the tolerance.
        above = exact - middle[:, 2]
        bad = (above > tolerance / 2) | (-above > tolerance)
        todo_middle[start[~bad]] = False
        at = start[bad]
        middle[:, 2] = exact
        points = np.insert(points, at + 1, middle[bad], axis=0)
        line_number = np.insert(line_number, at + 1, line_number[at])
        # Both halves of a bad chord are to be checked; np.insert keeps the first half's mark.
        todo_middle = np.insert(todo_middle, at + 1, True)
    bounds = np.flatnonzero(np.diff(line_number)) + 1
    return np.split(points, bounds)


def _bend_sampled(line: FloatArray, estimate: Callable[[FloatArray], FloatArray], tolerance: float) -> FloatArray:
    """Points along a line (n, 2) at the distances where chords would just keep 0.6 of the tolerance by its estimated bend."""
    along = travelled(line)
    length = along[-1]
    if length < 1e-9:
        return line[[0, -1]]
    count = max(2, int(np.ceil(length / 0.5)))
    distance = np.linspace(0, length, count + 1)
    even = at_distances(line, along, distance)
    space = np.column_stack([even, estimate(even)])
    bend = np.zeros(len(space))
    reach = min(2, (len(space) - 1) // 2)
    if reach:
        step = reach * length / count
        second = (space[2 * reach :] - 2 * space[reach:-reach] + space[: -2 * reach]) / (step * step)
        bend[reach:-reach] = np.linalg.norm(second, axis=1)
        bend[:reach], bend[-reach:] = bend[reach], bend[-reach - 1]
    wanted = np.clip(np.sqrt(8 * 0.6 * tolerance / np.maximum(bend, 1e-9)), LEAST_STEP, GREATEST_STEP)
    # The narrowest step within reach counts, so that no long chord runs into a bend.
    narrow = np.minimum(wanted, np.minimum(np.roll(wanted, 1), np.roll(wanted, -1)))
    narrow[0], narrow[-1] = wanted[:2].min(), wanted[-2:].min()
    number = np.concatenate([[0.0], np.cumsum((1 / narrow[1:] + 1 / narrow[:-1]) / 2 * (length / count))])
    pieces = max(3 if is_closed(line) else 1, int(np.ceil(number[-1])))
    places = np.interp(np.linspace(0, number[-1], pieces + 1), number, distance)
    points = at_distances(line, along, places)
    points[0], points[-1] = line[0], line[-1]
    return points
