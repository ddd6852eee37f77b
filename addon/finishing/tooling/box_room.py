"""Where the tool's axis may stand beside keep-out boxes: cutter, shank and nut keep their room from each."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..core.array_types import FloatArray, Mask
from ..core.grid import Grid
from ..job.cutter import Cutter
from ..job.keep_out import KeepOut
from ..job.machine import Machine
from .clearance import ROOM, tool_parts


def beside_boxes(tip: FloatArray, grid: Grid, cutter: Cutter, machine: Machine, boxes: Sequence[KeepOut]) -> Mask:
    """Axis positions (rows, columns) at which some part of the tool comes nearer to a box than its room.

    tip: height of the tip (rows, columns), -inf where it is nowhere. The ball with the flanks above it touches a box where the distance in
    plan and the height of its centre above the box, if it is above it, together come to less than the radius; shank and nut are cylinders
    from their heights above the tip on.
    """
    barred = np.zeros(grid.shape, bool)
    height = np.where(tip > -np.inf, tip, np.inf).astype(np.float64)
    parts = tool_parts(cutter, machine)
    for box in boxes:
        along_x = np.maximum(np.maximum(box.low[0] - grid.x(), grid.x() - box.high[0]), 0.0)
        along_y = np.maximum(np.maximum(box.low[1] - grid.y(), grid.y() - box.high[1]), 0.0)
        away = along_x**2 + along_y[:, None] ** 2
        over = np.maximum(height + cutter.radius - box.high[2], 0.0)
        barred |= away + over**2 < (cutter.radius + ROOM) ** 2
        for part in parts:
            barred |= (away < (part.radius + ROOM) ** 2) & (height + part.above < box.high[2] + ROOM)
    return barred
