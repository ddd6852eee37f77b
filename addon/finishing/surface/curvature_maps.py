"""Slope and curvature maps of a body from its heights.

Round every cell a quadratic is fitted to the heights by least squares with Gaussian weights; its derivatives are those
of the Gaussian-smoothed surface, and they are exact where the surface is itself quadratic. Where the whole window is
free of edges the fit is a pair of separable filters. Beside edges (the outline, pocket walls) only heights that
can be reached without crossing an edge are used, so that a wall is never smeared into the ground beside it.
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
from .breaks import links_steps, near_edge_cells
from .curvature_fit import Derivatives, EdgeFit, Kernels, fit_kernels

ROWS_AT_ONCE = 32
TILE = 48
EDGE_CELLS_AT_ONCE = 2048


@dataclass(frozen=True)
class SurfaceMaps:
    """Slope and principal curvatures of a body's upper surface.

    slope_degrees: (rows, columns) float32, degrees from horizontal, nan where there is no body.
    curvature_least, curvature_greatest: (rows, columns) float32, principal curvatures in 1/mm, above 0 on crowns and below
    0 in hollows; nan where there is no body and on walls too steep to measure (cells parted from both neighbours).
    """

    slope_degrees: Single
    curvature_least: Single
    curvature_greatest: Single

    def hollow_radius(self) -> Single:
        """Radius in mm of the tightest hollow through each cell, infinite where there is none, nan outside."""
        return _radius(-self.curvature_least)

    def crown_radius(self) -> Single:
        """Radius in mm of the tightest crown over each cell, infinite where there is none, nan outside."""
        return _radius(self.curvature_greatest)

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
    """The same as `surface_maps` in steps of at most some 50 ms: yields the share done, returns the maps."""
    if heights.shape != grid.shape:
        raise BadRequest(f"The heights have the shape {heights.shape}, the grid {grid.shape}.")
    if not (math.isfinite(smoothing) and smoothing >= 0):
        raise BadRequest(f"The smoothing of the maps must be 0 mm or more, not {smoothing}.")
    kernels = fit_kernels(smoothing / grid.cell)
    slope, least, greatest = (np.full(grid.shape, np.nan, np.float32) for _ in range(3))
    if not np.isfinite(heights).any():
        return SurfaceMaps(slope, least, greatest)
    links = yield from links_steps(heights, grid.cell)
    yield 0.09
    near_edge = near_edge_cells(links, kernels.reach)
    yield 0.10

    def whole_windows(first: int) -> None:
        rows = slice(first, min(first + ROWS_AT_ONCE, grid.rows))
        if links.exists[rows].any():
            derivatives = _filtered(links.heights, rows, kernels)
            _write(derivatives, grid.cell, slope[rows], least[rows], greatest[rows])

    blocks = range(0, grid.rows, ROWS_AT_ONCE)
    for number, first in enumerate(blocks, 1):
        whole_windows(first)
        yield 0.10 + 0.40 * number / len(blocks)
    outside = ~links.exists
    for array in (slope, least, greatest):
        array[outside] = np.nan
    rows, columns = np.nonzero(near_edge & links.exists)
    yield 0.50
    edge_fit = EdgeFit(links, kernels)
    yield 0.55

    def beside_edges(first: int) -> None:
        part = slice(first, first + EDGE_CELLS_AT_ONCE)
        at = rows[part], columns[part]
        values = [np.empty(len(at[0]), np.float32) for _ in range(3)]
        derivatives, unmeasurable = edge_fit.derivatives(*at)
        _write(derivatives, grid.cell, *values)
        values[1][unmeasurable] = np.nan
        values[2][unmeasurable] = np.nan
        slope[at], least[at], greatest[at] = values

    blocks = range(0, len(rows), EDGE_CELLS_AT_ONCE)
    for number, first in enumerate(blocks, 1):
        beside_edges(first)
        yield 0.55 + 0.45 * number / len(blocks)
    return SurfaceMaps(slope, least, greatest)


def _radius(curvature: Single) -> Single:
    """1/curvature where it is above 0, else infinite; nan stays nan."""
    out = np.full(curvature.shape, np.inf, np.float32)
    np.divide(1, curvature, out=out, where=curvature > 0)
    out[np.isnan(curvature)] = np.nan
    return out


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
    reach, count = kernels.reach, rows.stop - rows.start
    columns = heights.shape[1]
    tiles = -(-columns // TILE)
    block = np.zeros((count + 2 * reach, tiles * TILE + 2 * reach), np.float32)
    low, high = max(rows.start - reach, 0), min(rows.stop + reach, len(heights))
    block[low - rows.start + reach : high - rows.start + reach, reach : reach + columns] = heights[low:high]
    # Derivatives do not depend on the level: a level near the block's own keeps the most digits.
    block -= block.mean()
    bands = np.concatenate([_band_matrix(k, count) for k in (kernels.smooth, kernels.first, kernels.second)])
    down = product(block.T, bands.T).T
    smooth, first, second = (
        as_strided(
            down[k * count : (k + 1) * count],
            (tiles, count, TILE + 2 * reach),
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
