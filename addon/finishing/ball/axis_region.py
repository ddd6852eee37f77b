"""The region of one cutter: where its axis may stand, judged by where the ball would touch the body.

Contact and tip are not the same point: on ground of slope t they lie R sin t apart in plan. Skip and wall limits hold at
the contact; the axis is what the machine drives.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ..core.array_types import FloatArray, Indices, Mask
from ..core.coarse_cells import blocks_along
from ..core.filters import blurred_gradient, gradient, strips
from ..core.grid import Grid
from ..core.masks import connected_parts, distance_to, grown
from ..surface.ground import Ground
from ..surface.outline import OutlineShares
from .contact import contact_offset

CLOSING_BLUR = 0.5
"""mm; standard deviation of the blur of the closing whose slope tells where the axis stands over a contact: about two cells, so that
the ball's steps from cell to cell do not show."""

SPECK = 2.0
"""mm2; reached ground that stands alone and is smaller is what cells make of a place where the ball touches two things at once: no line is laid
for it, and it counts to the ground that is left."""

TURNING_CELLS = 1.5
"""Width in cells of the strip along forbidden ground that is kept for links."""


@dataclass(frozen=True)
class AxisShares:
    """What a body covers beyond its cells, in cells of the axis: row, column (n,), and the share (n,) in cells."""

    row: Indices
    column: Indices
    share: FloatArray

    def coarsened(self, factor: int, shape: tuple[int, int]) -> AxisShares:
        """The same in cells that are so many times as wide. shape: of the grid, (rows, columns)."""
        rows, columns = (blocks_along(cells, factor) for cells in shape)
        return AxisShares(rows.of(self.row), columns.of(self.column), self.share / factor**2)


NOTHING_BEYOND = AxisShares(np.zeros(0, np.intp), np.zeros(0, np.intp), np.zeros(0))
"""Where the body's outline is not known."""


@dataclass(frozen=True)
class AxisRegion:
    """Positions of the cutter's axis on a grid, (rows, columns) bool.

    cutting: the contact lies on planned ground. linking: the contact lies on planned ground or on a rim, so that links
    may run there. contact_row, contact_column: cell of the contact, int32. slope_degrees: slope at the contact. beyond: what the body covers
    beyond its cells, in cells of the axis whose contacts lie along its outline.
    """

    grid: Grid
    cutting: Mask
    linking: Mask
    contact_row: NDArray[np.int32]
    contact_column: NDArray[np.int32]
    slope_degrees: FloatArray
    beyond: AxisShares = NOTHING_BEYOND

    def along_outline(self, outline: OutlineShares) -> AxisRegion:
        """The region with what the body covers beyond its cells. outline: on the region's grid."""
        row, column = np.nonzero(self.cutting)
        contact = self.contact_row[row, column] * self.grid.columns + self.contact_column[row, column]
        touched = np.zeros(self.grid.rows * self.grid.columns, bool)
        touched[contact] = True
        on = outline.carried(touched.reshape(self.grid.shape))
        total = np.bincount(on.row * self.grid.columns + on.column, on.share, minlength=len(touched))
        share = np.asarray(total[contact], np.float64)  # to each: on crowns several stand over one contact
        some = np.flatnonzero(share)
        return replace(self, beyond=AxisShares(row[some], column[some], share[some]))

    def may_cut(self, points: FloatArray) -> Mask:
        """Whether pass lines may go through axis positions (n, 2 or more)."""
        row, column = self.grid.nearest(points)
        return self.cutting[row, column]

    def may_link(self, points: FloatArray) -> Mask:
        """Whether links may go through axis positions (n, 2 or more)."""
        row, column = self.grid.nearest(points)
        return self.linking[row, column]


def axis_region(
    tip: FloatArray, ground: Ground, grid: Grid, radius: float, wall_limit: float, overrun: float | None = None, barred: Mask | None = None
) -> AxisRegion:
    """Find the axis positions of a ball whose contacts lie on planned ground.

    tip: tip surface (rows, columns) over ground.heights, -inf where the ball meets no body. wall_limit: degrees. overrun: mm that the axis may
    pass the plan outline (None: the radius, which never limits). barred: positions (rows, columns) at which something stands in the way.
    """
    reached = tip > -np.inf
    low = float(tip[reached].min()) if reached.any() else 0.0
    along_x, along_y = gradient(np.where(reached, tip, low).astype(np.float32), grid.cell)
    squared = along_x * along_x + along_y * along_y
    cells_x, cells_y = contact_offset(along_x, along_y, radius / grid.cell)
    rows, columns = np.arange(grid.rows, dtype=np.float32)[:, None], np.arange(grid.columns, dtype=np.float32)
    contact_row = np.clip(np.rint(rows + cells_y), 0, grid.rows - 1).astype(np.int32)
    contact_column = np.clip(np.rint(columns + cells_x), 0, grid.columns - 1).astype(np.int32)
    slope = np.degrees(np.arctan(np.sqrt(squared)))
    gentle = reached & (slope < wall_limit)
    planned = (ground.planned | ground.bridged | ground.brinks)[contact_row, contact_column]
    passable = ground.passable[contact_row, contact_column]
    # Beside forbidden contacts stay one cell away: there the ball may touch both grounds at once.
    forbidden = reached & (ground.forbidden[contact_row, contact_column])
    clear = gentle & (planned | passable) & ~grown(forbidden, grid.cell, grid.cell)
    if overrun is not None and overrun < radius:
        outline = ground.heights > -np.inf
        clear &= distance_to(outline, grid.cell, overrun + 2 * grid.cell) <= overrun
    if barred is not None:
        clear &= ~barred
    # Lines stop short of what links may still use, so that a turn fits between their ends along a wall or a skip border.
    cutting = clear & planned & ~grown(~clear, grid.cell, TURNING_CELLS * grid.cell)
    return AxisRegion(
        grid=grid,
        cutting=cutting,
        linking=clear,
        contact_row=contact_row,
        contact_column=contact_column,
        slope_degrees=slope,
    )


def reachable_ground(planned: Mask, closing: FloatArray, region: AxisRegion, radius: float) -> Mask:
    """Planned ground, (rows, columns) bool, on which the ball may come to rest with its axis where lines may run, without specks.

    closing: the surface that the ball leaves at best. What is lost lies along walls, skip borders and the lowest depth.
    """
    grid = region.grid
    along_x, along_y = blurred_gradient(closing, CLOSING_BLUR / grid.cell, grid.cell, known=closing > -np.inf)
    out = np.zeros(grid.shape, bool)
    for _wide, _own, strip in strips(grid.rows):
        here, there = np.nonzero(planned[strip])
        cells_x, cells_y = contact_offset(along_x[strip][here, there], along_y[strip][here, there], radius / grid.cell)
        row = here + strip.start - np.rint(cells_y).astype(np.int32)
        column = there - np.rint(cells_x).astype(np.int32)
        np.clip(row, 0, grid.rows - 1, out=row)
        np.clip(column, 0, grid.columns - 1, out=column)
        out[strip][here, there] = region.cutting[row, column]
    parts = connected_parts(out)
    small = np.bincount(parts.ravel()) * grid.cell_area < SPECK
    return out & ~small[parts]
