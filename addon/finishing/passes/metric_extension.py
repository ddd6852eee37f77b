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
    weight = blur(known.astype(np.float64), deviation)

    def extended(values: FloatArray) -> FloatArray:
        """One part of the metric, (rows, columns)."""
        total = blur(np.where(known, values, 0.0), deviation)
        mean = np.divide(total, weight, out=np.zeros_like(total), where=weight > LEAST_WEIGHT)
        certain = known.astype(np.float64)
        return _filled(mean * certain, certain)

    return replace(metric, xx=extended(metric.xx), xy=extended(metric.xy), yy=extended(metric.yy))


def _filled(total: FloatArray, weight: FloatArray) -> FloatArray:
    """Means total/weight, (rows, columns); where the weight is 0, from ever coarser means. Each level halves the cells.

    The coarser cells lie alike from either end of a row or column, so that a body turned on the table is continued as before.
    """
    mean = np.divide(total, weight, out=np.zeros_like(total), where=weight > 0)
    if max(total.shape) < 2 or bool((weight > 0).all()):
        return mean if (weight > 0).any() else np.ones_like(total)
    coarse = _filled(*(_summed_by_twos(_summed_by_twos(values).T).T for values in (total, weight)))
    by_row = _refined(coarse, len(total))
    return np.where(weight > 0, mean, _refined(by_row.T, total.shape[1]).T)


def _summed_by_twos(rows: FloatArray) -> FloatArray:
    """Sums over two rows (n, ...) each. Of an odd number of rows, every other one is parted in halves between its neighbours."""
    if len(rows) % 2 == 0:
        return np.asarray(rows[::2] + rows[1::2])
    out = rows[::2].copy()
    half = rows[1::2] / 2
    out[1:] += half
    out[:-1] += half
    return out


def _refined(coarse: FloatArray, count: int) -> FloatArray:
    """Values (count, ...) of rows from those of their sums by twos, straight between the middles of these, the outermost repeated beyond."""
    if count % 2:
        out = np.repeat(coarse, 2, axis=0)[:-1]
        out[1::2] = (coarse[1:] + coarse[:-1]) / 2
        return out
    padded = np.concatenate([coarse[:1], coarse, coarse[-1:]])
    near = np.arange(count) // 2 + 1
    far = near + np.where(np.arange(count) % 2, 1, -1)
    return np.asarray(0.75 * padded[near] + 0.25 * padded[far])
