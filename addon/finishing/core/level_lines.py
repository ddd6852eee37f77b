"""Level lines of a field on a grid, chained into polylines."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .array_types import Double, FloatArray, Indices, Mask
from .filters import strips
from .grid import Grid
from .ragged import run_owners, run_ranges
from .upright import Upright

_CORNERS = ((0, 0), (0, 1), (1, 1), (1, 0))
"""Corners of a square as (row, column), anticlockwise; between them lie its edges 0 bottom, 1 right, 2 top, 3 left."""

_MIDDLE_ABOVE = 16
"""Added to the pattern of a saddle whose middle lies above the level."""

_FIRST: dict[int, tuple[int, int]] = {
    **{1: (0, 3), 2: (1, 0), 4: (2, 1), 8: (3, 2)},  # one corner above
    **{14: (3, 0), 13: (0, 1), 11: (1, 2), 7: (2, 3)},  # one corner below
    **{3: (1, 3), 6: (2, 0), 12: (3, 1), 9: (0, 2)},  # two neighbours above
    **{5: (0, 3), 10: (1, 0)},  # saddles: the corners above are cut off one by one
    **{5 + _MIDDLE_ABOVE: (0, 1), 10 + _MIDDLE_ABOVE: (1, 2)},  # saddles: the corners below are
}
"""For every pattern of corners above the level (bit c for corner c): the edges (from, to) of one segment, greater values on its left."""
_SECOND: dict[int, tuple[int, int]] = {
    **{5: (2, 1), 10: (3, 2)},
    **{5 + _MIDDLE_ABOVE: (2, 3), 10 + _MIDDLE_ABOVE: (3, 0)},
}
"""The second segment of saddles."""


AS_FAR = 1 - 1e-6
"""Share of the greatest squared distance from which another is as great but for rounding."""


@dataclass(frozen=True)
class LevelLine:
    """One connected piece of a level line.

    points: (n, 2) x, y in mm; the first point is not repeated at the end of a closed line.
    level: number of the level, counted from `first` of `level_lines`. closed: whether it returns into itself.
    The field is greater on the left of every line, seen along it.
    """

    points: Double
    level: int
    closed: bool

    @property
    def whole(self) -> Double:
        """The points, (n, 2), of a closed line with the first one again at the end."""
        return np.concatenate([self.points, self.points[:1]]) if self.closed else self.points


def level_lines(values: FloatArray, grid: Grid, first: float, known: Mask | None = None) -> list[LevelLine]:
    """All lines where the values equal first + k for whole k, by marching squares with linear interpolation.

    values: (rows, columns). known: cells whose values count (None: all); squares with an unknown corner hold no line. Lines come level by level,
    the one with the most points first, and rings begin at their point farthest from their middle: alike however a body is turned on the grid.
    """
    if len(values) < 2:
        return []
    found = [_crossed(values, first, known, rows) for _, _, rows in strips(len(values) - 1)]
    square, low, count = (np.concatenate(parts) for parts in zip(*found, strict=True))
    if len(square) == 0:
        return []
    segments = _segments(values.ravel(), first, values.shape[1], square[run_owners(count)], run_ranges(low + 1, count))
    return _chained(segments, grid, Upright.of(np.ones(values.shape, bool) if known is None else known))


def _crossed(values: FloatArray, first: float, known: Mask | None, rows: slice) -> tuple[Indices, NDArray[np.int64], NDArray[np.int32]]:
    """The squares of some rows that levels cross, by the flat numbers of their first corners; the level below the lowest of those, and how many there
    are.
    """
    columns = values.shape[1]
    some = slice(rows.start, rows.stop + 1)
    floor = np.floor((values[some] - first).ravel()).astype(np.int32)  # the number of the greatest level at or below the cell
    if known is None:
        square = (np.arange(rows.stop - rows.start)[:, None] * columns + np.arange(columns - 1)).ravel()
    else:
        near = known[some]
        row, column = np.nonzero(near[:-1, :-1] & near[:-1, 1:] & near[1:, 1:] & near[1:, :-1])
        square = row * columns + column
    corners = [floor.take(square + r * columns + c) for r, c in _CORNERS]
    low, high = np.minimum.reduce(corners), np.maximum.reduce(corners)
    crossed = np.flatnonzero(high > low)
    return square[crossed] + rows.start * columns, low[crossed].astype(np.int64), (high - low)[crossed]


@dataclass(frozen=True)
class _Segments:
    """Directed segments between crossings of levels and grid edges.

    start, end: (segments,) numbers of crossings. at: (crossings, 2) row and column. level: (crossings,).
    """

    start: Indices
    end: Indices
    at: Double
    level: NDArray[np.int64]


def _segments(values: FloatArray, first: float, columns: int, square: Indices, level: Indices) -> _Segments:
    """Segments of pairs of a square and a level that crosses it.

    values: flat, of a grid with so many columns; they equal `first` on level 0. square: flat number of each square's first corner.
    """
    corners = [values.take(square + r * columns + c) - first for r, c in _CORNERS]
    pattern = np.zeros(len(square), np.intp)
    for corner, bit in zip(corners, (1, 2, 4, 8), strict=True):
        pattern += bit * (corner >= level)
    saddle = np.flatnonzero((pattern == 5) | (pattern == 10))
    pattern[saddle] += _MIDDLE_ABOVE * (sum(corner[saddle] for corner in corners) >= 4 * level[saddle])
    # Every grid edge has a number: horizontal ones 2 * cell, vertical ones 2 * cell + 1; with the level it names a crossing.
    edge_number = np.array([0, 2 + 1, 2 * columns, 1])
    lowest = level.min()
    span = int(level.max() - lowest) + 1
    start: list[Indices] = []
    end: list[Indices] = []
    for table, which in ((_FIRST, slice(None)), (_SECOND, saddle)):
        edges = np.zeros((2, 2 * _MIDDLE_ABOVE), np.intp)
        edges[:, list(table)] = np.array(list(table.values())).T
        for side, found in ((0, start), (1, end)):
            edge = 2 * square[which] + edge_number[edges[side]].take(pattern[which])
            found.append(edge * span + (level[which] - lowest))
    starts, ends = np.concatenate(start), np.concatenate(end)
    names, numbers = np.unique(np.concatenate([starts, ends]), return_inverse=True)
    edge, crossing_level = names // span, names % span + lowest
    first_cell, vertical = edge // 2, edge % 2
    before = values.take(first_cell) - first
    after = values.take(first_cell + np.where(vertical, columns, 1)) - first
    share = (crossing_level - before) / (after - before)
    at = np.stack([first_cell // columns + vertical * share, first_cell % columns + (1 - vertical) * share], axis=1)
    return _Segments(numbers[: len(starts)], numbers[len(starts) :], at, crossing_level)


def _chained(segments: _Segments, grid: Grid, upright: Upright) -> list[LevelLine]:
    """Join segments into polylines: at every crossing one segment ends and one begins at the most, so following them is enough.

    upright: says which comes first among pieces and places that are alike.
    """
    following = np.full(len(segments.at), -1, np.intp)
    following[segments.start] = segments.end
    reached = np.zeros(len(segments.at), bool)
    reached[segments.end] = True
    after = following.tolist()
    # All lines one after the other: first those with two ends, then the rings.
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
    done = bytearray(len(segments.at))
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
    begins = [0, *ends[:-1]]
    pieces = [chained[first:last] for first, last in zip(begins, ends, strict=True)]
    rank = upright.rank(segments.at)
    pieces[open_lines:] = [_from_farthest(ring, segments.at, rank) for ring in pieces[open_lines:]]
    numbers = [number for number, piece in enumerate(pieces) if len(piece) > 1]
    levels, first_rank = segments.level.tolist(), rank.tolist()
    numbers.sort(key=lambda number: (levels[pieces[number][0]], -len(pieces[number]), first_rank[pieces[number][0]]))
    return [LevelLine(_middles(segments.at[pieces[number]], grid), levels[pieces[number][0]], number >= open_lines) for number in numbers]


def _middles(at: FloatArray, grid: Grid) -> Double:
    """Places (n, 2) in mm of rows and columns (n, 2) that need not be whole."""
    row, column = at.T
    return np.stack([grid.left + grid.cell * column, grid.front + grid.cell * row], axis=1)


def _from_farthest(ring: Indices, at: FloatArray, rank: FloatArray) -> Indices:
    """The crossings of a ring (n,) from the one on that lies farthest from their mean; of several as far, the one with the greatest rank."""
    away = at[ring] - at[ring].mean(axis=0)
    squared = (away * away).sum(axis=1)
    farthest = np.flatnonzero(squared >= AS_FAR * squared.max())
    return np.roll(ring, -int(farthest[rank[ring[farthest]].argmax()]))
