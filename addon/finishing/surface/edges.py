"""Edges of a surface on a grid: the end of the body, walls, and jumps in height, all between neighbouring cells."""

from __future__ import annotations

import math
from collections.abc import Generator
from dataclasses import dataclass

import numpy as np

from ..core.array_types import FloatArray, Indices, Mask, Single

WALL_SLOPE = math.tan(math.radians(80.0))
"""A steeper rise between neighbouring cells is a wall: it separates them. Ground that is finished is far from as steep (60 degrees at
the default limit), and a wall between two cells that stands upright on the body shows at least its height over one cell.
"""
JUMP_SLOPE = math.tan(math.radians(50.0))
"""A rise from this slope on separates two cells too when it stands alone: a jump, not a slope."""
JUMP_RATIO = 3.0
"""How much steeper than both its neighbours a rise must be to stand alone."""
FOOT_TURN = 0.2
"""Change of slope from cell to cell from which a cell beside a wall counts as part of the wall, not of the ground at its foot."""


@dataclass(frozen=True)
class Edges:
    """Which cells exist, and between which neighbours an edge lies.

    heights: float32, above the lowest point, 0 where there is no body. along_x[r, c]: an edge lies between the cells (r, c - 1)
    and (r, c); along_y likewise between (r - 1, c) and (r, c). The border of the grid is an edge.
    """

    exists: Mask
    heights: Single
    along_x: Mask
    along_y: Mask


def edges_steps(heights: FloatArray, cell: float) -> Generator[float, None, Edges]:
    """Find the edges: where the body ends, where the rise is a wall, and where it jumps; pauses between the parts."""
    exists = np.isfinite(heights)
    relative = np.where(exists, heights - heights[exists].min(), 0).astype(np.float32)
    yield 0.02
    rise_x = _rise(relative, exists)
    sharp_x = _walls_and_jumps(rise_x, cell)
    yield 0.04
    rise_y = _rise(relative.T, exists.T)
    sharp_y = _walls_and_jumps(rise_y, cell)
    yield 0.06
    # A cell that rises like a wall on both sides is separated from all its neighbours, whatever direction the wall faces.
    squared = np.zeros(heights.shape, np.float32)
    squared[:, 1:-1] = _lesser_size(rise_x) ** 2
    squared[1:-1] += (_lesser_size(rise_y) ** 2).T
    wall = squared > (WALL_SLOPE * cell) ** 2
    along_x, along_y = sharp_x | wall[:, 1:] | wall[:, :-1], sharp_y | wall.T[:, 1:] | wall.T[:, :-1]
    yield 0.08
    foot = _feet(rise_x, along_x, cell) | _feet(rise_y, along_y, cell).T
    along_x |= foot[:, 1:] | foot[:, :-1] | ~(exists[:, 1:] & exists[:, :-1])
    along_y |= foot.T[:, 1:] | foot.T[:, :-1] | ~(exists.T[:, 1:] & exists.T[:, :-1])
    border = ((0, 0), (1, 0))
    return Edges(
        exists,
        relative,
        np.pad(along_x, border, constant_values=True),
        np.ascontiguousarray(np.pad(along_y, border, constant_values=True).T),
    )


def _rise(heights: Single, exists: Mask) -> Single:
    """Rise from each cell to the next along the second axis; 0 over the end of the body."""
    rise = np.diff(heights, axis=1)
    rise *= exists[:, 1:]
    rise *= exists[:, :-1]
    return rise


def _lesser_size(rise: Single) -> Single:
    """The lesser of the sizes of the rises on both sides of the inner cells."""
    return np.minimum(np.abs(rise[:, 1:]), np.abs(rise[:, :-1]))


def _walls_and_jumps(rise: Single, cell: float) -> Mask:
    """Between which neighbours, by the rise along the second axis, a wall or a lone jump lies."""
    jump = np.abs(rise) > JUMP_SLOPE * cell
    if jump.any():
        # Few come this far, so they are looked at one by one. A neighbouring rise of the other sign makes no slope of a jump.
        row, between = np.nonzero(jump)
        here = rise[row, between]
        sign = np.sign(here)
        neighbours = np.maximum(sign * _value(rise, row, between - 1), sign * _value(rise, row, between + 1))
        here = np.abs(here)
        jump[row, between] = (here > WALL_SLOPE * cell) | (here > JUMP_RATIO * neighbours)
    return jump


def _feet(rise: Single, edge: Mask, cell: float) -> Mask:
    """Cells that lie half-way up a wall: beside an edge, with a slope that changes towards the ground on their other side."""
    foot = np.zeros((rise.shape[0], rise.shape[1] + 1), bool)
    row, between = np.nonzero(edge)
    # Edge k lies between the cells k and k + 1; the ground lies beyond either of them.
    for end, outwards in ((between, -1), (between + 1, 1)):
        turn = np.abs(_value(rise, row, between + outwards) - _value(rise, row, between + 2 * outwards))
        foot[row, end] |= turn > FOOT_TURN * cell
    return foot


def _value(values: Single, row: Indices, column: Indices) -> Single:
    """values[row, column], 0 beyond the border."""
    inside = (column >= 0) & (column < values.shape[1])
    return np.where(inside, values[row, np.clip(column, 0, values.shape[1] - 1)], 0)


def near_edge_cells(edges: Edges, half_width: int) -> Mask:
    """Cells with an edge inside the square window of this half width round them."""
    # The window of cell c holds the edges c - half_width + 1 .. c + half_width.
    return _spread(edges.along_x, half_width, edge_axis=1) | _spread(edges.along_y, half_width, edge_axis=0)


def _spread(edge: Mask, half_width: int, edge_axis: int) -> Mask:
    """Mark the cells whose window holds an edge along one axis."""
    out = edge
    for axis in (0, 1):
        before = half_width - 1 if axis == edge_axis else half_width
        out = _any_within(out, before, half_width, axis)
    return out


def _any_within(mask: Mask, before: int, after: int, axis: int) -> Mask:
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
