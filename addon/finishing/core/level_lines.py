"""Level lines of a field on a grid, chained into polylines."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .grid import FloatArray, Grid


@dataclass(frozen=True)
class LevelLine:
    """One connected piece of a level line.

    points: (n, 2) x, y in mm; the first point is not repeated at the end of a closed line.
    level: number of the level, counted from `first` of `level_lines`. closed: whether it returns into itself.
    The field is greater on the left of every line, seen along it.
    """

    points: NDArray[np.float64]
    level: int
    closed: bool

    @property
    def whole(self) -> NDArray[np.float64]:
        """The points, (n, 2), of a closed line with the first one again at the end."""
        return np.concatenate([self.points, self.points[:1]]) if self.closed else self.points


def level_lines(values: FloatArray, grid: Grid, first: float, known: NDArray[np.bool_] | None = None) -> list[LevelLine]:
    """All lines where the values equal first + k for whole k, by marching squares with linear interpolation.

    values: (rows, columns). known: cells whose values count (None: all); squares with an unknown corner hold no line.
    """
    rows, columns = values.shape
    height = (values - first).ravel()
    floor = np.floor(height).astype(np.int32)  # the number of the greatest level at or below the cell
    if known is None:
        square = (np.arange(rows - 1)[:, None] * columns + np.arange(columns - 1)).ravel()
    else:
        row, column = np.nonzero(known[:-1, :-1] & known[:-1, 1:] & known[1:, 1:] & known[1:, :-1])
        square = row * columns + column
    corners = [floor.take(square + r * columns + c) for r, c in _CORNERS]
    low, high = np.minimum.reduce(corners), np.maximum.reduce(corners)
    crossed = np.flatnonzero(high > low)
    if len(crossed) == 0:
        return []
    low, count = low[crossed].astype(np.int64), (high - low)[crossed]
    number = np.repeat(np.arange(len(crossed)), count)
    level = low[number] + 1 + np.arange(len(number)) - np.repeat(np.cumsum(count) - count, count)
    return _chain(*_segments(height, columns, square[crossed][number], level), grid)


# Corners of a square in anticlockwise order and the edges between them: bottom, right, top, left.
_CORNERS = ((0, 0), (0, 1), (1, 1), (1, 0))
# For every pattern of corners above the level (bit c for corner c): the edges (from, to) of one segment, greater values on the left.
# In saddles the segments part the corners below, or, where the middle is above the level, those above (pattern + 16); each has a second one.
_FIRST: dict[int, tuple[int, int]] = {
    1: (0, 3), 2: (1, 0), 3: (1, 3), 4: (2, 1), 6: (2, 0), 7: (2, 3), 8: (3, 2), 9: (0, 2), 11: (1, 2), 12: (3, 1), 13: (0, 1), 14: (3, 0),
    5: (0, 3), 5 + 16: (0, 1), 10: (1, 0), 10 + 16: (1, 2),
}  # fmt: skip
_SECOND: dict[int, tuple[int, int]] = {5: (2, 1), 5 + 16: (2, 3), 10: (3, 2), 10 + 16: (3, 0)}


def _segments(
    height: FloatArray, columns: int, cell: NDArray[np.int64], level: NDArray[np.int64]
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.float64], NDArray[np.int64]]:
    """Segments of (square, level) pairs: start and end crossing numbers, and the crossings' (row, column) and levels.

    height: flat, of a grid with so many columns. cell: flat number of each square's first corner.
    """
    value = [height.take(cell + r * columns + c) for r, c in _CORNERS]
    pattern = np.zeros(len(cell), np.intp)
    for corner, bit in zip(value, (1, 2, 4, 8), strict=True):
        pattern += bit * (corner >= level)
    saddle = np.flatnonzero((pattern == 5) | (pattern == 10))
    pattern[saddle] += 16 * (sum(corner[saddle] for corner in value) >= 4 * level[saddle])
    # Every grid edge has a number: horizontal ones 2 * cell, vertical ones 2 * cell + 1; with the level it names a crossing.
    edge_number = np.array([0, 2 + 1, 2 * columns, 1])
    lowest = level.min()
    span = int(level.max() - lowest) + 1
    start: list[NDArray[np.int64]] = []
    end: list[NDArray[np.int64]] = []
    for table, which in ((_FIRST, slice(None)), (_SECOND, saddle)):
        edges = np.zeros((2, 32), np.intp)
        edges[:, list(table)] = np.array(list(table.values())).T
        for side, found in ((0, start), (1, end)):
            edge = 2 * cell[which] + edge_number[edges[side]].take(pattern[which])
            found.append(edge * span + (level[which] - lowest))
    starts, ends = np.concatenate(start), np.concatenate(end)
    names, numbers = np.unique(np.concatenate([starts, ends]), return_inverse=True)
    edge, crossing_level = names // span, names % span + lowest
    first_cell, vertical = edge // 2, edge % 2
    r, c = first_cell // columns, first_cell % columns
    before = height.take(first_cell)
    after = height.take(first_cell + np.where(vertical, columns, 1))
    share = (crossing_level - before) / (after - before)
    place = np.stack([r + vertical * share, c + (1 - vertical) * share], axis=1)
    return numbers[: len(starts)], numbers[len(starts) :], place, crossing_level


def _chain(start: NDArray[np.int64], end: NDArray[np.int64], place: NDArray[np.float64], level: NDArray[np.int64], grid: Grid) -> list[LevelLine]:
    """Join directed segments into polylines: every crossing is left and reached at most once."""
    following = np.full(len(place), -1, np.int64)
    following[start] = end
    reached = np.zeros(len(place), bool)
    reached[end] = True
    after = following.tolist()
    # All lines one after the other: first those with two ends.
    order: list[int] = []
    ends: list[int] = []
    for head in np.flatnonzero(~reached & (following >= 0)).tolist():
        at = head
        while at >= 0:
            order.append(at)
            at = after[at]
        ends.append(len(order))
    open_lines = len(ends)
    on_ring = following >= 0
    on_ring[order] = False
    done = bytearray(len(place))
    for head in np.flatnonzero(on_ring).tolist():
        if done[head]:
            continue
        at = head
        while not done[at]:
            done[at] = 1
            order.append(at)
            at = after[at]
        ends.append(len(order))
    chained = np.array(order, np.intp)
    points = np.stack([grid.left + grid.cell * place[chained, 1], grid.front + grid.cell * place[chained, 0]], axis=1)
    begins = [0, *ends[:-1]]
    levels = level[chained[begins]].tolist() if ends else []
    return [
        LevelLine(points[first:last], levels[number], number >= open_lines)
        for number, (first, last) in enumerate(zip(begins, ends, strict=True))
        if last - first > 1
    ]
