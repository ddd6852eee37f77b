"""The exact tip surface as the lines and links ask for it: true triangles, bridges and the lowest depth."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..core.array_types import FloatArray
from ..core.grid import Grid
from .exact_tip import TipFinder


@dataclass(frozen=True)
class ExactSurface:
    """Tip heights of one ball. finder: the triangles. grid, heights, tip: the same on a grid, for bounds.

    filled: the grid's tip surface, finite everywhere, for estimates. floor: the tip never goes below this z, mm.
    """

    finder: TipFinder
    grid: Grid
    heights: FloatArray
    tip: FloatArray
    filled: FloatArray
    radius: float
    floor: float

    def exact_steps(self, points: FloatArray) -> Generator[float, None, FloatArray]:
        """Exact tip heights (m,) at points (m, 2), or (m, k) at groups (m, k, 2) of points close together, in short steps."""
        heights = yield from self.finder.tip_heights_steps(
            points, self.radius, lambda some: lower_bounds(self.heights, self.tip, self.grid, some, self.radius)
        )
        return np.maximum(heights, self.floor)

    def estimate(self, points: FloatArray) -> FloatArray:
        """Tip heights (m,) from the grid: good enough to see how strongly a line bends."""
        return self.grid.sample(self.filled, points)


def exact_surface(finder: TipFinder, grid: Grid, heights: FloatArray, tip: FloatArray, radius: float, floor: float) -> ExactSurface:
    """Join what is known of the tip surface of a ball; heights and tip are (rows, columns), -inf where there is nothing."""
    known = tip > -np.inf
    low = float(tip[known].min()) if known.any() else 0.0
    return ExactSurface(finder, grid, heights, tip, np.where(known, tip, low), radius, floor)


def lower_bounds(heights: FloatArray, tip: FloatArray, grid: Grid, points: FloatArray, radius: float) -> FloatArray:
    """Certain lower bounds (m,) of exact tip heights at points (m, 2), from single cells of the height grid.

    The slope of the grid's tip surface tells about where the ball touches; from there the best cell is climbed to. Every
    cell's height is a point of the body, so the ball resting on it alone is never too high (but for float32 rounding).
    """
    rows, columns = heights.shape
    row_at, column_at = grid.position(points)
    flat = heights.ravel()
    column = np.clip(np.rint(column_at), 1, columns - 2).astype(np.int64)
    row = np.clip(np.rint(row_at), 1, rows - 2).astype(np.int64)
    with np.errstate(invalid="ignore"):
        slope_x = (tip[row, column + 1] - tip[row, column - 1]) / (2 * grid.cell)
        slope_y = (tip[row + 1, column] - tip[row - 1, column]) / (2 * grid.cell)
    unknown = ~(np.isfinite(slope_x) & np.isfinite(slope_y))
    slope_x[unknown] = 0
    slope_y[unknown] = 0
    reach = radius / grid.cell / np.sqrt(1 + slope_x * slope_x + slope_y * slope_y)
    square = radius * radius

    def resting(r: NDArray[np.int64], c: NDArray[np.int64]) -> FloatArray:
        rest = square - ((r - row_at) ** 2 + (c - column_at) ** 2) * grid.cell**2
        return np.where(rest >= 0, flat[r * columns + c] - radius + np.sqrt(np.maximum(rest, 0)), -np.inf)

    c = np.clip(np.rint(column_at + slope_x * reach), 0, columns - 1).astype(np.int64)
    r = np.clip(np.rint(row_at + slope_y * reach), 0, rows - 1).astype(np.int64)
    best = resting(r, c)
    for step in (max(1, int(1.5 / grid.cell)), max(1, int(0.5 / grid.cell)), 1, 1):
        for dr, dc in ((-1, 0), (1, 0), (0, -1), (0, 1), (-1, -1), (-1, 1), (1, -1), (1, 1)):
            r_try, c_try = np.clip(r + dr * step, 0, rows - 1), np.clip(c + dc * step, 0, columns - 1)
            value = resting(r_try, c_try)
            higher = value > best
            best = np.where(higher, value, best)
            r, c = np.where(higher, r_try, r), np.where(higher, c_try, c)
    return best - 1e-5
