"""The exact tip surface as the lines and links ask for it: true triangles, bridges and the lowest depth."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass

import numpy as np

from .grid import FloatArray, Grid
from .touch import TipFinder, lower_bounds


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
        lower = lower_bounds(self.heights, self.tip, self.grid, points.reshape(-1, 2), self.radius)
        heights = yield from self.finder.tip_heights_steps(points, self.radius, lower.reshape(points.shape[:-1]))
        return np.maximum(heights, self.floor)

    def estimate(self, points: FloatArray) -> FloatArray:
        """Tip heights (m,) from the grid: good enough to see how strongly a line bends."""
        return self.grid.sample(self.filled, points)


def exact_surface(
    finder: TipFinder, grid: Grid, heights: FloatArray, tip: FloatArray, radius: float, floor: float
) -> ExactSurface:
    """Join what is known of the tip surface of a ball; heights and tip are (rows, columns), -inf where there is nothing."""
    known = tip > -np.inf
    low = float(tip[known].min()) if known.any() else 0.0
    return ExactSurface(finder, grid, heights, tip, np.where(known, tip, low), radius, floor)
