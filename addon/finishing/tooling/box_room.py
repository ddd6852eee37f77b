"""Where the tool's axis may stand beside keep-out boxes: cutter, shank and nut keep their room from each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..core.array_types import FloatArray, Mask
from ..core.grid import Grid
from ..job.keep_out import KeepOut
from .clearance import ROOM
from .free_height import ToolOutline
from .surroundings import StockBefore


def beside_boxes(tip: FloatArray, grid: Grid, outline: ToolOutline, boxes: Sequence[KeepOut]) -> Mask:
    """Axis positions (rows, columns) at which some part of the tool comes nearer to a box than its room.

    tip: height of the tip (rows, columns), -inf where it is nowhere. The ball with the flanks above it touches a box where the distance in
    plan and the height of its centre above the box, if it is above it, together come to less than the radius; shank and nut are cylinders
    from their heights above the tip on.
    """
    barred = np.zeros(grid.shape, bool)
    x, y, widest = grid.x(), grid.y(), outline.widest + ROOM
    for box in boxes:
        near_x, near_y = (np.flatnonzero((at > low - widest) & (at < high + widest)) for at, low, high in zip((x, y), box.low, box.high, strict=False))
        if len(near_x) == 0 or len(near_y) == 0:
            continue
        here = slice(near_y[0], near_y[-1] + 1), slice(near_x[0], near_x[-1] + 1)
        own = tip[here]
        height = np.where(own > -np.inf, own, np.inf).astype(np.float64)
        places = np.stack(np.meshgrid(x[here[1]], y[here[0]]), axis=-1)
        away = box.squared_distances(places.reshape(-1, 2)).reshape(own.shape)
        over = np.maximum(height + outline.radius - box.high[2], 0.0)
        barred[here] |= away + over**2 < (outline.radius + ROOM) ** 2
        if outline.flank is not None:
            barred[here] |= height - ROOM + outline.flank.with_room(ROOM).height(np.sqrt(away)) < box.high[2]
        for part in outline.parts:
            barred[here] |= (away < part.radius**2) & (height + part.above < box.high[2] + ROOM)
    return barred


@dataclass(frozen=True)
class BesideBody:
    """Places beside the body where the tool may come down: off its outline, and with room for its widest part beside every keep-out box.

    grid, body: heights (rows, columns) of the body, -inf beside it. room: mm.
    """

    grid: Grid
    body: FloatArray
    boxes: tuple[KeepOut, ...]
    room: float

    def holds(self, places: FloatArray) -> Mask:
        """Whether places (n, 2) are such, (n,)."""
        row, column = self.grid.nearest(places)
        found = self.body[row, column] == -np.inf
        for box in self.boxes:
            found &= box.squared_distances(places) >= self.room**2
        return found


def beside_body(before: StockBefore, outline: ToolOutline, boxes: tuple[KeepOut, ...]) -> BesideBody:
    """Where a tool may come down beside the body."""
    return BesideBody(before.grid, before.body, boxes, outline.widest + ROOM)
