"""The cusp metric, which measures cusp height and spacing of round-nose passes everywhere on a body.

Passes as level lines of a distance in a Riemannian metric are due to Kim 2007 (CAD 39:477).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..core.filters import blur, gradient
from ..core.grid import FloatArray, Grid


@dataclass(frozen=True)
class CuspMetric:
    """The cusp metric g on the cutter-centre surface over a grid, in x, y coordinates, 1/mm2.

    Two passes one unit of g-distance apart leave the cusp height half-way between them.
    xx, xy, yy: (rows, columns) float64. slope_x, slope_y: gradient of the smoothed tip surface.
    """

    grid: Grid
    cusp: float
    radius: float
    xx: FloatArray
    xy: FloatArray
    yy: FloatArray
    slope_x: FloatArray
    slope_y: FloatArray

    def line_density(self) -> FloatArray:
        """Least possible pass length per plan area, (rows, columns), 1/mm.

        It is sqrt(least eigenvalue of g with respect to the metric of the cutter-centre surface) times the area of
        that surface per plan area; its integral over the planned ground is the least possible length of all passes.
        """
        p, q = self.slope_x, self.slope_y
        first_xx, first_xy, first_yy = 1 + p * p, p * q, 1 + q * q
        area_squared = 1 + p * p + q * q
        # Eigenvalues of g relative to the first form: roots of l^2 - (trace) l + determinant.
        trace = (self.xx * first_yy - 2 * self.xy * first_xy + self.yy * first_xx) / area_squared
        determinant = (self.xx * self.yy - self.xy * self.xy) / area_squared
        root = np.sqrt(np.maximum(trace * trace / 4 - determinant, 0))
        least = np.maximum(trace / 2 - root, 0)
        return np.sqrt(least * area_squared)

    def length_density(self, distance: FloatArray) -> FloatArray:
        """Length per plan area of the level lines, one unit apart, of a distance field, (rows, columns), 1/mm.

        By the coarea formula it is the field's gradient, measured on the cutter-centre surface, times its area.
        """
        p, q = self.slope_x, self.slope_y
        along_x, along_y = gradient(distance, self.grid.cell)
        squared = (1 + q * q) * along_x**2 - 2 * p * q * along_x * along_y + (1 + p * p) * along_y**2
        return np.sqrt(squared)


def _denominator(cusp: float, radius: float) -> float:
    """8 h (1 - h/(2R)): with it the metric is exact on flat ground at any cusp height."""
    return 8 * cusp * (1 - cusp / (2 * radius))


def cusp_metric(tip: FloatArray, grid: Grid, radius: float, cusp: float, smoothing: float = 1.0) -> CuspMetric:
    """Cusp metric from the tip surface T (rows, columns), finite everywhere, of a ball of this radius.

    g = [ (Id + grad T grad T^t)/R + Hess T / sqrt(1 + |grad T|^2) ] / (8 h (1 - h/(2R)))

    smoothing: standard deviation in mm of the blur of T before it is differenced: facets and cells would
    otherwise show as noise. g is never negative on a true tip surface, so what the differences leave below zero is
    lifted to zero, and a small isotropic share keeps it from vanishing where the cutter rolls over a sharp edge.
    """
    smooth = blur(tip, smoothing / grid.cell)
    p, q = gradient(smooth, grid.cell)
    second_xx = _second(smooth, grid.cell, axis=1)
    second_yy = _second(smooth, grid.cell, axis=0)
    second_xy = gradient(p, grid.cell)[1]
    scale = 1 / _denominator(cusp, radius)
    rise = 1 / np.sqrt(1 + p * p + q * q)
    xx = scale * ((1 + p * p) / radius + second_xx * rise)
    xy = scale * (p * q / radius + second_xy * rise)
    yy = scale * ((1 + q * q) / radius + second_yy * rise)
    xx, xy, yy = _lift_to_positive(xx, xy, yy, least=LEAST_SHARE * scale / radius)  # type: ignore[assignment]
    return CuspMetric(grid, cusp, radius, xx, xy, yy, p, q)


LEAST_SHARE = 0.01
"""Least eigenvalue kept, as a share of the flat-ground value 1/(8 h R): a tenth of a line where no line is needed."""


def _second(values: FloatArray, cell: float, axis: int) -> FloatArray:
    """Second difference along one axis; the border repeats its neighbour's value."""
    rows = np.moveaxis(values, axis, 0)
    out = np.empty_like(rows)
    out[1:-1] = rows[2:] - 2 * rows[1:-1] + rows[:-2]
    out[0], out[-1] = out[1], out[-2]
    return np.moveaxis(out / (cell * cell), 0, axis)


def _lift_to_positive(xx: FloatArray, xy: FloatArray, yy: FloatArray, least: float) -> tuple[FloatArray, ...]:
    """Raise the eigenvalues of symmetric 2x2 fields to at least `least`, keeping their directions."""
    middle, half = (xx + yy) / 2, (xx - yy) / 2
    spread = np.sqrt(half * half + xy * xy)
    low, high = middle - spread, middle + spread
    new_low, new_high = np.maximum(low, least), np.maximum(high, least)
    safe = np.where(spread > 0, spread, 1.0)
    factor = np.where(spread > 0, (new_high - new_low) / (2 * safe), 0.0)
    centre = (new_low + new_high) / 2
    return centre + factor * half, factor * xy, centre - factor * half
