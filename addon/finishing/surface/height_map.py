"""Triangles to a grid of heights: the highest point of the body above every cell's centre.

Every triangle is cut into spans, one for each row of cells that it crosses: the cells of that row whose centres lie between the
triangle's left and right edges. Along a span the height follows the triangle's plane, z = z0 + a (x - x0) + b (y - y0), so that
a span is a base height and a step per cell; and each cell keeps the greatest height that any span gives it. All spans of many
triangles are worked on together as ragged runs, and no loop runs over triangles.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..core.array_types import Double, FloatArray, Indices, Mask
from ..core.grid import Grid
from ..core.ragged import run_owners, run_places, run_ranges
from ..core.triangles import twice_plan_area

INCLUSIVE = 1e-9
"""Share of a cell by which triangles are widened, so that no centre on a shared edge falls between two of them."""

LEAST_TWICE_AREA = 1e-12
"""Square cells: triangles that cover less of the plan than half of this stand upright and hold no centre."""

SPANS_AT_ONCE = 1 << 17
"""Spans worked on at a time: some tens of MiB, and far more than make numpy's calls worth their while."""

SAME_HEIGHT = 1e-4
"""mm; a marked triangle this close below the highest one still counts as the top: heights are kept in single precision."""

BYTES_PER_CELL, BYTES_PER_TRIANGLE, BYTES_ALWAYS = 152, 472, 214_000_000
"""What a plan takes at its peak, chosen above what the bench measures; it prints the estimate beside the peak. 850k triangles of a scan on
2.7 million cells were measured at 970 MiB above an idle interpreter."""


def height_map(triangles: FloatArray, grid: Grid, upward_only: bool = True) -> Double:
    """Greatest z of triangles (n, 3, 3) at the cell centres, (rows, columns) float64, -inf where there is none.

    upward_only: leave out faces that look down. Only right for a closed body whose faces are all oriented alike.
    """
    out = np.full(grid.rows * grid.columns, -np.inf)
    found = _over_rows(triangles, grid, upward_only)
    done = np.concatenate([[0], np.cumsum(found.row_count)])
    start = 0
    while start < len(found.row_count):
        end = max(start + 1, int(np.searchsorted(done, done[start] + SPANS_AT_ONCE, "right")) - 1)
        some = found.part(slice(start, end))
        _fill(out, grid.columns, some, _spans(some))
        start = end
    return out.reshape(grid.shape)


@dataclass(frozen=True)
class _Triangles:
    """Triangles in units of cells, so that the centre of cell [j, i] lies at x = i, y = j.

    x, y, z: (n, 3) corners, z in mm. twice_area: (n,) signed, in plan. first_row, row_count: (n,) rows that they cross.
    first_column, last_column: (n,) whole numbers, of the columns that they may cover.
    """

    x: FloatArray
    y: FloatArray
    z: FloatArray
    twice_area: FloatArray
    first_row: NDArray[np.int64]
    row_count: NDArray[np.int64]
    first_column: FloatArray
    last_column: FloatArray

    def part(self, which: slice | Indices) -> _Triangles:
        """Some of the triangles."""
        return _Triangles(**{name: values[which] for name, values in vars(self).items()})


def _over_rows(triangles: FloatArray, grid: Grid, upward_only: bool) -> _Triangles:
    """Those of some triangles (n, 3, 3) in mm that may cover cell centres of a grid, judged by their boxes."""
    x = (triangles[:, :, 0] - grid.left) / grid.cell
    y = (triangles[:, :, 1] - grid.front) / grid.cell
    twice_area = twice_plan_area(x, y)
    kept = (twice_area if upward_only else np.abs(twice_area)) > LEAST_TWICE_AREA
    low_x, high_x = _range_of_corners(x)
    low_y, high_y = _range_of_corners(y)
    first_row = np.maximum(np.ceil(low_y - INCLUSIVE), 0).astype(np.int64)
    last_row = np.minimum(np.floor(high_y + INCLUSIVE), grid.rows - 1).astype(np.int64)
    first_column = np.maximum(np.ceil(low_x - INCLUSIVE), 0)
    last_column = np.minimum(np.floor(high_x + INCLUSIVE), grid.columns - 1)
    kept &= (first_row <= last_row) & (first_column <= last_column)
    return _Triangles(
        x=x,
        y=y,
        z=triangles[:, :, 2],
        twice_area=twice_area,
        first_row=first_row,
        row_count=last_row - first_row + 1,
        first_column=first_column,
        last_column=last_column,
    ).part(np.flatnonzero(kept))


def _range_of_corners(values: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Least and greatest of (n, 3) values, corner by corner: numpy takes far longer along an axis as short as that."""
    a, b, c = values.T
    return np.minimum(np.minimum(a, b), c), np.maximum(np.maximum(a, b), c)


@dataclass(frozen=True)
class _Spans:
    """Spans of triangles: the number of the triangle, the row, and the first and last column (whole numbers; none where last < first)."""

    triangle: Indices
    row: Indices
    first: FloatArray
    last: FloatArray


def _spans(some: _Triangles) -> _Spans:
    """The span of every triangle on every row that it crosses.

    Seen along an anticlockwise triangle's outline, edges that rise bound it on the right and edges that fall on the left. Level edges
    bound it above or below, which the range of its rows has seen to.
    """
    owner, row = run_owners(some.row_count), run_ranges(some.first_row, some.row_count)
    low, high = some.first_column[owner], some.last_column[owner]
    turn = np.sign(some.twice_area)
    for a, b in ((0, 1), (1, 2), (2, 0)):
        run = (some.x[:, b] - some.x[:, a]) * turn
        rise = (some.y[:, b] - some.y[:, a]) * turn
        with np.errstate(divide="ignore", invalid="ignore"):
            slant = run / rise
            crossing = some.x[:, a][owner] + slant[owner] * (row - some.y[:, a][owner])
        rising = rise[owner]
        high = np.where(rising > 0, np.minimum(high, crossing + INCLUSIVE), high)
        low = np.where(rising < 0, np.maximum(low, crossing - INCLUSIVE), low)
    return _Spans(owner, row, np.ceil(low), np.floor(high))


def _fill(out: FloatArray, columns: int, some: _Triangles, spans: _Spans) -> None:
    """Raise the cells (flat, so many columns) of all spans to their triangles' planes."""
    x, y, z = some.x, some.y, some.z
    along_x = ((z[:, 1] - z[:, 0]) * (y[:, 2] - y[:, 0]) - (z[:, 2] - z[:, 0]) * (y[:, 1] - y[:, 0])) / some.twice_area
    along_y = ((x[:, 1] - x[:, 0]) * (z[:, 2] - z[:, 0]) - (x[:, 2] - x[:, 0]) * (z[:, 1] - z[:, 0])) / some.twice_area
    width = (spans.last - spans.first).astype(np.int64) + 1
    real = np.flatnonzero(width > 0)
    owner, row, first, width = spans.triangle[real], spans.row[real], spans.first[real].astype(np.int64), width[real]
    base = z[owner, 0] + along_y[owner] * (row - y[owner, 0]) + along_x[owner] * (first - x[owner, 0])
    step = run_places(width)
    height = np.repeat(base, width) + np.repeat(along_x[owner], width) * step
    # Rounding on slivers must not leave the triangle's own range of heights.
    lowest, highest = _range_of_corners(z)
    np.clip(height, np.repeat(lowest[owner], width), np.repeat(highest[owner], width), out=height)
    np.maximum.at(out, np.repeat(row * columns + first, width) + step, height)


def top_marks(triangles: FloatArray, marks: Mask, grid: Grid, heights: FloatArray) -> Mask:
    """Cells, (rows, columns) bool, whose top surface belongs to a marked triangle.

    marks: (n,) bool. heights: the height map of all triangles.
    """
    if not marks.any():
        return np.zeros(grid.shape, bool)
    marked = height_map(triangles[marks], grid, upward_only=False)
    return (marked > -np.inf) & (marked >= heights - SAME_HEIGHT)


def estimated_memory_mib(grid: Grid, triangle_count: int) -> float:
    """Memory in MiB that a plan on this grid is expected to take at its peak."""
    return (BYTES_ALWAYS + grid.rows * grid.columns * BYTES_PER_CELL + triangle_count * BYTES_PER_TRIANGLE) / 2**20


def memory_of_triangles_mib(triangle_count: int) -> float:
    """Memory in MiB that a plan of so many triangles is expected to take however coarse the cells are."""
    return (BYTES_ALWAYS + triangle_count * BYTES_PER_TRIANGLE) / 2**20


def most_triangles_within(grid: Grid, limit_mib: float) -> int:
    """Triangles, to the hundred, that a plan on this grid may have within so much memory; 0 or less where the grid alone takes it."""
    return 100 * int((limit_mib * 2**20 - BYTES_ALWAYS - grid.rows * grid.columns * BYTES_PER_CELL) // (100 * BYTES_PER_TRIANGLE))
