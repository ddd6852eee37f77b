"""Normals and areas of triangles."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .array_types import FloatArray

WELD = 1e-3
"""mm; corners that round to the same multiple of it are one point of the mesh."""


def corner_numbers(triangles: FloatArray) -> NDArray[np.int64]:
    """The number of the point (n, 3) at every corner of triangles (n, 3, 3) in mm; corners at one place have one number."""
    corners = triangles.reshape(-1, 3)
    places = np.rint((corners - [corners[:, axis].min() for axis in range(3)]) / WELD).astype(np.int64)
    span = [int(places[:, axis].max()) + 1 for axis in range(3)]
    key = (places[:, 0] * span[1] + places[:, 1]) * span[2] + places[:, 2]
    return np.unique(key, return_inverse=True)[1].reshape(-1, 3)


def unit_normals(triangles: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Unit normals (n, 3) of triangles (n, 3, 3), and twice their areas (n,).

    The corners run anticlockwise round the normal. A triangle without area has the normal zero.
    """
    normal = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    twice_area = np.linalg.norm(normal, axis=1)
    return normal / np.maximum(twice_area, np.finfo(float).tiny)[:, None], twice_area


def twice_plan_area(x: FloatArray, y: FloatArray) -> FloatArray:
    """Twice the signed area (n,) in plan of triangles by the x and y (n, 3) of their corners: above 0 for those that face up."""
    return (x[:, 1] - x[:, 0]) * (y[:, 2] - y[:, 0]) - (x[:, 2] - x[:, 0]) * (y[:, 1] - y[:, 0])


def twice_areas(triangles: FloatArray) -> FloatArray:
    """Twice the area (n,) of triangles (n, 3, 3), axis by axis: numpy's own product of vectors takes three times as long."""
    ax, ay, az = (triangles[:, 1, axis] - triangles[:, 0, axis] for axis in range(3))
    bx, by, bz = (triangles[:, 2, axis] - triangles[:, 0, axis] for axis in range(3))
    x: FloatArray = ay * bz - az * by
    y: FloatArray = az * bx - ax * bz
    z: FloatArray = ax * by - ay * bx
    return np.sqrt(x * x + y * y + z * z)
