"""Lines in plan raised to the exact tip surface, as dense as the chord tolerance asks."""

from __future__ import annotations

from collections.abc import Callable, Generator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from .grid import FloatArray
from .polyline import at_distances, is_closed, travelled
from .stepping import within

LEAST_STEP, GREATEST_STEP = 0.25, 3.0
"""Distance between points in mm before the chords are checked."""

HALVINGS = 7
"""Rounds of halving: a chord of 3 mm ends at 0.02 mm, where a kink of 45 degrees still stands out by 0.005 mm."""

SECOND_LOOKS = 4
"""Most rounds of looking beside the middles of chords on rough ground."""

LONG_ON_ROUGH = 0.25
"""mm; shorter chords are not looked at again: a ball of 2 mm radius stands out of them by 0.004 mm at the very most."""


ROUGH_SHARE = 0.05
"""Of the tolerance: where the bends of neighbouring chords differ by more than this over their length (over 1 mm at most), the
ground is rough. A tenth as strict let a chord pass that stood out by 0.0027 mm beside a bridged pocket."""


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
    return (yield from refined([_bend_sampled(line, estimate, tolerance) for line in lines], surface, tolerance))


def refined(
    plans: list[FloatArray], surface: Callable[[FloatArray], Generator[float, None, FloatArray]], tolerance: float
) -> Generator[float, None, list[FloatArray]]:
    """Give lines (n, 2) their exact tip heights, keeping all their points and halving chords until they are within tolerance.

    surface, tolerance, result: as for `raised`; there must be at least one line.
    """
    ends = np.cumsum([len(p) for p in plans])
    flat = np.concatenate(plans)
    line_number = np.repeat(np.arange(len(plans)), [len(p) for p in plans])
    unchecked = np.ones(len(flat), bool)  # whether the chord that starts at the point is still to be checked
    unchecked[ends - 1] = False
    heights = yield from within(surface(flat), 0.0, 0.5)
    lines = _Chords(np.column_stack([flat, heights]), line_number, unchecked, np.zeros(len(flat)), np.zeros(len(flat), bool))
    lines = yield from within(_halved(lines, surface, tolerance), 0.5, 0.8)
    for look in range(SECOND_LOOKS):
        low, high = 0.8 + 0.2 * look / SECOND_LOOKS, 0.8 + 0.2 * (look + 1) / SECOND_LOOKS
        lines = yield from within(_looked_at_again(lines, surface, tolerance), low, high)
        if not lines.unchecked.any():
            break
        lines = yield from _halved(lines, surface, tolerance)
    bounds = np.flatnonzero(np.diff(lines.line_number)) + 1
    return np.split(lines.points, bounds)


@dataclass(frozen=True)
class _Chords:
    """Points (n, 3) of all lines, one line after the other; each stands for the chord that starts there.

    unchecked: chords still to be checked. above: height of the surface over the chord's middle when it was checked, mm.
    settled: chords that were looked at beside their middles too.
    """

    points: FloatArray
    line_number: NDArray[np.intp]
    unchecked: NDArray[np.bool_]
    above: FloatArray
    settled: NDArray[np.bool_]

    def cut(self, at: NDArray[np.intp], points: FloatArray) -> _Chords:
        """The chords that start at `at` (rising) cut in two at exact points; both parts are to be checked."""
        unchecked, settled = self.unchecked.copy(), self.settled.copy()
        unchecked[at], settled[at] = True, False
        return _Chords(
            np.insert(self.points, at + 1, points, axis=0),
            np.insert(self.line_number, at + 1, self.line_number[at]),
            np.insert(unchecked, at + 1, True),
            np.insert(self.above, at + 1, 0.0),
            np.insert(settled, at + 1, False),
        )


def _halved(
    lines: _Chords, surface: Callable[[FloatArray], Generator[float, None, FloatArray]], tolerance: float
) -> Generator[float, None, _Chords]:
    """Check chords at their middles and halve those out of tolerance, again and again."""
    share = 0.0
    for _ in range(HALVINGS):
        start = np.flatnonzero(lines.unchecked)
        if len(start) == 0:
            break
        middle = (lines.points[start] + lines.points[start + 1]) / 2
        exact = yield from within(surface(middle[:, :2]), share, (1 + share) / 2)
        share = (1 + share) / 2
        # A facet's edge may stand out by up to twice what shows in the middle of the chord, so gouge gets half the tolerance.
        above = exact - middle[:, 2]
        bad = (above > tolerance / 2) | (-above > tolerance)
        middle[:, 2] = exact
        unchecked, all_above = lines.unchecked.copy(), lines.above.copy()
        unchecked[start], all_above[start] = False, above
        lines = replace(lines, unchecked=unchecked, above=all_above).cut(start[bad], middle[bad])
    return lines


def _looked_at_again(
    lines: _Chords, surface: Callable[[FloatArray], Generator[float, None, FloatArray]], tolerance: float
) -> Generator[float, None, _Chords]:
    """On rough ground a line may run through its chord's middle and still stand out beside it: check there at the quarters.

    Rough is where the bend of neighbouring chords differs. Chords out of tolerance are cut at the worse quarter and left
    unchecked.
    """
    inner = np.append(np.diff(lines.line_number) == 0, False)
    squared = np.ones(len(inner))
    squared[:-1] = np.maximum((np.diff(lines.points[:, :2], axis=0) ** 2).sum(axis=1), 1e-12)
    bend = lines.above / squared
    difference = np.zeros(len(inner))
    for shift in (1, 2):
        both = inner[shift:] & inner[:-shift] & (lines.line_number[shift:] == lines.line_number[:-shift])
        apart = np.where(both, np.abs(bend[shift:] - bend[:-shift]), 0)
        np.maximum(difference[shift:], apart, out=difference[shift:])
        np.maximum(difference[:-shift], apart, out=difference[:-shift])
    rough = difference * np.minimum(squared, 1.0) > ROUGH_SHARE * tolerance
    start = np.flatnonzero(rough & inner & ~lines.settled & (squared > LONG_ON_ROUGH**2))
    if len(start) == 0:
        return lines
    settled = lines.settled.copy()
    settled[start] = True
    lines = replace(lines, settled=settled)
    way = lines.points[start + 1] - lines.points[start]
    quarters = lines.points[start] + np.array([[[0.25]], [[0.75]]]) * way
    exact = yield from surface(quarters.reshape(-1, 3)[:, :2])
    above = exact.reshape(2, -1) - quarters[:, :, 2]
    quarters[:, :, 2] = exact.reshape(2, -1)
    worse = above.argmax(axis=0)
    chord = np.arange(len(start))
    bad = above[worse, chord] > tolerance / 2
    return lines.cut(start[bad], quarters[worse, chord][bad])


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
