"""Lines in plan raised to the exact tip surface, as dense as the chord tolerance asks."""

from __future__ import annotations

from collections.abc import Callable, Generator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..core.grid import FloatArray
from ..core.polyline import at_distances, is_closed, travelled
from ..core.stepping import within

LEAST_STEP, GREATEST_STEP = 0.25, 3.0
"""Distance between points in mm before the chords are checked; for small balls it is less (`longest_chord`)."""

HALVINGS = 7
"""Rounds of halving: a chord of 3 mm ends at 0.02 mm, where a kink of 45 degrees still stands out by 0.005 mm."""

QUARTERS, EIGHTHS = np.array([0.25, 0.5, 0.75]), np.array([0.125, 0.375, 0.625, 0.875])
"""Where chords are checked, and the places that are new when a chord is cut in its middle."""


def longest_chord(radius: float, tolerance: float) -> float:
    """Longest chord in mm, so that an edge cannot hide between its checks from a ball of this radius.

    Over an edge the tip runs on an arc of the ball's radius R. One that fits between two checks, q apart, stands out by no more than
    q^2 / (8 R), which is the tolerance at q = sqrt(8 R tolerance). One that reaches both checks with less than the half tolerance that
    is let pass there may stand out by that much more.
    """
    return min(GREATEST_STEP, (len(QUARTERS) + 1) * float(np.sqrt(8 * radius * tolerance)))


def raised(
    lines: list[FloatArray],
    surface: Callable[[FloatArray], Generator[float, None, FloatArray]],
    estimate: Callable[[FloatArray], FloatArray],
    tolerance: float,
    radius: float,
) -> Generator[float, None, list[FloatArray]]:
    """Give lines (n, 2) their exact tip heights; returns polylines (m, 3) with chords within the tolerance.

    surface: exact tip heights of points (k, 2), or of groups (k, l, 2) that lie close together, as a generator of shares that
    returns (k,) or (k, l). estimate: cheap tip heights of
    points, good enough to guess how strongly a line bends. tolerance: greatest height difference in mm between chords and the
    surface, on either side. radius: of the ball, mm.
    """
    if not lines:
        return []
    longest = longest_chord(radius, tolerance)
    return (yield from refined([_bend_sampled(line, estimate, tolerance, longest) for line in lines], surface, tolerance))


def refined(
    plans: list[FloatArray], surface: Callable[[FloatArray], Generator[float, None, FloatArray]], tolerance: float
) -> Generator[float, None, list[FloatArray]]:
    """Give lines (n, 2) their exact tip heights, keeping all their points and halving chords until they are within tolerance.

    Every chord is checked at its quarters. surface, tolerance, result: as for `raised`; there must be at least one line.
    """
    chords = yield from within(_chords(plans, surface), 0.0, 0.6)
    share = 0.6
    for _ in range(HALVINGS):
        start = np.flatnonzero(chords.unchecked)
        way = chords.points[start + 1] - chords.points[start]
        above = chords.inner[start] - chords.points[start, 2:] - QUARTERS * way[:, 2:]
        # A facet's edge may stand out by up to twice what shows at the quarters, so gouge gets half the tolerance.
        bad = (above.max(axis=1) > tolerance / 2) | (-above[:, 1] > tolerance)
        if not bad.any():
            break
        at = start[bad]
        new = chords.points[at, None, :2] + EIGHTHS[:, None] * way[bad, None, :2]
        heights = yield from within(surface(new), share, (1 + share) / 2)
        share = (1 + share) / 2
        chords = chords.halved(at, heights)
    bounds = np.flatnonzero(np.diff(chords.line_number)) + 1
    return np.split(chords.points, bounds)


@dataclass(frozen=True)
class _Chords:
    """Points (n, 3) of all lines, one line after the other; each stands for the chord that starts there.

    inner: (n, 3) exact heights at the chord's quarters. unchecked: chords still to be checked; a line's last point has none.
    """

    points: FloatArray
    line_number: NDArray[np.intp]
    inner: FloatArray
    unchecked: NDArray[np.bool_]

    def halved(self, at: NDArray[np.intp], eighths: FloatArray) -> _Chords:
        """The chords that start at `at` (rising) cut in their middles, both parts still to be checked, all others checked.

        eighths: (m, 4) exact heights at EIGHTHS of the chords.
        """
        middle = (self.points[at] + self.points[at + 1]) / 2
        middle[:, 2] = self.inner[at, 1]
        inner, unchecked = self.inner.copy(), np.zeros(len(self.points), bool)
        inner[at] = np.column_stack([eighths[:, 0], self.inner[at, 0], eighths[:, 1]])
        unchecked[at] = True
        return _Chords(
            np.insert(self.points, at + 1, middle, axis=0),
            np.insert(self.line_number, at + 1, self.line_number[at]),
            np.insert(inner, at + 1, np.column_stack([eighths[:, 2], self.inner[at, 2], eighths[:, 3]]), axis=0),
            np.insert(unchecked, at + 1, True),
        )


def _chords(plans: list[FloatArray], surface: Callable[[FloatArray], Generator[float, None, FloatArray]]) -> Generator[float, None, _Chords]:
    """The chords of lines (n, 2) as they are, with the heights of all their points and quarters."""
    last = np.cumsum([len(p) for p in plans]) - 1
    flat = np.concatenate(plans)
    starts = np.delete(np.arange(len(flat)), last)
    way = flat[starts + 1] - flat[starts]
    # A chord's start and its quarters lie close together: found as one group.
    shares = np.concatenate([[0.0], QUARTERS])
    heights = yield from within(surface(flat[starts, None] + shares[:, None] * way[:, None]), 0.0, 0.95)
    ends = yield from within(surface(flat[last]), 0.95, 1.0)
    points = np.column_stack([flat, np.zeros(len(flat))])
    points[starts, 2], points[last, 2] = heights[:, 0], ends
    inner = np.zeros((len(flat), len(QUARTERS)))
    inner[starts] = heights[:, 1:]
    unchecked = np.zeros(len(flat), bool)
    unchecked[starts] = True
    return _Chords(points, np.repeat(np.arange(len(plans)), [len(p) for p in plans]), inner, unchecked)


def _bend_sampled(line: FloatArray, estimate: Callable[[FloatArray], FloatArray], tolerance: float, longest: float) -> FloatArray:
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
    wanted = np.clip(np.sqrt(8 * 0.6 * tolerance / np.maximum(bend, 1e-9)), LEAST_STEP, longest)
    # The narrowest step within reach counts, so that no long chord runs into a bend.
    narrow = np.minimum(wanted, np.minimum(np.roll(wanted, 1), np.roll(wanted, -1)))
    narrow[0], narrow[-1] = wanted[:2].min(), wanted[-2:].min()
    number = np.concatenate([[0.0], np.cumsum((1 / narrow[1:] + 1 / narrow[:-1]) / 2 * (length / count))])
    pieces = max(3 if is_closed(line) else 1, int(np.ceil(number[-1])))
    places = _with_corners(np.interp(np.linspace(0, number[-1], pieces + 1), number, distance), line, along)
    points = at_distances(line, along, places)
    points[0], points[-1] = line[0], line[-1]
    return points


def _with_corners(places: FloatArray, line: FloatArray, along: FloatArray) -> FloatArray:
    """Distances along a line at which points are put, with its sharp corners (the tips of detours) in place of those close to one."""
    ways = np.diff(line, axis=0)
    ways /= np.maximum(np.hypot(ways[:, 0], ways[:, 1]), 1e-12)[:, None]
    corners = along[1:-1][(ways[1:] * ways[:-1]).sum(axis=1) < np.cos(np.radians(SHARP_CORNER))]
    inner = places[1:-1]
    if len(corners) == 0 or len(inner) == 0:
        return places
    apart = np.abs(inner[:, None] - corners).min(axis=1)
    return np.unique(np.concatenate([places[:1], inner[apart > LEAST_STEP / 2], corners, places[-1:]]))


SHARP_CORNER = 40.0
"""Degrees by which a line turns at a corner that becomes a point of its own."""
