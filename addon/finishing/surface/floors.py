"""Floors of one side: ground that hangs together without a wall in it, the walls and holes between, and which lies beside which.

A floor is never looked at cell by cell again: what is an opening is decided on its borders alone (sunk_ground.py).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..core.array_types import FloatArray, Indices, Labels, Mask
from ..core.masks import connected_parts, joined_numbers
from .edges import JUMP_RATIO, JUMP_SLOPE
from .steep_walls import SHALLOWEST, STEEPEST_CONNECTED, WallSteps

OUTSIDE = 0
"""Number of what is no body and no hole in it."""


@dataclass(frozen=True)
class Floors:
    """The pieces of one side, numbered from 0 (outside the body), and their borders.

    numbers: (rows, columns) int32. sizes: (count,) cells. walls: (count,) pieces in which no square of 3 x 3 cells has room, joined
    where they touch: slanted walls break into such. holes: (count,) where no body is though body lies all round. boxes: (count, 4)
    first and last row, first and last column. Borders, one for two pieces of which one is anywhere lower: lower, higher: (borders,)
    piece; length: (borders,) cell edges.
    """

    numbers: Labels
    sizes: Indices
    walls: Mask
    holes: Mask
    boxes: Indices
    lower: Indices
    higher: Indices
    length: Indices

    @property
    def count(self) -> int:
        """How many pieces there are, the outside included."""
        return len(self.sizes)


def find_floors(heights: FloatArray, cell: float, steep: WallSteps | None = None) -> Floors:
    """The floors of a height grid (rows, columns), -inf outside the body. steep: walls by the triangles; None where they are not known."""
    body = heights > -np.inf
    across, along = _walls(heights, cell)
    if steep is not None:
        across, along = across | steep.across, along | steep.along
    parts = connected_parts(body, (across, along))
    floors = int(parts.max())
    gaps = connected_parts(~body)
    open_gaps = np.unique(np.concatenate([gaps[0], gaps[-1], gaps[:, 0], gaps[:, -1]]))
    # Gaps are numbered after the floors; those that reach the border of the grid are the outside.
    gap_number = np.zeros(int(gaps.max()) + 1, np.int32)
    closed = np.setdiff1d(np.arange(1, len(gap_number)), open_gaps)
    gap_number[closed] = floors + 1 + np.arange(len(closed))
    numbers = np.where(body, parts, gap_number.take(gaps))
    count = floors + 1 + len(closed)
    holes = np.arange(count) > floors
    walls = _without_a_square(numbers, count) & ~holes
    walls[OUTSIDE] = False
    lower, higher, length = _borders(numbers, heights)
    # Pieces of wall that touch are one wall.
    both = walls[lower] & walls[higher]
    joined = joined_numbers(count, lower[both], higher[both])
    return _counted(joined.astype(np.int32).take(numbers), joined, walls, holes, (lower, higher, length))


def _walls(heights: FloatArray, cell: float) -> tuple[Mask, Mask]:
    """Where heights show a wall between a cell and the next one to its right, (rows, columns - 1), and in the next row, (rows - 1, columns)."""
    with np.errstate(invalid="ignore"):
        rise_x, rise_y = np.diff(heights, axis=1), np.diff(heights, axis=0).T
    across, middle_x = _wall_steps(rise_x, cell)
    along, middle_y = (each.T for each in _wall_steps(rise_y, cell))
    # A cell that rises like a wall on both sides is separated from all its neighbours, whatever direction the wall faces: one could
    # walk down a wall else, always along a row or a column that it crosses at a flat angle.
    squared = np.zeros(heights.shape, heights.dtype)
    squared[:, 1:-1] = _lesser(rise_x) ** 2
    squared[1:-1] += (_lesser(rise_y) ** 2).T
    wall = (squared > (cell * np.tan(np.radians(STEEPEST_CONNECTED))) ** 2) | middle_x | middle_y
    return across | wall[:, 1:] | wall[:, :-1], along | wall[1:] | wall[:-1]


def _lesser(rise: FloatArray) -> FloatArray:
    """The lesser of the sizes of the rises on both sides of the inner cells; 0 where the body ends."""
    size = np.abs(rise)
    size[~np.isfinite(size)] = 0
    return np.minimum(size[:, 1:], size[:, :-1])


def _wall_steps(rise: FloatArray, cell: float) -> tuple[Mask, Mask]:
    """By the rise to the next cell along the second axis, (rows, columns - 1): where a wall lies between the two, and cells half-way up it.

    A wall is steeper than STEEPEST_CONNECTED; or it is a jump, over one step or two, that stands alone: far steeper than the ground on both
    its sides. A coarse cell shows an upright wall no steeper than that.
    """
    with np.errstate(invalid="ignore"):
        wall: Mask = np.abs(rise) > max(SHALLOWEST, cell * float(np.tan(np.radians(STEEPEST_CONNECTED))))
        steep = np.abs(rise) > min(SHALLOWEST / 2, JUMP_SLOPE * cell)
    row, between = np.nonzero(steep)
    middle = np.zeros((rise.shape[0], rise.shape[1] + 1), bool)
    if len(row) == 0:
        return wall, middle
    here = np.abs(rise[row, between])
    sign = np.sign(rise[row, between])
    one, two = max(SHALLOWEST, JUMP_SLOPE * cell), max(SHALLOWEST, 2 * JUMP_SLOPE * cell)
    # Rises on in the same direction, by how many steps away; where the body ends, there is no rise.
    before2, before, after, after2 = (np.maximum(sign * _finite(rise, row, between + k), 0) for k in (-2, -1, 1, 2))
    alone = (here > one) & (here > JUMP_RATIO * np.maximum(before, after))
    wall[row[alone], between[alone]] = True
    for beside, out, side in ((after, np.maximum(before, after2), 1), (before, np.maximum(before2, after), 0)):
        pair = here + beside
        shared = (pair > two) & (pair > 2 * JUMP_RATIO * out) & ((JUMP_RATIO + 1) * np.minimum(here, beside) > np.maximum(here, beside))
        middle[row[shared], between[shared] + side] = True
    return wall, middle


def _finite(values: FloatArray, row: Indices, column: Indices) -> FloatArray:
    """values[row, column], 0 beyond the border and where they are not finite."""
    inside = (column >= 0) & (column < values.shape[1])
    found = values[row, np.clip(column, 0, values.shape[1] - 1)]
    return np.where(inside & np.isfinite(found), found, 0)


def _without_a_square(numbers: Labels, count: int) -> Mask:
    """For every number: whether no square of 3 x 3 cells fits into its cells, (count,) bool."""
    same = np.ones((max(numbers.shape[0] - 2, 0), max(numbers.shape[1] - 2, 0)), bool)
    middle = numbers[1:-1, 1:-1]
    for dr in (0, 1, 2):
        for dc in (0, 1, 2):
            same &= numbers[dr : dr + same.shape[0], dc : dc + same.shape[1]] == middle
    return np.bincount(middle[same], minlength=count) == 0


def _borders(numbers: Labels, heights: FloatArray) -> tuple[Indices, Indices, Indices]:
    """Lower piece, higher piece and length in cell edges of every border; beyond the grid lies the outside."""
    lower, higher = [], []
    for axis in (0, 1):
        beyond = ((1, 1), (0, 0)) if axis == 0 else ((0, 0), (1, 1))
        number = np.moveaxis(np.pad(numbers, beyond, constant_values=OUTSIDE), axis, 0)
        z = np.moveaxis(np.pad(heights, beyond, constant_values=-np.inf), axis, 0)
        edge = number[1:] != number[:-1]
        first, second = number[:-1][edge], number[1:][edge]
        rises = z[1:][edge] > z[:-1][edge]
        lower.append(np.where(rises, first, second))
        higher.append(np.where(rises, second, first))
    return _added_up(np.concatenate(lower), np.concatenate(higher), np.ones(sum(map(len, lower)), np.intp))


def _added_up(lower: Indices, higher: Indices, length: Indices) -> tuple[Indices, Indices, Indices]:
    """Borders between the same two pieces, the same way up, as one."""
    most = int(max(lower.max(initial=0), higher.max(initial=0))) + 1
    pair, place = np.unique(lower.astype(np.int64) * most + higher, return_inverse=True)
    total = np.bincount(place.ravel(), weights=length, minlength=len(pair)).astype(np.intp)
    return (pair // most).astype(np.intp), (pair % most).astype(np.intp), total


def _counted(numbers: Labels, joined: Indices, walls: Mask, holes: Mask, borders: tuple[Indices, Indices, Indices]) -> Floors:
    """The pieces under their joined numbers, with their sizes, boxes and borders."""
    count = int(joined.max()) + 1
    is_wall, is_hole = np.zeros(count, bool), np.zeros(count, bool)
    is_wall[joined], is_hole[joined] = walls, holes
    lower, higher, length = joined[borders[0]], joined[borders[1]], borders[2]
    kept = lower != higher
    sizes = np.bincount(numbers.ravel(), minlength=count)
    lower, higher, length = _added_up(lower[kept], higher[kept], length[kept])
    return Floors(
        numbers=numbers, sizes=sizes, walls=is_wall, holes=is_hole, boxes=_boxes(numbers, sizes), lower=lower, higher=higher, length=length
    )  # fmt: skip


def _boxes(numbers: Labels, sizes: Indices) -> Indices:
    """First and last row, first and last column of every number, (count, 4); the whole grid for the largest piece and the outside."""
    rows, columns = numbers.shape
    out = np.tile(np.array([rows, -1, columns, -1], np.intp), (len(sizes), 1))
    largest = [OUTSIDE, int(np.argmax(np.where(np.arange(len(sizes)) == OUTSIDE, -1, sizes)))]
    small = np.ones(len(sizes), bool)
    small[largest] = False
    row, column = np.nonzero(small.take(numbers))
    number = numbers[row, column]
    np.minimum.at(out[:, 0], number, row)
    np.maximum.at(out[:, 1], number, row)
    np.minimum.at(out[:, 2], number, column)
    np.maximum.at(out[:, 3], number, column)
    out[largest] = [0, rows - 1, 0, columns - 1]
    return out
