"""Lines along the borders of skipped ground, so that pass lines which end there on the slant leave no ridge beside it."""

from __future__ import annotations

import numpy as np

from ..ball.axis_region import AxisRegion
from ..core.array_types import FloatArray
from ..core.level_lines import level_lines
from ..core.masks import distance_to
from ..core.polyline import clipped, resampled, smoothed, travelled

AWAY_CELLS = 1.6
"""Distance in cells from what skipping takes away at which the lines run: just clear of the nearest cells, diagonal ones too (1.41), so
that smoothing does not push them off the ground that may be cut."""

MEASURED_CELLS, KNOWN_CELLS = 4.0, 3.5
"""Cells from what skipping takes away up to which the distance is measured, and up to which it counts: beyond, the measured distance is
cut off, and a level line between there would follow the cut."""

SHORTEST_BORDER = 4.0
"""mm; shorter pieces are not worth a line."""

STEP_CELLS, SMOOTHING_ROUNDS = 2.0, 3
"""Cells between the points of a line, and rounds of smoothing: the distance to a set of cells has its staircase."""


def skip_border_lines(bare: AxisRegion, remaining: AxisRegion) -> list[FloatArray]:
    """Lines (n, 2) round the axis positions that skipping takes away.

    bare: the region as if nothing were skipped. remaining: what skipping leaves of it, on the same grid.
    """
    taken = bare.cutting & ~remaining.cutting
    if not taken.any():
        return []
    grid = remaining.grid
    away = distance_to(taken, grid.cell, MEASURED_CELLS * grid.cell).astype(np.float64)
    known = away < KNOWN_CELLS * grid.cell
    found = []
    for line in level_lines(away, grid, AWAY_CELLS * grid.cell, known):
        points = line.whole
        if line.level == 0 and travelled(points)[-1] >= SHORTEST_BORDER:
            found.append(smoothed(resampled(points, STEP_CELLS * grid.cell), SMOOTHING_ROUNDS, closed=line.closed))
    return [points for _, points in clipped(found, remaining.may_cut, SHORTEST_BORDER)]
