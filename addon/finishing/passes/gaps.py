"""Ground that laid pass lines leave uncovered, and the lines along the middles of such gaps."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ..core.array_types import FloatArray, Mask
from ..core.grid import Grid
from ..core.masks import centre_lines, chains, connected_parts, grown
from ..core.path import NO_LENGTH
from ..core.polyline import smoothed
from ..core.ragged import run_owners, run_places
from ..core.upright import Upright
from .cusp_metric import CuspMetric

Indices = NDArray[np.intp]

COVERED = 0.5
"""g-distance from a line within which its cusp stays at or below the asked height."""

JOINED = 0.4
"""g-distance above which ground between two gaps belongs to the same gap: two thirds of the asked cusp stand there."""

FARTHEST = 1.5
"""g-distance beyond which distances need not be known: three times COVERED is a gap however it is counted."""

DENSE_CELLS = 0.7
"""Cells between the points that stand for the lines: less than the cell that each of them stands for, so that nothing of a line is missed."""

LOW_PERCENTILE = 5
"""Percentile of the metric that says how far one unit reaches at its farthest; single cells lower than that are noise."""

NEARER_POINT = 1e-6
"""1/mm2; weight of the way along a straight line in the squared g-distance to one of its points: of two points of one line, to which a cell is as
near but for rounding, it takes the one beside it."""

SHORTEST_CHAIN = 4
"""Cells; fewer have no direction of their own, and the gap gets a straight line."""

SMOOTHING_ROUNDS = 3
"""Rounds of smoothing that take the staircase of cells out of a centre line."""


def distance_to_lines(metric: CuspMetric, lines: list[FloatArray], wanted: Mask | None = None) -> FloatArray:
    """g-distance from every cell to the nearest of some polylines (n, 2), (rows, columns); FARTHEST where none is near.

    wanted: cells that matter (None: all); the others may keep FARTHEST.

    Every cell learns the nearest line point from its neighbours in a few rounds of jumps that halve from one unit's length down to one cell
    (jump flooding, Rong and Tan 2006, Proc. I3D:109), with one round of single steps before and one after for the cells that jumps miss.
    The distance is taken to the line's tangent at that point, in the metric of the cell.
    """
    grid = metric.grid
    points, tangents = _dense_points(lines, grid.cell * DENSE_CELLS)
    if len(points) == 0:
        return np.full(grid.shape, FARTHEST)
    jumps = _jumps(metric)
    rim = max(jumps)
    asked = np.ones(grid.shape, bool) if wanted is None else grown(wanted, grid.cell, 2 * rim * grid.cell)
    # On a grid with a rim no neighbour lies outside.
    wide = grid.columns + 2 * rim
    owner = np.full((grid.rows + 2 * rim) * wide, -1, np.int32)
    row, column = grid.nearest(points)
    # Of several points in a cell the one nearest to its middle: put there last.
    farthest_first = np.argsort(-((grid.middles(row, column) - points) ** 2).sum(axis=1), kind="stable")
    owner[((row + rim) * wide + column + rim)[farthest_first]] = farthest_first
    row, column = np.nonzero(asked)
    search = _NearestPoints(metric=metric, points=points, tangents=tangents, row=row, column=column)
    cell = (row + rim) * wide + column + rim
    search.offer(np.arange(len(cell)), owner.take(cell))
    for jump in jumps:
        before = owner.copy()  # what all neighbours know before the jump: so it does not matter which of them is asked first
        for down in (-jump, 0, jump):
            for right in (-jump, 0, jump):
                if down or right:
                    offered = before.take(cell - (down * wide + right))
                    some = np.flatnonzero((offered >= 0) & (offered != owner.take(cell)))
                    nearer = search.offer(some, offered.take(some))
                    owner[cell.take(nearer)] = offered.take(nearer)
    out = np.full(grid.shape, FARTHEST)
    out[row, column] = np.sqrt(search.best)
    return out


def _jumps(metric: CuspMetric) -> list[int]:
    """Lengths in cells of the rounds of jumps: one cell, then half of a power of two that holds one unit, halved down to one, and one again."""
    unit = 1.0 / float(np.sqrt(np.percentile(np.minimum(metric.xx, metric.yy), LOW_PERCENTILE))) / metric.grid.cell
    jump = max(1, 2 ** int(np.ceil(np.log2(max(unit, 1.0)))) // 2)
    jumps = [1]
    while jump >= 1:
        jumps.append(jump)
        jump //= 2
    return [*jumps, 1]


class _NearestPoints:
    """Squared g-distance, `best`, of some cells (row, column) to the nearest line points that they have been offered."""

    def __init__(self, metric: CuspMetric, points: FloatArray, tangents: FloatArray, row: Indices, column: Indices) -> None:
        self._cell = metric.grid.cell
        self.best = np.full(len(row), FARTHEST * FARTHEST)
        cell = row * metric.grid.columns + column
        self._xx, self._xy, self._yy = (values.take(cell) for values in (metric.xx, metric.xy, metric.yy))
        self._x, self._y = metric.grid.left + self._cell * column, metric.grid.front + self._cell * row
        self._points = tuple(np.ascontiguousarray(values) for values in (*points.T, *tangents.T))

    def offer(self, which: Indices, candidate: NDArray[np.int32]) -> Indices:
        """Offer some cells a line point each, or none where it is below 0; returns the cells that it is nearer to."""
        point_x, point_y, along_x, along_y = (values.take(candidate, mode="clip") for values in self._points)
        x, y = self._x.take(which) - point_x, self._y.take(which) - point_y
        # The line is taken as a straight piece, one cell long, round its point.
        beside = x * along_x + y * along_y
        along = np.clip(beside, -0.5 * self._cell, 0.5 * self._cell)
        x -= along * along_x
        y -= along * along_y
        squared = self._xx.take(which) * x * x + 2 * self._xy.take(which) * x * y + self._yy.take(which) * y * y
        squared += NEARER_POINT * beside * beside
        nearer = np.flatnonzero((squared < self.best.take(which)) & (candidate >= 0))
        self.best[which.take(nearer)] = squared.take(nearer)
        return which.take(nearer)


def _dense_points(lines: list[FloatArray], step: float) -> tuple[FloatArray, FloatArray]:
    """Points (n, 2) no more than `step` apart along all lines, and unit tangents there."""
    points, tangents = [np.zeros((0, 2))], [np.zeros((0, 2))]
    for line in lines:
        moves = np.diff(line[:, :2], axis=0)
        length = np.hypot(moves[:, 0], moves[:, 1])
        keep = length > NO_LENGTH
        moves, length, starts = moves[keep], length[keep], line[:-1, :2][keep]
        if len(length) == 0:
            continue
        count = np.maximum(np.ceil(length / step), 1).astype(int)
        piece = run_owners(count)
        part = run_places(count) / count[piece]
        points.append(starts[piece] + moves[piece] * part[:, None])
        tangents.append((moves / length[:, None])[piece])
        points.append(np.asarray(line[-1:, :2], np.float64))
        tangents.append((moves / length[:, None])[-1:])
    return np.concatenate(points), np.concatenate(tangents)


def gap_lines(grid: Grid, distance: FloatArray, doubtful: Mask, tolerated: float, shortest: float) -> list[FloatArray]:
    """Centre lines (n, 2) of the gaps between laid lines.

    distance: (rows, columns) g-distance to the nearest line, or what a measured cusp stands for: COVERED where it is as asked, and it grows
    with the square of the distance. doubtful: planned axis cells that may lie in a gap; the others are known to be covered.
    tolerated: greatest cusp that counts as covered, as a multiple of the asked one. Where one gap follows another along a
    ridge, they are joined through ground that is nearly uncovered. shortest: mm, how far from a gap its line may go on over such ground.
    """
    upright = Upright.of(doubtful)
    distance, doubtful = upright.turned(distance), upright.turned(doubtful)
    near = doubtful & (distance > JOINED)
    worst = near & (distance > COVERED * np.sqrt(tolerated))
    # Ground that is nearly uncovered, near to gaps that are too wide: so short gaps close together become one line. Two cells at least,
    # so that no cell stands alone whatever the cells measure.
    wanted = near & grown(worst, grid.cell, max(shortest, 2 * grid.cell))
    found = []
    parts = connected_parts(wanted)
    drawn = np.zeros(int(parts.max()) + 1, bool)
    for chain in chains(centre_lines(wanted)):
        if len(chain) >= SHORTEST_CHAIN and _touches(worst, chain):
            drawn[parts[chain[:, 0], chain[:, 1]]] = True
            found.append(smoothed(grid.middles(*upright.given(chain).T), SMOOTHING_ROUNDS))
    # Parts that are too wide and too small for a chain.
    needed = np.zeros_like(drawn)
    needed[np.unique(parts[worst])] = True
    cells = np.argwhere((needed & ~drawn)[parts])
    number = parts[cells[:, 0], cells[:, 1]]
    order = np.argsort(number, kind="stable")
    for group in np.split(cells[order], np.flatnonzero(np.diff(number[order])) + 1):
        if len(group):
            # A line through a single cell stays within it.
            found.append(grid.middles(*upright.given(_through(group.astype(np.float64), 0.5)).T))
    return found


def _through(points: FloatArray, least: float) -> FloatArray:
    """A straight line of two points through a small cloud of points (n, 2), along its greatest extent, at least `least` long."""
    middle = points.mean(axis=0)
    spread = points - middle
    direction = np.linalg.eigh(spread.T @ spread + 1e-9 * np.eye(2))[1][:, 1]
    half = max(float(np.abs(spread @ direction).max()), least / 2)
    return np.stack([middle - half * direction, middle + half * direction])


def _touches(mask: Mask, chain: Indices) -> bool:
    """Whether a chain of cells passes within one cell of the mask."""
    rows, columns = mask.shape
    for down in (-1, 0, 1):
        for right in (-1, 0, 1):
            if mask[np.clip(chain[:, 0] + down, 0, rows - 1), np.clip(chain[:, 1] + right, 0, columns - 1)].any():
                return True
    return False
