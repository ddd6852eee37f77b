"""From where the ball's axis stands to where the ball touches, and back.

A ball of radius R touches ground of the slope g = (dz/dx, dz/dy) along the ground's normal, (-g, 1) / sqrt(1 + |g|^2). Its centre, and so
its axis in plan, stands R times the normal off the contact: the contact lies R g / sqrt(1 + |g|^2), that is R sin of the slope, uphill of
the axis. The tip surface has the same slope over its axis as the ground has at the contact, so either of them will tell g.
"""

from __future__ import annotations

import numpy as np

from ..core.array_types import FloatArray


def contact_offset(slope_x: FloatArray, slope_y: FloatArray, radius: float) -> tuple[FloatArray, FloatArray]:
    """How far the contact lies from the axis in plan, along x and y, in the unit of the radius. slope_x, slope_y: mm per mm."""
    uphill = radius / np.sqrt(1 + (slope_x * slope_x + slope_y * slope_y))
    return uphill * slope_x, uphill * slope_y
