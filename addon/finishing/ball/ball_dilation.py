"""Grey dilation of a height grid by a ball, exactly, using the ball's four-fold symmetry.

For every column offset the two mirror-image columns are joined once; for every row offset the two mirror-image rows are
joined, lowered by the ball's sag and kept where they are higher. Tiles keep the work in the processor's cache. The cost
grows with the square of the radius over the cell.
"""

from __future__ import annotations

from collections.abc import Generator
from threading import local

import numpy as np
from numpy.typing import NDArray

from ..core.stepping import within
from ..core.threads import THREADS, in_threads

Heights = NDArray[np.float32]

TILE_ROWS, TILE_COLUMNS = 360, 1000
"""Greatest size of a tile in cells."""

SECONDS_PER_OPERATION = 0.35e-9


def ball_sag(radius: float, cell: float) -> NDArray[np.float64]:
    """How far the ball's surface lies above its tip at every cell offset, (2r + 1, 2r + 1) mm; infinite outside the ball."""
    reach = ball_reach(radius, cell)
    offset = np.arange(-reach, reach + 1) * cell
    squared = offset[:, None] ** 2 + offset[None] ** 2
    inside = squared <= radius * radius * (1 + 1e-12)
    return np.where(inside, radius - np.sqrt(np.maximum(radius * radius - squared, 0)), np.inf)


def ball_reach(radius: float, cell: float) -> int:
    """Radius of the ball in whole cells."""
    return int(np.floor(radius / cell + 1e-9))


def symmetric_dilation_steps(heights: Heights, radius: float, cell: float) -> Generator[float, None, Heights]:
    """max over offsets of heights - sag, (rows, columns) float32; yields shares done. -inf cells lift nothing."""
    reach = ball_reach(radius, cell)
    sag = ball_sag(radius, cell)[reach:, reach:].astype(np.float32)  # [column offset, row offset], both from 0
    depth = np.isfinite(sag).sum(axis=1)  # row offsets per column offset
    rows, columns = heights.shape
    tile_rows = -(-rows // -(-rows // TILE_ROWS))
    tile_columns = -(-columns // -(-columns // TILE_COLUMNS))
    high, wide = -(-rows // tile_rows) * tile_rows, -(-columns // tile_columns) * tile_columns
    padded = np.full((high + 2 * reach, wide + 2 * reach), -np.inf, np.float32)
    padded[reach : reach + rows, reach : reach + columns] = heights
    out = np.empty((high, wide), np.float32)
    buffers = local()

    def work(tile: tuple[int, int, int, int]) -> None:
        row, column, first, last = tile
        if not hasattr(buffers, "joined"):
            buffers.joined = np.empty((tile_rows + 2 * reach, tile_columns), np.float32)
            buffers.lowered = np.empty(tile_rows * tile_columns, np.float32)
        joined, lowered = buffers.joined, buffers.lowered
        flat = joined.ravel()
        size = tile_rows * tile_columns
        best = best_of[row, column]
        source = padded[row : row + tile_rows + 2 * reach, column : column + tile_columns + 2 * reach]
        centre = reach * tile_columns
        for i in range(first, last):
            most = depth[i] - 1
            span = slice(reach - most, reach + most + tile_rows)
            right, left = source[span, reach + i : reach + i + tile_columns], source[span, reach - i : reach - i + tile_columns]
            np.maximum(right, left, out=joined[span])
            np.subtract(flat[centre : centre + size], sag[i, 0], out=lowered)
            np.maximum(best, lowered, out=best)
            for j in range(1, depth[i]):
                shift = j * tile_columns
                np.maximum(flat[centre + shift : centre + shift + size], flat[centre - shift : centre - shift + size], out=lowered)
                np.subtract(lowered, sag[i, j], out=lowered)
                np.maximum(best, lowered, out=best)
        if last == reach + 1:
            out[row : row + tile_rows, column : column + tile_columns] = best.reshape(tile_rows, tile_columns)
            del best_of[row, column]

    # A tile's column offsets are cut into pieces, so that a step stays short whatever the radius.
    tiles = [(r, c) for r in range(0, high, tile_rows) for c in range(0, wide, tile_columns)]
    pieces = _pieces(depth, reach, tile_rows * tile_columns)
    best_of: dict[tuple[int, int], Heights] = {}
    total = len(tiles) * len(pieces)
    done = 0
    for pair in (tiles[k : k + THREADS] for k in range(0, len(tiles), THREADS)):
        for r, c in pair:
            best_of[r, c] = np.full(tile_rows * tile_columns, -np.inf, np.float32)
        for first, last in pieces:
            yield from within(in_threads(work, [(r, c, first, last) for r, c in pair]), done / total, (done + len(pair)) / total)
            done += len(pair)
    return np.ascontiguousarray(out[:rows, :columns])


def _pieces(depth: NDArray[np.intp], reach: int, tile_cells: int) -> list[tuple[int, int]]:
    """Column offsets 0..reach in pieces of some ten milliseconds each: SECONDS_PER_OPERATION is a rough guess for any machine."""
    budget = 0.04 / (SECONDS_PER_OPERATION * 3 * tile_cells)
    pieces, first, used = [], 0, 0.0
    for i in range(reach + 1):
        used += float(depth[i])
        if used >= budget or i == reach:
            pieces.append((first, i + 1))
            first, used = i + 1, 0.0
    return pieces
