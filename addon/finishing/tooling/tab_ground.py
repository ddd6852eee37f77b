"""Surface that lies in a tab: between its faces, from the outline inwards to where the body rises above it. It is finished by hand."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..core.array_types import FloatArray, Indices, Mask
from ..core.grid import Grid
from ..job.tabs import Tab


@dataclass(frozen=True)
class TabGround:
    """Planned surface that lies in one tab. number: of the tab. area: mm2 of plan. volume: mm3 of wood over it. height: mm, the most of it."""

    number: int
    area: float
    volume: float
    height: float


def inward_reach(tab: Tab, grid: Grid, heights: FloatArray) -> float:
    """How far in mm a tab reaches into the outline over lower surface. heights: (rows, columns) of the side that looks up, -inf beside the body."""
    row, column = _cells_below(tab, grid, heights)
    if len(row) == 0:
        return 0.0
    along = tab.across_and_along(grid.middles(row, column))[:, 1]
    return max(0.0, float(-along.min()) + grid.cell)


def tab_ground(tab: Tab, grid: Grid, heights: FloatArray, planned: Mask) -> TabGround:
    """The planned surface (rows, columns) that lies in a tab."""
    row, column = _cells_below(tab, grid, heights)
    own = planned[row, column]
    over = tab.high - np.maximum(heights[row[own], column[own]].astype(np.float64), tab.low)
    return TabGround(tab.number, float(own.sum()) * grid.cell_area, float(over.sum()) * grid.cell_area, float(over.max(initial=0.0)))


def _cells_below(tab: Tab, grid: Grid, heights: FloatArray) -> tuple[Indices, Indices]:
    """Rows and columns of the body's cells under a tab's top, as far inwards as nothing rises above it, at most as far as the tab is wide."""
    corners = tab.corners(inward=tab.width)
    first, last = grid.nearest(corners.min(axis=0)[None]), grid.nearest(corners.max(axis=0)[None])
    rows, columns = np.meshgrid(np.arange(first[0][0], last[0][0] + 1), np.arange(first[1][0], last[1][0] + 1), indexing="ij")
    row, column = rows.ravel(), columns.ravel()
    across, along = tab.across_and_along(grid.middles(row, column)).T
    here = (np.abs(across) <= tab.width / 2) & (along >= -tab.width) & (along <= tab.length) & (heights[row, column] > -np.inf)
    row, column, across, inward = row[here], column[here], across[here], -along[here]
    strip = np.rint((across + tab.width / 2) / grid.cell).astype(np.intp)
    rises = heights[row, column] >= tab.high
    nearest = np.full(int(strip.max(initial=0)) + 1, np.inf)
    np.minimum.at(nearest, strip[rises], inward[rises])
    below = inward < nearest[strip]
    return row[below], column[below]
