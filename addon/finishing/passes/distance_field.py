"""Distance in the cusp metric from a start: its level lines, one unit apart, are pass lines of constant cusp.

The distance u solves the anisotropic eikonal equation g^-1(grad u, grad u) = 1. It is found by sweeping whole rows:
each row is updated from its neighbour row through the two triangles on that side of every cell, in the four
directions in turn, until none of them changes anything any more (fast sweeping after Zhao 2005, Math. Comp. 74:603).

What a triangle gives: the front reaches a cell through the edge between its straight neighbour, of distance a, and its diagonal one, of
distance a + c. From the fraction t of that edge it still has sqrt(xx t^2 + 2 m t + yy) to go (the metric in units of cells; m is xy with
the sign of the diagonal), so the new distance is the least of a + c t + sqrt(xx t^2 + 2 m t + yy) over 0 <= t <= 1. With D = xx yy - m^2
and w = sqrt(D / (xx - c^2)) the derivative vanishes at t = -(m + c w) / xx, where the root equals w. Where that t lies outside 0..1 an end
of the edge is nearer: the straight step costs sqrt(yy), the diagonal one sqrt(xx + 2 m + yy).
"""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import as_strided

from ..core.array_types import FloatArray, Mask
from ..core.stepping import finished
from .cusp_metric import CuspMetric

FAR = 1e9
"""Distance of a cell that no front has reached."""

SETTLED = 0.001
"""Change of a distance, in units, that counts as none: with five times as much, a sweep or two fewer, the fields of a body and of the same body turned
on the table still differ by as much as decides on a last line at the border."""

MOST_ROUNDS = 12
"""Most rounds of four sweeps. The examples shipped settle within three; more rounds serve ground like a maze, whose fronts turn again and again."""

LEAST_WIDTH = 1e-12
"""Floor of xx - c^2 before its root is taken: below it the front runs along the row, and t lies outside 0..1 anyway."""

ROWS_AT_ONCE = 16
"""Rows for which the metric is worked out at a time: a megabyte or two, which a processor's cache holds."""

Steps = Generator[float, None, FloatArray]


def distance_field(metric: CuspMetric, start: FloatArray, allowed: Mask | None = None) -> FloatArray:
    """Least g-distance of every cell from a start. See `distance_field_steps`."""
    return finished(distance_field_steps(metric, start, allowed))


def distance_field_steps(metric: CuspMetric, start: FloatArray, allowed: Mask | None = None) -> Steps:
    """Least g-distance from a start, yielding the share done.

    start: (rows, columns) known distances at the start's cells, FAR elsewhere. allowed: (rows, columns) bool, cells the
    fronts may cross (None: all). The sweeps end when none of the four changes a distance by more than SETTLED.
    Returns (rows, columns) float64; FAR where no front arrives.
    """
    blocked = None if allowed is None else ~allowed
    upright = _Sweeper(metric.grid.cell, metric.xx, metric.xy, metric.yy, blocked)
    sideways = _Sweeper(metric.grid.cell, metric.yy.T, metric.xy.T, metric.xx.T, None if blocked is None else blocked.T)
    distance = np.array(start, np.float64)
    if blocked is not None:
        distance[blocked] = FAR
    # Once three sweeps after one that changed something have changed nothing, the fourth, which is that one again, would not either.
    quiet, sweeps = -1, 0
    for _ in range(MOST_ROUNDS):
        for sweeper in (upright, sideways):
            for sign in (-1, 1):
                for share in sweeper.sweep(distance, sign):
                    yield (sweeps + share) / (4 * MOST_ROUNDS)
                sweeps += 1
                quiet = quiet + 1 if sweeper.change <= SETTLED else 0
                if quiet == 3:
                    return distance if sweeper is upright else np.ascontiguousarray(distance.T)
            distance = np.ascontiguousarray(distance.T)
    return distance


@dataclass(frozen=True)
class _Rows:
    """What the update of some rows needs of the metric in units of cells, with the steps to both neighbours at once: (rows, 2, columns).

    diagonal: steps to the diagonal neighbours, by the sign of the sweep, with which the mixed term turns.
    """

    xx: FloatArray
    across: FloatArray
    root_determinant: FloatArray
    minus_per_xx: FloatArray
    diagonal: dict[int, FloatArray]
    mixed: FloatArray

    @classmethod
    def of(cls, xx: FloatArray, xy: FloatArray, yy: FloatArray) -> _Rows:
        """Worked out from the metric's components, (rows, columns)."""
        same, opposite = np.sqrt(np.maximum(xx + 2 * xy + yy, 0)), np.sqrt(np.maximum(xx - 2 * xy + yy, 0))
        return cls(
            xx=xx,
            across=np.sqrt(yy),
            root_determinant=np.sqrt(np.maximum(xx * yy - xy * xy, 0)),
            minus_per_xx=-1 / xx,
            diagonal={-1: np.stack([same, opposite], axis=1), 1: np.stack([opposite, same], axis=1)},
            mixed=np.stack([xy, -xy], axis=1),
        )


class _Sweeper:
    """Row updates. What they need of the metric is worked out for a few rows at a time, which stay in the cache: kept for all rows it would take
    the memory of some ten fields, and reading it costs as much as working it out.

    What concerns the two neighbours to both sides, of lower and of higher column, is worked out at once: (2, columns). change: the greatest one of
    a distance in the last sweep.
    """

    ROWS_PER_STEP = 400

    def __init__(self, cell: float, xx: FloatArray, xy: FloatArray, yy: FloatArray, blocked: Mask | None) -> None:
        self.change = 0.0
        self.blocked = blocked
        self._metric, self._square = (xx, xy, yy), cell**2
        columns = xx.shape[1]
        self.neighbours = np.full(columns + 2, FAR)
        self.both_sides = as_strided(self.neighbours, (2, columns), (2 * self.neighbours.itemsize, self.neighbours.itemsize), writeable=False)
        self.work = np.empty((4, 2, columns))

    def sweep(self, distance: FloatArray, sign: int) -> Generator[float, None, None]:
        """Sweep all rows in place, each from the row before it: down from the first row (sign -1), or up from the last (1)."""
        rows = len(distance)
        first, last = (1, rows) if sign < 0 else (0, rows - 1)
        starts = range(first, last, ROWS_AT_ONCE)
        self.change, done = 0.0, 0
        for start in starts if sign < 0 else reversed(starts):
            some = slice(start, min(start + ROWS_AT_ONCE, last))
            before = distance[some].copy()
            of = self._rows(some)
            for place in range(len(before)) if sign < 0 else range(len(before) - 1, -1, -1):
                row = start + place
                self._update(distance[row], distance[row + sign], of, place, sign)
                if self.blocked is not None:
                    distance[row][self.blocked[row]] = FAR
            self.change = max(self.change, float(np.max(before - distance[some])))
            done += len(before)
            if done // self.ROWS_PER_STEP > (done - len(before)) // self.ROWS_PER_STEP:
                yield done / rows

    def _rows(self, some: slice) -> _Rows:
        """What is needed of some rows. Those of a metric that lies on its side are turned here."""
        return _Rows.of(*(np.multiply(values[some], self._square, order="C") for values in self._metric))

    def _update(self, here: FloatArray, there: FloatArray, of: _Rows, place: int, sign: int) -> None:
        """Lower the distances of one row by what arrives through the neighbouring row at row + sign: a is `there`, c `difference`."""
        difference, width, offset, value = self.work
        np.add(there, of.across[place], out=value[0])
        np.minimum(here, value[0], out=here)
        self.neighbours[1:-1] = there
        np.add(self.both_sides, of.diagonal[sign][place], out=value)
        np.minimum(here, value[0], out=here)
        np.minimum(here, value[1], out=here)
        np.subtract(self.both_sides, there, out=difference)
        np.multiply(difference, difference, out=width)
        np.subtract(of.xx[place], width, out=width)
        np.maximum(width, LEAST_WIDTH, out=width)
        np.sqrt(width, out=width)
        np.divide(of.root_determinant[place], width, out=width)  # w
        np.multiply(difference, width, out=offset)
        if sign < 0:
            offset += of.mixed[place]
        else:
            offset -= of.mixed[place]
        offset *= of.minus_per_xx[place]  # t
        np.multiply(difference, offset, out=value)
        value += there
        value += width
        inside = (offset > 0) & (offset < 1)
        for side in (0, 1):
            np.minimum(here, value[side], out=here, where=inside[side])
