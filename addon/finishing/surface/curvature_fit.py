"""Weighted quadratic fits to heights: the filters for whole windows, and the fit beside edges."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ..core.array_types import FloatArray, Indices, Mask, Single
from ..core.filters import gaussian
from ..core.matrix_products import product
from .edges import Edges

WINDOW_DEVIATIONS = 3.0
"""Half width of the window of the fit, in standard deviations of its weights."""

LEAST_DEVIATION, LEAST_HALF_WIDTH = 0.5, 2
"""In cells: with narrower weights next to nothing but the cell itself would count, and no slope could be determined."""

SAMPLES_EACH_SIDE = 6
"""Most samples of the fit beside edges from the cell to each side of its window: about half a standard deviation apart, where sums over
a Gaussian equal its integrals; more would only cost time."""

RIDGE = np.array([0.0, 1e-6, 1e-6, 3e-5, 3e-5, 3e-5])
"""Tiny pull to zero of slopes and second derivatives (not of the height), as a share of the visible weight, for cells with too few neighbours
to determine them; negligible elsewhere, since the basis is scaled to size 1 over the window."""

ROUNDING_RIDGE = 1e-9
"""The same for rounding: keeps systems that hold no more than one sample solvable."""

LEAST_WEIGHT, LEAST_PIVOT = 1e-12, 1e-18
"""What the visible weight, and the squared pivots of the Cholesky factors, count as at least."""

Derivatives = tuple[FloatArray, FloatArray, FloatArray, FloatArray, FloatArray]
"""zx, zy, zxx, zxy, zyy, per cell and per cell squared."""


@dataclass(frozen=True)
class Kernels:
    """Filters along one axis over 2 half_width + 1 cells: weights, and the first and second derivatives of the fitted quadratic."""

    half_width: int
    smooth: FloatArray
    first: FloatArray
    second: FloatArray


def fit_kernels(deviation: float) -> Kernels:
    """Least-squares quadratic filters with Gaussian weights of this deviation in cells.

    With moments m2, m4 of the weights w the slope is sum(w x z)/m2 and the second derivative
    2 sum(w (x^2 - m2) z)/(m4 - m2^2): exact on quadratics however the Gaussian is cut off.
    """
    deviation = max(deviation, LEAST_DEVIATION)
    half_width = max(LEAST_HALF_WIDTH, math.ceil(WINDOW_DEVIATIONS * deviation))
    x = np.arange(-half_width, half_width + 1, dtype=np.float64)
    weights = gaussian(x, deviation)
    weights /= math.fsum(weights)
    second_moment, fourth_moment = math.fsum(weights * x**2), math.fsum(weights * x**2 * x**2)
    return Kernels(
        half_width,
        weights,
        weights * x / second_moment,
        2 * weights * (x**2 - second_moment) / (fourth_moment - second_moment**2),
    )


class EdgeFit:
    """The quadratic fit at cells beside edges, with the heights that can be seen from the cell.

    A sample counts when one of two routes to it, first along x then y or first along y then x, crosses no edge. Edges are
    counted from the border on, once along rows and once along columns: equal counts at two cells of a row or column mean that
    no edge lies between them, so every route is two comparisons.
    """

    def __init__(self, edges: Edges, kernels: Kernels) -> None:
        half_width = kernels.half_width
        stride = -(-half_width // SAMPLES_EACH_SIDE)
        steps = np.arange(-(half_width // stride), half_width // stride + 1) * stride
        self._half_width, self._steps = half_width, steps
        rows, columns = edges.exists.shape
        self._width = columns + 2 * half_width
        shape = (rows + 2 * half_width, self._width)
        inside = (slice(half_width, half_width + rows), slice(half_width, half_width + columns))
        self._heights = np.zeros(shape, np.float32)
        self._heights[inside] = edges.heights
        self._exists = np.zeros(shape, bool)
        self._exists[inside] = edges.exists
        self._edge_x, self._edge_y = np.ones(shape, bool), np.ones(shape, bool)
        self._edge_x[inside] = edges.along_x
        self._edge_y[inside] = edges.along_y
        # Counts may wrap: between two cells of one window there are far fewer than 65536 edges.
        self._count_x = np.cumsum(self._edge_x, axis=1, dtype=np.uint16)
        self._count_y = np.cumsum(self._edge_y, axis=0, dtype=np.uint16)
        v, u = (a.ravel().astype(np.float64) for a in np.meshgrid(steps, steps, indexing="ij"))
        weights = kernels.smooth[steps + half_width]
        self._weights = np.outer(weights, weights).ravel().astype(np.float32)
        self._weights /= self._weights.sum()
        self._basis = np.stack([np.ones_like(u), u, v, u * u / 2, u * v, v * v / 2], axis=1)
        # Scaled to size 1 over the window, for the sake of the condition of the normal equations.
        self._scale = np.array([1, half_width, half_width, half_width**2, half_width**2, half_width**2], np.float64)
        self._basis /= self._scale
        i, j = np.tril_indices(6)
        self._pairs = (i, j)
        self._products = self._basis[:, i] * self._basis[:, j]

    def derivatives(self, row: Indices, column: Indices) -> tuple[Derivatives, Mask]:
        """Derivatives per cell at some cells, and which of them have no measurable curvature."""
        centre = (row + self._half_width) * self._width + column + self._half_width
        seen, rise = self._samples(centre)
        weights = (seen * self._weights).astype(np.float64)
        normal = product(weights, self._products)
        right_side = product(weights * rise, self._basis)
        solution = _solve_symmetric(normal, right_side, self._pairs) / self._scale
        p, q = solution[:, 1], solution[:, 2]
        wall_x, on_wall_x, slope_x = self._wall(centre, 1, self._edge_x)
        wall_y, on_wall_y, slope_y = self._wall(centre, self._width, self._edge_y)
        p = np.where(on_wall_x, slope_x, p)
        q = np.where(on_wall_y, slope_y, q)
        return (p, q, solution[:, 3], solution[:, 4], solution[:, 5]), wall_x | wall_y

    def _samples(self, centre: Indices) -> tuple[Mask, Single]:
        """Which samples can be seen from each cell, and how far they lie above it: both (cells, samples)."""
        steps, count_x, count_y = self._steps, self._count_x.ravel(), self._count_y.ravel()
        cells, side = len(centre), len(steps)
        in_row = centre[:, None] + steps
        in_column = centre[:, None] + steps * self._width
        every = (in_column[:, :, None] + steps).reshape(cells, -1)
        every_x, every_y = (c.take(every).reshape(cells, side, side) for c in (count_x, count_y))
        # One route runs along x to the sample's column, the other along y to its row.
        x_free = count_x.take(in_row) == count_x.take(centre)[:, None]
        y_free = count_y.take(in_column) == count_y.take(centre)[:, None]
        seen = every_y == count_y.take(in_row)[:, None, :]
        seen &= x_free[:, None, :]
        y_first = every_x == count_x.take(in_column)[:, :, None]
        y_first &= y_free[:, :, None]
        seen |= y_first
        heights = self._heights.ravel()
        rise = heights.take(every)
        rise -= heights.take(centre)[:, None]
        return seen.reshape(cells, -1), rise

    def _wall(self, centre: Indices, stride: int, edge: Mask) -> tuple[Mask, Mask, FloatArray]:
        """Cells with edges to both neighbours along an axis; of these the ones on a rising wall, with its slope per cell."""
        heights, exists, flat = self._heights.ravel(), self._exists.ravel(), edge.ravel()
        alone = flat[centre] & flat[centre + stride]
        back = np.where(exists[centre - stride], heights[centre] - heights[centre - stride], 0.0)
        ahead = np.where(exists[centre + stride], heights[centre + stride] - heights[centre], 0.0)
        rising = alone & (back * ahead >= 0) & ((back != 0) | (ahead != 0))
        return alone, rising, np.where(np.abs(back) > np.abs(ahead), back, ahead)


def _solve_symmetric(normal: FloatArray, right_side: FloatArray, pairs: tuple[Indices, Indices]) -> FloatArray:
    """Solve many small symmetric systems by Cholesky, all at once.

    normal: (n, 21) lower triangles in the order of pairs; right_side: (n, 6). A tiny share (RIDGE) of the first element is added
    to the diagonal, so that systems with too few samples have the solution of least size.
    """
    size = right_side.shape[1]
    lower: dict[tuple[int, int], FloatArray] = {(i, j): normal[:, k].copy() for k, (i, j) in enumerate(zip(*pairs, strict=True))}
    total = np.maximum(lower[0, 0], LEAST_WEIGHT).copy()
    for i in range(size):
        lower[i, i] += (RIDGE[i] + ROUNDING_RIDGE) * total
    for j in range(size):
        for k in range(j):
            lower[j, j] -= lower[j, k] ** 2
        lower[j, j] = np.sqrt(np.maximum(lower[j, j], LEAST_PIVOT))
        for i in range(j + 1, size):
            for k in range(j):
                lower[i, j] -= lower[i, k] * lower[j, k]
            lower[i, j] /= lower[j, j]
    solution = [right_side[:, i].copy() for i in range(size)]
    for i in range(size):
        for k in range(i):
            solution[i] -= lower[i, k] * solution[k]
        solution[i] /= lower[i, i]
    for i in reversed(range(size)):
        for k in range(i + 1, size):
            solution[i] -= lower[k, i] * solution[k]
        solution[i] /= lower[i, i]
    return np.stack(solution, axis=1)
