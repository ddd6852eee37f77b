"""Cells made of blocks of finer ones, which lie alike in a row of cells and in the same row seen from its other end."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .array_types import FloatArray, Indices


@dataclass(frozen=True)
class Blocks:
    """Blocks of `factor` cells each along a row of cells. Together they reach as far past the row at the one end as at the other.

    count: of blocks. beyond: cells that they reach past both ends together; an odd number has the outermost blocks end amid cells.
    """

    factor: int
    count: int
    beyond: int

    @property
    def middle(self) -> float:
        """Middle of the first block, in cells from the centre of the first cell."""
        return (self.factor - 1 - self.beyond) / 2

    def of(self, cells: Indices) -> Indices:
        """The blocks (n,) in which the centres of cells (n,) lie."""
        return (2 * cells + 1 + self.beyond) // (2 * self.factor)

    def means(self, values: FloatArray) -> FloatArray:
        """Means (blocks, ...) of values (cells, ...); past its ends the row repeats its last values."""
        wide = np.pad(values, (((self.beyond + 1) // 2,) * 2, *((0, 0) for _ in values.shape[1:])), mode="edge")
        if self.beyond % 2:
            # Blocks begin and end amid cells: of every two neighbours a half.
            wide = (wide[1:] + wide[:-1]) / 2
        total = wide[:: self.factor].astype(np.float64)
        for k in range(1, self.factor):
            total += wide[k :: self.factor]
        total /= self.factor
        return total


def blocks_along(cells: int, factor: int) -> Blocks:
    """The blocks of so many cells each over a row of cells."""
    beyond = -cells % factor
    return Blocks(factor=factor, count=(cells + beyond) // factor, beyond=beyond)


def coarsened(values: FloatArray, factor: int) -> FloatArray:
    """Means of (rows, columns) over blocks of factor x factor cells, as `blocks_along` lays them."""
    if factor == 1:
        return np.asarray(values, np.float64)
    rows, columns = (blocks_along(cells, factor) for cells in values.shape)
    return columns.means(rows.means(values).T).T
