"""Where a body ends between the cells: how much more, or less, than its whole cells it covers along its outline.

A cell stands when its centre lies on the body. A body that grows by a millionth of a millimetre may gain a whole row of cells; where its outline
crosses the lines through the cells' centres is known exactly, and grows by that millionth.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ..core.array_types import FloatArray, Indices, Mask
from ..core.grid import Grid
from ..core.ragged import run_owners, run_ranges

NEAR_CELLS = 1
"""Cells from the outline within which a triangle counts as lying along it."""

CARRIED_CELLS = 5
"""Cells over which ground gets its share of the outline: the rim between them is up to two cells wide, and a strip for turns two more."""


@dataclass(frozen=True)
class OutlineShares:
    """What a body covers beyond its cells, in cells: row, column (n,) of the cells along its outline, share (n,) from -1 to 1 of each.
    inward: (n, 2) rows and columns to the next cell inwards, straight away from where the share lies.
    """

    row: Indices
    column: Indices
    share: FloatArray
    inward: Indices

    def padded(self, rim: int) -> OutlineShares:
        """The same on a grid with a rim of so many cells more round it."""
        return replace(self, row=self.row + rim, column=self.column + rim)

    def carried(self, ground: Mask) -> OutlineShares:
        """The same in cells of the ground (rows, columns): every share goes to the first of them inwards within CARRIED_CELLS, and is lost where
        there is none, as beside the corners, where ground that keeps off the outline is shorter than the outline is.
        """
        steps = np.arange(CARRIED_CELLS + 1)
        row, column = (start[:, None] + steps * self.inward[:, axis, None] for axis, start in enumerate((self.row, self.column)))
        inside = (row >= 0) & (row < ground.shape[0]) & (column >= 0) & (column < ground.shape[1])
        met = ground[np.where(inside, row, 0), np.where(inside, column, 0)] & inside
        which = np.flatnonzero(met.any(axis=1))
        first = met[which].argmax(axis=1)
        return OutlineShares(row=row[which, first], column=column[which, first], share=self.share[which], inward=self.inward[which])

    def area_at(self, ground: Mask, slope_degrees: FloatArray, cell: float) -> float:
        """What ground (rows, columns) of some slope measures along the outline beyond its cells, mm2 of true surface."""
        on = self.carried(ground)
        return float((on.share / np.cos(np.radians(slope_degrees[on.row, on.column]))).sum() * cell * cell)


def outline_shares(triangles: FloatArray, grid: Grid, heights: FloatArray) -> OutlineShares:
    """What the body covers beyond its cells. triangles: (n, 3, 3) in mm. heights: their height map on the grid."""
    standing = heights > -np.inf
    outline = _outline(standing)
    some = triangles[_along(outline, triangles, grid)]
    x = (some[:, :, 0] - grid.left) / grid.cell
    y = (some[:, :, 1] - grid.front) / grid.cell
    row, column = np.nonzero(outline)
    along_x, reach_x, step_x = _shares(_reaches(x, y, (grid.rows, grid.columns)), standing, row, column)
    along_y, reach_y, step_y = _shares(_reaches(y, x, (grid.columns, grid.rows)), standing.T, column, row)
    # A cell that is open along both axes is seen twice; the axis that meets the outline more squarely reaches it sooner.
    by_x = reach_x < reach_y
    inward = np.stack([np.where(by_x, 0, -step_y), np.where(by_x, -step_x, 0)], axis=1)
    return OutlineShares(row=row, column=column, share=np.where(by_x, along_x, along_y), inward=inward)


def _outline(standing: Mask) -> Mask:
    """Cells that stand and have a neighbour, across one of their edges, that does not."""
    wide = np.pad(standing, 1)
    inner = wide[1:-1, 2:] & wide[1:-1, :-2]
    inner &= wide[2:, 1:-1]
    inner &= wide[:-2, 1:-1]
    return standing & ~inner


def _along(outline: Mask, triangles: FloatArray, grid: Grid) -> Mask:
    """Triangles (n,) whose box comes as near as a cell to the outline."""
    # A running count tells at once whether any cell of the outline lies within a box.
    count = np.pad(np.cumsum(np.cumsum(outline, axis=0, dtype=np.int32), axis=1, dtype=np.int32), ((1, 0), (1, 0)))
    ends = []
    for axis, (start, most) in enumerate(((grid.left, grid.columns), (grid.front, grid.rows))):
        a, b, c = ((triangles[:, corner, axis] - start) / grid.cell for corner in range(3))
        low, high = np.minimum(np.minimum(a, b), c), np.maximum(np.maximum(a, b), c)
        ends.append((np.clip(low - NEAR_CELLS, 0, most).astype(np.intp), np.clip(high + NEAR_CELLS + 1, 0, most).astype(np.intp)))
    (left, right), (front, back) = ends
    return np.asarray(count[back, right] - count[front, right] - count[back, left] + count[front, left] > 0)


def _reaches(x: FloatArray, y: FloatArray, shape: tuple[int, int]) -> tuple[FloatArray, FloatArray]:
    """How far triangles reach along rows beyond a cell's centre, before the next: up and down, (rows, columns). x, y: corners (n, 3) in cells."""
    rows, columns = shape
    first = np.maximum(np.ceil(y.min(axis=1)), 0).astype(np.int64)
    count = np.maximum(np.minimum(np.floor(y.max(axis=1)), rows - 1).astype(np.int64) - first + 1, 0)
    owner, row = run_owners(count), run_ranges(first, count)
    low, high = np.full(len(row), np.inf), np.full(len(row), -np.inf)
    for a, b in ((0, 1), (1, 2), (2, 0)):
        with np.errstate(divide="ignore", invalid="ignore"):
            share = (row - y[:, a][owner]) / (y[:, b] - y[:, a])[owner]
            crossing = x[:, a][owner] + share * (x[:, b] - x[:, a])[owner]
        meets = (share >= 0) & (share <= 1)
        low = np.where(meets, np.minimum(low, crossing), low)
        high = np.where(meets, np.maximum(high, crossing), high)
    met = np.isfinite(low)
    row, low, high = row[met], low[met], high[met]
    up, down = np.zeros(shape), np.zeros(shape)
    right = np.clip(np.floor(high), 0, columns - 1).astype(np.intp)
    np.maximum.at(up, (row, right), high - right)
    left = np.clip(np.ceil(low), 0, columns - 1).astype(np.intp)
    np.maximum.at(down, (row, left), left - low)
    return up, down


def _shares(reaches: tuple[FloatArray, FloatArray], standing: Mask, row: Indices, column: Indices) -> tuple[FloatArray, FloatArray, Indices]:
    """What rows of cells cover beyond some cells (n,), how far it is there to their nearer end, infinite where they go on, both in cells, and the
    step along the row towards it.
    """
    wide = np.pad(standing, ((0, 0), (1, 1)))
    shares, nearest, steps = np.zeros(len(row)), np.full(len(row), np.inf), np.zeros(len(row), np.intp)
    for reach, step in zip(reaches, (1, -1), strict=True):
        is_open = ~wide[row, column + 1 + step]
        own = np.clip(reach[row, column], 0, 1)
        shares += np.where(is_open, own - 0.5, 0.0)
        steps = np.where(is_open & (own < nearest), step, steps)
        nearest = np.where(is_open, np.minimum(nearest, own), nearest)
    return shares, nearest, steps
