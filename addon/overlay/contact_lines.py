"""Where the ball touches the body while its tip runs along a path. No gpu and no bpy in here."""

from __future__ import annotations

import numpy as np

from ..finishing.core.array_types import FloatArray
from ..finishing.core.grid import Grid


def contact_points(points: FloatArray, tip: FloatArray, grid: Grid, radius: float) -> FloatArray:
    """Contact of the ball, (n, 3) job mm, for tips (n, 3). tip: the tip surface on `grid`, not finite where there is none.

    The centre lies a radius above the tip, and the contact a radius below the centre along the tip surface's normal, (-Tx, -Ty, 1) over its
    length: the centre's surface is the body's offset. Where the tip surface has no slope on the grid the contact is taken as the tip.
    """
    known = np.where(np.isfinite(tip), tip, np.nan)
    by_row, by_column = np.gradient(known)
    places = np.array([[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]])
    row, column = grid.position(places)
    at_row, at_column = grid.nearest(points)
    slope_x = by_row[at_row, at_column] * (row[1] - row[0]) + by_column[at_row, at_column] * (column[1] - column[0])
    slope_y = by_row[at_row, at_column] * (row[2] - row[0]) + by_column[at_row, at_column] * (column[2] - column[0])
    normal = np.column_stack([-slope_x, -slope_y, np.ones(len(points))])
    normal /= np.linalg.norm(normal, axis=1)[:, None]
    found = points + radius * (np.array([0.0, 0.0, 1.0]) - normal)
    return np.asarray(np.where(np.isfinite(found), found, points), np.float64)
