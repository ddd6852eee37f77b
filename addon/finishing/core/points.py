"""A point as a plain tuple, for records that are kept, compared and written."""

from __future__ import annotations

from .grid import FloatArray


def as_point(values: FloatArray) -> tuple[float, float, float]:
    """The x, y, z of an array (3,) as Python floats."""
    return float(values[0]), float(values[1]), float(values[2])
