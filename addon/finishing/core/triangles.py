"""Normals and areas of triangles."""

from __future__ import annotations

import numpy as np

from .array_types import FloatArray


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
