"""How low the tool may hop from one place to another: above the body, above all stock that may still stand, and above keep-out boxes.

A straight hop at one height is free where every part of the tool stays above everything within its radius of the hop in plan. The ball's
underside lies R - sqrt(R^2 - t^2) above the tip at a distance t from the axis (a flank's as `Flank` says); shank and nut begin at their heights
above the tip.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..core.array_types import FloatArray, Mask
from ..core.grid import Grid
from ..job.cutter import Cutter
from ..job.flank import Flank
from ..job.keep_out import KeepOut
from ..job.machine import Machine
from .clearance import ROOM, ToolPart, tool_parts

BLOCK_CELLS = 16
"""Cells to the side of a block whose highest place stands for all of it when hops are only compared: 8 mm, less than the hops that are."""


@dataclass(frozen=True)
class ToolOutline:
    """The tool as hops see it. radius: of the ball, mm. parts: shank and nut. flank: of a tapered cutter."""

    radius: float
    parts: tuple[ToolPart, ...]
    flank: Flank | None = None

    @property
    def widest(self) -> float:
        """Greatest radius of any part, mm."""
        return max(self.widest_cutter, *(part.radius for part in self.parts))

    @property
    def widest_cutter(self) -> float:
        """Greatest radius of ball and flank, mm."""
        return self.radius if self.flank is None else self.flank.top_radius

    def underside(self, distance: FloatArray) -> FloatArray:
        """Height of the tool's underside above its tip at distances from its axis, mm; infinite beyond its widest part."""
        if self.flank is None:
            ball = self.radius - np.sqrt(np.maximum(self.radius**2 - distance**2, 0.0))
            out: FloatArray = np.where(distance <= self.radius, ball, np.inf)
        else:
            out = self.flank.height(distance)
        for part in self.parts:
            out = np.where(distance <= part.radius, np.minimum(out, part.above), out)
        return out


@dataclass(frozen=True)
class FreeHeight:
    """Everything that may stand, and the tool that hops over it. standing: heights (rows, columns) on the grid, -inf where nothing does;
    blocks: the highest of every BLOCK_CELLS x BLOCK_CELLS of them.
    """

    grid: Grid
    standing: FloatArray
    blocks: FloatArray
    outline: ToolOutline

    def over(self, moves: FloatArray) -> FloatArray:
        """Least tip heights (n,) at which the tool runs free all along straight moves (n, 2, 2) in plan, -inf over nothing."""
        return np.array([self._over_one(move) for move in moves]).reshape(len(moves))

    def roughly(self, moves: FloatArray) -> FloatArray:
        """Heights (n,) of the highest ground along moves (n, 2, 2) in plan, by blocks of cells: good enough to compare one hop with another."""
        block = BLOCK_CELLS * self.grid.cell
        longest = float(np.abs(moves[:, 1] - moves[:, 0]).max(initial=0.0))
        out = np.full(len(moves), -np.inf)
        for share in np.linspace(0, 1, int(np.ceil(longest / block)) + 1):
            row, column = self.grid.nearest(moves[:, 0] + share * (moves[:, 1] - moves[:, 0]))
            np.maximum(out, self.blocks[row // BLOCK_CELLS, column // BLOCK_CELLS], out=out)
        return out

    def _over_one(self, move: FloatArray) -> float:
        """Least tip height over one move (2, 2)."""
        grid = self.grid
        # What stands anywhere in a cell is known by its middle, or by the next one's.
        slack = grid.cell / np.sqrt(2)
        reach = self.outline.widest + slack
        low, high = (grid.nearest(np.array([corner])) for corner in (move.min(axis=0) - reach, move.max(axis=0) + reach))
        rows, columns = (slice(int(first[0]), int(last[0]) + 1) for first, last in zip(low, high, strict=True))
        x, y = grid.x()[columns] - move[0, 0], grid.y()[rows, None] - move[0, 1]
        along = move[1] - move[0]
        share = np.clip((x * along[0] + y * along[1]) / max(float(along @ along), np.finfo(float).tiny), 0.0, 1.0)
        distance = np.hypot(x - share * along[0], y - share * along[1])
        return float((self.standing[rows, columns] - self.outline.underside(np.maximum(distance - slack, 0.0))).max(initial=-np.inf))


def tool_outline(cutter: Cutter, machine: Machine) -> ToolOutline:
    """A cutter in a machine, with the room that its shank and nut need beside what stands."""
    parts = tool_parts(cutter, machine)
    return ToolOutline(cutter.radius, tuple(ToolPart(part.name, part.radius + ROOM, part.above) for part in parts), cutter.flank)


def free_height(standing: FloatArray, grid: Grid, outline: ToolOutline, keep_out: Sequence[KeepOut]) -> FreeHeight:
    """standing: heights (rows, columns) of body and stock on the grid, -inf where nothing stands. Keep-out boxes are added to them."""
    wide = grid.padded(int(np.ceil(outline.widest / grid.cell)) + 1)
    rim = (wide.rows - grid.rows) // 2
    high = np.pad(standing, rim, constant_values=-np.inf)
    half = grid.cell / 2
    for box in keep_out:
        across = (wide.x() > box.low[0] - half) & (wide.x() < box.high[0] + half)
        along = (wide.y() > box.low[1] - half) & (wide.y() < box.high[1] + half)
        inside = np.ix_(along, across)
        covered = _covered(box, wide.x()[across], wide.y()[along], half)
        high[inside] = np.where(covered, np.maximum(high[inside], box.high[2]), high[inside])
    return FreeHeight(wide, high, highest_of_blocks(high), outline)


def _covered(box: KeepOut, x: FloatArray, y: FloatArray, half: float) -> Mask:
    """Which of the cells (y, x) within a box's corners the box itself reaches into. half: half the edge of a cell, mm."""
    places = np.stack(np.meshgrid(x, y), axis=-1)
    # Half a cell's diagonal: a cell is met at its corner too.
    covered: Mask = box.squared_distances(places.reshape(-1, 2)).reshape(places.shape[:2]) < 2 * half**2
    return covered


def highest_of_blocks(heights: FloatArray) -> FloatArray:
    """The greatest of every block of BLOCK_CELLS x BLOCK_CELLS cells of heights (rows, columns)."""
    rows, columns = (-(-size // BLOCK_CELLS) for size in heights.shape)
    beyond = [(0, count * BLOCK_CELLS - size) for count, size in zip((rows, columns), heights.shape, strict=True)]
    wide = np.pad(heights, beyond, constant_values=-np.inf)
    highest: FloatArray = wide.reshape(rows, BLOCK_CELLS, columns, BLOCK_CELLS).max(axis=(1, 3))
    return highest
