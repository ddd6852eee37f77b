"""Edges of a surface on a grid: the end of the body, walls, and jumps in height, as broken links between cells."""

from __future__ import annotations

import math
from collections.abc import Generator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..core.array_types import FloatArray, Single

MaskArray = NDArray[np.bool_]

WALL_SLOPE = math.tan(math.radians(80.0))
"""Neighbouring cells whose heights differ by a steeper rise than this are parted by a wall."""
JUMP_SLOPE = math.tan(math.radians(50.0))
"""A rise from this slope on parts two cells too when it stands alone: a jump, not a slope."""
JUMP_RATIO = 3.0
"""How much steeper than both its neighbours a rise must be to stand alone."""
FOOT_BEND = 0.2
"""Change of slope from cell to cell by which a cell beside a wall is told from the ground at its foot."""


@dataclass(frozen=True)
class Links:
    """Which cells exist and which of their links to the neighbours are broken by an edge.

    heights: float32, above the lowest point, 0 where there is no body. along_x[r, c]: the link from cell (r, c - 1) to (r, c)
    is broken; along_y likewise from (r - 1, c). The links over the border of the grid are broken.
    """

    exists: MaskArray
    heights: Single
    along_x: MaskArray
    along_y: MaskArray


def links_steps(heights: FloatArray, cell: float) -> Generator[float, None, Links]:
    """Find the edges: where the body ends, where the rise is a wall, and where it jumps; pauses between the parts."""
    exists = np.isfinite(heights)
    relative = np.where(exists, heights - heights[exists].min(), 0).astype(np.float32)
    yield 0.02
    rise_x = _rise(relative, exists)
    broken_x = _broken(rise_x, cell)
    yield 0.04
    rise_y = _rise(relative.T, exists.T)
    broken_y = _broken(rise_y, cell)
    yield 0.06
    # A cell that rises like a wall to both sides is parted from all its neighbours, whichever way the wall faces.
    squared = np.zeros(heights.shape, np.float32)
    squared[:, 1:-1] = _least_size(rise_x) ** 2
    squared[1:-1] += (_least_size(rise_y) ** 2).T
    wall = squared > (WALL_SLOPE * cell) ** 2
    along_x, along_y = broken_x | wall[:, 1:] | wall[:, :-1], broken_y | wall.T[:, 1:] | wall.T[:, :-1]
    yield 0.08
    foot = _feet(rise_x, along_x, cell) | _feet(rise_y, along_y, cell).T
    along_x |= foot[:, 1:] | foot[:, :-1] | ~(exists[:, 1:] & exists[:, :-1])
    along_y |= foot.T[:, 1:] | foot.T[:, :-1] | ~(exists.T[:, 1:] & exists.T[:, :-1])
    border = ((0, 0), (1, 0))
    return Links(
        exists,
        relative,
        np.pad(along_x, border, constant_values=True),
        np.ascontiguousarray(np.pad(along_y, border, constant_values=True).T),
    )


def _rise(heights: Single, exists: MaskArray) -> Single:
    """Rise from each cell to the next along the second axis; 0 over the end of the body."""
    rise = np.diff(heights, axis=1)
    rise *= exists[:, 1:]
    rise *= exists[:, :-1]
    return rise


def _least_size(rise: Single) -> Single:
    """The lesser of the sizes of the rises to both sides of the inner cells."""
    return np.minimum(np.abs(rise[:, 1:]), np.abs(rise[:, :-1]))


def _broken(rise: Single, cell: float) -> MaskArray:
    """Links, by their rise along the second axis, that are walls or lone jumps."""
    jump = np.abs(rise) > JUMP_SLOPE * cell
    if jump.any():
        # Few links come this far, so they are looked at one by one. A rise the other way makes no slope of a jump.
        row, link = np.nonzero(jump)
        here = rise[row, link]
        sign = np.sign(here)
        beside = np.maximum(sign * _value(rise, row, link - 1), sign * _value(rise, row, link + 1))
        here = np.abs(here)
        jump[row, link] = (here > WALL_SLOPE * cell) | (here > JUMP_RATIO * beside)
    return jump


def _feet(rise: Single, broken: MaskArray, cell: float) -> MaskArray:
    """Cells that lie half-way up a wall: beside a broken link, and bent away from the ground on their other side."""
    foot = np.zeros((rise.shape[0], rise.shape[1] + 1), bool)
    row, link = np.nonzero(broken)
    # Link k joins the cells k and k + 1; the ground lies beyond either of them.
    for end, way in ((link, -1), (link + 1, 1)):
        bend = np.abs(_value(rise, row, link + way) - _value(rise, row, link + 2 * way))
        foot[row, end] |= bend > FOOT_BEND * cell
    return foot


def _value(values: Single, row: NDArray[np.intp], column: NDArray[np.intp]) -> Single:
    """values[row, column], 0 beyond the border."""
    inside = (column >= 0) & (column < values.shape[1])
    return np.where(inside, values[row, np.clip(column, 0, values.shape[1] - 1)], 0)


def near_edge_cells(links: Links, reach: int) -> MaskArray:
    """Cells with a broken link inside their window of this reach."""
    # The window of cell c spans the links c - reach + 1 .. c + reach.
    return _spread(links.along_x, reach, link_axis=1) | _spread(links.along_y, reach, link_axis=0)


def _spread(broken: MaskArray, reach: int, link_axis: int) -> MaskArray:
    """Mark the cells whose window holds a broken link of one axis."""
    out = broken
    for axis in (0, 1):
        before = reach - 1 if axis == link_axis else reach
        out = _any_within(out, before, reach, axis)
    return out


def _any_within(mask: MaskArray, before: int, after: int, axis: int) -> MaskArray:
    """True where any of the cells from `before` behind to `after` ahead along the axis is True; outside counts as True."""
    wide = np.ones((mask.shape[0] + (before + after) * (axis == 0), mask.shape[1] + (before + after) * (axis == 1)), bool)
    length = mask.shape[axis]
    inside = [slice(None), slice(None)]
    inside[axis] = slice(before, before + length)
    wide[tuple(inside)] = mask
    span, width = 1, before + after + 1
    # Doubling: after each round an element stands for `span` elements from itself on.
    while span < width:
        shift = min(span, width - span)
        low, high = [slice(None), slice(None)], [slice(None), slice(None)]
        low[axis], high[axis] = slice(0, wide.shape[axis] - shift), slice(shift, None)
        wide = wide[tuple(low)] | wide[tuple(high)]
        span += shift
    return wide
