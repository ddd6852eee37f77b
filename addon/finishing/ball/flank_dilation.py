"""The flank of a tapered cutter over a height grid: how high it holds the tip where ground nearby is steep.

Over cells the flank lifts the tip to the greatest z(x + d) - h(d) with foot <= |d| <= top, h being the flank's height above the tip. That is
no less than the highest ground within the top's radius less the height of the flank's foot, so only cells where that stands above the tip as
the ball has it are gone through, offset by offset: on gentle ground there are none.
"""

from __future__ import annotations

from collections.abc import Generator

import numpy as np

from ..core.array_types import FloatArray, Indices, Mask, Single
from ..core.threads import in_threads
from ..job.flank import Flank
from .disc_dilation import disc_dilation

CELLS_AT_ONCE = 12_000
"""Cells that are gone through in one piece of work: a step then takes less than a tenth of a second for the widest flanks."""

INSIDE_FOOT = 1e-9
"""mm by which an offset may lie inside the flank's foot by rounding; the ball has the others."""


def flank_raised_steps(heights: FloatArray, tip: FloatArray, flank: Flank, cell: float, wanted: Mask | None = None) -> Generator[float, None, Single]:
    """A ball's tip surface over heights raised to where the flank lets the tip come, (rows, columns) float32; yields shares done.

    heights, tip: (rows, columns) mm, -inf where there is nothing. wanted: cells that matter (None: all).
    """
    source = np.asarray(heights, np.float32)
    out = np.array(tip, np.float32)
    near = disc_dilation(source, flank.top_radius, cell)
    held = near - np.float32(flank.foot_height) > out
    if wanted is not None:
        held &= wanted
    row, column = np.nonzero(held)
    if len(row) == 0:
        return out
    rim = int(np.ceil(flank.top_radius / cell)) + 1
    padded = np.pad(source, rim, constant_values=-np.inf)
    flat, columns = padded.ravel(), padded.shape[1]
    shift, height = _offsets(flank, cell, columns)
    start = (row + rim) * columns + column + rim

    def work(piece: Indices) -> Single:
        """Greatest lift of the flank on some of the cells."""
        best = out[row[piece], column[piece]]
        here = start[piece]
        for step, high in zip(shift.tolist(), height, strict=True):
            np.maximum(best, flat.take(here + step) - high, out=best)
        return best

    pieces = np.array_split(np.arange(len(row)), -(-len(row) // CELLS_AT_ONCE))
    out[row, column] = np.concatenate((yield from in_threads(work, pieces)))
    return out


def _offsets(flank: Flank, cell: float, columns: int) -> tuple[Indices, Single]:
    """Offsets under the flank as steps in a flat array of rows of so many columns, and the flank's height at each."""
    most = int(np.ceil(flank.top_radius / cell))
    down, right = (a.ravel() for a in np.meshgrid(np.arange(-most, most + 1), np.arange(-most, most + 1), indexing="ij"))
    distance = np.hypot(down, right) * cell
    kept = (distance >= flank.foot - INSIDE_FOOT) & (distance <= flank.top_radius)
    height = flank.foot_height + flank.rise * (distance[kept] - flank.foot)
    return (down[kept] * columns + right[kept]).astype(np.intp), height.astype(np.float32)
