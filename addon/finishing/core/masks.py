"""Sets of cells on a grid: connected parts, distances and growth."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .array_types import FloatArray, Indices, Labels, Mask

ON_THE_CIRCLE = 2e-6
"""Share by which a squared radius is enlarged, so that cells whose centres lie on the circle itself count in spite of rounding."""

ROWS_BETWEEN_LOOKS = 8
"""Rows after which a search for distances looks whether it is through."""

_ROUND = ((-1, 0), (-1, 1), (0, 1), (1, 1), (1, 0), (1, -1), (0, -1), (-1, -1))
"""The eight neighbours of a cell (row, column), clockwise from the one above."""


def connected_parts(mask: Mask, apart: tuple[Mask, Mask] | None = None) -> Labels:
    """Number the 4-connected parts of a mask from 1, 0 outside.

    apart: where neighbours are separated all the same, to the right (rows, columns - 1) and to the next row (rows - 1, columns).
    Works on runs of cells along the rows, which are joined where they lie one above the other.
    """
    rows, columns = mask.shape
    joined_right = mask[:, :-1] & mask[:, 1:]
    joined_down = mask[:-1] & mask[1:]
    if apart is not None:
        joined_right &= ~apart[0]
        joined_down &= ~apart[1]
    begins = mask.copy()
    begins[:, 1:] &= ~joined_right
    run = np.cumsum(begins, dtype=np.int32)
    count = int(run[-1]) if mask.size else 0
    if count == 0:
        return np.zeros(mask.shape, np.int32)
    # Where two runs lie one above the other, only the first cell that they share joins them.
    joins = joined_down.copy()
    joins[:, 1:] &= ~joined_down[:, :-1] | begins[:-1, 1:] | begins[1:, 1:]
    joined = np.flatnonzero(joins)
    part = np.zeros(count + 1, np.int32)
    part[1:] = joined_numbers(count, run.take(joined) - 1, run.take(joined + columns) - 1) + 1
    out = part.take(run).reshape(rows, columns)
    out *= mask
    return out


def joined_numbers(count: int, first: Indices | Labels, second: Indices | Labels) -> Indices:
    """Which of `count` things hang together when first[k] and second[k] do: a number from 0 for each, (count,), in order of appearance.

    Every thing points to one of a lower number in its part, at first to itself; each round lets the joins lower these numbers and then
    jumps along them to their ends (pointer jumping, Y. Shiloach and U. Vishkin 1982, J. Algorithms 3:57), until no join connects two
    different numbers.
    """
    root = np.arange(count)
    while True:
        a, b = root[first], root[second]
        differ = a != b
        if not differ.any():
            break
        first, second, a, b = first[differ], second[differ], a[differ], b[differ]
        np.minimum.at(root, np.maximum(a, b), np.minimum(a, b))
        while True:
            jumped = root[root]
            if np.array_equal(jumped, root):
                break
            root = jumped
    return np.asarray(np.unique(root, return_inverse=True)[1])


def distance_to(mask: Mask, cell: float, most: float) -> FloatArray:
    """Distance in mm from every cell's centre to the nearest cell of the mask, float32; `most` where it is as far or farther."""
    most_cells = int(np.ceil(most / cell))
    far = np.float32(most_cells + 1)
    along = np.full(mask.shape, far, np.float32)
    along[mask] = 0
    # Distance along the row first: cells since the last marked one, from both ends.
    columns = np.arange(mask.shape[1], dtype=np.float32)
    marked = np.where(mask, columns, -np.inf)
    np.minimum(along, columns - np.maximum.accumulate(marked, axis=1), out=along)
    marked = np.where(mask, columns, np.inf)
    np.minimum(along, np.minimum.accumulate(marked[:, ::-1], axis=1)[:, ::-1] - columns, out=along)
    squared = along * along
    best = squared.copy()
    for k in range(1, min(most_cells, mask.shape[0] - 1) + 1):
        # Rows farther away than every cell's nearest one change nothing; to ask that costs about as much as a row.
        if k % ROWS_BETWEEN_LOOKS == 0 and k * k >= best.max():
            break
        np.minimum(best[k:], squared[:-k] + np.float32(k * k), out=best[k:])
        np.minimum(best[:-k], squared[k:] + np.float32(k * k), out=best[:-k])
    return np.minimum(np.sqrt(best) * np.float32(cell), np.float32(most))


def grown(mask: Mask, cell: float, by: float) -> Mask:
    """The mask and all cells whose centres lie within `by` mm of one of its cells."""
    squared = (by / cell) ** 2 * (1 + ON_THE_CIRCLE)
    most_cells = int(np.sqrt(squared))
    away = _cells_along_row(mask, most_cells)
    out = away <= most_cells
    for k in range(1, min(most_cells, mask.shape[0] - 1) + 1):
        near = away <= int(np.sqrt(squared - k * k))
        out[k:] |= near[:-k]
        out[:-k] |= near[k:]
    return out


def _cells_along_row(mask: Mask, most: int) -> NDArray[np.unsignedinteger]:
    """Cells to the nearest one of the mask in the same row: exact up to `most`, greater than it beyond. In bytes where they suffice."""
    # Numbers begin at 2 most + 1 at the greatest and a step adds at most `most`: 3 most + 1 must not pass 255.
    kind = np.uint8 if most < 80 else np.uint16
    far = kind(2 * most + 1)
    away = np.where(mask, kind(0), far)
    step = 1
    # A distance is a sum of different powers of two, so doubling steps find them all.
    while step <= most:
        before = away.copy()
        np.minimum(away[:, step:], before[:, :-step] + kind(step), out=away[:, step:])
        np.minimum(away[:, :-step], before[:, step:] + kind(step), out=away[:, :-step])
        step *= 2
    return away


def shrunk(mask: Mask, cell: float, by: float) -> Mask:
    """The cells of a mask farther than `by` mm from every cell outside it."""
    return mask & ~grown(~mask, cell, by)


def centre_lines(mask: Mask) -> Mask:
    """Thin a mask to lines one cell wide that keep its connections (Zhang and Suen 1984, Comm. ACM 27:236)."""
    image = np.pad(mask, 1)
    while True:
        removed = False
        for half in (0, 1):
            row, column = np.nonzero(image)
            around = [image[row + r, column + c] for r, c in _ROUND]
            count = np.sum(around, axis=0)
            rises = np.sum([~around[i] & around[(i + 1) % 8] for i in range(8)], axis=0)
            north, east, south, west = around[0], around[2], around[4], around[6]
            if half == 0:
                corner = ~(north & east & south) & ~(east & south & west)
            else:
                corner = ~(north & east & west) & ~(north & south & west)
            take = (count >= 2) & (count <= 6) & (rises == 1) & corner
            if take.any():
                image[row[take], column[take]] = False
                removed = True
        if not removed:
            return image[1:-1, 1:-1]


def chains(mask: Mask) -> list[Indices]:
    """Thin lines of cells as chains (n, 2) of (row, column), cut where three or more meet; rings end where they start."""
    cells = {(int(r), int(c)) for r, c in zip(*np.nonzero(mask), strict=True)}
    beside = {cell: _neighbours(cell, cells) for cell in cells}
    used: set[tuple[tuple[int, int], tuple[int, int]]] = set()
    found = []

    def follow(first: tuple[int, int], second: tuple[int, int]) -> None:
        # Along cells with two neighbours, until the line ends, branches or comes back to where it began.
        chain = [first, second]
        used.update({(first, second), (second, first)})
        while len(beside[chain[-1]]) == 2 and chain[-1] != first:
            one, other = beside[chain[-1]]
            step = other if one == chain[-2] else one
            if (chain[-1], step) in used:
                break
            used.update({(chain[-1], step), (step, chain[-1])})
            chain.append(step)
        found.append(np.array(chain))

    for ends_first in (True, False):
        for cell in sorted(cells):
            if ends_first and len(beside[cell]) == 2:
                continue
            for other in beside[cell]:
                if (cell, other) not in used:
                    follow(cell, other)
    return found


def _neighbours(cell: tuple[int, int], cells: set[tuple[int, int]]) -> list[tuple[int, int]]:
    """Cells beside this one; a diagonal one counts only where no straight step leads round the corner."""
    r, c = cell
    straight = [(r + i, c + j) for i, j in ((-1, 0), (0, 1), (1, 0), (0, -1)) if (r + i, c + j) in cells]
    near = set(straight)
    diagonal = [
        (r + i, c + j) for i, j in ((-1, 1), (1, 1), (1, -1), (-1, -1)) if (r + i, c + j) in cells and (r + i, c) not in near and (r, c + j) not in near
    ]
    return straight + diagonal
