"""Straight moves fused: points left out wherever the route stays within a tolerance of them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .array_types import FloatArray, Mask
from .ragged import run_owners, run_ranges

FUSING_TOLERANCE = 0.0003
"""mm that the fused moves of a program may leave the planned route: small beside the gouge limit of 0.002 mm."""

NO_LENGTH_SQUARED = 1e-30
"""mm2; a chord shorter than a femtometre has no direction, and distances are measured from its first point."""


def fused(points: FloatArray, tolerance: float, fixed: Mask | None = None) -> NDArray[np.intp]:
    """Numbers of the points (n, 2 or 3) that stay, first and last among them: no point lies farther from the new route than the tolerance.

    fixed: (n,), points that stay in any case; what lies between two of them is fused by itself.

    Every section between two kept points is replaced by its chord; the point of a section that is farthest from the chord splits the
    section, until none is too far (Douglas and Peucker 1973, Cartographica 10:112). The recursion runs level by level: all sections of one
    level that are still open are measured in one pass over their points.
    """
    count = len(points)
    if count < 3:
        return np.arange(count)
    kept = np.zeros(count, bool) if fixed is None else fixed.copy()
    kept[[0, -1]] = True
    bounds = np.flatnonzero(kept)
    first, last = bounds[:-1], bounds[1:]
    while True:
        open_ = last - first > 1
        first, last = first[open_], last[open_]
        if len(first) == 0:
            return np.flatnonzero(kept)
        inner = last - first - 1
        rows, section = run_ranges(first + 1, inner), run_owners(inner)
        distance = _distances(points[rows], points[first], points[last], section)
        farthest = np.maximum.reduceat(distance, np.cumsum(inner) - inner)
        too_far = farthest > tolerance
        # The first of each section's farthest points.
        tops = np.flatnonzero((distance == farthest[section]) & too_far[section])
        tops = tops[np.diff(section[tops], prepend=-1) > 0]
        split = rows[tops]
        kept[split] = True
        first, last = np.column_stack([first[too_far], split]).ravel(), np.column_stack([split, last[too_far]]).ravel()


def _distances(points: FloatArray, start: FloatArray, end: FloatArray, section: NDArray[np.intp]) -> FloatArray:
    """Distance of each point from its own section's chord, (n,). start, end: ends of the chords, (m, 2 or 3). section: of each point, (n,)."""
    chord = end - start
    squared = np.maximum((chord * chord).sum(axis=1), NO_LENGTH_SQUARED)
    from_start, along = points - start[section], chord[section]
    share = np.clip((from_start * along).sum(axis=1) / squared[section], 0, 1)
    distance: FloatArray = np.linalg.norm(from_start - share[:, None] * along, axis=1)
    return distance
