"""Points of the surface that a ball leaves at best, with normals, for the simulated cut to be measured from."""

from __future__ import annotations

from collections.abc import Generator

import numpy as np
from numpy.typing import NDArray

from ..ball.exact_tip import TipFinder
from ..core.grid import FloatArray, Grid

NEAR, FAR = 0.5, 1.0
"""mm; distances over which slopes and bends of the surface are measured, so that single facets do not tilt a normal."""
STEEPEST = 8.0
"""A rise per run above this to a neighbour is a wall: no slope is taken across it."""
RAY = 1e-6
"""mm; a ball of this radius finds the height of the triangles at a point."""

Indices = NDArray[np.intp]


class SampleGround:
    """Where the ball can touch the body, the surface it leaves is the body; elsewhere it is the rolling-ball closing.

    surface, left: (rows, columns), the planned surface and its closing on a grid, -inf outside. On a grid the closing of
    ground that fits lies a little too high: the ball's axis can be off its best place by d/sqrt(2) across (d: cell), which
    lifts it by up to d^2/(4R) on flat ground, more on slopes and in hollows. So closings within d^2/(2R) count as the body,
    and the difference returns evenly until three times that. finder: the true triangles, for heights between the cells.
    """

    def __init__(self, grid: Grid, surface: FloatArray, left: FloatArray, radius: float, finder: TipFinder) -> None:
        self.grid = grid
        self._finder = finder
        self._surface = surface
        standing = (surface > -np.inf) & (left > -np.inf)
        over = np.where(standing, left - np.where(standing, surface, 0), 0)
        allowance = grid.cell_area / (2 * radius)
        self._bridged = np.clip(1.5 * (over - allowance), 0, np.maximum(over, 0)).astype(np.float32)
        self._heights = np.where(standing, surface + self._bridged, -np.inf)
        self._near = max(1, round(NEAR / grid.cell))
        self._far = max(1, round(FAR / grid.cell))
        # With a rim of nothing round them, no cell looked at lies outside.
        self._rimmed = np.pad(self._heights, self._far, constant_values=-np.inf).ravel()

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
        # Just below the lowest cell around: a close bound, which only a pit between the cells could pass.
        around = [
            self._surface[np.clip(row + dr, 0, self.grid.rows - 1), np.clip(column + dc, 0, self.grid.columns - 1)]
            for dr in (-1, 0, 1)
            for dc in (-1, 0, 1)
        ]
        height = yield from self._finder.tip_heights_steps(points, RAY, np.minimum.reduce(around) - 0.02)
        height = np.where(height > -np.inf, height, self._heights[row, column])
        over = self.grid.sample(self._bridged, points) > 0
        closed = self.grid.sample(self._heights, points[over])
        height[over] = np.fmax(height[over], np.where(closed > -np.inf, closed, np.nan))
        return np.column_stack([points, height]), normals, crown

    def bridged(self, row: Indices, column: Indices) -> FloatArray:
        """How far the points of `at_cells` stand above the planned surface, (n,) mm."""
        return self._bridged[row, column]

    def _normals(self, row: Indices, column: Indices) -> tuple[FloatArray, FloatArray]:
        columns = self.grid.columns + 2 * self._far
        place = (row + self._far) * columns + column + self._far
        slope_x, bend_x = self._along(place, 1)
        slope_y, bend_y = self._along(place, columns)
        size = np.sqrt(1 + slope_x * slope_x + slope_y * slope_y)
        normals = np.stack([-slope_x, -slope_y, np.ones(len(row))], axis=1) / size[:, None]
        # Curvature is at most the greatest second derivative over the size; with the mixed one bounded by both.
        return normals, np.maximum(bend_x, 0) / size + np.maximum(bend_y, 0) / size

    def _along(self, place: Indices, stride: int) -> tuple[FloatArray, FloatArray]:
        """Slope and downward bend (minus the second derivative) along one axis; one-sided beside walls and outlines.

        place: numbers of cells on the rimmed grid; stride: from one to the next along the axis.
        """
        middle = self._rimmed.take(place).astype(np.float64)

        def step(cells: int) -> tuple[FloatArray, NDArray[np.bool_]]:
            rise = (self._rimmed.take(place + stride * cells) - middle) / (self.grid.cell * cells)
            fine = np.abs(rise) <= STEEPEST
            rise[~fine] = 0
            return rise, fine

        ahead, ahead_fine = step(self._near)
        behind, behind_fine = step(-self._near)
        sides = ahead_fine.astype(float) + behind_fine
        slope = (ahead + behind) / np.maximum(sides, 1)
        ahead, ahead_fine = step(self._far)
        behind, behind_fine = step(-self._far)
        bend = np.where(ahead_fine & behind_fine, (behind - ahead) / (self.grid.cell * self._far), 0.0)
        return slope, bend
