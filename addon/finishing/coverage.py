"""Ground that laid pass lines leave uncovered, and the lines that close the gaps."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .cells import Mask, centre_lines, chains, connected_parts, grown
from .cusp import CuspMetric
from .grid import FloatArray
from .polyline import smoothed

COVERED = 0.5
"""g-distance from a line within which its cusp stays at or below the asked height."""


def distance_to_lines(
    metric: CuspMetric, lines: list[FloatArray], wanted: Mask | None = None, most: float = 1.5
) -> FloatArray:
    """g-distance from every cell to the nearest of some polylines (n, 2), (rows, columns); `most` where none is near.

    wanted: cells that matter (None: all); the others may keep `most`.

    Every cell learns the nearest line point from its neighbours in a few rounds of growing and shrinking jumps; the
    distance is taken to the line's tangent at that point with the metric half-way between.
    """
    grid = metric.grid
    points, tangents = _dense_points(lines, grid.cell * 0.7)
    if len(points) == 0:
        return np.full(grid.shape, most)
    row, column = grid.nearest(points)
    owner = np.full(grid.shape, -1, np.int32)
    owner[row, column] = np.arange(len(points))
    best = np.full(grid.shape, np.float32(most * most), np.float32)
    every = np.flatnonzero(owner.ravel() >= 0)
    best.ravel()[every] = _squared(metric, points, tangents, every, owner.ravel()[every])
    xx = metric.xx
    reach = 1.0 / float(np.sqrt(np.percentile(np.minimum(xx, metric.yy), 5))) / grid.cell
    jump = max(1, 2 ** int(np.ceil(np.log2(max(reach, 1.0)))) // 2)
    jumps = [1]
    while jump >= 1:
        jumps.append(jump)
        jump //= 2
    asked = np.ones(grid.shape, bool) if wanted is None else grown(wanted, grid.cell, 2 * max(jumps) * grid.cell)
    for jump in (*jumps, 1):
        for dr in (-jump, 0, jump):
            for dc in (-jump, 0, jump):
                if dr or dc:
                    _offer(metric, points, tangents, owner, best, asked, dr, dc)
    return np.sqrt(best)


def _offer(
    metric: CuspMetric,
    points: FloatArray,
    tangents: FloatArray,
    owner: NDArray[np.int32],
    best: NDArray[np.float32],
    asked: Mask,
    dr: int,
    dc: int,
) -> None:
    """Offer every cell the line point of the cell (dr, dc) away; keep it where it is nearer."""
    rows, columns = owner.shape
    to = (slice(max(dr, 0), rows + min(dr, 0)), slice(max(dc, 0), columns + min(dc, 0)))
    source = (slice(max(-dr, 0), rows + min(-dr, 0)), slice(max(-dc, 0), columns + min(-dc, 0)))
    offered = owner[source]
    take = np.flatnonzero((offered >= 0) & (offered != owner[to]) & asked[to])
    if len(take) == 0:
        return
    width = offered.shape[1]
    r, c = take // width + to[0].start, take % width + to[1].start
    cell = r * columns + c
    candidate = offered.ravel()[take]
    squared = _squared(metric, points, tangents, cell, candidate)
    nearer = squared < best.ravel()[cell]
    best.ravel()[cell[nearer]] = squared[nearer]
    owner.ravel()[cell[nearer]] = candidate[nearer]


def _squared(
    metric: CuspMetric, points: FloatArray, tangents: FloatArray, cell: NDArray[np.intp], candidate: NDArray[np.int32]
) -> NDArray[np.float32]:
    """Squared g-distance from cells (flat numbers) to the short line piece round their candidate point."""
    grid = metric.grid
    x = grid.left + grid.cell * (cell % grid.columns) - points[candidate, 0]
    y = grid.front + grid.cell * (cell // grid.columns) - points[candidate, 1]
    tx, ty = tangents[candidate, 0], tangents[candidate, 1]
    along = np.clip(x * tx + y * ty, -0.5 * grid.cell, 0.5 * grid.cell)
    x, y = x - along * tx, y - along * ty
    xx, xy, yy = metric.xx.ravel()[cell], metric.xy.ravel()[cell], metric.yy.ravel()[cell]
    return (xx * x * x + 2 * xy * x * y + yy * y * y).astype(np.float32)


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
        points.append(line[-1:, :2])
        tangents.append((moves / length[:, None])[-1:])
    return np.concatenate(points), np.concatenate(tangents)


def gap_lines(
    metric: CuspMetric, inside: Mask, doubtful: Mask, lines: list[FloatArray], tolerated: float, shortest: float
) -> list[FloatArray]:
    """Centre lines (n, 2) of the gaps between laid lines.

    inside: planned axis cells. doubtful: cells that may lie in a gap; the others are known to be covered. tolerated: greatest cusp that counts as covered, as a multiple of the asked one; only gaps
    that pass it are closed, but then as far as they are wider than COVERED. shortest: gaps shorter than this (mm) are left.
    """
    distance = distance_to_lines(metric, lines, doubtful)
    limit = COVERED * np.sqrt(tolerated)
    open_cells = inside & doubtful & (distance > COVERED * np.sqrt(1 + (tolerated - 1) / 2))
    worst = open_cells & (distance > limit)
    parts = connected_parts(open_cells)
    wanted = np.zeros(int(parts.max()) + 1, bool)
    wanted[np.unique(parts[worst])] = True
    wanted[0] = False
    thin = centre_lines(wanted[parts])
    grid = metric.grid
    found = []
    for chain in chains(thin):
        line = np.stack([grid.left + grid.cell * chain[:, 1], grid.front + grid.cell * chain[:, 0]], axis=1)
        if len(line) * grid.cell < shortest:
            continue
        found.append(smoothed(line, rounds=3))
    return found

