"""Ground that a larger cutter leaves, wanted by the next smaller one."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass

import numpy as np

from ..core.grid import FloatArray
from ..core.masks import Mask, grown
from ..job.cutter import Cutter
from ..job.ground_settings import RegionSettings
from ..surface.side import Side, side_ground
from .axis_region import TURNING_CELLS
from .cutter_view import cutter_view_steps, rim_cells


@dataclass(frozen=True)
class RestGround:
    """What a larger cutter leaves, on the side's grid, (rows, columns). wanted: cells for a smaller one. left: the surface that it leaves."""

    wanted: Mask
    left: FloatArray


def rest_steps(side: Side, larger: Cutter, settings: RegionSettings, tolerance: float, overlap: float) -> Generator[float, None, RestGround]:
    """What a larger cutter leaves higher than the tolerance, with an overlap round it.

    tolerance, overlap: mm. Yields shares done.
    """
    ground = side_ground(side, settings, larger.diameter)
    view = yield from cutter_view_steps(ground.heights, side.grid, larger)
    rim = rim_cells(larger, side.grid)
    left = ground.planned & (view.uncut[rim:-rim, rim:-rim] > tolerance)
    # Contacts of lines keep this far from what is not wanted (ground.py, region.py), so it is added to the overlap.
    cell = side.grid.cell
    kept = max(settings.skip_margin, cell) + (1 + TURNING_CELLS) * cell
    wanted = grown(left, cell, overlap + kept) if left.any() else np.zeros_like(left)
    return RestGround(wanted, view.left[rim:-rim, rim:-rim])
