"""Pass lines along the rims of the planned ground: outline, openings, skipped ground, walls.

Passes end at a border on the slant and leave ridges beside it, up to some times the cusp height. One line along the border cuts them down.
"""

from __future__ import annotations

from collections.abc import Callable, Generator

import numpy as np

from ..ball.axis_region import AxisRegion
from ..core.array_types import FloatArray, Mask
from ..core.level_lines import level_lines
from ..core.masks import distance_to, grown
from ..core.path import NO_LENGTH
from ..core.polyline import clipped, resampled, smoothed, travelled
from ..core.stepping import within
from .crest_meter import CrestMeter
from .gaps import COVERED, JOINED, gap_lines
from .laid_lines import SHORTEST_LINE

AWAY_CELLS = 1.2
"""Distance in cells from where lines may not run: the nearest cells lie one away, and smoothing must not push the line off them."""

MEASURED_CELLS, KNOWN_CELLS = 4.0, 3.5
"""Cells from there up to which the distance is measured, and up to which it counts."""

STRAY_CELLS = 2.0
"""Cells beside ground to be finished up to which a line along its border still counts as lying on it."""

SHORTEST_RIM = 6.0
"""mm; shorter pieces are not worth a line: common practice, no source."""

TOLERATED_RIM = 1.2
"""Cusp over the asked one from which ground beside a pass along the rims gets a short line of its own: what this project wants at most there."""

NEARBY_RIM = (JOINED / COVERED) ** 2
"""Cusp over the asked one from which ground beside such a place belongs to its gap too."""

GAP_ROUNDS = 2
"""Short lines may leave a place beside them, or not be as exactly in a crease as it takes: what still stands is looked for once more."""

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


def rim_gap_steps(
    lines: list[FloatArray], lifted: Callable[[list[FloatArray]], Generator[float, None, list[FloatArray]]], region: AxisRegion, meter: CrestMeter
) -> Generator[float, None, list[FloatArray]]:
    """Short lines (n, 2) where the border still stands too high between a pass along the rims and the pass lines beside it.

    lines: both, (n, 3), as they are run. lifted: gives lines (n, 2) their exact heights, in steps. Yields shares done.
    """
    grid, found = region.grid, list[FloatArray]()
    for number in range(GAP_ROUNDS):
        low, middle, high = ((number + part) / GAP_ROUNDS for part in (0, 0.8, 1))
        yield low
        row, column, excess = yield from within(meter.border_excess_steps(meter.swept_at(lines)), low, middle)
        near = excess > NEARBY_RIM
        distance = np.zeros(grid.shape)
        np.maximum.at(distance, grid.nearest(meter.lowest_over(row[near], column[near])), COVERED * np.sqrt(excess[near]))
        distance[~region.cutting] = 0.0
        gaps = [_at_least(gap, SHORTEST_LINE) for gap in gap_lines(grid, distance, distance > 0, TOLERATED_RIM, SHORTEST_LINE)]
        gaps = [points for _, points in clipped(gaps, region.may_cut, SHORTEST_LINE / 2)]
        if not gaps:
            break
        found += gaps
        if number + 1 < GAP_ROUNDS:
            lines = [*lines, *(yield from within(lifted(gaps), middle, high))]
    return found


def _at_least(line: FloatArray, length: float) -> FloatArray:
    """A line (n, 2), drawn on straight at both its ends where it is shorter than some length in mm."""
    lacking = length - float(travelled(line)[-1])
    if lacking <= 0:
        return line
    ahead = line[-1] - line[0]
    aside = lacking / 2 * ahead / max(float(np.hypot(*ahead)), NO_LENGTH)
    return np.concatenate([line[:1] - aside, line, line[-1:] + aside])
