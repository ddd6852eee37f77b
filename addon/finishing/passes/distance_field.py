"""Distance in the cusp metric from a start: its level lines, one unit apart, are pass lines of constant cusp.

The distance u solves the anisotropic eikonal equation g^-1(grad u, grad u) = 1. It is found by sweeping whole rows:
each row is updated from its neighbour row through the two triangles on that side of every cell, in the four
directions in turn, until none of them changes anything any more (fast sweeping after Zhao 2005, Math. Comp. 74:603).
"""

from __future__ import annotations

from collections.abc import Generator

import numpy as np
from numpy.lib.stride_tricks import as_strided

from ..core.filters import blur
from ..core.grid import FloatArray
from ..core.masks import Mask
from ..core.stepping import finished
from .cusp_metric import CuspMetric

FAR = 1e9
"""Distance of a cell that no front has reached."""

Steps = Generator[float, None, FloatArray]


def distance_field(metric: CuspMetric, start: FloatArray, allowed: Mask | None = None, tolerance: float = 0.005, most_rounds: int = 12) -> FloatArray:
    """Least g-distance of every cell from a start. See `distance_field_steps`."""
    return finished(distance_field_steps(metric, start, allowed, tolerance, most_rounds))


def distance_field_steps(metric: CuspMetric, start: FloatArray, allowed: Mask | None = None, tolerance: float = 0.005, most_rounds: int = 12) -> Steps:
    """Least g-distance from a start, yielding the share done.

    start: (rows, columns) known distances at the start's cells, FAR elsewhere. allowed: (rows, columns) bool, cells the
    fronts may cross (None: all). The sweeps end when none of the four changes a distance by more than `tolerance`.
    Returns (rows, columns) float64; FAR where no front arrives.
    """
    square = metric.grid.cell**2
    xx, xy, yy = metric.xx * square, metric.xy * square, metric.yy * square
    blocked = None if allowed is None else ~allowed
    upright = _Sweeper(xx, xy, yy, blocked)
    sideways = _Sweeper(*(np.ascontiguousarray(a.T) for a in (yy, xy, xx)), None if blocked is None else blocked.T.copy())  # type: ignore[call-arg]
    distance = np.array(start, np.float64)
    if blocked is not None:
        distance[blocked] = FAR
    # Once three sweeps after one that changed something have changed nothing, the fourth, which is that one again, would not either.
    quiet, sweeps = -1, 0
    for _ in range(most_rounds):
        for sweeper in (upright, sideways):
            for sign in (-1, 1):
                before = distance.copy()
                for share in sweeper.sweep(distance, sign):
                    yield (sweeps + share) / (4 * most_rounds)
                sweeps += 1
                quiet = quiet + 1 if float(np.max(before - distance)) <= tolerance else 0
                if quiet == 3:
                    return distance if sweeper is upright else np.ascontiguousarray(distance.T)
            distance = np.ascontiguousarray(distance.T)
    return distance


class _Sweeper:
    """Row updates with everything that does not change between rounds worked out once.

    What concerns the two neighbours to both sides, of lower and of higher column, is worked out at once: (2, columns).
    """

    ROWS_PER_STEP = 400

    def __init__(self, xx: FloatArray, xy: FloatArray, yy: FloatArray, blocked: Mask | None) -> None:
        self.blocked = blocked
        self.across = np.sqrt(yy)
        self.root_determinant = np.sqrt(np.maximum(xx * yy - xy * xy, 0))
        self.xx, self.minus_per_xx = xx, -1 / xx
        # Steps to the two diagonal neighbours; the sign of the mixed term turns with the direction of the sweep.
        same, opposite = np.sqrt(np.maximum(xx + 2 * xy + yy, 0)), np.sqrt(np.maximum(xx - 2 * xy + yy, 0))
        self.diagonal = {-1: np.stack([same, opposite], axis=1), 1: np.stack([opposite, same], axis=1)}
        self.mixed = np.stack([xy, -xy], axis=1)
        columns = xx.shape[1]
        self.beside = np.full(columns + 2, FAR)
        self.both_sides = as_strided(self.beside, (2, columns), (2 * self.beside.itemsize, self.beside.itemsize), writeable=False)
        self.work = np.empty((4, 2, columns))

    def sweep(self, distance: FloatArray, sign: int) -> Generator[float, None, None]:
        """Sweep all rows in place, each from the row before it: down from the first row (sign -1), or up from the last (1)."""
        rows = len(distance)
        order = range(1, rows) if sign < 0 else range(rows - 2, -1, -1)
        for count, row in enumerate(order, 1):
            self._update(distance[row], distance[row + sign], row, sign)
            if count % self.ROWS_PER_STEP == 0:
                yield count / rows

    def _update(self, here: FloatArray, there: FloatArray, row: int, sign: int) -> None:
        """Lower the distances of one row by what arrives through the neighbouring row at row + sign."""
        difference, width, offset, value = self.work
        np.add(there, self.across[row], out=value[0])
        np.minimum(here, value[0], out=here)
        self.beside[1:-1] = there
        np.add(self.both_sides, self.diagonal[sign][row], out=value)
        np.minimum(here, value[0], out=here)
        np.minimum(here, value[1], out=here)
        # The front crosses the edge between the straight and the diagonal neighbour at share t from the straight one;
        # with w = sqrt(det / (xx - du^2)) the least value is there + du t + w at t = -(mixed + du w) / xx.
        np.subtract(self.both_sides, there, out=difference)
        np.multiply(difference, difference, out=width)
        np.subtract(self.xx[row], width, out=width)
        np.maximum(width, 1e-12, out=width)
        np.sqrt(width, out=width)
        np.divide(self.root_determinant[row], width, out=width)
        np.multiply(difference, width, out=offset)
        if sign < 0:
            offset += self.mixed[row]
        else:
            offset -= self.mixed[row]
        offset *= self.minus_per_xx[row]
        np.multiply(difference, offset, out=value)
        value += there
        value += width
        inside = (offset > 0) & (offset < 1)
        for side in (0, 1):
            np.minimum(here, value[side], out=here, where=inside[side])
        if self.blocked is not None:
            here[self.blocked[row]] = FAR


def extended_inside_out(metric: CuspMetric, known: Mask, smoothing: float) -> CuspMetric:
    """The metric smoothed over the `known` cells alone and continued beyond them from the nearest known ground.

    smoothing: standard deviation in mm. What lies beyond (rims, walls, pockets, the outside) never bends the metric of
    the planned ground, and fronts that cross it keep the pace of the planned ground round it.
    """
    deviation = smoothing / metric.grid.cell
    weight = blur(known.astype(np.float32), deviation)
    parts = []
    for values in (metric.xx, metric.xy, metric.yy):
        total = blur(np.where(known, values, 0.0).astype(np.float32), deviation)
        mean = np.divide(total, weight, out=np.zeros_like(total), where=weight > 1e-6)
        parts.append(_filled(mean, known))
    return CuspMetric(metric.grid, metric.cusp, metric.radius, *parts, metric.slope_x, metric.slope_y)  # type: ignore[call-arg]


def _filled(values: FloatArray, known: Mask) -> FloatArray:
    """Fill unknown cells from ever coarser means of the known ones."""
    weight = known.astype(np.float64)
    return _filled_weighted(values * weight, weight)


def _filled_weighted(total: FloatArray, weight: FloatArray) -> FloatArray:
    mean = np.divide(total, weight, out=np.zeros_like(total), where=weight > 0)
    if min(total.shape) < 2 or bool((weight > 0).all()):
        return mean if (weight > 0).any() else np.ones_like(total)
    rows, columns = total.shape

    def halved(values: FloatArray) -> FloatArray:
        wide = np.pad(values, ((0, rows % 2), (0, columns % 2)))
        return wide.reshape(wide.shape[0] // 2, 2, wide.shape[1] // 2, 2).sum(axis=(1, 3))

    coarse = _filled_weighted(halved(total), halved(weight))
    padded = np.pad(coarse, 1, mode="edge")
    # Bilinear interpolation at the four quarter points of every coarse cell.
    near_row = np.arange(rows) // 2 + 1
    far_row = near_row + np.where(np.arange(rows) % 2, 1, -1)
    near_column = np.arange(columns) // 2 + 1
    far_column = near_column + np.where(np.arange(columns) % 2, 1, -1)
    by_row = 0.75 * padded[near_row] + 0.25 * padded[far_row]
    fine = 0.75 * by_row[:, near_column] + 0.25 * by_row[:, far_column]
    return np.where(weight > 0, mean, fine)
