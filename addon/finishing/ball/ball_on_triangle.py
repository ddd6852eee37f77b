"""A ball coming down on one triangle: the height of its tip when it touches facet, edge or corner."""

from __future__ import annotations

import numpy as np

from ..core.array_types import FloatArray

ON_EDGE = 1e-12
"""mm2: how far outside a facet its contact may lie by rounding."""


def facet_normals(triangles: FloatArray) -> FloatArray:
    """Unit normals (n, 3) of triangles (n, 3, 3), turned up; zero for triangles without area."""
    a, b, c = triangles[:, 0], triangles[:, 1], triangles[:, 2]
    normal = np.cross(b - a, c - a)
    normal /= np.maximum(np.linalg.norm(normal, axis=1), 1e-300)[:, None]
    normal[normal[:, 2] < 0] *= -1
    return normal


def touching_heights(corners: FloatArray, normals: FloatArray, x: FloatArray, y: FloatArray, radius: float, known: FloatArray) -> FloatArray:
    """Tip height (n,) of a ball whose axis stands at x, y (n,) on each of some triangles; -inf where it never touches.

    corners: (3, 3, n), corner by corner its x, y, z. normals: (3, n) unit, turned up. known: (n,) heights up to which the answer may
    be anything that is no higher.

    The centre comes to rest at the highest of: R along the normal off the facet (where that contact lies on it),
    R off one of the edges, R off one of the corners. It never rests higher than on the facet's plane.
    """
    normal_x, normal_y, normal_z = normals
    upward = normal_z > 1e-9
    safe_z = np.where(upward, normal_z, 1)
    first_x, first_y, first_z = corners[0]
    height = (radius - normal_x * (x - first_x) - normal_y * (y - first_y)) / safe_z
    height += first_z - radius
    contact_x, contact_y = x - radius * normal_x, y - radius * normal_y
    left = right = upward
    for i, j in ((0, 1), (1, 2), (2, 0)):
        from_x, from_y = corners[i, 0], corners[i, 1]
        side = (corners[j, 0] - from_x) * (contact_y - from_y) - (corners[j, 1] - from_y) * (contact_x - from_x)
        left = left & (side >= -ON_EDGE)
        right = right & (side <= ON_EDGE)
    beside = np.flatnonzero(~(left | right))
    height[beside[~upward[beside]]] = np.inf  # no plane to rest on
    rest = height[beside] > known[beside]
    height[beside[~rest]] = -np.inf
    beside = beside[rest]
    height[beside] = _on_the_rim(corners.take(beside, axis=2), x.take(beside), y.take(beside), radius)
    return height


def _on_the_rim(corners: FloatArray, x: FloatArray, y: FloatArray, radius: float) -> FloatArray:
    """As `touching_heights`, against the triangles' edges and corners alone."""
    best = np.full(len(x), -np.inf)
    for i, j in ((0, 1), (1, 2), (2, 0)):
        from_x, from_y = x - corners[i, 0], y - corners[i, 1]
        rest = radius * radius - from_x * from_x - from_y * from_y
        np.maximum(best, np.where(rest >= 0, corners[i, 2] + np.sqrt(np.maximum(rest, 0)), -np.inf), out=best)
        edge_x, edge_y, edge_z = corners[j] - corners[i]
        length = np.hypot(edge_x, edge_y)
        slanted = length > 1e-12
        safe = np.where(slanted, length, 1)
        along, across = (from_x * edge_x + from_y * edge_y) / safe, (from_x * edge_y - from_y * edge_x) / safe
        rise = edge_z / safe
        rest = radius * radius - across * across
        reach, steep = np.sqrt(np.maximum(rest, 0)), np.sqrt(1 + rise * rise)
        foot = along + reach * rise / steep
        touches = slanted & (rest >= 0) & (foot >= 0) & (foot <= length)
        np.maximum(best, np.where(touches, corners[i, 2] + rise * along + reach * steep, -np.inf), out=best)
    return best - radius
