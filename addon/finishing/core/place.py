"""A place: one point in job mm that a result or a finding names."""

from __future__ import annotations

from .array_types import FloatArray

Place = tuple[float, float, float]


def place_of(point: FloatArray) -> Place:
    """The place of a point (3,) x, y, z in mm, as plain numbers."""
    x, y, z = point.tolist()
    return x, y, z
