"""Grey dilation of a height grid by a ball, exactly, using the ball's four-fold symmetry.

The tip height at a cell is the greatest of z(cell + (i, j)) - s(i, j) over all offsets of i columns and j rows within the ball, s being
its sag. s depends on |i| and |j| alone, so the four heights at (+-i, +-j) may be joined before the sag is taken off: the two
mirror-image columns once for every i, and of these the two mirror-image rows for every j. That leaves one join, one subtraction and
one comparison for every offset of a quarter of the ball, each over a whole tile of cells laid out in one row of memory, where a shift by
j rows is a shift by j tile widths. Tiles keep that work in the processor's cache. The cost grows with the square of the radius over the cell.
"""

from __future__ import annotations

from collections.abc import Generator
from threading import local

import numpy as np

from ..core.array_types import Indices, Single
from ..core.stepping import within
from ..core.threads import THREADS, in_threads
from .sag import ball_sag, radius_in_cells

TILE_ROWS, TILE_COLUMNS = 360, 1000
"""Greatest size of a tile in cells: its heights and two more arrays as large fit into a cache of a few MiB."""

SECONDS_PER_OPERATION = 0.35e-9
"""Rough guess, for any machine, at what one operation on one cell takes; it only decides how often the work pauses."""

SECONDS_PER_PIECE = 0.04
"""Work between two pauses: short enough that the window never stands still for 0.1 s."""

OPERATIONS_PER_OFFSET = 3
"""A join, a subtraction and a comparison."""


def symmetric_dilation_steps(heights: Single, radius: float, cell: float) -> Generator[float, None, Single]:
    """max over offsets of heights - sag, (rows, columns) float32; yields progress from 0 to 1. -inf cells lift nothing."""
    rim = radius_in_cells(radius, cell)
    sag = ball_sag(radius, cell)[rim:, rim:].astype(np.float32)  # [column offset, row offset], both from 0
    depth = np.isfinite(sag).sum(axis=1)  # row offsets per column offset
    rows, columns = heights.shape
    tile_rows = -(-rows // -(-rows // TILE_ROWS))
    tile_columns = -(-columns // -(-columns // TILE_COLUMNS))
    high, wide = -(-rows // tile_rows) * tile_rows, -(-columns // tile_columns) * tile_columns
    padded = np.full((high + 2 * rim, wide + 2 * rim), -np.inf, np.float32)
    padded[rim : rim + rows, rim : rim + columns] = heights
    out = np.empty((high, wide), np.float32)
    best_of: dict[tuple[int, int], Single] = {}
    buffers = local()

    def work(tile: tuple[int, int, int, int]) -> None:
        row, column, first, last = tile
        if not hasattr(buffers, "joined"):
            buffers.joined = np.empty((tile_rows + 2 * rim, tile_columns), np.float32)
            buffers.lowered = np.empty(tile_rows * tile_columns, np.float32)
        source = padded[row : row + tile_rows + 2 * rim, column : column + tile_columns + 2 * rim]
        for i in range(first, last):
            _raise_by_columns(best_of[row, column], source, i, sag[i, : depth[i]], buffers.joined, buffers.lowered)
        if last == rim + 1:
            out[row : row + tile_rows, column : column + tile_columns] = best_of.pop((row, column)).reshape(tile_rows, tile_columns)

    # A tile's column offsets are cut into pieces, so that a step stays short whatever the radius.
    tiles = [(r, c) for r in range(0, high, tile_rows) for c in range(0, wide, tile_columns)]
    pieces = _pieces(depth, rim, tile_rows * tile_columns)
    total = len(tiles) * len(pieces)
    done = 0
    for pair in (tiles[k : k + THREADS] for k in range(0, len(tiles), THREADS)):
        for r, c in pair:
            best_of[r, c] = np.full(tile_rows * tile_columns, -np.inf, np.float32)
        for first, last in pieces:
            yield from within(in_threads(work, [(r, c, first, last) for r, c in pair]), done / total, (done + len(pair)) / total)
            done += len(pair)
    return np.ascontiguousarray(out[:rows, :columns])


def _raise_by_columns(best: Single, source: Single, i: int, sag: Single, joined: Single, lowered: Single) -> None:
    """Raise a tile's best tip heights so far (flat) by all offsets of i columns.

    source: the heights of the tile and of a rim of the ball's radius round it. sag: (row offsets,) mm. joined, lowered: buffers.
    """
    tile_columns, size = joined.shape[1], len(best)
    tile_rows = size // tile_columns
    rim, most = (len(source) - tile_rows) // 2, len(sag) - 1
    span = slice(rim - most, rim + most + tile_rows)
    np.maximum(source[span, rim + i : rim + i + tile_columns], source[span, rim - i : rim - i + tile_columns], out=joined[span])
    flat, centre = joined.ravel(), rim * tile_columns
    np.subtract(flat[centre : centre + size], sag[0], out=lowered)
    np.maximum(best, lowered, out=best)
    for j in range(1, len(sag)):
        shift = j * tile_columns
        np.maximum(flat[centre + shift : centre + shift + size], flat[centre - shift : centre - shift + size], out=lowered)
        np.subtract(lowered, sag[j], out=lowered)
        np.maximum(best, lowered, out=best)


def _pieces(depth: Indices, most: int, tile_cells: int) -> list[tuple[int, int]]:
    """Column offsets 0..most in pieces first..last (last excluded) of about SECONDS_PER_PIECE. depth: row offsets of every column offset."""
    budget = SECONDS_PER_PIECE / (SECONDS_PER_OPERATION * OPERATIONS_PER_OFFSET * tile_cells)
    pieces, first, used = [], 0, 0.0
    for i in range(most + 1):
        used += float(depth[i])
        if used >= budget or i == most:
            pieces.append((first, i + 1))
            first, used = i + 1, 0.0
    return pieces
