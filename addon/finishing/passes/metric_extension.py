"""The cusp metric of the planned ground continued over everything round it, so that fronts may cross rims, walls, pockets and the outside."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ..core.array_types import FloatArray, Mask
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
    """Means total/weight, (rows, columns); where the weight is 0, from ever coarser means. Each level halves the cells."""
    certain = weight > 0
    mean = np.divide(total, weight, out=np.zeros_like(total), where=certain)
    if max(total.shape) < 2 or bool(certain.all()):
        return mean if certain.any() else np.ones_like(total)
    coarse = _filled(_summed_by_fours(total), _summed_by_fours(weight))
    _fill(mean, ~certain, coarse)
    return mean


def _summed_by_fours(values: FloatArray) -> FloatArray:
    """Sums over blocks of 2 x 2 cells; beyond the border stands 0."""
    rows, columns = values.shape
    out = np.empty((-(-rows // 2), -(-columns // 2)))
    for _wide, _own, strip in strips(rows):  # of an even number of rows, all but the last
        some = values[strip]
        wide = np.pad(some, ((0, len(some) % 2), (0, columns % 2))) if len(some) % 2 or columns % 2 else some
        fours = wide.reshape(wide.shape[0] // 2, 2, wide.shape[1] // 2, 2)
        out[strip.start // 2 : -(-strip.stop // 2)] = fours.sum(axis=(1, 3))
    return out


def _fill(values: FloatArray, where: Mask, coarse: FloatArray) -> None:
    """Set some cells to the values of blocks of 2 x 2 cells: bilinear, at the quarter points between block centres."""
    rows, columns = values.shape
    padded = np.pad(coarse, 1, mode="edge")
    near_row = np.arange(rows) // 2 + 1
    far_row = near_row + np.where(np.arange(rows) % 2, 1, -1)
    near_column = np.arange(columns) // 2 + 1
    far_column = near_column + np.where(np.arange(columns) % 2, 1, -1)
    for _wide, _own, strip in strips(rows):
        by_row = 0.75 * padded[near_row[strip]] + 0.25 * padded[far_row[strip]]
        refined = 0.75 * by_row[:, near_column] + 0.25 * by_row[:, far_column]
        np.copyto(values[strip], refined, where=where[strip])
