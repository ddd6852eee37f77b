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
    height = values - first
    floor = np.floor(height).astype(np.int64)  # the number of the greatest level at or below the cell
    corners = [floor[:-1, :-1], floor[:-1, 1:], floor[1:, 1:], floor[1:, :-1]]
    low = np.minimum.reduce(corners)
    high = np.maximum.reduce(corners)
    crossed = high > low
    if known is not None:
        crossed &= known[:-1, :-1] & known[:-1, 1:] & known[1:, 1:] & known[1:, :-1]
    row, column = np.nonzero(crossed)
    if len(row) == 0:
        return []
    count = (high - low)[row, column]
    square = np.repeat(np.arange(len(row)), count)
    level = low[row, column][square] + 1 + np.arange(len(square)) - np.repeat(np.cumsum(count) - count, count)
    row, column = row[square], column[square]
    return _chain(*_segments(height, row, column, level), grid)


# Corners of a square in anticlockwise order and the edges between them: bottom, right, top, left.
_CORNERS = ((0, 0), (0, 1), (1, 1), (1, 0))
# For every pattern of corners above the level (bit c for corner c): pairs of edges (from, to), greater values on the left.
_PAIRS: dict[int, tuple[tuple[int, int], ...]] = {
    1: ((0, 3),), 2: ((1, 0),), 3: ((1, 3),), 4: ((2, 1),), 6: ((2, 0),), 7: ((2, 3),),
    8: ((3, 2),), 9: ((0, 2),), 11: ((1, 2),), 12: ((3, 1),), 13: ((0, 1),), 14: ((3, 0),),
}  # fmt: skip
_SADDLES: dict[tuple[int, bool], tuple[tuple[int, int], ...]] = {
    (5, False): ((0, 3), (2, 1)), (5, True): ((0, 1), (2, 3)),
    (10, False): ((1, 0), (3, 2)), (10, True): ((1, 2), (3, 0)),
}  # fmt: skip


def _segments(
    height: FloatArray, row: NDArray[np.int64], column: NDArray[np.int64], level: NDArray[np.int64]
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.float64], NDArray[np.int64]]:
    """Segments of (square, level) pairs: start and end crossing numbers, and the crossings' (row, column) and levels."""
    columns = height.shape[1]
    value = np.stack([height[row + r, column + c] for r, c in _CORNERS])
    above = value >= level
    pattern = (above * np.array([[1], [2], [4], [8]])).sum(axis=0)
    middle_above = value.mean(axis=0) >= level
    # Every grid edge has a number: horizontal ones 2 * cell, vertical ones 2 * cell + 1; with the level it names a crossing.
    cell = row * columns + column
    edge_number = np.stack([2 * cell, 2 * (cell + 1) + 1, 2 * (cell + columns), 2 * cell + 1])
    span = int(level.max() - level.min()) + 1
    starts, ends = [], []

    def take(which: NDArray[np.bool_], pairs: tuple[tuple[int, int], ...]) -> None:
        for source, target in pairs:
            shift = level[which] - level.min()
            starts.append(edge_number[source][which] * span + shift)
            ends.append(edge_number[target][which] * span + shift)

    for code, pairs in _PAIRS.items():
        take(pattern == code, pairs)
    for (code, middle), pairs in _SADDLES.items():
        take((pattern == code) & (middle_above == middle), pairs)
    start, end = np.concatenate(starts), np.concatenate(ends)
    names, numbers = np.unique(np.concatenate([start, end]), return_inverse=True)
    edge, crossing_level = names // span, names % span + level.min()
    first_cell, vertical = edge // 2, edge % 2
    r, c = first_cell // columns, first_cell % columns
    before = height[r, c]
    after = height[r + vertical, c + 1 - vertical]
    share = (crossing_level - before) / (after - before)
    place = np.stack([r + vertical * share, c + (1 - vertical) * share], axis=1)
    return numbers[: len(start)], numbers[len(start) :], place, crossing_level


def _chain(
    start: NDArray[np.int64], end: NDArray[np.int64], place: NDArray[np.float64], level: NDArray[np.int64], grid: Grid
) -> list[LevelLine]:
    """Join directed segments into polylines: every crossing is left and reached at most once."""
    following = np.full(len(place), -1, np.int64)
    following[start] = end
    reached = np.zeros(len(place), bool)
    reached[end] = True
    points = np.stack([grid.left + grid.cell * place[:, 1], grid.front + grid.cell * place[:, 0]], axis=1)
    after = following.tolist()
    done = bytearray(len(place))
    lines = []
    open_starts = np.flatnonzero(~reached & (following >= 0)).tolist()
    for closed, heads in ((False, open_starts), (True, range(len(place)))):
        for head in heads:
            if done[head] or after[head] < 0:
                continue
            members = []
            at = head
            while at >= 0 and not done[at]:
                done[at] = 1
                members.append(at)
                at = after[at]
            if len(members) > 1:
                lines.append(LevelLine(points[members], int(level[members[0]]), closed))
    return lines
