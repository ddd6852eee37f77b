"""Ground that a larger cutter leaves, wanted by the next smaller one."""

from __future__ import annotations

from collections.abc import Generator

import numpy as np

from .cells import Mask, grown
from .cutter import Cutter
from .cutter_view import cutter_view_steps, rim_cells
from .request import RegionSettings
from .side import Side, side_ground


def rest_steps(
    side: Side, larger: Cutter, settings: RegionSettings, tolerance: float, overlap: float
) -> Generator[float, None, Mask]:
    """Cells, (rows, columns) on the side's grid, that a larger cutter leaves higher than the tolerance, and an overlap round them.

    tolerance, overlap: mm. Yields shares done.
    """
    ground = side_ground(side, settings, larger.diameter)
    view = yield from cutter_view_steps(ground.heights, side.grid, larger)
    rim = rim_cells(larger, side.grid)
    left = ground.planned & (view.uncut[rim:-rim, rim:-rim] > tolerance)
    # Contacts keep the skip margin from what is not wanted, so it is added to the overlap.
    return grown(left, side.grid.cell, overlap + settings.skip_margin) if left.any() else np.zeros_like(left)
