"""The regular grid that heights and maps live on; arrays are indexed [row, column] = [y, x]."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .array_types import FloatArray, Indices
from .coarse_cells import blocks_along

NEIGHBOURS = ((-1, 0), (1, 0), (0, -1), (0, 1), (-1, -1), (-1, 1), (1, -1), (1, 1))
"""Directions, (rows, columns), to the eight cells round a cell, the straight ones first."""

ROUNDING = 1e-9
"""Share of a cell by which a box may be longer than whole cells and still counts as such: a body must not gain a column by lying elsewhere."""

PLACES_AT_ONCE = 1 << 16
"""Places whose values are looked up in one go."""


@dataclass(frozen=True)
class Grid:
    """Square cells in the x, y plane of the job.

    left, front: x and y of the centre of cell [0, 0] in mm; cell: edge of a cell in mm.
    """

    left: float
    front: float
    cell: float
    rows: int
    columns: int

    @property
    def shape(self) -> tuple[int, int]:
        """Shape of an array on this grid, (rows, columns)."""
        return self.rows, self.columns

    @property
    def cell_area(self) -> float:
        """Area of one cell in mm2."""
        return self.cell * self.cell

    def x(self) -> FloatArray:
        """Cell centres in x, (columns,) float64, mm."""
        return self.left + self.cell * np.arange(self.columns)

    def y(self) -> FloatArray:
        """Cell centres in y, (rows,) float64, mm."""
        return self.front + self.cell * np.arange(self.rows)

    def middles(self, row: Indices, column: Indices) -> FloatArray:
        """Centres (n, 2) of cells in mm."""
        return np.stack([self.left + self.cell * column, self.front + self.cell * row], axis=1)

    def position(self, points: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Fractional (row, column) of points (n, 2 or more) in mm; whole numbers are cell centres."""
        return (points[:, 1] - self.front) / self.cell, (points[:, 0] - self.left) / self.cell

    def nearest(self, points: FloatArray) -> tuple[Indices, Indices]:
        """Row and column of the cell that holds each point, clipped into the grid."""
        row, column = self.position(points)
        return (
            np.clip(np.rint(row), 0, self.rows - 1).astype(np.intp),
            np.clip(np.rint(column), 0, self.columns - 1).astype(np.intp),
        )

    def sample(self, values: FloatArray, points: FloatArray) -> FloatArray:
        """Bilinear values of an array on this grid at points (n, 2 or more), clamped at the border."""
        return self.at(values, *self.position(points))

    def at(self, values: FloatArray, row: FloatArray, column: FloatArray) -> FloatArray:
        """Bilinear values of an array on this grid at fractional rows and columns (n,), clamped at the border; some at a time, so that what is
        needed on the way stays in the processor's cache.
        """
        flat = np.ravel(values)
        if row.ndim != 1 or len(row) <= PLACES_AT_ONCE:
            return self._some_at(flat, row, column)
        pieces = [slice(k, k + PLACES_AT_ONCE) for k in range(0, len(row), PLACES_AT_ONCE)]
        return np.concatenate([self._some_at(flat, row[some], column[some]) for some in pieces])

    def _some_at(self, flat: FloatArray, row: FloatArray, column: FloatArray) -> FloatArray:
        """As `at`, all at once. flat: the array's values, row after row."""
        row = np.minimum(np.maximum(row, 0), self.rows - 1)
        column = np.minimum(np.maximum(column, 0), self.columns - 1)
        low_row, low_column = row.astype(np.intp), column.astype(np.intp)
        np.minimum(low_row, max(self.rows - 2, 0), out=low_row)
        np.minimum(low_column, max(self.columns - 2, 0), out=low_column)
        v, u = row - low_row.astype(row.dtype), column - low_column.astype(column.dtype)
        index = low_row * self.columns + low_column
        to_right, up = min(self.columns - 1, 1), self.columns if self.rows > 1 else 0
        low, high = flat.take(index), flat.take(index + up)
        index += to_right
        low = low + (flat.take(index) - low) * u
        index += up
        high = high + (flat.take(index) - high) * u
        return low + (high - low) * v

    def padded(self, cells: int) -> Grid:
        """The same grid with a rim of this many cells more on each side."""
        return Grid(
            left=self.left - cells * self.cell,
            front=self.front - cells * self.cell,
            cell=self.cell,
            rows=self.rows + 2 * cells,
            columns=self.columns + 2 * cells,
        )

    def coarsened(self, factor: int) -> Grid:
        """The grid whose cells are blocks of factor x factor cells of this one; they reach past it as far on both sides (`blocks_along`)."""
        rows, columns = blocks_along(self.rows, factor), blocks_along(self.columns, factor)
        return Grid(
            left=self.left + columns.middle * self.cell,
            front=self.front + rows.middle * self.cell,
            cell=self.cell * factor,
            rows=rows.count,
            columns=columns.count,
        )

    @staticmethod
    def over(low: FloatArray, high: FloatArray, cell: float, margin: float = 0.0) -> Grid:
        """The grid whose cell centres cover the box low..high (x, y first) and a margin in mm round it, with its middle over the box's."""
        size = np.asarray(high, float)[:2] - np.asarray(low, float)[:2]
        return Grid.centred(low, size, np.ceil(size / cell - ROUNDING), cell).padded(int(np.ceil(margin / cell)))

    @staticmethod
    def centred(low: FloatArray, size: FloatArray, steps: FloatArray, cell: float) -> Grid:
        """The grid with its middle over that of the box from low on (x, y first) of a size (2,) in mm, so many whole steps (2,) from its first column
        to its last one and from its first row to its last one.
        """
        left, front = np.asarray(low, float)[:2] - (steps * cell - size) / 2
        return Grid(left=float(left), front=float(front), cell=cell, rows=int(steps[1]) + 1, columns=int(steps[0]) + 1)
