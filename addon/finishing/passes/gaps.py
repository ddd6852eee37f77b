"""Ground that laid pass lines leave uncovered, and the lines that close the gaps."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ..core.grid import FloatArray, Grid
from ..core.masks import Mask, centre_lines, chains, connected_parts, grown
from ..core.polyline import smoothed
from .cusp_metric import CuspMetric

COVERED = 0.5
"""g-distance from a line within which its cusp stays at or below the asked height."""


def distance_to_lines(metric: CuspMetric, lines: list[FloatArray], wanted: Mask | None = None, most: float = 1.5) -> FloatArray:
    """g-distance from every cell to the nearest of some polylines (n, 2), (rows, columns); `most` where none is near.

    wanted: cells that matter (None: all); the others may keep `most`.

    Every cell learns the nearest line point from its neighbours in a few rounds of growing and shrinking jumps; the
    distance is taken to the line's tangent at that point with the metric half-way between.
    """
    grid = metric.grid
    points, tangents = _dense_points(lines, grid.cell * 0.7)
    if len(points) == 0:
        return np.full(grid.shape, most)
    reach = 1.0 / float(np.sqrt(np.percentile(np.minimum(metric.xx, metric.yy), 5))) / grid.cell
    jump = max(1, 2 ** int(np.ceil(np.log2(max(reach, 1.0)))) // 2)
    jumps = [1]
    while jump >= 1:
        jumps.append(jump)
        jump //= 2
    rim = max(jumps)
    asked = np.ones(grid.shape, bool) if wanted is None else grown(wanted, grid.cell, 2 * rim * grid.cell)
    # On a grid with a rim no neighbour lies outside.
    wide = grid.columns + 2 * rim
    owner = np.full((grid.rows + 2 * rim) * wide, -1, np.int32)
    row, column = grid.nearest(points)
    owner[(row + rim) * wide + column + rim] = np.arange(len(points))
    row, column = np.nonzero(asked)
    search = _Nearest(metric, points, tangents, row, column, most)
    place = (search.row + rim) * wide + search.column + rim
    search.offer(np.arange(len(place)), owner.take(place))
    for jump in (*jumps, 1):
        for dr in (-jump, 0, jump):
            for dc in (-jump, 0, jump):
                if dr or dc:
                    offered = owner.take(place - (dr * wide + dc))
                    some = np.flatnonzero((offered >= 0) & (offered != owner.take(place)))
                    nearer = search.offer(some, offered.take(some))
                    owner[place.take(nearer)] = offered.take(nearer)
    out = np.full(grid.shape, most)
    out[search.row, search.column] = np.sqrt(search.best)
    return out


class _Nearest:
    """Squared g-distance of some cells (row, column) to the nearest line points that they have been offered."""

    def __init__(
        self, metric: CuspMetric, points: FloatArray, tangents: FloatArray, row: NDArray[np.intp], column: NDArray[np.intp], most: float
    ) -> None:
        self.row, self.column, self._cell = row, column, metric.grid.cell
        self.best = np.full(len(row), most * most)
        cell = row * metric.grid.columns + column
        self._xx, self._xy, self._yy = (values.take(cell) for values in (metric.xx, metric.xy, metric.yy))
        self._x, self._y = metric.grid.left + self._cell * column, metric.grid.front + self._cell * row
        self._points = tuple(np.ascontiguousarray(values) for values in (*points.T, *tangents.T))

    def offer(self, which: NDArray[np.intp], candidate: NDArray[np.int32]) -> NDArray[np.intp]:
        """Offer some cells a line point each, or none where it is below 0; returns the cells that it is nearer to."""
        point_x, point_y, along_x, along_y = (values.take(candidate, mode="clip") for values in self._points)
        x, y = self._x.take(which) - point_x, self._y.take(which) - point_y
        # The line is taken as a short straight piece round its point.
        along = np.clip(x * along_x + y * along_y, -0.5 * self._cell, 0.5 * self._cell)
        x -= along * along_x
        y -= along * along_y
        squared = self._xx.take(which) * x * x + 2 * self._xy.take(which) * x * y + self._yy.take(which) * y * y
        nearer = np.flatnonzero((squared < self.best.take(which)) & (candidate >= 0))
        self.best[which.take(nearer)] = squared.take(nearer)
        return which.take(nearer)


def _dense_points(lines: list[FloatArray], step: float) -> tuple[FloatArray, FloatArray]:
    """Points no more than `step` apart along all lines, and unit tangents there."""
    points, tangents = [np.zeros((0, 2))], [np.zeros((0, 2))]
    for line in lines:
        moves = np.diff(line[:, :2], axis=0)
        length = np.hypot(moves[:, 0], moves[:, 1])
        keep = length > 1e-9
        moves, length, starts = moves[keep], length[keep], line[:-1, :2][keep]
        if len(length) == 0:
            continue
        count = np.maximum(np.ceil(length / step), 1).astype(int)
        piece = np.repeat(np.arange(len(count)), count)
        share = (np.arange(len(piece)) - np.repeat(np.cumsum(count) - count, count)) / count[piece]
        points.append(starts[piece] + moves[piece] * share[:, None])
        tangents.append((moves / length[:, None])[piece])
        points.append(line[-1:, :2])  # type: ignore[arg-type]
        tangents.append((moves / length[:, None])[-1:])
    return np.concatenate(points), np.concatenate(tangents)


def gap_lines(grid: Grid, distance: FloatArray, doubtful: Mask, tolerated: float, shortest: float) -> list[FloatArray]:
    """Centre lines (n, 2) of the gaps between laid lines.

    distance: (rows, columns) g-distance to the nearest line, or what a measured cusp stands for: COVERED where it is as asked, and it grows
    with the square of the distance. doubtful: planned axis cells that may lie in a gap; the others are known to be covered.
    tolerated: greatest cusp that counts as covered, as a multiple of the asked one. Where one gap follows another along a
    ridge, they are joined through ground that is nearly uncovered. shortest: mm, lines are drawn out to this length at
    least.
    """
    near = doubtful & (distance > JOINED)
    worst = near & (distance > COVERED * np.sqrt(tolerated))
    # Open ground within reach of a gap that is too wide; so short gaps close together become one line.
    wanted = near & grown(worst, grid.cell, max(shortest, 2 * grid.cell))
    found = []
    parts = connected_parts(wanted)
    drawn = np.zeros(int(parts.max()) + 1, bool)
    for chain in chains(centre_lines(wanted)):
        if len(chain) >= 4 and _any_beside(worst, chain):
            drawn[parts[chain[:, 0], chain[:, 1]]] = True
            found.append(smoothed(grid.middles(*chain.T), rounds=3))
    left = np.zeros_like(drawn)
    left[np.unique(parts[worst])] = True
    cells = np.argwhere((left & ~drawn)[parts])
    number = parts[cells[:, 0], cells[:, 1]]
    order = np.argsort(number, kind="stable")
    for group in np.split(cells[order], np.flatnonzero(np.diff(number[order])) + 1):
        if len(group):
            found.append(_through(grid.middles(*group.T), grid.cell / 2))
    return found


def _through(points: FloatArray, least: float) -> FloatArray:
    """A straight line of two points through a small cloud of points, along its greatest extent, at least `least` mm long."""
    middle = points.mean(axis=0)
    spread = points - middle
    direction = np.linalg.eigh(spread.T @ spread + 1e-9 * np.eye(2))[1][:, 1]
    reach = max(float(np.abs(spread @ direction).max()), least / 2)
    return np.stack([middle - reach * direction, middle + reach * direction])


JOINED = 0.4
"""g-distance above which ground between two gaps belongs to the same gap."""


def _any_beside(mask: Mask, chain: NDArray[np.intp]) -> bool:
    """Whether a chain of cells passes within one cell of the mask."""
    rows, columns = mask.shape
    for dr in (-1, 0, 1):
        for dc in (-1, 0, 1):
            if mask[np.clip(chain[:, 0] + dr, 0, rows - 1), np.clip(chain[:, 1] + dc, 0, columns - 1)].any():
                return True
    return False
