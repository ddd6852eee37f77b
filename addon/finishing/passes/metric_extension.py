"""The cusp metric of the planned ground continued over everything round it, so that fronts may cross rims, walls, pockets and the outside."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ..core.array_types import FloatArray, Indices, Mask
from ..core.filters import blur, strips
from .cusp_metric import CuspMetric

LEAST_WEIGHT = 1e-6
"""Blurred weight of known cells below which their mean is nothing but rounding; such cells are filled from farther away."""


def extended_metric(metric: CuspMetric, known: Mask, smoothing: float) -> CuspMetric:
    """The metric smoothed over the `known` cells alone and continued beyond them from the nearest known ground.

    known: (rows, columns) bool. smoothing: standard deviation in mm. What lies beyond never changes the metric of
    the planned ground, and fronts that cross it keep the pace of the planned ground round it.
    """
    deviation = smoothing / metric.grid.cell
    weight = blur(known.astype(np.float32), deviation)
    enough, certain = weight > LEAST_WEIGHT, known.astype(np.float64)

    def smoothed(values: FloatArray) -> FloatArray:
        """One part of the metric, (rows, columns), 0 beyond the known cells."""
        alone = np.zeros(values.shape, np.float32)
        np.copyto(alone, values, where=known, casting="same_kind")
        total = blur(alone, deviation)
        alone.fill(0.0)
        return np.divide(total, weight, out=alone, where=enough) * certain

    # One by one, so that a metric which nobody else holds goes as it is extended.
    metric = replace(metric, xx=_filled(smoothed(metric.xx), certain))
    metric = replace(metric, xy=_filled(smoothed(metric.xy), certain))
    return replace(metric, yy=_filled(smoothed(metric.yy), certain))


def _filled(total: FloatArray, weight: FloatArray) -> FloatArray:
    """Means total/weight, (rows, columns); where the weight is 0, from ever coarser means. Each level halves the cells.

    The coarser cells lie alike from either end of a row or column, so that a body turned on the table is continued as before.
    """
    certain = weight > 0
    mean = np.divide(total, weight, out=np.zeros_like(total), where=certain)
    if max(total.shape) < 2 or bool(certain.all()):
        return mean if certain.any() else np.ones_like(total)
    coarse = _filled(*(_summed_by_twos(_summed_by_twos(values).T).T for values in (total, weight)))
    _fill(mean, ~certain, coarse)
    return mean


def _summed_by_twos(rows: FloatArray) -> FloatArray:
    """Sums over two rows (n, ...) each. Of an odd number of rows, every other one is parted in halves between its neighbours."""
    if len(rows) % 2 == 0:
        return np.asarray(rows[::2] + rows[1::2])
    out = rows[::2].copy()
    half = rows[1::2] / 2
    out[1:] += half
    out[:-1] += half
    return out


def _fill(values: FloatArray, where: Mask, coarse: FloatArray) -> None:
    """Set some cells to the values of the sums by twos along both axes: straight between their middles, the outermost repeated beyond."""
    near_row, far_row, near = _beside(values.shape[0])
    near_column, far_column, nearer = _beside(values.shape[1])
    for _wide, _own, strip in strips(len(values)):
        by_row = near * coarse[near_row[strip]] + (1 - near) * coarse[far_row[strip]]
        refined = nearer * by_row[:, near_column] + (1 - nearer) * by_row[:, far_column]
        np.copyto(values[strip], refined, where=where[strip])


def _beside(count: int) -> tuple[Indices, Indices, float]:
    """Of so many rows: the sum by twos whose middle lies nearest to each, (count,), the next one on its other side, and the weight of the former."""
    row = np.arange(count)
    near = row // 2
    if count % 2:  # each row lies on a middle, or half-way between two
        return near, near + row % 2, 0.5
    return near, np.clip(near + np.where(row % 2, 1, -1), 0, count // 2 - 1), 0.75
