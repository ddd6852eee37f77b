"""Ground that laid pass lines leave uncovered, and the lines that close the gaps."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .cells import Mask, centre_lines, chains, connected_parts, grown
from .cusp import CuspMetric
from .grid import FloatArray, Grid
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
        points.append(line[-1:, :2])  # type: ignore[arg-type]
        tangents.append((moves / length[:, None])[-1:])
    return np.concatenate(points), np.concatenate(tangents)


def gap_lines(
    metric: CuspMetric, inside: Mask, doubtful: Mask, lines: list[FloatArray], tolerated: float, shortest: float
) -> list[FloatArray]:
    """Centre lines (n, 2) of the gaps between laid lines.

    inside: planned axis cells. doubtful: cells that may lie in a gap; the others are known to be covered.
    tolerated: greatest cusp that counts as covered, as a multiple of the asked one. Where one gap follows another along a
    ridge, they are joined through ground that is nearly uncovered. shortest: mm, lines are drawn out to this length at
    least.
    """
    distance = distance_to_lines(metric, lines, doubtful)
    near = inside & doubtful & (distance > JOINED)
    worst = near & (distance > COVERED * np.sqrt(tolerated))
    grid = metric.grid
    # Open ground within reach of a gap that is too wide; so short gaps close together become one line.
    wanted = near & grown(worst, grid.cell, max(shortest, 2 * grid.cell))
    found = []
    parts = connected_parts(wanted)
    drawn = np.zeros(int(parts.max()) + 1, bool)
    for chain in chains(centre_lines(wanted)):
        if len(chain) >= 4 and _any_beside(worst, chain):
            drawn[parts[chain[:, 0], chain[:, 1]]] = True
            found.append(smoothed(_places(grid, chain), rounds=3))
    left = np.zeros_like(drawn)
    left[np.unique(parts[worst])] = True
    cells = np.argwhere((left & ~drawn)[parts])
    number = parts[cells[:, 0], cells[:, 1]]
    order = np.argsort(number, kind="stable")
    for group in np.split(cells[order], np.flatnonzero(np.diff(number[order])) + 1):
        if len(group):
            found.append(_through(_places(grid, group), 2 * grid.cell))
    return found


def _places(grid: Grid, cells: NDArray[np.intp]) -> FloatArray:
    """Centres (n, 2) in mm of cells (n, 2) given as (row, column)."""
    return np.stack([grid.left + grid.cell * cells[:, 1], grid.front + grid.cell * cells[:, 0]], axis=1)


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
