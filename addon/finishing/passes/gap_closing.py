"""Gaps and peaks that level lines leave, found where they may be and closed: where fronts meet, and along the border.

By the cusp metric a gap is ground more than half a unit from every line. Where that metric overrates a gap (beside a valley line, in which
the ball rests on both flanks) or cannot see one (a peak between the tips of lines, narrower than a cell), a simulated cut decides.
"""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import replace

import numpy as np

from ..ball.axis_region import AxisRegion
from ..core.array_types import FloatArray, Mask
from ..core.cusp_formulas import spacing_on_flat
from ..core.filters import gradient
from ..core.grid import Grid
from ..core.masks import grown
from ..core.polyline import clipped, resampled, travelled
from ..core.stepping import within
from ..simulation.swept_ball import SweptBall
from .crest_meter import CrestMeter
from .detours import spliced
from .gaps import COVERED, LOW_PERCENTILE, distance_to_lines, gap_lines
from .laid_lines import SHORTEST_LINE, LaidLine
from .pass_ground import PassGround
from .starts import PassField

TOLERATED_CUSP = 1.06
"""A gap between lines is closed where its cusp would pass this multiple of the asked height."""

TOLERATED_PEAK = 1.06
"""As TOLERATED_CUSP, for peaks that a simulated cut has found."""

LEAST_PACE = 0.9
"""Squared gradient of the field, in the metric, below which fronts meet and level lines may lie too far apart."""

LONGEST_BORDER_GAP = 20.0
"""mm; longer gaps along the border are closed wherever they lie."""

LONGEST_DETOUR = 15.0
"""mm; a longer gap is a line of its own."""

DETOUR_SPACINGS = 2.0
"""Flat-ground spacings between a line and a gap that it may run through: the lines on either side of the gap, and those behind them."""

SHORTEST_PIECE_CELLS = 0.25
"""Cells; a shorter piece of a gap on ground that may be cut is what clipping leaves at a corner of a cell."""

SWEPT_SPACINGS = 3.0
"""Flat-ground spacings round measured places within which lines are swept: no farther one touches the ground there."""

ASIDE_SPACINGS = 0.25
"""Flat-ground spacings to both sides of a gap's middle at which its cusp is measured too, since the crest may lie off the middle."""

MIDDLE_AND_CORNERS = np.array([(0, 0), (-1, -1), (-1, 1), (1, -1), (1, 1)])
"""Places of a cell, in halves of its edge from its middle."""

RIDGE_CELLS = 2.0
"""Cells round a ridge in which peaks are looked for too: where the fronts meet is known to a cell, diagonal ones too, and where a ridge ends the last
peak stands half a cell beyond."""

PEAK_NEARBY = 0.6
"""Measured cusp over the asked one, at the middle of a quarter of a cell, from which the rest of the quarter is looked at."""

PEAK_CLIMBS = 2
"""How often the steps to a peak get three times smaller: the last is an 18th of a cell's edge."""


def doubtful_ground(field: PassField, ground: PassGround) -> tuple[Mask, Mask]:
    """Planned cells that level lines may leave uncovered, (rows, columns) each: where fronts meet, and near the border.

    Elsewhere the distance field grows by one unit per unit, so that a level line lies within half a unit of every cell.
    """
    metric, inside = ground.metric, ground.inside
    pace = metric.inverse_squared(*gradient(np.where(field.solved, field.distance, 0.0), metric.grid.cell))
    unit = 1 / np.sqrt(np.percentile((metric.xx + metric.yy)[inside] / 2, LOW_PERCENTILE)) if inside.any() else metric.grid.cell
    return ground.wanted & grown(pace < LEAST_PACE, metric.grid.cell, unit / 2), ground.wanted & grown(~inside, metric.grid.cell, unit)


def gap_steps(
    laid: list[LaidLine], meeting: Mask, border: Mask, ground: PassGround, region: AxisRegion, meter: CrestMeter
) -> Generator[float, None, list[FloatArray]]:
    """Gaps (n, 2) between laid lines that want closing; yields shares done.

    meeting, border: cells that may lie in a gap, where fronts meet and near the border. Along the border only long gaps are closed,
    and those that run into ground which the proof counts: others, where lines meet the border on the slant, would cost a sharp double
    turn each. A gap is left open where the cusp measured in it is tolerable.
    """
    metric = ground.metric
    lines = [line.points for line in laid]
    doubtful = ground.wanted & (meeting | border)
    distance = distance_to_lines(metric, lines, doubtful)
    gaps = gap_lines(metric.grid, distance, doubtful, TOLERATED_CUSP, SHORTEST_LINE)
    pieces = [points for _, points in clipped(gaps, region.may_cut, SHORTEST_PIECE_CELLS * metric.grid.cell)]
    uncovered = doubtful & border & (distance > COVERED * np.sqrt(TOLERATED_CUSP))
    may_stay = border & ~_near_counted(uncovered, metric.grid, meter)
    pieces = [p for p in pieces if travelled(p)[-1] > LONGEST_BORDER_GAP or not may_stay[metric.grid.nearest(p)].all()]
    places = [_across_gap(piece, meter.spacing, metric.grid.cell) for piece in pieces]
    doubted = [number for number, some in enumerate(places) if meter.measures(some).all()]
    if not doubted:
        return pieces
    near = np.zeros(ground.inside.shape, bool)
    near[metric.grid.nearest(np.concatenate([places[number] for number in doubted]))] = True
    sweep = _swept_near(near, lines, metric.grid, meter)
    if len(sweep) == 0:  # no line anywhere near: nothing is cut there
        return pieces
    yield 0.5
    tolerable = set()
    for number in doubted:
        excess = yield from meter.excess_steps(sweep, places[number])
        if excess.max() <= TOLERATED_CUSP:
            tolerable.add(number)
    return [piece for number, piece in enumerate(pieces) if number not in tolerable]


def _near_counted(uncovered: Mask, grid: Grid, meter: CrestMeter) -> Mask:
    """Cells within half a spacing of uncovered ones that reach ground which the proof counts, with their middle or with a corner."""
    out = np.zeros(uncovered.shape, bool)
    row, column = np.nonzero(uncovered)
    places = grid.middles(row, column)[:, None] + grid.cell / 2 * MIDDLE_AND_CORNERS
    counted = meter.counts(places.reshape(-1, 2)).reshape(-1, len(MIDDLE_AND_CORNERS)).any(axis=1)
    out[row[counted], column[counted]] = True
    return grown(out, grid.cell, meter.spacing / 2)


def _across_gap(piece: FloatArray, spacing: float, step: float) -> FloatArray:
    """Places (n, 2) along the middle of a gap and ASIDE_SPACINGS to both sides of it."""
    points = resampled(piece, step)
    along = np.gradient(points, axis=0)
    aside = ASIDE_SPACINGS * spacing * np.column_stack([-along[:, 1], along[:, 0]]) / np.maximum(np.hypot(along[:, 0], along[:, 1]), 1e-9)[:, None]
    return np.concatenate([points, points - aside, points + aside])


def _swept_near(cells: Mask, lines: list[FloatArray], grid: Grid, meter: CrestMeter) -> SweptBall:
    """What the ball sweeps along lines as far as they can touch the ground of some cells."""
    near = grown(cells, grid.cell, SWEPT_SPACINGS * meter.spacing)
    return meter.swept([points for _, points in clipped(lines, lambda p: near[grid.nearest(p)], grid.cell)])


def peak_steps(
    laid: list[LaidLine], ridges: Mask, ground: PassGround, region: AxisRegion, meter: CrestMeter
) -> Generator[float, None, list[FloatArray]]:
    """Gaps (n, 2) on ridges where fronts meet that only a simulated cut shows: between the tips of lines stand peaks, narrower than the cusp
    metric can see. Yields shares done.
    """
    grid = ground.metric.grid
    ridges = ground.wanted & grown(ridges, grid.cell, RIDGE_CELLS * grid.cell)
    if not ridges.any():
        return []
    sweep = _swept_near(ridges, [line.points for line in laid], grid, meter)
    quarters = grid.cell / 4 * np.array([(-1, -1), (-1, 1), (1, -1), (1, 1)])
    places = (grid.middles(*np.nonzero(ridges))[:, None] + quarters).reshape(-1, 2)
    excess = yield from within(meter.excess_steps(sweep, places), 0.0, 0.4)
    if ground.finished is not None:  # along the border of strips a detour to every corner of a cell would cost more than it mends
        excess[~meter.counts(places)] = 0.0
    high = np.flatnonzero(excess > PEAK_NEARBY)
    # The peaks are climbed to with ever smaller steps.
    top, share = places[high], 0.4
    aside = np.array([(x, y) for x in (-1, 0, 1) for y in (-1, 0, 1)])
    for step in grid.cell / 2 / 3.0 ** np.arange(1, PEAK_CLIMBS + 1):
        around = top[:, None] + step * aside
        measured = yield from within(meter.excess_steps(sweep, around.reshape(-1, 2)), share, share + 0.6 / PEAK_CLIMBS)
        share += 0.6 / PEAK_CLIMBS
        measured = measured.reshape(len(high), len(aside))
        best = measured.argmax(axis=1)
        top = around[np.arange(len(high)), best]
        excess[high] = measured[np.arange(len(high)), best]
    distance = np.zeros(grid.shape)
    distance[ridges] = COVERED * np.sqrt(excess.reshape(-1, 4).max(axis=1))
    gaps = gap_lines(grid, distance, ridges, TOLERATED_PEAK, SHORTEST_LINE)
    return [points for _, points in clipped(gaps, region.may_cut, SHORTEST_PIECE_CELLS * grid.cell)]


def with_gaps_closed(laid: list[LaidLine], gaps: list[FloatArray], ground: PassGround, region: AxisRegion) -> list[LaidLine]:
    """The lines with the gaps closed, by detours of the lines beside them or by lines of their own."""
    farthest = DETOUR_SPACINGS * float(spacing_on_flat(ground.metric.radius, ground.metric.cusp))
    lines, remaining = spliced([line.points for line in laid], gaps, region.may_cut, LONGEST_DETOUR, farthest, region.grid.cell)
    out = [replace(line, points=points) for line, points in zip(laid, lines, strict=True)]
    return out + [LaidLine(p, "gap", None, None) for p in remaining if travelled(p)[-1] >= SHORTEST_LINE]
