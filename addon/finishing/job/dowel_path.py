"""The way of the drill through the dowel holes: pecks, with the chips brought up after each."""

from __future__ import annotations

import numpy as np

from ..core.array_types import FloatArray
from ..core.path import ENTRY, LIFT, Path
from .dowels import DowelSettings

CLEARANCE = 1.0
"""mm above the stock where the drill's rapid move ends, and to which it comes up after every peck: common practice, no source."""

ABOVE_THE_LAST = 0.5
"""mm above the last depth where the way back down at air speed ends, since chips may lie there: common practice, no source."""

PECK_ROUNDING = 1e-9
"""Share of a peck by which a depth may exceed a whole number of pecks through rounding without another one."""


def dowel_path(holes: FloatArray, settings: DowelSettings, stock_top: float, spoilboard: float, safe_z: float, air_feed: float) -> Path:
    """The motion from above the first hole to above the last one; holes are numbered as lines.

    holes: centres (n, 2) in job mm. stock_top, spoilboard, safe_z: heights in job mm. air_feed: mm/min of what goes through the air.
    """
    rows: list[tuple[float, float, float, int, int, float]] = []
    bottom, above = spoilboard - settings.depth, min(safe_z, stock_top + CLEARANCE)
    pecks = int(np.ceil((stock_top - bottom) / settings.peck - PECK_ROUNDING))
    depths = [max(bottom, stock_top - number * settings.peck) for number in range(1, pecks + 1)]
    for hole, (x, y) in enumerate(holes.tolist(), start=1):
        rows += [(x, y, safe_z, LIFT, hole, air_feed), (x, y, above, LIFT, hole, air_feed)]
        for number, depth in enumerate(depths):
            if number:
                rows.append((x, y, min(above, depths[number - 1] + ABOVE_THE_LAST), LIFT, hole, air_feed))
            rows += [(x, y, depth, ENTRY, hole, settings.feed), (x, y, above, LIFT, hole, air_feed)]
        rows.append((x, y, safe_z, LIFT, hole, air_feed))
    table = np.array(rows, float).reshape(-1, 6)
    return Path(table[:, :3], table[:, 3].astype(np.uint8), table[:, 4].astype(np.int32), table[:, 5])
