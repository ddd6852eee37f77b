"""Lines in plan lifted onto the exact tip surface, as dense as the chord tolerance asks.

A chord over ground of the curvature k stands off it by k c^2 / 8 in its middle (c: its length), so that sqrt(8 tolerance / k) keeps the
tolerance. That gives the first points, from an estimated curvature. Then every chord is checked at its quarters against exact heights, and
halved until it is within tolerance; no chord is longer than its checks can see (`longest_chord`).

What counts is how far a chord lies above or below the ground under it. Where a line bends in plan, its chords cut the corner and lie on the ground
a little to the side, which takes nothing off the body; there they may be longer (`AS_FAR_ASIDE`), and a control has fewer blocks to read.
"""

from __future__ import annotations

from collections.abc import Callable, Generator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..core.array_types import FloatArray
from ..core.path import NO_LENGTH
from ..core.polyline import at_distances, is_closed, travelled
from ..core.ragged import run_owners
from ..core.stepping import within

LEAST_STEP, GREATEST_STEP = 0.25, 3.0
"""Distance between points in mm before the chords are checked; for small balls it is less (`longest_chord`)."""

FIRST_TOLERANCE = 0.6
"""Part of what is let pass that the first points are made for: the curvature is an estimate."""

CROWN_SHARE = 0.8
"""Share of the tolerance that chords may lie below crowns, edges between their checks counted: the rest is for the fusing and the rounding of
programs."""

BENT_SHARE = 0.5
"""Share of the tolerance by which the heights over a chord may miss those of an arc, 3/4 of its rise at both outer quarters, before an edge may be
hidden between them: facets of a smooth form miss less."""

AS_FAR_ASIDE = 4.0
"""mm; radius of the ball whose first chords may lie as far beside a line in plan as above or below the ground. Larger balls have passes farther
apart, by the root of the radius, and so has what their chords may: at 0.05 mm of cusp height the spacing differs by a third of a per cent.
"""

CURVATURE_STEP, CURVATURE_STEPS = 0.5, 2
"""mm between the places where the curvature of a line is estimated, and how many of them to both sides its second differences look: wide
enough for the cells of the estimate not to show."""

HALVINGS = 7
"""Rounds of halving: a chord of 3 mm ends at 0.02 mm, where a kink of 45 degrees still stands out by 0.005 mm."""

QUARTERS, EIGHTHS = np.array([0.25, 0.5, 0.75]), np.array([0.125, 0.375, 0.625, 0.875])
"""Where chords are checked, and the places that are new when a chord is cut in its middle."""

SHARP_CORNER = 40.0
"""Degrees by which a line turns at a corner that becomes a point of its own: more than smoothed lines turn, less than the tips of detours."""

NO_CURVATURE = 1e-9
"""1/mm; curvature that every chord is short enough for."""

Surface = Callable[[FloatArray], Generator[float, None, FloatArray]]
"""Exact tip heights of points (k, 2), or of groups (k, l, 2) that lie close together, as a generator of shares done that returns (k,) or
(k, l)."""

Estimate = Callable[[FloatArray], FloatArray]
"""Cheap tip heights (k,) of points (k, 2), good enough to guess how strongly a line curves."""


def longest_chord(radius: float, tolerance: float) -> float:
    """Longest chord in mm, so that an edge cannot hide between its checks from a ball of this radius.

    Over an edge the tip runs on an arc of the ball's radius R. One that fits between two checks, q apart, stands out by no more than
    q^2 / (8 R), which is the tolerance at q = sqrt(8 R tolerance). One that reaches its checks may stand out by what it shows there more:
    less is let pass where the checks look like an edge (`_let_pass`).
    """
    return min(GREATEST_STEP, (len(QUARTERS) + 1) * float(np.sqrt(8 * radius * tolerance)))


def lifted_lines(
    lines: list[FloatArray], surface: Surface, estimate: Estimate, tolerance: float, radius: float
) -> Generator[float, None, list[FloatArray]]:
    """Give lines (n, 2) their exact tip heights; returns polylines (m, 3) with chords within the tolerance. Yields shares done.

    tolerance: greatest height difference in mm between chords and the surface, on either side. radius: of the ball, mm.
    """
    if not lines:
        return []
    return (yield from refined([_first_points(line, estimate, tolerance, radius) for line in lines], surface, tolerance, radius))


def refined(plans: list[FloatArray], surface: Surface, tolerance: float, radius: float) -> Generator[float, None, list[FloatArray]]:
    """Give lines (n, 2) their exact tip heights, keeping all their points and halving chords until they are within tolerance.

    Every chord is checked at its quarters. tolerance, result: as for `lifted_lines`; there must be at least one line.
    """
    chords = yield from within(_chords(plans, surface), 0.0, 0.6)
    share = 0.6
    for _ in range(HALVINGS):
        start = np.flatnonzero(chords.unchecked)
        move = chords.points[start + 1] - chords.points[start]
        above = chords.inner[start] - chords.points[start, 2:] - QUARTERS * move[:, 2:]
        bad = (above.max(axis=1) > _let_pass(move, above, tolerance, radius)) | (-above[:, 1] > tolerance)
        if not bad.any():
            break
        at = start[bad]
        new = chords.points[at, None, :2] + EIGHTHS[:, None] * move[bad, None, :2]
        heights = yield from within(surface(new), share, (1 + share) / 2)
        share = (1 + share) / 2
        chords = chords.halved(at, heights)
    bounds = np.flatnonzero(np.diff(chords.line_number)) + 1
    return np.split(chords.points, bounds)


def _let_pass(move: FloatArray, above: FloatArray, tolerance: float, radius: float) -> FloatArray:
    """How far the surface may stand above chords (k, 3) at their quarters, (k,) mm. above: (k, 3) how far it does.

    CROWN_SHARE of the tolerance, less what an edge between two checks may stand out on a ball of this radius; but half of the tolerance in any case
    over smooth ground, whose heights over a chord are those of an arc: no edge is hidden there.
    """
    hidden = (move * move).sum(axis=1) / (8 * radius * (len(QUARTERS) + 1) ** 2)
    first, middle, last = above.T
    bent = np.maximum(np.abs(first - last), np.abs(first + last - 1.5 * middle)) > BENT_SHARE * tolerance
    least = np.where(bent, np.clip(tolerance - hidden, 0.0, tolerance / 2), tolerance / 2)
    return np.asarray(np.maximum(CROWN_SHARE * tolerance - hidden, least))


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
            points=np.insert(self.points, at + 1, middle, axis=0),
            line_number=np.insert(self.line_number, at + 1, self.line_number[at]),
            inner=np.insert(inner, at + 1, np.column_stack([eighths[:, 2], self.inner[at, 2], eighths[:, 3]]), axis=0),
            unchecked=np.insert(unchecked, at + 1, True),
        )


def _chords(plans: list[FloatArray], surface: Surface) -> Generator[float, None, _Chords]:
    """The chords of lines (n, 2) as they are, with the heights of all their points and quarters."""
    lengths = np.array([len(line) for line in plans])
    last = np.cumsum(lengths) - 1
    flat = np.concatenate(plans)
    starts = np.delete(np.arange(len(flat)), last)
    move = flat[starts + 1] - flat[starts]
    # A chord's start and its quarters lie close together: found as one group.
    fractions = np.concatenate([[0.0], QUARTERS])
    heights = yield from within(surface(flat[starts, None] + fractions[:, None] * move[:, None]), 0.0, 0.95)
    ends = yield from within(surface(flat[last]), 0.95, 1.0)
    points = np.column_stack([flat, np.zeros(len(flat))])
    points[starts, 2], points[last, 2] = heights[:, 0], ends
    inner = np.zeros((len(flat), len(QUARTERS)))
    inner[starts] = heights[:, 1:]
    unchecked = np.zeros(len(flat), bool)
    unchecked[starts] = True
    return _Chords(points=points, line_number=run_owners(lengths), inner=inner, unchecked=unchecked)


def _first_points(line: FloatArray, estimate: Estimate, tolerance: float, radius: float) -> FloatArray:
    """Points along a line (n, 2) at the distances where chords would just keep FIRST_TOLERANCE by its estimated curvature."""
    along = travelled(line)
    length = along[-1]
    if length < NO_LENGTH:
        return line[[0, -1]]
    count = max(2, int(np.ceil(length / CURVATURE_STEP)))
    distance = np.linspace(0, length, count + 1)
    even = at_distances(line, along, distance)
    stand_off, bend = _curvatures(even, estimate, length)
    aside = np.sqrt(radius / AS_FAR_ASIDE)
    let_pass = FIRST_TOLERANCE * np.where(stand_off > 0, CROWN_SHARE, 1.0)
    squared = np.minimum(let_pass / np.maximum(np.abs(stand_off), NO_CURVATURE), aside / np.maximum(bend, NO_CURVATURE))
    wanted = np.clip(np.sqrt(8 * tolerance * squared), LEAST_STEP, longest_chord(radius, tolerance))
    # The least of a place and its neighbours counts, so that no long chord runs into a curve.
    narrow = np.minimum(wanted, np.minimum(np.roll(wanted, 1), np.roll(wanted, -1)))
    narrow[0], narrow[-1] = wanted[:2].min(), wanted[-2:].min()
    # Steps so long, laid end to end, are counted along the line; the points stand at the whole counts.
    number = np.concatenate([[0.0], np.cumsum((1 / narrow[1:] + 1 / narrow[:-1]) / 2 * (length / count))])
    pieces = max(3 if is_closed(line) else 1, int(np.ceil(number[-1])))
    at = _with_corners(np.interp(np.linspace(0, number[-1], pieces + 1), number, distance), line, along)
    points = at_distances(line, along, at)
    points[0], points[-1] = line[0], line[-1]
    return points


def _curvatures(places: FloatArray, estimate: Estimate, length: float) -> tuple[FloatArray, FloatArray]:
    """Curvatures (n,), 1/mm, at places (n, 2) that divide a length in plan evenly: that by which the ground rises above chords (crowns are above
    0), and that of the line in plan. At the ends those of the nearest place where they are known.
    """
    stand_off, bend = np.zeros(len(places)), np.zeros(len(places))
    count = len(places) - 1
    beside = min(CURVATURE_STEPS, count // 2)
    if beside:
        squared = (beside * length / count) ** 2
        middle = (places[2 * beside :] + places[: -2 * beside]) / 2
        heights = estimate(np.concatenate([places, middle]))
        ends, under = heights[: len(places)], heights[len(places) :]
        stand_off[beside:-beside] = (2 * under - ends[2 * beside :] - ends[: -2 * beside]) / squared
        bend[beside:-beside] = 2 * np.linalg.norm(places[beside:-beside] - middle, axis=1) / squared
        for values in (stand_off, bend):
            values[:beside], values[-beside:] = values[beside], values[-beside - 1]
    return stand_off, bend


def _with_corners(distances: FloatArray, line: FloatArray, along: FloatArray) -> FloatArray:
    """Distances along a line at which points are put, with its sharp corners (the tips of detours) in place of those close to one."""
    directions = np.diff(line, axis=0)
    directions /= np.maximum(np.hypot(directions[:, 0], directions[:, 1]), 1e-12)[:, None]
    corners = along[1:-1][(directions[1:] * directions[:-1]).sum(axis=1) < np.cos(np.radians(SHARP_CORNER))]
    inner = distances[1:-1]
    if len(corners) == 0 or len(inner) == 0:
        return distances
    apart = np.abs(inner[:, None] - corners).min(axis=1)
    return np.unique(np.concatenate([distances[:1], inner[apart > LEAST_STEP / 2], corners, distances[-1:]]))
