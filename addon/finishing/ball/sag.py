"""The ball's sag: how far its surface lies above its tip, s(d) = R - sqrt(R^2 - d^2) at the distance d from its axis.

A ball that rests on a point p of the body with its axis at x has its tip at z(p) - s(|p - x|), and the tip surface is the greatest of
these over all points. The sag is convex, and its second derivative is at least 1/R in every direction. So a tangent plane of the sag
bounds it from below everywhere, and so does the plane plus e^2 / (2 R) at the distance e from where it touches: the searches for the
greatest (`bounded_dilation`, `exact_tip`) rest on these bounds. Towards the rim the tangents become upright and their slopes
worthless as numbers; there the tangent a little further in is taken, which bounds the sag as well.
"""

from __future__ import annotations

import numpy as np

from ..core.array_types import Double, FloatArray, Single

TANGENT_SHARE = 0.985
"""Share of the radius beyond which the tangent at that share is taken: its slope is 5.7, steep enough to rule out what lies beyond."""

ON_THE_RIM = 1e-12
"""Share by which the squared radius is enlarged, so that cells on the rim itself count in spite of rounding."""

WHOLE_CELLS = 1e-9
"""The same for a radius of a whole number of cells."""

LEAST_DISTANCE = 1e-9
"""mm; stands for the distance of an offset of zero, which has no direction."""


def radius_in_cells(radius: float, cell: float) -> int:
    """The ball's radius in whole cells, rounded down."""
    return int(np.floor(radius / cell + WHOLE_CELLS))


def ball_sag(radius: float, cell: float) -> Double:
    """The sag at every offset in cells, (2 n + 1, 2 n + 1) mm for a radius of n cells; infinite outside the ball."""
    most = radius_in_cells(radius, cell)
    offset = np.arange(-most, most + 1) * cell
    squared = offset[:, None] ** 2 + offset[None] ** 2
    inside = squared <= radius * radius * (1 + ON_THE_RIM)
    return np.where(inside, radius - np.sqrt(np.maximum(radius * radius - squared, 0)), np.inf)


def touching_offset(x: FloatArray, y: FloatArray, radius: float) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Where the tangent that is taken for an offset touches: x and y, in mm from the axis, and the centre's height above that point."""
    share = np.minimum(1, x.dtype.type(TANGENT_SHARE * radius) / np.maximum(np.hypot(x, y), x.dtype.type(LEAST_DISTANCE)))
    x, y = x * share, y * share
    return x, y, np.sqrt(x.dtype.type(radius * radius) - x**2 - y**2)


def sag_tangent(x: Single, y: Single, radius: np.float32) -> tuple[Single, Single, Single, Single]:
    """Lower bounds of the sag round offsets (n,): value there, slopes along x and y, and half its curvature, 1/mm.

    The sag at e mm from the offset is at least value + slope e + half_curvature e^2, with half_curvature = 1 / (2 R), or 0 beyond
    TANGENT_SHARE. This is the innermost step of the search over triangles, so it works in place where it can.
    """
    squared = x * x
    squared += y * y
    widest = np.float32(TANGENT_SHARE) * radius
    far = squared > widest * widest
    height = np.sqrt(radius * radius - np.minimum(squared, widest * widest))
    slope_x, slope_y = x / height, y / height
    value = radius - height
    half_curvature = np.full(len(x), 0.5 / radius, np.float32)
    if far.any():
        there = np.flatnonzero(far)
        half_curvature[there] = 0
        distance = np.sqrt(squared[there])
        slope_x[there] *= widest / distance
        slope_y[there] *= widest / distance
        value[there] += widest / height[there] * (distance - widest)
    return value, slope_x, slope_y, half_curvature
