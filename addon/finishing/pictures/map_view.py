"""From a grid to the pixels of a picture: fitting, resampling, crisp borders and soft shading of the form."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..core.array_types import FloatArray, Mask, Single
from ..core.grid import Grid

LIGHT = np.array([-0.50, 0.62, 0.95])
"""Direction to the light, x to the right, y away from the reader, z up: upper left, rather high."""

LEAST_WEIGHT = 1e-6
"""Share of a pixel that must have a value for a mean to be taken over it."""

NEXT_INSIDE = 0.001
"""Of a cell; places stop this far before the last row and column, so that both neighbours exist."""

SMALLEST_PICTURE = 4
"""Pixels; a body of a single cell is still drawn as a dot."""

BLOCK_ROUNDING = 0.25
"""Cells are gathered into blocks when this much less than a whole number of them fits a pixel: coarser is smoother than bilinear."""

SHADE_LIMITS = 0.45, 1.2
"""Shading never turns a colour darker or brighter than this, or it could not be found on the legend any more."""

PIT_RADIUS, PIT_PIXELS = 6.0, (4, 24)
"""mm round a pixel whose mean height tells whether it lies in a pit, and the least and most pixels that may be."""

PIT_DARKNESS, DEEPEST_SHADE = 0.02, 0.22
"""Darkness per mm of depth, and the most of it: enough to see a pocket's floor lie lower."""


@dataclass(frozen=True)
class MapView:
    """A window of the picture, rows and columns of pixels, and which part of the grid it shows; y of the job runs upwards.

    scale: pixels per mm. left, top: job x and y, in mm, at the upper left corner of the window.
    """

    grid: Grid
    rows: slice
    columns: slice
    scale: float
    left: float
    top: float

    @staticmethod
    def fitted(grid: Grid, heights: FloatArray, box: tuple[float, float, float, float], also: FloatArray | None = None) -> MapView | None:
        """The view of the whole body, as large as it fits into a box of the picture, in its middle; None without a body.

        box: left, top, right, bottom in pixels. also: points (n, 2 or more) in mm that must be in view too.
        """
        left, top, right, bottom = box
        extent = body_extent(grid, heights, also)
        if extent is None:
            return None
        low_x, low_y, high_x, high_y = extent
        scale = min((right - left) / (high_x - low_x), (bottom - top) / (high_y - low_y))
        width, height = (max(int(np.ceil(v * scale)), SMALLEST_PICTURE) for v in (high_x - low_x, high_y - low_y))
        first_column = round(left + (right - left - width) / 2)
        first_row = round(top + (bottom - top - height) / 2)
        return MapView(
            grid=grid,
            rows=slice(first_row, first_row + height),
            columns=slice(first_column, first_column + width),
            scale=float(scale),
            left=float(low_x),
            top=float(high_y),
        )

    def pixels(self, points: FloatArray) -> tuple[FloatArray, FloatArray]:
        """x and y in the picture of points (n, 2 or more) in job mm."""
        return (
            self.columns.start + (points[:, 0] - self.left) * self.scale,
            self.rows.start + (self.top - points[:, 1]) * self.scale,
        )

    def resampled(self, values: FloatArray) -> tuple[Single, Single]:
        """Values at the pixels and what share of each pixel has any: means where cells are smaller than pixels, bilinear otherwise.

        Values that are not finite take no part; the result is 0 where the share is 0.
        """
        known = np.isfinite(values)
        filled = np.where(known, values, 0).astype(np.float32)
        weight = known.astype(np.float32)
        block = max(int(1 / (self.scale * self.grid.cell) + BLOCK_ROUNDING), 1)
        filled, weight = _block_sums(filled, block), _block_sums(weight, block)
        rows, columns = self._cell_positions(block)
        share = _bilinear(weight, rows, columns)
        total = _bilinear(filled, rows, columns)
        return np.divide(total, share, out=np.zeros_like(total), where=share > LEAST_WEIGHT), share

    def cover(self, mask: Mask) -> Single:
        """How much of each pixel a mask covers, with a border of about one pixel."""
        _, share = self.resampled(np.where(mask, np.float32(1), np.float32(np.nan)))
        return self.crisp(share)

    def crisp(self, share: Single) -> Single:
        """Sharpen a share that was blurred over a cell to a border one pixel wide."""
        pixels_per_cell = max(self.scale * self.grid.cell, 1.0)
        return np.clip((share - 0.5) * np.float32(pixels_per_cell) + 0.5, 0, 1)

    def edge(self, cover: Single) -> Single:
        """A fine line along the border of a cover."""
        padded = np.pad(cover, 1)
        middle = padded[1:-1, 1:-1]
        around = np.minimum.reduce([padded[:-2, 1:-1], padded[2:, 1:-1], padded[1:-1, :-2], padded[1:-1, 2:]])
        return np.clip(middle - around, 0, 1)

    def _cell_positions(self, block: int) -> tuple[Single, Single]:
        """Pixel middles as fractional rows and columns of the blocks of the grid."""
        x = self.left + (np.arange(self.columns.stop - self.columns.start) + 0.5) / self.scale
        y = self.top - (np.arange(self.rows.stop - self.rows.start) + 0.5) / self.scale
        column, row = (x - self.grid.left) / self.grid.cell, (y - self.grid.front) / self.grid.cell
        return ((row + 0.5) / block - 0.5).astype(np.float32), ((column + 0.5) / block - 0.5).astype(np.float32)


def body_extent(grid: Grid, heights: FloatArray, also: FloatArray | None = None) -> tuple[float, float, float, float] | None:
    """Least x, least y, greatest x, greatest y in mm of the body and of some points; None without a body."""
    exists = np.isfinite(heights)
    rows, columns = np.flatnonzero(exists.any(axis=1)), np.flatnonzero(exists.any(axis=0))
    if len(rows) == 0:
        return None
    # One cell of air all round: the outline runs half a cell outside the last centres.
    low = np.array([grid.left + grid.cell * (columns[0] - 1), grid.front + grid.cell * (rows[0] - 1)])
    high = np.array([grid.left + grid.cell * (columns[-1] + 1), grid.front + grid.cell * (rows[-1] + 1)])
    if also is not None and len(also):
        low, high = np.minimum(low, also[:, :2].min(axis=0)), np.maximum(high, also[:, :2].max(axis=0))
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def _block_sums(values: Single, block: int) -> Single:
    """Means over blocks of cells, with zeros where the last block passes the border."""
    if block == 1:
        return values
    rows, columns = values.shape
    wide = np.pad(values, ((0, -rows % block), (0, -columns % block)))
    return wide.reshape(wide.shape[0] // block, block, -1, block).mean(axis=(1, 3))


def _bilinear(values: Single, rows: Single, columns: Single) -> Single:
    """Values between cells at the given rows and columns; 0 outside the array."""
    padded = np.pad(values, 1)
    last_row, last_column = padded.shape[0] - 1 - NEXT_INSIDE, padded.shape[1] - 1 - NEXT_INSIDE
    row, column = np.clip(rows + 1, 0, last_row), np.clip(columns + 1, 0, last_column)
    low_row, low_column = row.astype(np.intp), column.astype(np.intp)
    v, u = (row - low_row).astype(np.float32)[:, None], (column - low_column).astype(np.float32)
    down = padded[low_row] * (1 - v) + padded[low_row + 1] * v
    return np.asarray(down[:, low_column] * (1 - u) + down[:, low_column + 1] * u, np.float32)


def shading(view: MapView, heights: FloatArray, strength: float) -> Single:
    """Soft shading at the pixels: a factor, 1 on flat ground, below 1 in shade, above 1 towards the light.

    strength: 0 for none, about 0.6 for a plain body; less leaves the colours of a map truer.
    """
    level, share = view.resampled(heights)
    known = share > LEAST_WEIGHT
    base = float(level[known].min()) if known.any() else 0.0
    level = np.where(known, level, base)
    # Differences over two pixels, in mm per mm.
    slope_x, slope_y = _inner_gradient(level, known, view.scale)
    light = LIGHT / np.linalg.norm(LIGHT)
    facing = (light[2] - slope_x * light[0] - slope_y * light[1]) / np.sqrt(1 + slope_x**2 + slope_y**2)
    shade = 1 + np.float32(strength) * (facing / np.float32(light[2]) - 1)
    sunk = _soft_pit(level, known, view.scale)
    return np.clip(shade - sunk, *SHADE_LIMITS).astype(np.float32)


def _inner_gradient(level: Single, known: Mask, scale: float) -> tuple[Single, Single]:
    """Differences in x and y (upwards) in mm per mm, one-sided at the outline."""
    out = []
    for axis in (1, 0):
        rise = np.diff(level, axis=axis) * np.float32(scale)
        shape = list(level.shape)
        shape[axis] = 1
        low = [slice(None), slice(None)]
        high = [slice(None), slice(None)]
        low[axis], high[axis] = slice(0, -1), slice(1, None)
        rise = np.where(known[tuple(low)] & known[tuple(high)], rise, 0)
        zero = np.zeros(shape, np.float32)
        before, after = np.concatenate([zero, rise], axis=axis), np.concatenate([rise, zero], axis=axis)
        out.append((before + after) / 2)
    return out[0], -out[1]


def _soft_pit(level: Single, known: Mask, scale: float) -> Single:
    """A little darkness where the ground lies below its surroundings, as in pockets."""
    half_width = int(np.clip(PIT_RADIUS * scale, *PIT_PIXELS))
    weight = known.astype(np.float32)
    total, count = (_box_mean(a, half_width) for a in (level * weight, weight))
    around = np.divide(total, count, out=np.zeros_like(total), where=count > LEAST_WEIGHT)
    return np.clip((around - level) * np.float32(PIT_DARKNESS), 0, DEEPEST_SHADE).astype(np.float32)


def _box_mean(values: Single, half_width: int) -> Single:
    """Mean over a square of 2 half_width + 1 pixels, zeros outside."""
    for axis in (0, 1):
        width = [(0, 0), (0, 0)]
        width[axis] = (half_width + 1, half_width)
        total = np.cumsum(np.pad(values, width), axis=axis, dtype=np.float64)
        low, high = [slice(None), slice(None)], [slice(None), slice(None)]
        low[axis], high[axis] = slice(0, values.shape[axis]), slice(2 * half_width + 1, None)
        values = ((total[tuple(high)] - total[tuple(low)]) / (2 * half_width + 1)).astype(np.float32)
    return values
