"""Rolling a flat disc over heights: what a flat cutter, a shank or a collet nut above the work touches."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from ..core.grid import FloatArray


def disc_dilation(heights: FloatArray, radius: float, cell: float) -> FloatArray:
    """Greatest height within a disc round every cell, (rows, columns) float32, -inf where the disc meets nothing.

    Row by row of the disc: a run of cells is covered by two overlapping runs whose length is a power of two.
    """
    source = np.asarray(heights, np.float32)
    reach = int(np.floor(radius / cell + 1e-9))
    rows, columns = source.shape
    padded = np.full((rows + 2 * reach, columns + 2 * reach), -np.inf, np.float32)
    padded[reach : reach + rows, reach : reach + columns] = source
    half = {j: int(np.floor(np.sqrt(max((radius / cell) ** 2 - j * j, 0.0)) + 1e-9)) for j in range(reach + 1)}
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


def flat_closing(heights: FloatArray, radius: float, cell: float, settle: Callable[[FloatArray], FloatArray]) -> FloatArray:
    """What a flat cutter of this radius leaves above heights (-inf outside) when its own height is settled by a rule.

    settle: from the lowest height at which the cutter touches nothing to the height it is driven to, no lower.
    """
    rim = int(np.ceil(radius / cell)) + 1
    touching = disc_dilation(np.pad(heights, rim, constant_values=-np.inf), radius, cell)
    driven = np.where(touching > -np.inf, settle(np.where(touching > -np.inf, touching, 0.0)), -np.inf)
    # Where the disc meets nothing it may go as low as it likes, and so it clears whatever it covers there.
    left = -disc_dilation(-np.where(driven > -np.inf, driven, LOW), radius, cell)[rim:-rim, rim:-rim]
    return np.where(heights > -np.inf, np.maximum(left, heights), -np.inf).astype(np.float32)


LOW = -1e9
"""mm; below everything."""
