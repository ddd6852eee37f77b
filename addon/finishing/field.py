"""Distance in the cusp metric from a start: its level lines, one unit apart, are pass lines of constant cusp.

The distance u solves the anisotropic eikonal equation g^-1(grad u, grad u) = 1. It is found by sweeping whole rows:
each row is updated from its neighbour row through the two triangles on that side of every cell, in the four
directions in turn, until nothing changes any more (fast sweeping after Zhao 2005, Math. Comp. 74:603).
"""

from __future__ import annotations

from collections.abc import Generator

import numpy as np

from .cells import Mask
from .cusp import CuspMetric
from .grid import FloatArray
from .smoothing import blur
from .stepping import finished

FAR = 1e9
"""Distance of a cell that no front has reached."""

Steps = Generator[float, None, FloatArray]


def distance_field(
    metric: CuspMetric, start: FloatArray, allowed: Mask | None = None, tolerance: float = 0.005, most_rounds: int = 12
) -> FloatArray:
    """Least g-distance of every cell from a start. See `distance_field_steps`."""
    return finished(distance_field_steps(metric, start, allowed, tolerance, most_rounds))


def distance_field_steps(
    metric: CuspMetric, start: FloatArray, allowed: Mask | None = None, tolerance: float = 0.005, most_rounds: int = 12
) -> Steps:
    """Least g-distance from a start, yielding the share done.

    start: (rows, columns) known distances at the start's cells, FAR elsewhere. allowed: (rows, columns) bool, cells the
    fronts may cross (None: all). The sweeps end when no distance changes by more than `tolerance` in a whole round.
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
    for round_number in range(most_rounds):
        before = distance.copy()
        for share in upright.sweep(distance):
            yield (round_number + share / 2) / most_rounds
        turned = np.ascontiguousarray(distance.T)
        for share in sideways.sweep(turned):
            yield (round_number + 0.5 + share / 2) / most_rounds
        distance = np.ascontiguousarray(turned.T)
        if float(np.max(before - distance)) <= tolerance:
            break
    return distance


class _Sweeper:
    """Row updates with everything that does not change between rounds worked out once."""

    ROWS_PER_STEP = 400

    def __init__(self, xx: FloatArray, xy: FloatArray, yy: FloatArray, blocked: Mask | None) -> None:
        self.xy, self.blocked = xy, blocked
        self.across = np.sqrt(yy)
        self.root_determinant = np.sqrt(np.maximum(xx * yy - xy * xy, 0))
        self.xx, self.per_xx = xx, 1 / xx
        # Steps to the two diagonal neighbours; the sign of the mixed term turns with the direction of the sweep.
        self.same = np.sqrt(np.maximum(xx + 2 * xy + yy, 0))
        self.opposite = np.sqrt(np.maximum(xx - 2 * xy + yy, 0))
        columns = xx.shape[1]
        self.beside = np.full(columns + 2, FAR)
        self.work = np.empty((4, columns))

    def sweep(self, distance: FloatArray) -> Generator[float, None, None]:
        """Sweep down all rows and back up, in place."""
        rows = len(distance)
        order = [(i, i - 1, -1) for i in range(1, rows)] + [(i, i + 1, 1) for i in range(rows - 2, -1, -1)]
        for count, (row, neighbour, sign) in enumerate(order):
            self._update(distance, row, neighbour, sign)
            if count % self.ROWS_PER_STEP == self.ROWS_PER_STEP - 1:
                yield count / len(order)

    def _update(self, distance: FloatArray, row: int, neighbour: int, sign: int) -> None:
        """Lower the distances of one row by what arrives through the neighbouring row at row + sign."""
        here, there = distance[row], distance[neighbour]
        difference, width, offset, value = self.work
        np.add(there, self.across[row], out=value)
        np.minimum(here, value, out=here)
        self.beside[1:-1] = there
        xx, per_xx, xy = self.xx[row], self.per_xx[row], self.xy[row]
        for side in (-1, 1):
            diagonal = self.beside[2:] if side > 0 else self.beside[:-2]
            np.add(diagonal, (self.same if side == sign else self.opposite)[row], out=value)
            np.minimum(here, value, out=here)
            # The front crosses the edge between the straight and the diagonal neighbour at share t from the straight one;
            # with w = sqrt(det / (xx - du^2)) the least value is there + du t + w at t = -(mixed + du w) / xx.
            np.subtract(diagonal, there, out=difference)
            np.multiply(difference, difference, out=width)
            np.subtract(xx, width, out=width)
            np.maximum(width, 1e-12, out=width)
            np.sqrt(width, out=width)
            np.divide(self.root_determinant[row], width, out=width)
            np.multiply(difference, width, out=offset)
            if side * sign > 0:
                np.add(offset, xy, out=offset)
            else:
                np.subtract(offset, xy, out=offset)
            np.multiply(offset, per_xx, out=offset)
            np.negative(offset, out=offset)
            np.multiply(difference, offset, out=value)
            np.add(value, there, out=value)
            np.add(value, width, out=value)
            inside = (offset > 0) & (offset < 1)
            np.minimum(here, value, out=here, where=inside)
        if self.blocked is not None:
            here[self.blocked[row]] = FAR


def extended_inside_out(metric: CuspMetric, known: Mask, smoothing: float) -> CuspMetric:
    """The metric smoothed over the `known` cells alone and continued beyond them from the nearest known ground.

    smoothing: standard deviation in mm. What lies beyond (rims, walls, pockets, the outside) never bends the metric of
    the planned ground, and fronts that cross it keep the pace of the planned ground round it.
    """
    deviation = smoothing / metric.grid.cell
    weight = blur(known, deviation)  # type: ignore[arg-type]
    parts = []
    for values in (metric.xx, metric.xy, metric.yy):
        total = blur(np.where(known, values, 0.0), deviation)
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
