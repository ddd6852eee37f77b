"""Arrays turned by quarters of a turn so that what they show lies the same, however the body was turned on the table.

Thinning a mask and following its lines go cell by cell, row by row, and choose among equals by that order. Seen upright they choose alike on a body
and on the same one turned.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from .array_types import FloatArray, Indices, Mask

ASKEW = 0.3
"""Columns that count as much as a row for the rank of a place: no whole share, so that corners that mirror each other differ."""

Kind = TypeVar("Kind", bound=np.generic)
Places = TypeVar("Places", Indices, FloatArray)


@dataclass(frozen=True)
class Upright:
    """A turn of arrays. quarters: of a turn, as of np.rot90. shape: of the arrays as they are given, (rows, columns)."""

    quarters: int
    shape: tuple[int, int]

    @staticmethod
    def of(mask: Mask) -> Upright:
        """The turn after which a mask (rows, columns) is wider than high and has more in its later rows than in its earlier ones; where it is as high
        as wide, most in its later rows.
        """
        rows, columns = mask.shape
        # Twice the moments about the middle, in whole numbers: no rounding decides.
        by_row, by_column = (np.count_nonzero(mask, axis=axis).astype(np.int64) for axis in (1, 0))
        down, right = int(by_row @ (2 * np.arange(rows) + 1 - rows)), int(by_column @ (2 * np.arange(columns) + 1 - columns))
        later = {0: down, 1: -right, 2: -down, 3: right}
        possible = [0, 1, 2, 3] if rows == columns else [0, 2] if columns > rows else [1, 3]
        return Upright(max(possible, key=lambda quarters: later[quarters]), (rows, columns))

    def turned(self, values: NDArray[Kind]) -> NDArray[Kind]:
        """An array (rows, columns), turned."""
        return np.rot90(values, self.quarters)

    def given(self, cells: Places) -> Places:
        """Rows and columns (n, 2) of turned arrays, which need not be whole, in the arrays as they were given."""
        rows, columns = self.shape
        row, column = cells.T
        there = ((row, column), (column, columns - 1 - row), (rows - 1 - row, columns - 1 - column), (rows - 1 - column, row))
        return np.stack(there[self.quarters], axis=1)

    def rank(self, places: FloatArray) -> FloatArray:
        """Numbers (n,) by which places (n, 2), rows and columns that need not be whole, are told apart as alike after the turn as before it: how far
        they lie in a direction that stands askew to all axes in which a body may be a mirror of itself.
        """
        row, column = places.T
        ahead, aside = ((row, column), (-column, row), (-row, -column), (column, -row))[self.quarters]
        return ahead + ASKEW * aside
