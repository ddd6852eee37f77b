"""How heavy the program of a path is for a control: its blocks, and how many of them the busiest second holds."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..core.array_types import FloatArray
from ..core.path import Path
from .blocks import block_rows


@dataclass(frozen=True)
class BlockLoad:
    """blocks: with a motion. busiest_second: the most blocks that end within one second of the run."""

    blocks: int
    busiest_second: int


def block_load(path: Path, at: FloatArray, tolerance: float) -> BlockLoad:
    """The blocks of a path's program. at: (n,) seconds when each row is reached. tolerance: of the fusing, mm."""
    rows = block_rows(path, tolerance)
    if len(rows) < 2:
        return BlockLoad(0, 0)
    moved = np.linalg.norm(np.diff(path.points[rows], axis=0), axis=1) > 0
    ends = np.asarray(at)[rows[1:]][moved]
    within = np.searchsorted(ends, ends + 1.0, side="left") - np.arange(len(ends))
    return BlockLoad(len(ends), int(within.max()) if len(ends) else 0)
