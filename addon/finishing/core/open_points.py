"""Points of a mesh that its surface does not go all round, found without sorting its edges."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .array_types import Mask

TRIANGLES_AT_ONCE = 1 << 17
"""Triangles worked on at a time: some tens of MiB."""


def open_points(corners: NDArray[np.integer], count: int) -> Mask:
    """Points (count,) at open edges, or where triangles (n, 3) of numbers of points are turned against each other.

    Round a point within a surface the edges that face it, each taken in the sense of its triangle, end where they begin, so that what any numbers
    of the points sum to over their ends less that over their beginnings is 0. The numbers are scattered ones of 40 bits: neither chance nor a
    regular mesh makes the sums of several open edges cancel, and sums of up to eight thousand are exact in double precision.
    """
    told = _scattered(count)
    total = np.zeros(count)
    for start in range(0, len(corners), TRIANGLES_AT_ONCE):
        some = corners[start : start + TRIANGLES_AT_ONCE]
        value = told[some]
        for corner in range(3):
            total += np.bincount(some[:, corner], value[:, (corner + 2) % 3] - value[:, (corner + 1) % 3], minlength=count)
    return np.asarray(total != 0)


def _scattered(count: int) -> NDArray[np.float64]:
    """A number of 40 bits for each point. Source of the mixing: G. Steele, D. Lea, C. Flood: Fast splittable pseudorandom number generators, 2014."""
    bits = np.arange(1, count + 1, dtype=np.uint64) * np.uint64(0x9E3779B97F4A7C15)
    bits = (bits ^ (bits >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    bits = (bits ^ (bits >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    return (bits >> np.uint64(24)).astype(np.float64)


def open_edges(corners: NDArray[np.integer], count: int) -> NDArray[np.int64]:
    """The edges (e, 2) of numbers of points, in the sense of their triangle, that belong to one triangle (n, 3) only."""
    is_open = open_points(corners, count)
    if not is_open.any():
        return np.zeros((0, 2), np.int64)
    at = is_open[corners[:, 0]].astype(np.int8) + is_open[corners[:, 1]] + is_open[corners[:, 2]]
    some = corners[at >= 2].astype(np.int64)  # both ends of an open edge are open points
    edges = np.concatenate([some[:, [0, 1]], some[:, [1, 2]], some[:, [2, 0]]])
    edges = edges[is_open[edges].all(axis=1) & (edges[:, 0] != edges[:, 1])]
    key = edges.min(axis=1) * count + edges.max(axis=1)
    _, first, times = np.unique(key, return_index=True, return_counts=True)
    return edges[first[times == 1]]
