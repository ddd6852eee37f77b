"""Bridges over openings: heights and triangles that continue the ground round what is to be run over."""

from __future__ import annotations

import numpy as np

from ..core.array_types import FloatArray, Mask
from ..core.grid import Grid
from ..core.masks import grown
from .lid import WALL_CELLS
from .openings import FoundOpenings, Opening

BRIDGE_DROP = 0.01
"""mm by which a bridge lies below the surface it continues, so that it never lifts the cutter off the ground beside it."""


def bridged(heights: FloatArray, found: FoundOpenings, settled: tuple[Opening, ...]) -> tuple[FloatArray, FloatArray]:
    """Heights on the plan's grid with all that is to be bridged filled at the surface round it, and triangles of the bridges.

    settled: the openings with their treatment settled. Returns (rows, columns) heights and (n, 3, 3) triangles, a hair (BRIDGE_DROP)
    below the surface they continue. The triangles are as fine as the grid that the openings were found on.
    """
    treatments = found.treatments(settled)
    numbers = [
        n for n, each in enumerate(found.sets, 1) if treatments[n - 1] == "bridge" and not (each.parent and treatments[each.parent - 1] == "bridge")
    ]
    if not numbers:
        return heights, np.zeros((0, 3, 3))
    fine = heights.copy() if found.every == 1 else found.heights.copy()
    patches = [_bridge(fine, found, number) for number in numbers]
    middle = found.every // 2
    filled = fine if found.every == 1 else fine[middle :: found.every, middle :: found.every]
    return np.where(filled > found.heights[middle :: found.every, middle :: found.every], filled, heights), np.concatenate(patches)


def _bridge(heights: FloatArray, found: FoundOpenings, number: int) -> FloatArray:
    """Fill one set in the heights (as fine as found), and return its triangles."""
    grid, one = found.grid, found.sets[number - 1]
    row, column = np.nonzero((found.within >= number) & (found.within <= one.last))
    rim = int(np.ceil(WALL_CELLS)) + 1
    window = (
        slice(max(int(row.min()) - rim, 0), int(row.max()) + rim + 1),
        slice(max(int(column.min()) - rim, 0), int(column.max()) + rim + 1),
    )
    part, local = found.within[window], heights[window]
    inside = (part >= number) & (part <= one.last)
    # The wall round the opening may be a cell or two wide; what lies clearly below the level belongs to it.
    hole = grown(inside, grid.cell, WALL_CELLS * grid.cell) & (inside | (part == one.parent))
    x = grid.left + grid.cell * (window[1].start + np.arange(local.shape[1]))
    y = grid.front + grid.cell * (window[0].start + np.arange(local.shape[0]))
    surface = one.lid.at(*np.meshgrid(x, y)) - BRIDGE_DROP
    hole &= ~(local > surface)
    local[hole] = surface[hole]
    return _patch(local, hole, grid, window)


def _patch(local: FloatArray, hole: Mask, grid: Grid, window: tuple[slice, slice]) -> FloatArray:
    """Two triangles for every square of four cells that touches the hole and has a height everywhere."""
    near = hole[:-1, :-1] | hole[1:, :-1] | hole[:-1, 1:] | hole[1:, 1:]
    near &= (local[:-1, :-1] > -np.inf) & (local[1:, :-1] > -np.inf) & (local[:-1, 1:] > -np.inf) & (local[1:, 1:] > -np.inf)
    r, c = np.nonzero(near)

    def corner(dr: int, dc: int) -> FloatArray:
        x = grid.left + grid.cell * (window[1].start + c + dc)
        y = grid.front + grid.cell * (window[0].start + r + dr)
        drop = np.where(hole[r + dr, c + dc], 0.0, BRIDGE_DROP)
        return np.stack([x, y, local[r + dr, c + dc] - drop], axis=1)

    a, b, d, e = corner(0, 0), corner(0, 1), corner(1, 1), corner(1, 0)
    return np.concatenate([np.stack([a, b, d], axis=1), np.stack([a, d, e], axis=1)])
