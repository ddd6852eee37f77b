"""Rolling a flat disc over heights: what a flat cutter, a shank or a collet nut above the work touches, and how high ground stands nearby."""

from __future__ import annotations

import numpy as np

from ..core.array_types import FloatArray

ROUNDING = 1e-9
"""Cells; a radius that is a whole number of cells must not lose its last cell by rounding."""


def disc_dilation(heights: FloatArray, radius: float, cell: float) -> FloatArray:
    """Greatest height within a disc round every cell, (rows, columns) float32, -inf where the disc meets nothing.

    Derivation. A disc is a stack of runs of cells, one in each of its rows, and the greatest of the whole is the greatest of the rows. The
    greatest over a run of w cells is the greater of two overlapping runs of 2^k <= w cells, one at each of its ends; those of 2^k cells come
    from those of 2^(k - 1) by one comparison, and are made once for all rows. So a disc of r cells' radius costs about 3 r comparisons a
    cell in place of pi r^2.
    """
    source = np.asarray(heights, np.float32)
    reach = int(np.floor(radius / cell + ROUNDING))
    rows, columns = source.shape
    padded = np.full((rows + 2 * reach, columns + 2 * reach), -np.inf, np.float32)
    padded[reach : reach + rows, reach : reach + columns] = source
    half = {j: int(np.floor(np.sqrt(max((radius / cell) ** 2 - j * j, 0.0)) + ROUNDING)) for j in range(reach + 1)}
    runs = {1: padded}
    out = np.full(source.shape, -np.inf, np.float32)
    for j in range(reach, -1, -1):
        width = 2 * half[j] + 1
        length = 1
        while 2 * length <= width:
            if 2 * length not in runs:
                shorter = runs[length]
                runs[2 * length] = np.maximum(shorter[:, :-length], shorter[:, length:])
            length *= 2
        run = runs[length]
        first = reach - half[j]
        last = first + width - length
        row = np.maximum(run[:, first : first + columns], run[:, last : last + columns])
        np.maximum(out, row[reach - j : reach - j + rows], out=out)
        np.maximum(out, row[reach + j : reach + j + rows], out=out)
    return out
