"""Hatching on marked triangles as plain arrays, for ground that no height map shows yet. No gpu and no bpy in here."""

from __future__ import annotations

import numpy as np

from ..finishing.core.array_types import Double, FloatArray, Indices

ACROSS = np.array([1.0, 1.0, 0.4]) / np.sqrt(2.0)
"""Across the planes that cut the triangles into lines. On level ground they lie as those of hatched height maps do; the share of z lets walls
of any direction have lines too."""


def hatch_on_triangles(triangles: FloatArray, spacing: float) -> tuple[Double, Indices]:
    """Pieces of line (n, 2, 3) on triangles (m, 3, 3), where planes cut them that lie spacing apart on level ground; the triangle (n,) of each."""
    levels = triangles.astype(np.float64) @ ACROSS / spacing
    first = np.ceil(levels.min(axis=1)).astype(np.int64) if len(levels) else np.zeros(0, np.int64)
    count = np.maximum(np.floor(levels.max(axis=1)).astype(np.int64) - first + 1, 0) if len(levels) else first
    owner = np.repeat(np.arange(len(levels)), count)
    plane = first[owner] + np.arange(len(owner)) - np.repeat(np.cumsum(count) - count, count)
    above = levels[owner] - plane[:, None]
    after = np.roll(above, -1, axis=1)
    # A corner that lies on a plane counts as above it, so that a plane crosses two edges of a triangle or none.
    crossed = (above >= 0) != (after >= 0)
    kept = crossed.any(axis=1)
    owner = owner[kept]
    above, after, crossed, corners = above[kept], after[kept], crossed[kept], triangles[owner].astype(np.float64)
    share = above / np.where(crossed, above - after, 1.0)
    places = corners + share[..., None] * (np.roll(corners, -1, axis=1) - corners)
    return places[crossed].reshape(-1, 2, 3), owner
