"""Pass lines of one cutter in plan: level lines of the chosen distance field, valley lines, and lines that close gaps."""

from __future__ import annotations

from collections.abc import Generator

import numpy as np

from ..ball.axis_region import AxisRegion
from ..core.array_types import FloatArray, Mask
from ..core.grid import Grid
from ..core.level_lines import level_lines
from ..core.masks import grown
from ..core.polyline import all_resampled, all_smoothed, clipped
from ..core.stepping import within
from .crest_balance import balanced_steps
from .crest_meter import CrestMeter
from .gap_closing import doubtful_ground, gap_steps, peak_steps, with_gaps_closed
from .laid_lines import SHORTEST_LINE, LaidLine
from .pass_ground import PassGround
from .starts import PassField
from .valleys import valley_lines

SMOOTHING_ROUNDS = 4
"""Rounds of smoothing of a level line: it has a vertex on every edge of a cell, and a small corner at each."""

GAP_ROUNDS = 2
"""Detours may leave a corner open: gaps are looked for again once."""

GAP_SPACINGS = 4.0
"""Flat-ground spacings round closed gaps in which a corner may be open still: twice as far as a detour may lead from its line."""

PEAK_ROUNDS = 2
"""A detour over one peak may leave another beside it."""


def lay_passes(
    field: PassField, ground: PassGround, region: AxisRegion, tip: FloatArray, grid: Grid, meter: CrestMeter
) -> Generator[float, None, tuple[LaidLine, ...]]:
    """Lay the pass lines of a solved field: valleys, then level lines evened out, then gaps and peaks. Yields shares done.

    tip: tip surface (rows, columns) on grid, the fine one that region lives on too.
    """
    valleys: list[FloatArray] = []
    if ground.kinked.any():
        along = valley_lines(tip, grid, ground.kinked, region.cutting, SHORTEST_LINE)
        valleys = [points for _, points in clipped(along, region.may_cut, SHORTEST_LINE)]
    yield 0.1
    meeting, border = doubtful_ground(field, ground)

    def lines_of(stretched: PassField, near: Mask) -> list[FloatArray]:
        """Level lines (n, 2) of a field as they are cut, where `near` is set."""
        return [line.points for line in _level_passes(stretched, ground, region, near)]

    field, crests = yield from within(balanced_steps(field, ground.metric, lines_of, valleys, meeting, meter), 0.1, 0.7)
    laid = _level_passes(field, ground, region) + [LaidLine(points, "valley", None, None) for points in valleys]
    return (yield from within(_closed_steps(laid, meeting, border, crests, ground, region, meter), 0.7, 1.0))


def _level_passes(field: PassField, ground: PassGround, region: AxisRegion, near: Mask | None = None) -> list[LaidLine]:
    """The level lines of a field, smoothed and cut to the region. near: cells where lines are wanted, None for all."""
    cell = ground.metric.grid.cell
    solved = field.solved
    levels = level_lines(field.distance, ground.metric.grid, field.first, solved if near is None else solved & near)
    smooth = all_smoothed(all_resampled([line.whole for line in levels], cell), SMOOTHING_ROUNDS, [line.closed for line in levels])
    return [
        # The field grows to the left of a level line; on the far side of a start through the middle the next level lies right.
        LaidLine(points, "level", levels[number].level, field.first + levels[number].level >= 0)
        for number, points in clipped(smooth, region.may_cut, SHORTEST_LINE)
    ]


def _closed_steps(
    laid: list[LaidLine], meeting: Mask, border: Mask, crests: Mask, ground: PassGround, region: AxisRegion, meter: CrestMeter
) -> Generator[float, None, tuple[LaidLine, ...]]:
    """The lines with gaps and peaks closed; yields shares done. meeting, border: cells that may lie in a gap, as of `gap_steps`. crests: cells
    of crests that stand too high still.
    """
    metric_grid, ridges = ground.metric.grid, meeting | crests
    for number in range(GAP_ROUNDS):
        low, high = (2 / 3 * (number + k) / GAP_ROUNDS for k in (0, 1))
        gaps = yield from within(gap_steps(laid, meeting, border, ground, region, meter), low, high)
        if not gaps:
            break
        laid = with_gaps_closed(laid, gaps, ground, region)
        # Near what was closed only, a corner may be open still.
        near = np.zeros(meeting.shape, bool)
        near[metric_grid.nearest(np.concatenate(gaps))] = True
        near = grown(near, metric_grid.cell, GAP_SPACINGS * meter.spacing)
        meeting, border = meeting & near, border & near
    for number in range(PEAK_ROUNDS):
        low, high = (2 / 3 + 1 / 3 * (number + k) / PEAK_ROUNDS for k in (0, 1))
        peaks = yield from within(peak_steps(laid, ridges, ground, region, meter), low, high)
        if not peaks:
            break
        laid = with_gaps_closed(laid, peaks, ground, region)
    return tuple(laid)
