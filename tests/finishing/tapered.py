"""Plain slow twins of a tapered cutter, and bodies with walls that its flank meets."""

from __future__ import annotations

import numpy as np
from scipy.spatial import cKDTree
from shapes import block

from addon.finishing.job.body import Body, make_body
from addon.finishing.job.cutter import Cutter


def profile(cutter: Cutter, distance: np.ndarray) -> np.ndarray:
    """Height of the underside over the tip, built anew from circle and tangent: the tangent leaves the circle where it is as steep as the flank."""
    radius, top = cutter.diameter / 2, (cutter.top_diameter or cutter.shank_diameter) / 2
    if not cutter.half_angle:
        return np.where(distance <= radius, radius - np.sqrt(np.maximum(radius**2 - distance**2, 0)), np.inf)
    angle = np.radians(cutter.half_angle)
    touch = np.array([radius * np.cos(angle), radius - radius * np.sin(angle)])
    line = touch[1] + (distance - touch[0]) / np.tan(angle)
    ball = radius - np.sqrt(np.maximum(radius**2 - distance**2, 0))
    return np.where(distance > top, np.inf, np.where(distance <= touch[0], ball, line))


def sampled(triangles: np.ndarray, step: float) -> np.ndarray:
    """Points of triangles (n, 3, 3), their corners and edges among them, no farther apart than `step` along their edges."""
    out = []
    for a, b, c in triangles:
        count = max(1, int(np.ceil(max(np.linalg.norm(b - a), np.linalg.norm(c - a), np.linalg.norm(c - b)) / step)))
        i, j = (k / count for k in np.nonzero(np.add.outer(np.arange(count + 1), np.arange(count + 1)) <= count))
        out.append(a + i[:, None] * (b - a) + j[:, None] * (c - a))
    return np.concatenate(out)


class PlainTips:
    """Tip heights of a cutter over points of a body, by looking at every one of them near the axis."""

    def __init__(self, points: np.ndarray, cutter: Cutter) -> None:
        self._points, self._cutter, self._tree = points, cutter, cKDTree(points[:, :2])

    def at(self, axes: np.ndarray) -> np.ndarray:
        """Tip heights (n,) at axes (n, 2), -inf over nothing."""
        out = np.full(len(axes), -np.inf)
        for k, axis in enumerate(axes):
            near = self._points[self._tree.query_ball_point(axis, self._cutter.widest_radius)]
            if len(near):
                out[k] = (near[:, 2] - profile(self._cutter, np.hypot(*(near[:, :2] - axis).T))).max()
        return out


def stepped(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """A gentle crown with a steep step of 9 mm to a higher floor, and a round post of 4 mm."""
    crown = 10 + 2 * np.sin(np.pi * x / 44) * np.sin(np.pi * y / 34)
    return crown + 9 * np.clip((x - 28) / 0.8, 0, 1) + np.where(np.hypot(x - 13, y - 18) < 3.2, 4.0, 0)


def stepped_body() -> Body:
    """44 x 34 mm, 21 mm high."""
    return make_body("Stepped", block(stepped, 44, 34, 1.0))
