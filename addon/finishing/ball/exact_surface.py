"""The exact tip surface as the lines and links ask for it: true triangles, bridges and the lowest depth."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass

import numpy as np

from ..core.array_types import FloatArray, Indices
from ..core.grid import NEIGHBOURS, Grid
from ..core.stepping import within
from .contact import contact_offset
from .exact_tip import TipFinder
from .flank_tip import FlankTip

CLIMB = (1.5, 0.5, 0.0, 0.0)
"""mm; steps, one cell at least, in which the cell that a lower bound rests on is moved to a better one nearby. The slope of the grid's tip
surface tells the contact to about a millimetre."""

SINGLE_ROUNDING = 1e-5
"""mm; more than heights up to 256 mm are off by in single precision."""


@dataclass(frozen=True)
class ExactSurface:
    """Tip heights of one cutter. finder: the triangles. grid, heights, tip: the same on a grid, for bounds.

    filled: the grid's tip surface, finite everywhere, for estimates. floor: the tip never goes below this z, mm. flank: what a taper adds to the
    ball of the radius.
    """

    finder: TipFinder
    grid: Grid
    heights: FloatArray
    tip: FloatArray
    filled: FloatArray
    radius: float
    floor: float
    flank: FlankTip | None = None

    def exact_steps(self, points: FloatArray) -> Generator[float, None, FloatArray]:
        """Exact tip heights (m,) at points (m, 2), or (m, k) at groups (m, k, 2) of points close together, in short steps."""
        ball = self.finder.tip_heights_steps(points, self.radius, lambda some: lower_bounds(self.heights, self.tip, self.grid, some, self.radius))
        if self.flank is None:
            return np.maximum((yield from ball), self.floor)
        heights = yield from within(ball, 0.0, 0.7)
        heights = yield from within(self.flank.raised_steps(points, heights), 0.7, 1.0)
        return np.maximum(heights, self.floor)

    def estimate(self, points: FloatArray) -> FloatArray:
        """Tip heights (m,) from the grid: good enough to see how strongly a line bends."""
        return self.grid.sample(self.filled, points)


def exact_surface(
    finder: TipFinder, grid: Grid, heights: FloatArray, tip: FloatArray, radius: float, floor: float, flank: FlankTip | None = None
) -> ExactSurface:
    """Join what is known of the tip surface of a cutter; heights and tip are (rows, columns), -inf where there is nothing."""
    known = tip > -np.inf
    low = float(tip[known].min()) if known.any() else 0.0
    filled = np.where(known, tip, low)
    return ExactSurface(finder=finder, grid=grid, heights=heights, tip=tip, filled=filled, radius=radius, floor=floor, flank=flank)


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
    cells_x, cells_y = contact_offset(slope_x, slope_y, radius / grid.cell)
    square = radius * radius

    def resting(r: Indices, c: Indices) -> FloatArray:
        room = square - ((r - row_at) ** 2 + (c - column_at) ** 2) * grid.cell**2
        return np.where(room >= 0, flat[r * columns + c] - radius + np.sqrt(np.maximum(room, 0)), -np.inf)

    c = np.clip(np.rint(column_at + cells_x), 0, columns - 1).astype(np.intp)
    r = np.clip(np.rint(row_at + cells_y), 0, rows - 1).astype(np.intp)
    best = resting(r, c)
    for step in (max(1, int(mm / grid.cell)) for mm in CLIMB):
        for dr, dc in NEIGHBOURS:
            r_try, c_try = np.clip(r + dr * step, 0, rows - 1), np.clip(c + dc * step, 0, columns - 1)
            value = resting(r_try, c_try)
            higher = value > best
            best = np.where(higher, value, best)
            r, c = np.where(higher, r_try, r), np.where(higher, c_try, c)
    return best - SINGLE_ROUNDING
