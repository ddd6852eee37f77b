"""A ball coming down on one triangle: the height of its tip when it touches facet, edge or corner.

The centre of a ball of radius R comes down along the line above x, y and stops where its distance to the triangle falls to R. The points at
the distance R from a triangle are the facet lifted by R along its normal, pieces of tubes of radius R round its edges and pieces of
spheres of radius R round its corners, and the ball stops at the highest of them that lies above x, y:

- facet: n . (c - a) = R, with n the unit normal, turned up, gives z = az + (R - nx (x - ax) - ny (y - ay)) / nz. The contact c - R n
  must lie on the facet, which is asked in plan. The ball never rests higher than this: the triangle lies on its plane.
- corner: z = az + sqrt(R^2 - u^2) at the distance u in plan.
- edge: cut the tube along the upright plane through the edge. With t the distance along the edge in plan, w that across and m its rise per
  run, the tube stands at z = az + m t + sqrt(R^2 - w^2) sqrt(1 + m^2), touching the edge at t + m sqrt(R^2 - w^2) / sqrt(1 + m^2), which
  must lie between its ends. An upright edge has nothing above it but its upper corner.
"""

from __future__ import annotations

import numpy as np

from ..core.array_types import FloatArray

ON_EDGE = 1e-12
"""mm2: how far outside a facet its contact may lie by rounding."""

LEAST_UP = 1e-9
"""Up part of a unit normal from which a facet counts as something to rest on, not as a wall."""

LEAST_RUN = 1e-12
"""mm; edges shorter in plan stand upright."""

CORNER_PAIRS = ((0, 1), (1, 2), (2, 0))


def touching_heights(corners: FloatArray, normals: FloatArray, x: FloatArray, y: FloatArray, radius: float, known: FloatArray) -> FloatArray:
    """Tip height (n,) of a ball whose axis stands at x, y (n,) on each of some triangles; -inf where it never touches.

    corners: (3, 3, n), corner by corner its x, y, z. normals: (3, n) unit, turned up. known: (n,) heights up to which the answer may
    be anything that is no higher.
    """
    normal_x, normal_y, normal_z = normals
    upward = normal_z > LEAST_UP
    safe_z = np.where(upward, normal_z, 1)
    first_x, first_y, first_z = corners[0]
    height = (radius - normal_x * (x - first_x) - normal_y * (y - first_y)) / safe_z
    height += first_z - radius
    contact_x, contact_y = x - radius * normal_x, y - radius * normal_y
    inside = inside_clockwise = upward
    for i, j in CORNER_PAIRS:
        from_x, from_y = corners[i, 0], corners[i, 1]
        side = (corners[j, 0] - from_x) * (contact_y - from_y) - (corners[j, 1] - from_y) * (contact_x - from_x)
        inside = inside & (side >= -ON_EDGE)
        inside_clockwise = inside_clockwise & (side <= ON_EDGE)
    # The plane bounds what edges and corners can do, so most triangles are done with here.
    off = np.flatnonzero(~(inside | inside_clockwise))
    height[off[~upward[off]]] = np.inf  # no plane to bound it
    open_ = height[off] > known[off]
    height[off[~open_]] = -np.inf
    off = off[open_]
    height[off] = _on_the_rim(corners.take(off, axis=2), x.take(off), y.take(off), radius)
    return height


def _on_the_rim(corners: FloatArray, x: FloatArray, y: FloatArray, radius: float) -> FloatArray:
    """As `touching_heights`, against the triangles' edges and corners alone."""
    best = np.full(len(x), -np.inf)
    for i, j in CORNER_PAIRS:
        from_x, from_y = x - corners[i, 0], y - corners[i, 1]
        room = radius * radius - from_x * from_x - from_y * from_y
        np.maximum(best, np.where(room >= 0, corners[i, 2] + np.sqrt(np.maximum(room, 0)), -np.inf), out=best)
        edge_x, edge_y, edge_z = corners[j] - corners[i]
        length = np.hypot(edge_x, edge_y)
        slanted = length > LEAST_RUN
        safe = np.where(slanted, length, 1)
        along, across = (from_x * edge_x + from_y * edge_y) / safe, (from_x * edge_y - from_y * edge_x) / safe
        rise = edge_z / safe
        room = radius * radius - across * across
        tube, steep = np.sqrt(np.maximum(room, 0)), np.sqrt(1 + rise * rise)
        foot = along + tube * rise / steep
        touches = slanted & (room >= 0) & (foot >= 0) & (foot <= length)
        np.maximum(best, np.where(touches, corners[i, 2] + rise * along + tube * steep, -np.inf), out=best)
    return best - radius
