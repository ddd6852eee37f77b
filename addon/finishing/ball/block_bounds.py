"""Bounds over square blocks of cells, for the tip surface of large balls: planes above heights, planes under a resting ball.

Block sizes halve from one level to the next. Blocks are numbered row by row over the whole padded grid.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..core.array_types import Single

Numbers = NDArray[np.int64]

FAR_AWAY = 1e9
"""Sag in mm that stands for out of the ball's reach."""

TANGENT_SHARE = 0.985
"""Beyond this share of the radius the tangent of the ball's sag at that share bounds it from below."""

STANDS_OUT = 0.3
"""A slanted plane that stands out above its block's highest cell by more than this share of the block's half width is level instead."""


@dataclass(frozen=True)
class Planes:
    """One plane for every block, (blocks,) float32: height mm over the middle of the block, slopes in mm per mm."""

    height: Single
    slope_x: Single
    slope_y: Single

    def at(self, which: Numbers) -> Planes:
        """The planes of some blocks."""
        return Planes(self.height.take(which), self.slope_x.take(which), self.slope_y.take(which))


def upper_planes(cells: Single, cell: float, sizes: tuple[int, ...]) -> tuple[dict[int, Planes], Single]:
    """Planes that no cell of their block stands above, by block size; and the cells of every finest block, (size^2, blocks).

    cells: (rows, columns) finite heights in mm, both a multiple of the largest size.
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
    planes = {size: _level_where_worse(height, slope_x, slope_y, highest, float(offset[-1]))}
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
        planes[wide] = _level_where_worse(height, slope_x, slope_y, highest, (wide - 1) / 2 * cell)
    return planes, blocks.reshape(size * size, -1)


def _level_where_worse(height: Single, slope_x: Single, slope_y: Single, highest: Single, half_width: float) -> Planes:
    level = height + half_width * (np.abs(slope_x) + np.abs(slope_y)) > highest + STANDS_OUT * half_width
    flat = (np.where(level, highest, height), np.where(level, 0, slope_x), np.where(level, 0, slope_y))
    return Planes(*(a.astype(np.float32).ravel() for a in flat))


def _quarters(values: Single) -> Single:
    rows, columns = values.shape
    return values.reshape(rows // 2, 2, columns // 2, 2)


class PairBounds:
    """What a block of heights can do for a block of ball positions, told from their numbers alone.

    Tables over key = source number - target number + `base`. The sag of the ball is bounded from below by its tangent plane between
    the blocks' middles and the bend it has everywhere, 1/R. quarter: 0..3 when the target is that quarter of its block.
    """

    def __init__(self, radius: float, cell: float, size: int, blocks_across: int, reach: int, quarter: int | None = None) -> None:
        steps = np.arange(-reach, reach + 1)
        down, right = np.meshgrid(steps, steps, indexing="ij")
        source_half = (size - 1) / 2
        target_half, shift_down, shift_right = source_half, 0.0, 0.0
        if quarter is not None:
            target_half = (size // 2 - 1) / 2
            shift_down, shift_right = (quarter // 2 - 0.5) * size / 2, (quarter % 2 - 0.5) * size / 2
        x, y = right * size - shift_right, down * size - shift_down
        gap = cell * np.hypot(np.maximum(np.abs(x) - source_half - target_half, 0), np.maximum(np.abs(y) - source_half - target_half, 0))
        x, y = x * cell, y * cell
        share = np.minimum(1, TANGENT_SHARE * radius / np.maximum(np.hypot(x, y), 1e-9))
        depth = np.sqrt(radius**2 - (x * share) ** 2 - (y * share) ** 2)
        # Beyond the tangent's place the bend counts from there on: a paraboloid that stays below the sag too.
        beyond_x, beyond_y = x - x * share, y - y * share
        slope_x, slope_y = x * share / depth, y * share / depth
        sag = radius - depth + slope_x * beyond_x + slope_y * beyond_y + (beyond_x**2 + beyond_y**2) / (2 * radius)
        slope_x, slope_y = slope_x + beyond_x / radius, slope_y + beyond_y / radius
        sag[gap > radius * (1 + 1e-9)] = FAR_AWAY
        offset = down * blocks_across + right
        self.base = reach * blocks_across + reach
        self.within_reach: Numbers = offset[sag < FAR_AWAY / 2].astype(np.int64)

        def table(values: NDArray[np.float64], otherwise: float) -> Single:
            out = np.full((2 * reach + 1) * blocks_across, otherwise, np.float32)
            out[(offset + self.base).ravel()] = values.ravel()
            return out

        self.sag = table(sag, FAR_AWAY)
        self._slope_x, self._slope_y = table(slope_x, 0.0), table(slope_y, 0.0)
        self._bend, self._radius = np.float32(0.5 / radius), np.float32(radius)
        self._target_half = np.float32(target_half * cell)
        self._both_halves = np.float32((source_half + target_half) * cell)

    def may_raise(self, above: Planes, source: Numbers, key: Numbers, known: Planes) -> NDArray[np.bool_]:
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
            # Greatest value of rise e - bend e^2 for e from 0 to both half widths.
            e = rise * self._radius
            np.minimum(e, self._both_halves, out=e)
            rise -= self._bend * e
            rise *= e
            most += rise
        return most > -SLACK


SLACK = np.float32(3e-5)
"""mm; what float32 may lose on the way: bounds closer than this are not trusted."""


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
