"""Bounds over square blocks of cells, for the tip surface of large balls: planes above heights, planes under a resting ball.

Block sizes halve from one level to the next. Blocks are numbered row by row over the whole padded grid.

What a block of heights can do for a block of ball positions is bounded like this. Let a source cell stand at S + f and a ball's axis at
T + g, where S and T are the blocks' middles and f, g stay within the blocks' half widths F and G along each axis. The heights lie under
a plane, z <= z0 + a . f. What is known of the tip surface lies above a plane, T(T + g) >= t0 + b . g. The ball's sag at the offset S - T
+ e, with e = f - g, is at least s0 + p . e + e . e / (2 R) (`sag`). So the ball on that cell passes what is known by no more than

    z0 + a . f - s0 - p . e - e . e / (2 R) - t0 - b . g  =  (z0 - s0 - t0) + (a - b) . g + (a - p) . e - e . e / (2 R)

and the greatest of this is found axis by axis: |a - b| G, and |a - p| e - e^2 / (2 R) at e = R |a - p|, or at F + G if that is less.
A pair of blocks for which this is below zero cannot raise the surface. s0 and p depend on the numbers of the blocks alone.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..core.array_types import Double, Indices, Mask, Single
from .sag import touching_offset

FAR_AWAY = 1e9
"""Sag in mm that stands for out of the ball's reach."""

STANDS_OUT = 0.3
"""A slanted plane that stands out above its block's highest cell by more than this share of the block's half width is made level: that is a
block with a wall in it, whose mean slope no part of it has."""

ON_THE_RIM = 1e-9
"""Share by which the radius is enlarged, so that blocks that just touch the ball's rim count in spite of rounding."""

SLACK = np.float32(3e-5)
"""mm; what rounding to float32 may add up to: bounds closer than this are not trusted."""


@dataclass(frozen=True)
class Planes:
    """One plane for every block, (blocks,) float32: height mm over the middle of the block, slopes in mm per mm."""

    height: Single
    slope_x: Single
    slope_y: Single

    def at(self, which: Indices) -> Planes:
        """The planes of some blocks."""
        return Planes(self.height.take(which), self.slope_x.take(which), self.slope_y.take(which))

    def for_many(self) -> Planes:
        """The same with an axis more, (blocks, 1), to be held against many others each."""
        return Planes(self.height[:, None], self.slope_x[:, None], self.slope_y[:, None])


def upper_planes(cells: Single, cell: float, sizes: tuple[int, ...]) -> tuple[dict[int, Planes], Single]:
    """Planes that no cell of their block stands above, by block size; and the cells of every finest block, (size^2, blocks).

    cells: (rows, columns) finite heights in mm, both a multiple of the largest size. A block's plane has the mean slope of its
    cells, or of its quarters' planes, and just touches the highest cell, or the quarters' highest corners, from above.
    """
    size = sizes[-1]
    rows, columns = cells.shape
    blocks = np.ascontiguousarray(cells.reshape(rows // size, size, columns // size, size).transpose(1, 3, 0, 2))
    half = size // 2
    per_cell = np.float32(1 / (size * half * half * cell))
    by_column, by_row = blocks.sum(axis=0), blocks.sum(axis=1)
    slope_x = (by_column[half:].sum(axis=0) - by_column[:half].sum(axis=0)) * per_cell
    slope_y = (by_row[half:].sum(axis=0) - by_row[:half].sum(axis=0)) * per_cell
    offset = ((np.arange(size) - (size - 1) / 2) * cell).astype(np.float32)
    highest = blocks.max(axis=(0, 1))
    height = np.full(highest.shape, -np.inf, np.float32)
    for row in range(size):
        for column in range(size):
            np.maximum(height, blocks[row, column] - slope_x * offset[column] - slope_y * offset[row], out=height)
    planes = {size: _level_where_worse(Planes(height, slope_x, slope_y), highest, float(offset[-1]))}
    for wide in sizes[-2::-1]:
        inner = planes[wide // 2]
        between, within = np.float32(wide / 4 * cell), np.float32((wide // 2 - 1) / 2 * cell)
        heights, xs, ys = (_quarters(a.reshape(highest.shape)) for a in (inner.height, inner.slope_x, inner.slope_y))
        highest = _quarters(highest).max(axis=(1, 3))
        slope_x, slope_y = xs.mean(axis=(1, 3)), ys.mean(axis=(1, 3))
        height = np.full(highest.shape, -np.inf, np.float32)
        for row in (0, 1):
            for column in (0, 1):
                turned = np.abs(xs[:, row, :, column] - slope_x) + np.abs(ys[:, row, :, column] - slope_y)
                moved = slope_x * ((2 * column - 1) * between) + slope_y * ((2 * row - 1) * between)
                np.maximum(height, heights[:, row, :, column] - moved + within * turned, out=height)
        planes[wide] = _level_where_worse(Planes(height, slope_x, slope_y), highest, (wide - 1) / 2 * cell)
    return planes, blocks.reshape(size * size, -1)


def _level_where_worse(planes: Planes, highest: Single, half_width: float) -> Planes:
    """The planes, flat, with level ones at the highest cell of their block where the slanted ones stand out too far above it."""
    level = planes.height + half_width * (np.abs(planes.slope_x) + np.abs(planes.slope_y)) > highest + STANDS_OUT * half_width
    height, slope_x, slope_y = (
        np.where(level, otherwise, values).astype(np.float32).ravel()
        for values, otherwise in ((planes.height, highest), (planes.slope_x, 0), (planes.slope_y, 0))
    )
    return Planes(height, slope_x, slope_y)


def _quarters(values: Single) -> Single:
    """(rows, columns) of blocks as (rows / 2, 2, columns / 2, 2) of blocks twice the size."""
    rows, columns = values.shape
    return values.reshape(rows // 2, 2, columns // 2, 2)


@dataclass(frozen=True)
class BlockGrid:
    """Blocks of `size` cells of `cell` mm along each edge, `across` of them in a row, so that their numbers say how far apart they lie.

    around: how many blocks away, along rows and columns, another may lie within a ball's radius.
    """

    size: int
    cell: float
    across: int
    around: int


class PairBounds:
    """What a block of heights can do for a block of ball positions, from their numbers alone.

    Tables over key = source number - target number + `base`. quarter: 0..3 when the target is that quarter of its block.
    """

    def __init__(self, radius: float, grid: BlockGrid, quarter: int | None = None) -> None:
        size, cell = grid.size, grid.cell
        steps = np.arange(-grid.around, grid.around + 1)
        down, across = np.meshgrid(steps, steps, indexing="ij")
        source_half = (size - 1) / 2
        target_half, shift_down, shift_across = source_half, 0.0, 0.0
        if quarter is not None:
            target_half = (size // 2 - 1) / 2
            shift_down, shift_across = (quarter // 2 - 0.5) * size / 2, (quarter % 2 - 0.5) * size / 2
        x, y = across * size - shift_across, down * size - shift_down
        gap = cell * np.hypot(np.maximum(np.abs(x) - source_half - target_half, 0), np.maximum(np.abs(y) - source_half - target_half, 0))
        x, y = x * cell, y * cell
        at_x, at_y, height = touching_offset(x, y, radius)
        # Beyond the tangent's place its second derivative counts from there on: a paraboloid that stays below the sag too.
        beyond_x, beyond_y = x - at_x, y - at_y
        slope_x, slope_y = at_x / height, at_y / height
        sag = radius - height + slope_x * beyond_x + slope_y * beyond_y + (beyond_x**2 + beyond_y**2) / (2 * radius)
        slope_x, slope_y = slope_x + beyond_x / radius, slope_y + beyond_y / radius
        sag[gap > radius * (1 + ON_THE_RIM)] = FAR_AWAY
        offset = down * grid.across + across
        self.base = grid.around * grid.across + grid.around
        self.in_range: Indices = offset[sag < FAR_AWAY / 2].astype(np.int64)

        def table(values: Double, otherwise: float) -> Single:
            out = np.full((2 * grid.around + 1) * grid.across, otherwise, np.float32)
            out[(offset + self.base).ravel()] = values.ravel()
            return out

        self.sag = table(sag, FAR_AWAY)
        self._slope_x, self._slope_y = table(slope_x, 0.0), table(slope_y, 0.0)
        self._half_curvature, self._radius = np.float32(0.5 / radius), np.float32(radius)
        self._target_half = np.float32(target_half * cell)
        self._both_halves = np.float32((source_half + target_half) * cell)

    def may_raise(self, above: Planes, source: Indices, key: Indices, known: Planes) -> Mask:
        """Whether blocks of heights under their upper planes may lift the ball above what is known (lower planes of the targets)."""
        most = above.height.take(source)
        most -= known.height
        most -= self.sag.take(key)
        for own, under, sag in ((above.slope_x, known.slope_x, self._slope_x), (above.slope_y, known.slope_y, self._slope_y)):
            slope = own.take(source)
            rise = slope - sag.take(key)
            np.abs(rise, out=rise)
            slope -= under
            np.abs(slope, out=slope)
            slope *= self._target_half
            most += slope
            # Greatest value of rise e - e^2 / (2 R) for e from 0 to both half widths.
            e = rise * self._radius
            np.minimum(e, self._both_halves, out=e)
            rise -= self._half_curvature * e
            rise *= e
            most += rise
        return most > -SLACK


def merged_lower(known: Planes, cell: float, size: int) -> Planes:
    """Lower planes of blocks of this size from those of their four quarters, which follow one another."""
    height, xs, ys = (a.reshape(-1, 4) for a in (known.height, known.slope_x, known.slope_y))
    between, within = np.float32(size / 4 * cell), np.float32((size // 2 - 1) / 2 * cell)
    slope_x, slope_y = xs.mean(axis=1), ys.mean(axis=1)
    low = np.full(len(height), np.inf, np.float32)
    for quarter in range(4):
        moved = slope_x * ((2 * (quarter % 2) - 1) * between) + slope_y * ((2 * (quarter // 2) - 1) * between)
        turned = np.abs(xs[:, quarter] - slope_x) + np.abs(ys[:, quarter] - slope_y)
        np.minimum(low, height[:, quarter] - moved - within * turned, out=low)
    return Planes(low, slope_x, slope_y)
