"""Pass lines along the rims of the planned ground: outline, openings, skipped ground, walls.

Passes end at a border on the slant and leave ridges beside it, up to some times the cusp height. One line along the border cuts them down.
"""

from __future__ import annotations

import numpy as np

from ..ball.axis_region import AxisRegion
from ..core.array_types import FloatArray, Mask
from ..core.level_lines import level_lines
from ..core.masks import distance_to, grown
from ..core.polyline import clipped, resampled, smoothed, travelled

AWAY_CELLS = 1.2
"""Distance in cells from where lines may not run: the nearest cells lie one away, and smoothing must not push the line off them."""

MEASURED_CELLS, KNOWN_CELLS = 4.0, 3.5
"""Cells from there up to which the distance is measured, and up to which it counts."""

STRAY_CELLS = 2.0
"""Cells beside ground to be finished up to which a line along its border still counts as lying on it."""

SHORTEST_RIM = 6.0
"""mm; shorter pieces are not worth a line: common practice, no source."""

STEP_CELLS, SMOOTHING_ROUNDS = 2.0, 3
"""Cells between the points of a line, and rounds of smoothing: the distance to a set of cells has its staircase."""


def rim_lines(region: AxisRegion, planned: Mask) -> list[FloatArray]:
    """Lines (n, 2) along the border of where lines may run, as far as their contacts lie on ground to be finished.

    planned: such ground, (rows, columns) on the region's grid; bridges and strips of flats are none.
    """
    grid = region.grid
    away = distance_to(~region.cutting, grid.cell, MEASURED_CELLS * grid.cell).astype(np.float64)
    known = away < KNOWN_CELLS * grid.cell
    found = []
    for line in level_lines(away, grid, AWAY_CELLS * grid.cell, known):
        points = line.whole
        if line.level == 0 and travelled(points)[-1] >= SHORTEST_RIM:
            found.append(smoothed(resampled(points, STEP_CELLS * grid.cell), SMOOTHING_ROUNDS, closed=line.closed))

    # Between the cells a line may stray onto a rim, where it may run too; a gap there would cost a lift.
    near = grown(planned, grid.cell, STRAY_CELLS * grid.cell)

    def on_ground(points: FloatArray) -> Mask:
        row, column = grid.nearest(points)
        return region.linking[row, column] & near[region.contact_row[row, column], region.contact_column[row, column]]

    return [points for _, points in clipped(found, on_ground, SHORTEST_RIM)]
