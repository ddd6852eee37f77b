"""Straight moves fused: points left out wherever the route stays within a tolerance of them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ..core.grid import FloatArray

NO_LENGTH_SQUARED = 1e-30
"""mm2; a chord shorter than a femtometre has no direction, and distances are measured from its first point."""


def fused(points: FloatArray, tolerance: float) -> NDArray[np.intp]:
    """Numbers of the points (n, 2 or 3) that stay, first and last among them: no point lies farther from the new route than the tolerance.

    Every section between two kept points is replaced by its chord; the point of a section that is farthest from the chord splits the
    section, until none is too far (Douglas and Peucker 1973, Cartographica 10:112). The recursion runs level by level: all sections of one
    level are measured in one pass over the points, so a path of n points takes as many passes as the recursion is deep.
    """
    count = len(points)
    if count < 3:
        return np.arange(count)
    kept = np.zeros(count, bool)
    kept[[0, -1]] = True
    while True:
        ends = np.flatnonzero(kept)
        section = np.cumsum(kept) - 1
        section[-1] = len(ends) - 2
        distance = _distances(points, points[ends[section]], points[ends[section + 1]])
        distance[kept] = 0
        farthest = np.maximum.reduceat(distance, ends[:-1])
        if farthest.max() <= tolerance:
            return ends
        # The first of each section's farthest points.
        splitting = np.flatnonzero((distance == farthest[section]) & (distance > tolerance))
        kept[splitting[np.concatenate([[True], np.diff(section[splitting]) > 0])]] = True


def _distances(points: FloatArray, start: FloatArray, end: FloatArray) -> FloatArray:
    """Distance of each point from its own chord, (n,). start, end: ends of that chord, (n, 2 or 3)."""
    chord = end - start
    squared = np.maximum((chord * chord).sum(axis=1), NO_LENGTH_SQUARED)
    share = np.clip(((points - start) * chord).sum(axis=1) / squared, 0, 1)
    distance: FloatArray = np.linalg.norm(points - start - share[:, None] * chord, axis=1)
    return distance
