"""The region of one cutter: where its axis may stand, told by where the ball would touch the body.

Contact and tip are different places: on ground of slope t they lie R sin t apart in plan. Skip and wall limits hold at
the contact; the axis is what the machine drives.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..core.filters import blurred_gradient, gradient
from ..core.grid import FloatArray, Grid
from ..core.masks import Mask, distance_to, grown
from ..surface.ground import Ground


@dataclass(frozen=True)
class AxisRegion:
    """Positions of the cutter's axis on a grid, (rows, columns) bool.

    cutting: the contact lies on planned ground. linking: the contact lies on planned ground or on a rim, so that links
    may pass. contact_row, contact_column: cell of the contact, int32. slope_degrees: slope at the contact.
    """

    grid: Grid
    cutting: Mask
    linking: Mask
    contact_row: NDArray[np.int32]
    contact_column: NDArray[np.int32]
    slope_degrees: FloatArray

    def may_cut(self, points: FloatArray) -> Mask:
        """Whether pass lines may go through axis positions (n, 2 or more)."""
        row, column = self.grid.nearest(points)
        return self.cutting[row, column]

    def may_link(self, points: FloatArray) -> Mask:
        """Whether links may go through axis positions (n, 2 or more)."""
        row, column = self.grid.nearest(points)
        return self.linking[row, column]


def axis_region(tip: FloatArray, ground: Ground, grid: Grid, radius: float, wall_limit: float, overrun: float | None = None) -> AxisRegion:
    """Find the axis positions of a ball whose contacts lie on planned ground.

    tip: tip surface (rows, columns) over ground.heights, -inf where the ball meets no body.
    wall_limit: degrees. overrun: mm that the axis may pass the plan outline (None: the radius, which never limits).
    """
    reached = tip > -np.inf
    low = float(tip[reached].min()) if reached.any() else 0.0
    along_x, along_y = gradient(np.where(reached, tip, low).astype(np.float32), grid.cell)
    squared = along_x * along_x + along_y * along_y
    reach = np.float32(radius / grid.cell) / np.sqrt(1 + squared)
    rows, columns = np.arange(grid.rows, dtype=np.float32)[:, None], np.arange(grid.columns, dtype=np.float32)
    contact_row = np.clip(np.rint(rows + reach * along_y), 0, grid.rows - 1).astype(np.int32)
    contact_column = np.clip(np.rint(columns + reach * along_x), 0, grid.columns - 1).astype(np.int32)
    slope = np.degrees(np.arctan(np.sqrt(squared)))
    gentle = reached & (slope < wall_limit)
    planned = (ground.planned | ground.bridged)[contact_row, contact_column]
    passable = ground.passable[contact_row, contact_column]
    # Beside forbidden contacts stay one cell away: there the ball may touch both grounds at once.
    forbidden = reached & (ground.forbidden[contact_row, contact_column])
    clear = gentle & (planned | passable) & ~grown(forbidden, grid.cell, grid.cell)
    if overrun is not None and overrun < radius:
        outline = ground.heights > -np.inf
        clear &= distance_to(outline, grid.cell, overrun + 2 * grid.cell) <= overrun
    # Lines stop short of what links may still use, so that a turn fits between their ends along a wall or a skip border.
    cutting = clear & planned & ~grown(~clear, grid.cell, TURNING_CELLS * grid.cell)
    return AxisRegion(grid, cutting, clear, contact_row, contact_column, slope)


def reachable_ground(planned: Mask, left: FloatArray, region: AxisRegion, radius: float) -> Mask:
    """Planned ground, (rows, columns) bool, on which the ball may come to rest with its axis where lines may run.

    left: the rolling-ball closing. What is lost lies along walls, skip borders and the lowest depth.
    """
    grid = region.grid
    along_x, along_y = blurred_gradient(left, LEFT_BLUR / grid.cell, grid.cell, known=left > -np.inf)
    place = np.flatnonzero(planned)
    slope_x, slope_y = along_x.take(place), along_y.take(place)
    reach = np.float32(radius / grid.cell) / np.sqrt(1 + slope_x * slope_x + slope_y * slope_y)
    rows, columns = (number.astype(np.int32) for number in np.divmod(place, grid.columns))
    row = rows - np.rint(reach * slope_y).astype(np.int32)
    column = columns - np.rint(reach * slope_x).astype(np.int32)
    np.clip(row, 0, grid.rows - 1, out=row)
    np.clip(column, 0, grid.columns - 1, out=column)
    out = np.zeros(grid.shape, bool)
    np.put(out, place, region.cutting.take(row * grid.columns + column))
    return out


LEFT_BLUR = 0.5
"""mm; standard deviation of the blur of the closing whose slope tells where the axis stands over a contact."""

TURNING_CELLS = 1.5
"""Width in cells of the strip along forbidden ground that is kept for links."""
