"""What roughing leaves: allowance, terraces of its step-downs, and the channel beside the body."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..core.array_types import FloatArray, Mask
from ..core.filters import gradient
from ..core.grid import Grid
from ..core.masks import distance_to, shrunk
from ..job.roughing import RoughingSettings
from .flat_cutter import flat_closing

STEEPEST = 4.0
"""Square of the greatest height of an allowance over its thickness, 1 + slope^2, which is reached at 60 degrees: walls are steeper, but they
are not finished."""


@dataclass(frozen=True)
class StockBox:
    """The stock in job mm: corners in plan, and the heights of its top and bottom."""

    low: tuple[float, float]
    high: tuple[float, float]
    top: float
    bottom: float

    def holds(self, grid: Grid) -> Mask:
        """Cells within the box, (rows, columns) bool."""
        across = (grid.x() >= self.low[0]) & (grid.x() <= self.high[0])
        along = (grid.y() >= self.low[1]) & (grid.y() <= self.high[1])
        return along[:, None] & across[None, :]


def stock_after_roughing(surface: FloatArray, grid: Grid, settings: RoughingSettings, box: StockBox) -> FloatArray:
    """Height of what stands after roughing, (rows, columns) float32, -inf outside the stock.

    surface: the body's top, -inf outside it. On the body stand allowance and terraces; beside it, as far as the channel goes, nothing above the
    stock's bottom; beyond, the whole stock.
    """
    body = surface > -np.inf
    level = np.where(body, surface, 0.0)
    along_x, along_y = gradient(level, grid.cell)
    # Only where all four neighbours stand too do differences show the slope, not the drop beside the body.
    steep = np.where(shrunk(body, grid.cell, grid.cell), 1 + along_x**2 + along_y**2, 1.0)
    rough: FloatArray = level + settings.allowance * np.sqrt(np.minimum(steep, STEEPEST))
    if settings.terrace_height is not None:
        rough = terraced(np.where(body, rough, -np.inf), grid.cell, settings, box.top)
    rough = np.where(body, np.minimum(rough, max(box.top, float(level.max()))), -np.inf)
    beyond = distance_to(body, grid.cell, settings.channel + 2 * grid.cell) > settings.channel
    around = np.where(beyond, box.top, box.bottom)
    return np.where(body, rough, np.where(box.holds(grid), around, -np.inf)).astype(np.float32)


def out_of_flat_reach(rough: FloatArray, cell: float, settings: RoughingSettings, top: float) -> FloatArray:
    """What stands over a roughed body (rows, columns; -inf outside) where its flat cutter does not come down: in hollows narrower than the cutter."""
    settled = flat_closing(rough, settings.cutter_diameter / 2, cell, lambda heights: heights)
    return np.where(rough > -np.inf, np.maximum(rough, np.minimum(settled, top)), -np.inf).astype(np.float32)


def terraced(rough: FloatArray, cell: float, settings: RoughingSettings, top: float) -> FloatArray:
    """The terraces that a flat cutter leaves above a surface (rows, columns; -inf outside) going down from the top in equal steps.

    At every place the cutter comes down to the lowest step at which it is nowhere below the surface. In single precision, as heights are,
    a level right on a step may count as just above it; then it stands one step higher than it need.
    """
    step = settings.terrace_height
    if step is None:
        return rough

    def lowest_step(heights: FloatArray) -> FloatArray:
        return top - step * np.floor((top - heights) / step)

    return flat_closing(rough, settings.cutter_diameter / 2, cell, lowest_step)
