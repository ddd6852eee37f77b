"""Ground that a larger cutter leaves, wanted by the next smaller one."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..core.array_types import FloatArray, Mask
from ..core.masks import connected_parts, grown
from ..surface.ground import Ground
from .axis_region import TURNING_CELLS
from .cutter_view import CutterView

LEAST_PART = 1.0
"""mm2; what is left in a smaller piece is gone with the sanding beside it: common practice, no source. It is no work for a smaller cutter, and none by
hand. The cells along the upper edge of a wall, of which some lie half on the wall, are such pieces."""

PART_GAP = 1.0
"""mm between cells of one piece: a crease that shows only in some of its cells is one piece all along."""


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
    cell, planned = view.grid.cell, ground.planned[inner]
    left = planned & (view.uncut[inner] > tolerance)
    parts = connected_parts(grown(left, cell, PART_GAP / 2) & planned)
    left &= (np.bincount(parts[left], minlength=int(parts.max(initial=0)) + 1) * view.grid.cell_area >= LEAST_PART)[parts]
    # Contacts of lines keep this far from what is not wanted (ground.py, axis_region.py), so it is added to the overlap.
    kept = max(skip_margin, cell) + (1 + TURNING_CELLS) * cell
    wanted = grown(left, cell, overlap + kept) if left.any() else np.zeros_like(left)
    # An overlap does not reach over a wall: on its other side nothing is left.
    parts = connected_parts(wanted & planned)
    holds_left = np.zeros(int(parts.max(initial=0)) + 1, bool)
    holds_left[parts[left]] = True
    holds_left[0] = True  # what was no ground for the larger cutter may be some for a smaller one
    wanted &= holds_left[parts]
    return RestGround(left=left, wanted=wanted, surface=view.closing[inner])
