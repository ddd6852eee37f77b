"""The cusp metric of the planned ground continued over everything round it, so that fronts may cross rims, walls, pockets and the outside."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ..core.array_types import FloatArray, Mask
from ..core.filters import blur
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

    def extended(values: FloatArray) -> FloatArray:
        """One part of the metric, (rows, columns)."""
        total = blur(np.where(known, values, 0.0).astype(np.float32), deviation)
        mean = np.divide(total, weight, out=np.zeros_like(total), where=weight > LEAST_WEIGHT)
        certain = known.astype(np.float64)
        return _filled(mean * certain, certain)

    return replace(metric, xx=extended(metric.xx), xy=extended(metric.xy), yy=extended(metric.yy))


def _filled(total: FloatArray, weight: FloatArray) -> FloatArray:
    """Means total/weight, (rows, columns); where the weight is 0, from ever coarser means. Each level halves the cells."""
    mean = np.divide(total, weight, out=np.zeros_like(total), where=weight > 0)
    if max(total.shape) < 2 or bool((weight > 0).all()):
        return mean if (weight > 0).any() else np.ones_like(total)
    coarse = _filled(_summed_by_fours(total), _summed_by_fours(weight))
    return np.where(weight > 0, mean, _refined(coarse, total.shape))


def _summed_by_fours(values: FloatArray) -> FloatArray:
    """Sums over blocks of 2 x 2 cells; beyond the border stands 0."""
    rows, columns = values.shape
    wide = np.pad(values, ((0, rows % 2), (0, columns % 2)))
    return wide.reshape(wide.shape[0] // 2, 2, wide.shape[1] // 2, 2).sum(axis=(1, 3))


def _refined(coarse: FloatArray, shape: tuple[int, ...]) -> FloatArray:
    """Values of blocks of 2 x 2 cells at their cells: bilinear, at the quarter points between block centres."""
    rows, columns = shape
    padded = np.pad(coarse, 1, mode="edge")
    near_row = np.arange(rows) // 2 + 1
    far_row = near_row + np.where(np.arange(rows) % 2, 1, -1)
    near_column = np.arange(columns) // 2 + 1
    far_column = near_column + np.where(np.arange(columns) % 2, 1, -1)
    by_row = 0.75 * padded[near_row] + 0.25 * padded[far_row]
    return 0.75 * by_row[:, near_column] + 0.25 * by_row[:, far_column]
