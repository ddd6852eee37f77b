"""Ground that a larger cutter leaves, wanted by the next smaller one."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..core.array_types import FloatArray, Mask
from ..core.masks import grown
from ..surface.ground import Ground
from .axis_region import TURNING_CELLS
from .cutter_view import CutterView


@dataclass(frozen=True)
class RestGround:
    """What a larger cutter leaves, on the side's grid, (rows, columns). left: cells that stand too high after it; wanted: those for a smaller
    cutter, with an overlap round them. surface: what it leaves.
    """

    left: Mask
    wanted: Mask
    surface: FloatArray


def rest_ground(view: CutterView, ground: Ground, tolerance: float, skip_margin: float, overlap: float) -> RestGround:
    """What a larger cutter leaves higher than the tolerance, with an overlap round it; all mm.

    view, ground: the larger cutter's own, with the rim of its radius round the side's grid.
    """
    inner = slice(view.rim, -view.rim), slice(view.rim, -view.rim)
    left = ground.planned[inner] & (view.uncut[inner] > tolerance)
    # Contacts of lines keep this far from what is not wanted (ground.py, axis_region.py), so it is added to the overlap.
    cell = view.grid.cell
    kept = max(skip_margin, cell) + (1 + TURNING_CELLS) * cell
    wanted = grown(left, cell, overlap + kept) if left.any() else np.zeros_like(left)
    return RestGround(left=left, wanted=wanted, surface=view.closing[inner])
