"""Dashes along polylines in the plane or in space, for pictures and viewport alike."""

from __future__ import annotations

import numpy as np

from ..core.array_types import FloatArray, Indices, Mask
from ..core.ragged import run_owners, run_ranges


def dashes(starts: FloatArray, ends: FloatArray, along: FloatArray, dash: float, gap: float) -> tuple[FloatArray, Indices]:
    """Cut straight moves into dashes that run on from move to move.

    starts, ends: (n, d) ends of the moves. along: (n,) length already travelled where each move starts, which says how far into
    the pattern it begins. dash, gap: lengths. Returns the dashes (m, 2, d), in order, and the move each of them lies on.
    """
    length = np.linalg.norm(ends - starts, axis=1)
    period = dash + gap
    stop = along + length
    first = np.floor(along / period).astype(np.intp)
    count = np.where(length > 0, np.floor(stop / period).astype(np.intp) - first + 1, 0)
    owner = run_owners(count)
    begin = run_ranges(first, count) * period
    low, high = np.maximum(begin, along[owner]), np.minimum(begin + dash, stop[owner])
    inked = high > low
    owner, low, high = owner[inked], low[inked], high[inked]
    direction = (ends - starts)[owner] / length[owner, None]
    base = starts[owner]
    from_start = np.stack([low - along[owner], high - along[owner]], axis=1)
    return base[:, None, :] + from_start[:, :, None] * direction[:, None, :], owner


def travelled(starts: FloatArray, ends: FloatArray, new_run: Mask) -> FloatArray:
    """Length travelled where each move starts, counted anew at the marked moves: the `along` of `dashes`."""
    length = np.linalg.norm(ends - starts, axis=1)
    before = np.cumsum(length) - length
    run = np.maximum(np.cumsum(new_run) - 1, 0)
    heads = np.flatnonzero(new_run)
    return before - (before[heads][run] if len(heads) else 0.0)
