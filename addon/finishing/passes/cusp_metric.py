"""The cusp metric, which measures cusp height and spacing of round-nose passes everywhere on a body.

A pass leaves, at a small offset u beside its contact on the body, material of the height (|u|^2/R + II(u, u))/2: there the ball stands
|u|^2/(2R) above the tangent plane and the surface II(u, u)/2 below it (II: second fundamental form, positive on crowns). With
g = (I/R + II) / (8 h), two passes one unit of g-distance apart leave exactly h half-way, since each is half a unit away there. Seen from
the ball's centre the same form is (I_C/R - II_C) / (8 h) on the cutter-centre surface C; written out for C as a height field over x, y it
takes the first and second derivatives of the tip surface, which knows every place that the ball cannot reach. That is what is computed
here. Passes as level lines of a distance in a Riemannian metric are due to Kim 2007 (CAD 39:477).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ..core.array_types import FloatArray
from ..core.filters import blur, blur_reach, gradient, strips
from ..core.grid import Grid

LEAST_EIGENVALUE = 0.01
"""Least eigenvalue kept, in units of the one on flat ground, 1/(8 h R): a tenth of a line where no line is needed. Where the cutter rolls
over a sharp edge the metric vanishes, and a front would cross it in no time."""

SECOND_DIFFERENCE = 2
"""Rows round a row that its second differences look at, and one more: at the border of what they are taken of they stand for their neighbours."""


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

    def rows(self, some: slice) -> CuspMetric:
        """The metric of some rows."""
        xx, xy, yy, slope_x, slope_y = (values[some] for values in (self.xx, self.xy, self.yy, self.slope_x, self.slope_y))
        return CuspMetric(self.grid, self.cusp, self.radius, xx=xx, xy=xy, yy=yy, slope_x=slope_x, slope_y=slope_y)

    def inverse_squared(self, across_x: FloatArray | float, across_y: FloatArray | float) -> FloatArray:
        """g^-1(n, n), (rows, columns), of covectors n: single numbers, or (rows, columns).

        Of a unit normal to pass lines it is the square of their spacing in plan, mm2; of the gradient of a field it is the square of how
        much the field grows within one unit of g-distance.
        """

        def of(some: CuspMetric, wide: slice) -> FloatArray:
            x, y = (across if np.ndim(across) == 0 else np.asarray(across)[wide] for across in (across_x, across_y))
            return (some.yy * x**2 - 2 * some.xy * x * y + some.xx * y**2) / (some.xx * some.yy - some.xy**2)

        return self._by_strips(of)

    def line_density(self) -> FloatArray:
        """Least possible pass length per plan area, (rows, columns), 1/mm.

        It is sqrt(least eigenvalue of g with respect to the metric of the cutter-centre surface) times the area of
        that surface per plan area; its integral over the planned ground is the least possible length of all passes.
        """

        def of(some: CuspMetric, _wide: slice) -> FloatArray:
            p, q = some.slope_x, some.slope_y
            first_xx, first_xy, first_yy = 1 + p * p, p * q, 1 + q * q
            area_squared = 1 + p * p + q * q
            # Eigenvalues of g relative to the first form: roots of l^2 - (trace) l + determinant.
            trace = (some.xx * first_yy - 2 * some.xy * first_xy + some.yy * first_xx) / area_squared
            determinant = (some.xx * some.yy - some.xy * some.xy) / area_squared
            root = np.sqrt(np.maximum(trace * trace / 4 - determinant, 0))
            least = np.maximum(trace / 2 - root, 0)
            return np.sqrt(least * area_squared)

        return self._by_strips(of)

    def length_density(self, distance: FloatArray) -> FloatArray:
        """Length per plan area of the level lines, one unit apart, of a distance field, (rows, columns), 1/mm.

        By the coarea formula it is the field's gradient, measured on the cutter-centre surface, times its area. No field grows by more than a
        unit per unit: what differences beside ridges show above that is no length.
        """

        def of(some: CuspMetric, wide: slice) -> FloatArray:
            p, q = some.slope_x, some.slope_y
            along_x, along_y = gradient(distance[wide], self.grid.cell)
            squared = (1 + q * q) * along_x**2 - 2 * p * q * along_x * along_y + (1 + p * p) * along_y**2
            return np.minimum(np.sqrt(squared), some.greatest_density())

        return self._by_strips(of)

    def greatest_density(self) -> FloatArray:
        """Pass length per plan area, (rows, columns), 1/mm, of passes in their worst direction: the greatest eigenvalue in place of the least."""

        def of(some: CuspMetric, _wide: slice) -> FloatArray:
            p, q = some.slope_x, some.slope_y
            area_squared = 1 + p * p + q * q
            # Both eigenvalues are taken times the squared area from the start.
            trace = some.xx * (1 + q * q) - 2 * some.xy * p * q + some.yy * (1 + p * p)
            determinant = (some.xx * some.yy - some.xy**2) * area_squared
            return np.sqrt(trace / 2 + np.sqrt(np.maximum(trace * trace / 4 - determinant, 0)))

        return self._by_strips(of)

    def _by_strips(self, of: Callable[[CuspMetric, slice], FloatArray]) -> FloatArray:
        """What a formula gives on all rows, (rows, columns): it is given the metric of some rows, and which rows those are."""
        out = np.empty(self.xx.shape)
        for wide, own, strip in strips(len(out), 1):
            out[strip] = of(self.rows(wide), wide)[own]
        return out


def cusp_metric(tip: FloatArray, grid: Grid, radius: float, cusp: float, smoothing: float) -> CuspMetric:
    """Cusp metric from the tip surface T (rows, columns), finite everywhere, of a ball of this radius.

    g = [ (Id + grad T grad T^t)/R + Hess T / sqrt(1 + |grad T|^2) ] / (8 h (1 - h/(2R)))

    The factor 1 - h/(2R) makes it exact on flat ground at any cusp height. smoothing: standard deviation in mm of the blur of T before it
    is differenced: facets and cells would otherwise show as noise. g is never negative on a true tip surface, so eigenvalues that the
    differences leave below LEAST_EIGENVALUE are brought up to it.
    """
    scale = 1 / (8 * cusp * (1 - cusp / (2 * radius)))
    xx, xy, yy, slope_x, slope_y = (np.empty(tip.shape) for _ in range(5))
    for wide, own, strip in strips(len(tip), blur_reach(smoothing / grid.cell) + SECOND_DIFFERENCE):
        smooth = blur(tip[wide], smoothing / grid.cell)
        p, q = gradient(smooth, grid.cell)
        rise = 1 / np.sqrt(1 + p * p + q * q)
        raw_xx = scale * ((1 + p * p) / radius + _second(smooth, grid.cell, axis=1) * rise)
        raw_xy = scale * (p * q / radius + gradient(p, grid.cell)[1] * rise)
        raw_yy = scale * ((1 + q * q) / radius + _second(smooth, grid.cell, axis=0) * rise)
        kept = _with_eigenvalues_above(LEAST_EIGENVALUE * scale / radius, raw_xx, raw_xy, raw_yy)
        for whole, part in zip((xx, xy, yy, slope_x, slope_y), (*kept, p, q), strict=True):
            whole[strip] = part[own]
    return CuspMetric(grid=grid, cusp=cusp, radius=radius, xx=xx, xy=xy, yy=yy, slope_x=slope_x, slope_y=slope_y)


def _second(values: FloatArray, cell: float, axis: int) -> FloatArray:
    """Second difference along one axis; the border repeats its neighbour's value."""
    rows = np.moveaxis(values, axis, 0)
    out = np.empty_like(rows)
    out[1:-1] = rows[2:] - 2 * rows[1:-1] + rows[:-2]
    out[0], out[-1] = out[1], out[-2]
    return np.moveaxis(out / (cell * cell), 0, axis)


def _with_eigenvalues_above(least: float, xx: FloatArray, xy: FloatArray, yy: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Symmetric 2x2 fields with eigenvalues of at least `least`, in their own directions."""
    middle, half = (xx + yy) / 2, (xx - yy) / 2
    spread = np.sqrt(half * half + xy * xy)
    low, high = middle - spread, middle + spread
    new_low, new_high = np.maximum(low, least), np.maximum(high, least)
    safe = np.where(spread > 0, spread, 1.0)
    factor = np.where(spread > 0, (new_high - new_low) / (2 * safe), 0.0)
    centre = (new_low + new_high) / 2
    return centre + factor * half, factor * xy, centre - factor * half
