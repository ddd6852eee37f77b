"""Straight moves fused: points left out wherever the way stays within a tolerance of them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .grid import FloatArray

FUSING_TOLERANCE = 0.0003
"""mm that the fused moves of a program may leave the planned route: small beside the gouge limit of 0.002 mm."""


def fused(points: FloatArray, tolerance: float) -> NDArray[np.intp]:
    """Numbers of the points (n, 3) that stay, first and last among them: no point lies farther from the new way than the tolerance.

    The farthest point of a stretch parts it until none is too far (Douglas and Peucker 1973, Cartographica 10:112). All
    stretches of a round are looked at together.
    """
    count = len(points)
    if count < 3:
        return np.arange(count)
    kept = np.zeros(count, bool)
    kept[[0, -1]] = True
    while True:
        ends = np.flatnonzero(kept)
        stretch = np.cumsum(kept) - 1
        stretch[-1] = len(ends) - 2
        start, end = points[ends[stretch]], points[ends[stretch + 1]]
        distance = _distances(points, start, end)
        distance[kept] = 0
        farthest = np.maximum.reduceat(distance, ends[:-1])
        if farthest.max() <= tolerance:
            return ends
        # The first of each stretch's farthest points.
        top = np.flatnonzero((distance == farthest[stretch]) & (distance > tolerance))
        kept[top[np.concatenate([[True], np.diff(stretch[top]) > 0])]] = True


def _distances(points: FloatArray, start: FloatArray, end: FloatArray) -> FloatArray:
    """Distance of each point from its own stretch of straight way, (n,)."""
    way = end - start
    squared = np.maximum((way * way).sum(axis=1), 1e-30)
    share = np.clip(((points - start) * way).sum(axis=1) / squared, 0, 1)
    out: FloatArray = np.linalg.norm(points - start - share[:, None] * way, axis=1)
    return out
