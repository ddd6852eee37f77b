"""Slope and curvature maps of a body from its heights.

Round every cell a quadratic is fitted to the heights by least squares with Gaussian weights; its derivatives are those
of the Gaussian-smoothed surface, and they are exact where the surface is itself quadratic. Where the whole window is
free of edges the fit is a pair of separable filters. Beside edges (the outline, pocket walls) only heights that
can be seen without crossing an edge are used, so that a wall is never smeared into the ground beside it.
"""

from __future__ import annotations

import math
from collections.abc import Generator
from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import as_strided

from ..core.array_types import FloatArray, Single
from ..core.errors import BadRequest
from ..core.grid import Grid
from ..core.matrix_products import product
from ..core.stepping import finished
from .curvature_fit import Derivatives, EdgeFit, Kernels, fit_kernels
from .edges import edges_steps, near_edge_cells

ROWS_AT_ONCE = 32
"""Rows filtered at a time, some ten milliseconds of work."""
TILE = 48
"""Columns of the tiles that are filtered by a product with a band matrix: so few that the zeros of the band cost little, so many that
the product runs at full speed."""
EDGE_CELLS_AT_ONCE = 2048
"""Cells beside edges fitted at a time: their samples and systems stay in the processor's cache."""


@dataclass(frozen=True)
class SurfaceMaps:
    """Slope and principal curvatures of a body's upper surface.

    slope_degrees: (rows, columns) float32, degrees from horizontal, nan where there is no body.
    curvature_least, curvature_greatest: (rows, columns) float32, principal curvatures in 1/mm, above 0 on crowns and below
    0 in hollows; nan where there is no body and on walls too steep to measure (cells with edges to both neighbours).
    """

    slope_degrees: Single
    curvature_least: Single
    curvature_greatest: Single

    def hollow_radius(self) -> Single:
        """Radius in mm of the tightest hollow through each cell, infinite where there is none, nan outside."""
        hollowness = -self.curvature_least
        out = np.full(hollowness.shape, np.inf, np.float32)
        np.divide(1, hollowness, out=out, where=hollowness > 0)
        out[np.isnan(hollowness)] = np.nan
        return out

    def strongest(self) -> Single:
        """The principal curvature of greater size, with its sign: one signed map of hollows and crowns, 1/mm."""
        hollow = np.abs(self.curvature_least) > np.abs(self.curvature_greatest)
        return np.where(hollow, self.curvature_least, self.curvature_greatest)


def surface_maps(heights: FloatArray, grid: Grid, smoothing: float = 1.0) -> SurfaceMaps:
    """Slope and principal curvatures of the surface z(x, y) given by heights (rows, columns) in mm, -inf outside.

    smoothing: standard deviation in mm of the Gaussian weights of the fit; at least half a cell is used.
    Raises BadRequest when the array does not match the grid or the smoothing is not a number from 0 up.
    """
    return finished(surface_maps_steps(heights, grid, smoothing))


def surface_maps_steps(heights: FloatArray, grid: Grid, smoothing: float = 1.0) -> Generator[float, None, SurfaceMaps]:
    """The same as `surface_maps` in steps of at most some 50 ms: yields progress from 0 to 1, returns the maps."""
    if heights.shape != grid.shape:
        raise BadRequest("The heights have the shape {shape}, the grid {grid}.", shape=heights.shape, grid=grid.shape)
    if not (math.isfinite(smoothing) and smoothing >= 0):
        raise BadRequest("The smoothing of the maps must be 0 mm or more, not {value}.", value=smoothing)
    kernels = fit_kernels(smoothing / grid.cell)
    slope, least, greatest = (np.full(grid.shape, np.nan, np.float32) for _ in range(3))
    if not np.isfinite(heights).any():
        return SurfaceMaps(slope, least, greatest)
    edges = yield from edges_steps(heights, grid.cell)
    yield 0.09
    near_edge = near_edge_cells(edges, kernels.half_width)
    yield 0.10
    blocks = range(0, grid.rows, ROWS_AT_ONCE)
    for number, first in enumerate(blocks, 1):
        part = slice(first, min(first + ROWS_AT_ONCE, grid.rows))
        if edges.exists[part].any():
            _write(_filtered(edges.heights, part, kernels), grid.cell, slope[part], least[part], greatest[part])
        yield 0.10 + 0.40 * number / len(blocks)
    outside = ~edges.exists
    for array in (slope, least, greatest):
        array[outside] = np.nan
    rows, columns = np.nonzero(near_edge & edges.exists)
    yield 0.50
    edge_fit = EdgeFit(edges, kernels)
    yield 0.55
    blocks = range(0, len(rows), EDGE_CELLS_AT_ONCE)
    for number, first in enumerate(blocks, 1):
        at = rows[first : first + EDGE_CELLS_AT_ONCE], columns[first : first + EDGE_CELLS_AT_ONCE]
        values = [np.empty(len(at[0]), np.float32) for _ in range(3)]
        derivatives, unmeasurable = edge_fit.derivatives(*at)
        _write(derivatives, grid.cell, *values)
        values[1][unmeasurable] = np.nan
        values[2][unmeasurable] = np.nan
        slope[at], least[at], greatest[at] = values
        yield 0.55 + 0.45 * number / len(blocks)
    return SurfaceMaps(slope, least, greatest)


def _band_matrix(kernel: FloatArray, outputs: int) -> Single:
    """Matrix (outputs, outputs + len(kernel) - 1) that filters by a product."""
    matrix = np.zeros((outputs, outputs + len(kernel) - 1), np.float32)
    for k, weight in enumerate(kernel):
        matrix[np.arange(outputs), np.arange(outputs) + k] = weight
    return matrix


def _filtered(heights: Single, rows: slice, kernels: Kernels) -> Derivatives:
    """Derivatives zx, zy, zxx, zxy, zyy (per cell and per cell squared) on some rows by separable filters.

    Filtering is done as products with band matrices on tiles, which the linear algebra library runs at full speed.
    """
    rim, count = kernels.half_width, rows.stop - rows.start
    columns = heights.shape[1]
    tiles = -(-columns // TILE)
    block = np.zeros((count + 2 * rim, tiles * TILE + 2 * rim), np.float32)
    low, high = max(rows.start - rim, 0), min(rows.stop + rim, len(heights))
    block[low - rows.start + rim : high - rows.start + rim, rim : rim + columns] = heights[low:high]
    # Derivatives do not depend on the level: a level near the block's own keeps the most digits.
    block -= block.mean()
    bands = np.concatenate([_band_matrix(k, count) for k in (kernels.smooth, kernels.first, kernels.second)])
    down = product(block.T, bands.T).T
    smooth, first, second = (
        as_strided(
            down[k * count : (k + 1) * count],
            (tiles, count, TILE + 2 * rim),
            (TILE * down.strides[1], down.strides[0], down.strides[1]),
            writeable=False,
        )
        for k in range(3)
    )
    across_smooth, across_first, across_second = (
        np.ascontiguousarray(_band_matrix(k, TILE).T) for k in (kernels.smooth, kernels.first, kernels.second)
    )

    def whole(tiled: FloatArray) -> FloatArray:
        return tiled.transpose(1, 0, 2).reshape(count, tiles * TILE)[:, :columns]

    return (
        whole(smooth @ across_first),
        whole(first @ across_smooth),
        whole(smooth @ across_second),
        whole(first @ across_first),
        whole(second @ across_smooth),
    )


def _write(derivatives: Derivatives, cell: float, slope: Single, least: Single, greatest: Single) -> None:
    """Slope in degrees and principal curvatures of the graph of z from derivatives per cell.

    With W^2 = 1 + p^2 + q^2: H = -((1 + q^2) zxx - 2 p q zxy + (1 + p^2) zyy)/(2 W^3), K = (zxx zyy - zxy^2)/W^4,
    k = H -+ sqrt(H^2 - K); the sign makes crowns positive.
    """
    p, q = derivatives[0] * (1 / cell), derivatives[1] * (1 / cell)
    xx, xy, yy = (d * (1 / (cell * cell)) for d in derivatives[2:])
    pp, qq = p * p, q * q
    steepness = pp + qq
    squared = 1 + steepness
    np.multiply(np.arctan(np.sqrt(steepness)), 180 / math.pi, out=slope)
    mean = 2 * (p * q) * xy - (1 + qq) * xx - (1 + pp) * yy
    mean *= 0.5 / (squared * np.sqrt(squared))
    root = (xx * yy - xy * xy) / (squared * squared)
    np.subtract(mean * mean, root, out=root)
    np.maximum(root, 0, out=root)
    np.sqrt(root, out=root)
    np.subtract(mean, root, out=least)
    np.add(mean, root, out=greatest)
