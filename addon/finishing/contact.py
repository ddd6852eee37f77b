"""A ball coming down on one triangle: the height of its tip when it touches facet, edge or corner."""

from __future__ import annotations

import numpy as np

from .grid import FloatArray

ON_EDGE = 1e-12
"""mm2: how far outside a facet its contact may lie by rounding."""


def facet_normals(triangles: FloatArray) -> FloatArray:
    """Unit normals (n, 3) of triangles (n, 3, 3), turned up; zero for triangles without area."""
    a, b, c = triangles[:, 0], triangles[:, 1], triangles[:, 2]
    normal = np.cross(b - a, c - a)
    normal /= np.maximum(np.linalg.norm(normal, axis=1), 1e-300)[:, None]
    normal[normal[:, 2] < 0] *= -1
    return normal


def touching_heights(triangles: FloatArray, normals: FloatArray, x: FloatArray, y: FloatArray, radius: float) -> FloatArray:
    """Tip height (n,) of a ball whose axis stands at x, y (n,) on each of triangles (n, 3, 3); -inf where it never touches.

    The centre comes to rest at the highest of: R along the normal off the facet (where that contact lies on it),
    R off one of the edges, R off one of the corners.
    """
    best = np.full(len(x), -np.inf)
    corner_x, corner_y, corner_z = (triangles[:, :, k] for k in range(3))
    normal_x, normal_y, normal_z = normals.T
    upward = normal_z > 1e-9
    safe_z = np.where(upward, normal_z, 1)
    off_x, off_y = x - corner_x[:, 0], y - corner_y[:, 0]
    centre = corner_z[:, 0] + (radius - normal_x * off_x - normal_y * off_y) / safe_z
    contact_x, contact_y = x - radius * normal_x, y - radius * normal_y
    left = right = upward
    for i, j in ((0, 1), (1, 2), (2, 0)):
        side = (corner_x[:, j] - corner_x[:, i]) * (contact_y - corner_y[:, i]) - (corner_y[:, j] - corner_y[:, i]) * (
            contact_x - corner_x[:, i]
        )
        left = left & (side >= -ON_EDGE)
        right = right & (side <= ON_EDGE)
    inside = left | right
    best[inside] = centre[inside]
    for i, j in ((0, 1), (1, 2), (2, 0)):
        from_x, from_y = x - corner_x[:, i], y - corner_y[:, i]
        rest = radius * radius - from_x * from_x - from_y * from_y
        np.maximum(best, np.where(rest >= 0, corner_z[:, i] + np.sqrt(np.maximum(rest, 0)), -np.inf), out=best)
        edge_x, edge_y, edge_z = corner_x[:, j] - corner_x[:, i], corner_y[:, j] - corner_y[:, i], corner_z[:, j] - corner_z[:, i]
        length = np.hypot(edge_x, edge_y)
        slanted = length > 1e-12
        safe = np.where(slanted, length, 1)
        along, across = (from_x * edge_x + from_y * edge_y) / safe, (from_x * edge_y - from_y * edge_x) / safe
        rise = edge_z / safe
        rest = radius * radius - across * across
        reach, steep = np.sqrt(np.maximum(rest, 0)), np.sqrt(1 + rise * rise)
        foot = along + reach * rise / steep
        touches = slanted & (rest >= 0) & (foot >= 0) & (foot <= length)
        np.maximum(best, np.where(touches, corner_z[:, i] + rise * along + reach * steep, -np.inf), out=best)
    return best - radius
