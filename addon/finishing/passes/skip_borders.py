"""Lines along the borders of skipped ground, so that pass lines which end there on the slant leave no ridge beside it."""

from __future__ import annotations

import numpy as np

from ..ball.axis_region import AxisRegion
from ..core.grid import FloatArray
from ..core.level_lines import level_lines
from ..core.masks import distance_to
from ..core.polyline import clipped, resampled, smoothed, travelled

AWAY_CELLS = 1.6
"""Distance in cells from what skipping takes away at which the lines run."""

SHORTEST_BORDER = 4.0
"""mm; shorter pieces are not worth a line."""


def skip_border_lines(bare: AxisRegion, left: AxisRegion) -> list[FloatArray]:
    """Lines (n, 2) round the axis positions that skipping takes away.

    bare: the region as if nothing were skipped. left: what skipping leaves of it, on the same grid.
    """
    taken = bare.cutting & ~left.cutting
    if not taken.any():
        return []
    grid = left.grid
    away = distance_to(taken, grid.cell, 4 * grid.cell).astype(np.float64)
    known = away < 3.5 * grid.cell
    found = []
    for line in level_lines(away, grid, AWAY_CELLS * grid.cell, known):
        points = line.whole
        if line.level == 0 and travelled(points)[-1] >= SHORTEST_BORDER:
            found.append(smoothed(resampled(points, 2 * grid.cell), rounds=3, closed=line.closed))
    return [points for _, points in clipped(found, left.may_cut, SHORTEST_BORDER)]
