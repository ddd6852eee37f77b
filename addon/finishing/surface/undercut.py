"""Ground that neither side can reach: the cutter comes straight down, first on one side, then on the other."""

from __future__ import annotations

import numpy as np

from ..core.array_types import FloatArray, Mask
from ..core.grid import Grid
from ..core.triangles import unit_normals
from .height_map import height_map

LIFTED = 0.4
"""mm off the face, along its normal, where the view straight up and straight down is checked."""

CELL = 1.0
"""mm; undercuts matter by the square centimetre, and coarse cells keep the question cheap."""


def undercut_faces(triangles: FloatArray) -> tuple[Mask, FloatArray]:
    """Faces that see neither straight up nor straight down, (n,) bool, and the area of every face in mm2, (n,).

    triangles: (n, 3, 3) mm. A face is reached when a point just off its middle has nothing of the body above it or nothing below it. Upright walls
    count as reached: a cutter's flank goes along them.
    """
    normal, twice_area = unit_normals(triangles)
    point = triangles.mean(axis=1) + LIFTED * normal
    low, high = (np.array([reduce(triangles[..., axis]) for axis in range(3)]) for reduce in (np.min, np.max))
    grid = Grid.over(low, high, CELL, margin=2 * CELL)
    top = height_map(triangles, grid, upward_only=False)
    bottom = -height_map(triangles * [1.0, 1.0, -1.0], grid, upward_only=False)
    row, column = grid.nearest(point)
    # Cells are coarse: the most favourable of the cell and its neighbours decides, so that only what is clearly roofed counts.
    roofed = np.ones(len(point), bool)
    floored = np.ones(len(point), bool)
    for dr in (-1, 0, 1):
        for dc in (-1, 0, 1):
            r, c = np.clip(row + dr, 0, grid.rows - 1), np.clip(column + dc, 0, grid.columns - 1)
            roofed &= top[r, c] > point[:, 2] + LIFTED
            floored &= bottom[r, c] < point[:, 2] - LIFTED
    return roofed & floored, twice_area / 2


def undercut_area(triangles: FloatArray) -> float:
    """Area in mm2 of the ground that neither side can reach. triangles: (n, 3, 3) in the body's axes."""
    hidden, area = undercut_faces(triangles)
    return float(area[hidden].sum())
