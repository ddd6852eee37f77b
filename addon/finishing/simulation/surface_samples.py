"""Points of the surface that a ball leaves at best, with normals, for the simulated cut to be measured from."""

from __future__ import annotations

from collections.abc import Generator

import numpy as np
from numpy.typing import NDArray

from ..ball.exact_tip import TipFinder
from ..core.array_types import FloatArray
from ..core.grid import Grid

SLOPE_WIDTH, CURVATURE_WIDTH = 0.5, 1.0
"""mm to both sides over which slopes and curvatures of the surface are measured, so that single facets do not tilt a normal."""

STEEPEST = 8.0
"""A rise per run above this to a neighbour is a wall: no slope is taken across it."""

RAY = 1e-6
"""mm; a ball of this radius finds the height of the triangles at a point."""

PIT = 0.02
"""mm below the lowest cell round a point at which the search for its height begins: only a pit between the cells could lie deeper, and
nothing that would count as a cusp fits into one."""

RETURN_SLOPE = 1.5
"""How fast the difference returns above the allowance: it is whole again at three times the allowance, and the surface has no step."""

AT_ONCE = 1 << 16
"""Places whose normals are worked out in one go: few enough for the cache, and for what that takes not to count."""

Indices = NDArray[np.intp]


class SampleGround:
    """Where the ball can touch the body, the surface it leaves is the body; elsewhere it is the rolling-ball closing.

    surface, closing: (rows, columns), the planned surface and its rolling-ball closing on a grid, -inf outside. On a grid the closing of
    ground that fits lies a little too high: the ball's axis can be off its best place by d/sqrt(2) across (d: cell), which
    lifts it by up to d^2/(4R) on flat ground, more on slopes and in hollows. So closings within d^2/(2R) count as the body,
    and the difference returns evenly until three times that. finder: the true triangles, for heights between the cells.
    """

    def __init__(self, grid: Grid, surface: FloatArray, closing: FloatArray, radius: float, finder: TipFinder) -> None:
        self.grid, self.radius = grid, radius
        self._finder = finder
        self._surface = surface
        standing = (surface > -np.inf) & (closing > -np.inf)
        over = np.where(standing, closing - np.where(standing, surface, 0), 0)
        allowance = grid.cell_area / (2 * radius)
        self._bridged = np.clip(RETURN_SLOPE * (over - allowance), 0, np.maximum(over, 0)).astype(np.float32)
        self._heights = np.where(standing, surface + self._bridged, -np.inf)
        self._slope_cells = max(1, round(SLOPE_WIDTH / grid.cell))
        self._rim = max(1, round(CURVATURE_WIDTH / grid.cell))
        # With a rim of nothing round them, no cell looked at lies outside.
        self._rimmed = np.pad(self._heights, self._rim, constant_values=-np.inf).ravel()

    def at_cells(self, row: Indices, column: Indices) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Points (n, 3), unit normals (n, 3) and greatest curvatures (n,; 1/mm, crowns positive) at the centres of cells."""
        normals, crown = self._normals(row, column)
        return np.column_stack([self.grid.middles(row, column), self._heights[row, column]]), normals, crown

    def between_cells(self, points: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """As `at_cells`, at points (n, 2) anywhere on standing ground, with heights straight between those of the cells."""
        row, column = self.grid.nearest(points)
        normals, crown = self._normals(row, column)
        height = self.grid.sample(self._heights, points)
        return np.column_stack([points, np.where(np.isfinite(height), height, self._heights[row, column])]), normals, crown

    def at_points_steps(self, points: FloatArray) -> Generator[float, None, tuple[FloatArray, FloatArray, FloatArray]]:
        """As `at_cells`, anywhere: points (n, 2). Heights are those of the triangles, or of the closing where it stands higher;
        normals are those of the nearest cells. Yields shares done.
        """
        row, column = self.grid.nearest(points)
        normals, crown = self._normals(row, column)
        around = [
            self._surface[np.clip(row + down, 0, self.grid.rows - 1), np.clip(column + right, 0, self.grid.columns - 1)]
            for down in (-1, 0, 1)
            for right in (-1, 0, 1)
        ]
        height = yield from self._finder.tip_heights_steps(points, RAY, np.minimum.reduce(around) - PIT)
        height = np.where(height > -np.inf, height, self._heights[row, column])
        over = self.grid.sample(self._bridged, points) > 0
        closed = self.grid.sample(self._heights, points[over])
        height[over] = np.fmax(height[over], np.where(closed > -np.inf, closed, np.nan))
        return np.column_stack([points, height]), normals, crown

    def bridged(self, row: Indices, column: Indices) -> FloatArray:
        """How far the points of `at_cells` stand above the planned surface, (n,) mm."""
        return self._bridged[row, column]

    def _normals(self, row: Indices, column: Indices) -> tuple[FloatArray, FloatArray]:
        """Unit normals (n, 3) and greatest curvatures (n,), 0 in hollows, of cells; worked out some at a time, so that little is needed on the way."""
        normals, crown = np.empty((len(row), 3)), np.empty(len(row))
        for first in range(0, len(row), AT_ONCE):
            some = slice(first, first + AT_ONCE)
            normals[some], crown[some] = self._some_normals(row[some], column[some])
        return normals, crown

    def _some_normals(self, row: Indices, column: Indices) -> tuple[FloatArray, FloatArray]:
        """As `_normals`, all at once."""
        columns = self.grid.columns + 2 * self._rim
        cell = (row + self._rim) * columns + column + self._rim
        slope_x, downward_x = self._along(cell, 1)
        slope_y, downward_y = self._along(cell, columns)
        size = np.sqrt(1 + slope_x * slope_x + slope_y * slope_y)
        normals = np.stack([-slope_x, -slope_y, np.ones(len(row))], axis=1) / size[:, None]
        # Curvature is at most the greatest second derivative over the size; with the mixed one bounded by both.
        return normals, np.maximum(downward_x, 0) / size + np.maximum(downward_y, 0) / size

    def _along(self, cell: Indices, stride: int) -> tuple[FloatArray, FloatArray]:
        """Slope, and second derivative counted downwards, along one axis; one-sided beside walls and outlines.

        cell: numbers of cells on the rimmed grid; stride: from one to the next along the axis.
        """
        middle = self._rimmed.take(cell).astype(np.float64)

        def slope_to(cells: int) -> tuple[FloatArray, NDArray[np.bool_]]:
            """Rise per run to the cell so many along the axis, 0 where that is a wall; and whether it is none."""
            rise = (self._rimmed.take(cell + stride * cells) - middle) / (self.grid.cell * cells)
            gentle = np.abs(rise) <= STEEPEST
            rise[~gentle] = 0
            return rise, gentle

        ahead, ahead_gentle = slope_to(self._slope_cells)
        behind, behind_gentle = slope_to(-self._slope_cells)
        sides = ahead_gentle.astype(float) + behind_gentle
        slope = (ahead + behind) / np.maximum(sides, 1)
        ahead, ahead_gentle = slope_to(self._rim)
        behind, behind_gentle = slope_to(-self._rim)
        downward = np.where(ahead_gentle & behind_gentle, (behind - ahead) / (self.grid.cell * self._rim), 0.0)
        return slope, downward
