"""How much pass lines may be trimmed at the border of the planned ground, so that the turn to the next line stays on it.

A turn between two lines is about as deep as half their distance. Begun at the border it runs over it, through air or over a rim;
begun so much before, it reaches the border itself and cuts what the lines leave there.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ..ball.axis_region import AxisRegion
from ..core.array_types import FloatArray
from ..core.cusp_formulas import spacing_on_flat
from ..core.path import NO_LENGTH
from ..core.polyline import is_closed
from ..passes.cusp_metric import CuspMetric
from .route import RunLine

BEYOND_CELLS = np.array([1.5, 3.0, 4.5])
"""How many cells beyond its end a line is asked for whether it could go on. Where it could at all of them, it does not end at the border;
one alone may lie in a corner of it, where a line meets the border on the slant."""

TRIMMED_SHARE = 0.5
"""Share of the spacing by which a line may end early: the next line's turn, half a spacing deep, then reaches the border itself."""


def with_end_trims(lines: list[RunLine], region: AxisRegion, metric: CuspMetric) -> list[RunLine]:
    """The lines with what they may lose at their ends, as by `end_trims`."""
    trims = end_trims([line.points for line in lines], region, metric)
    return [replace(line, trim=(first, last)) for line, (first, last) in zip(lines, trims.tolist(), strict=True)]


def end_trims(lines: list[FloatArray], region: AxisRegion, metric: CuspMetric) -> FloatArray:
    """mm by which lines (n, 2 or 3) may be shortened at their beginning and at their end, (number of lines, 2).

    Half of the step along the line that leaves the cusp height, in plan, and no more on the ground than half of the spacing on
    flat ground: beyond that the ground beside the ends would stand higher farther in than the border, which the proof reports
    separately. Nothing where a line ends amid ground that may be cut, or is closed.
    """
    if not lines:
        return np.zeros((0, 2))
    ends = np.array([[line[0, :2], line[-1, :2]] for line in lines])
    outward = np.array([[line[0, :2] - line[1, :2], line[-1, :2] - line[-2, :2]] for line in lines])
    outward /= np.maximum(np.hypot(outward[..., 0], outward[..., 1]), NO_LENGTH)[..., None]
    beyond = ends[..., None, :] + region.grid.cell * BEYOND_CELLS[:, None] * outward[..., None, :]
    goes_on = region.may_cut(beyond.reshape(-1, 2)).reshape(-1, 2, len(BEYOND_CELLS)).all(axis=2)
    cell = metric.grid.nearest(ends.reshape(-1, 2))
    xx, xy, yy, rise_x, rise_y = (part[cell].reshape(-1, 2) for part in (metric.xx, metric.xy, metric.yy, metric.slope_x, metric.slope_y))
    x, y = outward[..., 0], outward[..., 1]
    unit = 1 / np.sqrt(xx * x * x + 2 * xy * x * y + yy * y * y)
    flat = float(spacing_on_flat(metric.radius, metric.cusp))
    # On ground of radius r the axis moves (r - R) / r as far as the contact; the square of the unit on the slope gives that share.
    axis_share = (unit / flat) ** 2 * (1 + (rise_x * x + rise_y * y) ** 2)
    trims = np.minimum(unit, flat * axis_share) * TRIMMED_SHARE
    closed = np.array([is_closed(line) for line in lines])
    return np.where(goes_on | closed[:, None], 0.0, trims)
