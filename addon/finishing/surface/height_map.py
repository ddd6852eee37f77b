"""Triangles to a grid of heights: the highest point of the body above every cell's centre."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ..core.grid import FloatArray, Grid
from ..core.masks import Mask

INCLUSIVE = 1e-9
"""Share of a cell by which triangles are widened, so that no centre on a shared edge falls between two of them."""

SPANS_AT_ONCE = 1 << 17


def height_map(triangles: FloatArray, grid: Grid, upward_only: bool = True) -> NDArray[np.float64]:
    """Greatest z of triangles (n, 3, 3) at the cell centres, (rows, columns) float64, -inf where there is none.

    Every triangle is cut into one span of cells per row; heights on a span follow the triangle's plane exactly.
    upward_only: leave out faces that look down. Only right for a closed body whose faces all turn the same way.
    """
    out = np.full(grid.rows * grid.columns, -np.inf)
    # In units of cells, so that the centre of cell [j, i] lies at x = i, y = j.
    x = (triangles[:, :, 0] - grid.left) / grid.cell
    y = (triangles[:, :, 1] - grid.front) / grid.cell
    z = triangles[:, :, 2]
    twice_area = (x[:, 1] - x[:, 0]) * (y[:, 2] - y[:, 0]) - (x[:, 2] - x[:, 0]) * (y[:, 1] - y[:, 0])  # type: ignore[var-annotated]
    kept = twice_area > 1e-12 if upward_only else np.abs(twice_area) > 1e-12  # upright faces hold no centre
    low_x, high_x = _range_of_corners(x)
    low_y, high_y = _range_of_corners(y)
    first_row = np.maximum(np.ceil(low_y - INCLUSIVE), 0).astype(np.int64)
    last_row = np.minimum(np.floor(high_y + INCLUSIVE), grid.rows - 1).astype(np.int64)
    first_column = np.maximum(np.ceil(low_x - INCLUSIVE), 0)
    last_column = np.minimum(np.floor(high_x + INCLUSIVE), grid.columns - 1)
    kept &= (first_row <= last_row) & (first_column <= last_column)
    number = np.flatnonzero(kept)
    if len(number) == 0:
        return out.reshape(grid.shape)
    row_count = (last_row - first_row + 1)[number]
    done = np.concatenate([[0], np.cumsum(row_count)])
    start = 0
    while start < len(number):
        end = max(start + 1, int(np.searchsorted(done, done[start] + SPANS_AT_ONCE, "right")) - 1)
        some = number[start:end]
        owner = np.repeat(np.arange(len(some)), row_count[start:end])
        row = np.arange(len(owner)) - np.repeat(done[start:end] - done[start], row_count[start:end]) + first_row[some][owner]
        low, high = _spans(x[some], y[some], np.sign(twice_area[some]), owner, row, first_column[some], last_column[some])
        _fill(out, grid.columns, x[some], y[some], z[some], twice_area[some], owner, row, low, high)
        start = end
    return out.reshape(grid.shape)


def _range_of_corners(values: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Least and greatest of (n, 3) values, corner by corner: numpy takes far longer along an axis as short as that."""
    a, b, c = values.T
    return np.minimum(np.minimum(a, b), c), np.maximum(np.maximum(a, b), c)


def _spans(
    x: FloatArray,
    y: FloatArray,
    turn: FloatArray,
    owner: NDArray[np.int64],
    row: NDArray[np.int64],
    first_column: FloatArray,
    last_column: FloatArray,
) -> tuple[FloatArray, FloatArray]:
    """First and last x (in cells) of every triangle on every row it crosses."""
    low, high = first_column[owner], last_column[owner]
    for a, b in ((0, 1), (1, 2), (2, 0)):
        run = (x[:, b] - x[:, a]) * turn
        rise = (y[:, b] - y[:, a]) * turn
        with np.errstate(divide="ignore", invalid="ignore"):
            slant = run / rise
            crossing = x[:, a][owner] + slant[owner] * (row - y[:, a][owner])
        rising = rise[owner]
        high = np.where(rising > 0, np.minimum(high, crossing + INCLUSIVE), high)
        low = np.where(rising < 0, np.maximum(low, crossing - INCLUSIVE), low)
        level = rising == 0
        if level.any():
            along = run[owner]
            outside = level & (along * (row - y[:, a][owner]) < -INCLUSIVE * np.abs(along))
            high = np.where(outside, -1.0, high)
    return np.ceil(low), np.floor(high)


def _fill(
    out: FloatArray,
    columns: int,
    x: FloatArray,
    y: FloatArray,
    z: FloatArray,
    twice_area: FloatArray,
    owner: NDArray[np.int64],
    row: NDArray[np.int64],
    low: FloatArray,
    high: FloatArray,
) -> None:
    """Raise the cells of all spans to their triangles' planes."""
    along_x = ((z[:, 1] - z[:, 0]) * (y[:, 2] - y[:, 0]) - (z[:, 2] - z[:, 0]) * (y[:, 1] - y[:, 0])) / twice_area
    along_y = ((x[:, 1] - x[:, 0]) * (z[:, 2] - z[:, 0]) - (x[:, 2] - x[:, 0]) * (z[:, 1] - z[:, 0])) / twice_area
    width = (high - low).astype(np.int64) + 1
    some = np.flatnonzero(width > 0)
    owner, row, first, width = owner[some], row[some], low[some].astype(np.int64), width[some]
    base = z[owner, 0] + along_y[owner] * (row - y[owner, 0]) + along_x[owner] * (first - x[owner, 0])
    step = np.arange(int(width.sum())) - np.repeat(np.cumsum(width) - width, width)
    height = np.repeat(base, width) + np.repeat(along_x[owner], width) * step
    # Rounding on slivers must not leave the triangle's own range of heights.
    lowest, highest = _range_of_corners(z)
    np.clip(height, np.repeat(lowest[owner], width), np.repeat(highest[owner], width), out=height)
    np.maximum.at(out, np.repeat(row * columns + first, width) + step, height)


def top_marks(triangles: FloatArray, marks: NDArray[np.bool_], grid: Grid, heights: FloatArray, tolerance: float = 1e-4) -> Mask:
    """Cells, (rows, columns) bool, whose top surface belongs to a marked triangle.

    marks: (n,) bool. heights: the height map of all triangles; tolerance in mm.
    """
    if not marks.any():
        return np.zeros(grid.shape, bool)
    marked = height_map(triangles[marks], grid, upward_only=False)
    return (marked > -np.inf) & (marked >= heights - tolerance)


BYTES_PER_CELL = 200
"""Bytes per cell and BYTES_PER_TRIANGLE, chosen above what the bench measures; it prints the estimate beside the peak."""

BYTES_PER_TRIANGLE = 900


def estimated_memory_mib(grid: Grid, triangle_count: int) -> float:
    """Memory in MiB that a plan on this grid is expected to take at its peak."""
    return (grid.rows * grid.columns * BYTES_PER_CELL + triangle_count * BYTES_PER_TRIANGLE) / 2**20
