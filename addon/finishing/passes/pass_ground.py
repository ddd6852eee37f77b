"""What pass lines of one cutter are laid on: the cusp metric of its planned ground, and where its tip surface has kinks."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..ball.axis_region import NOTHING_BEYOND, AxisRegion, AxisShares
from ..core.array_types import FloatArray, Mask
from ..core.coarse_cells import coarsened
from ..core.cusp_formulas import spacing_on_flat
from ..core.grid import Grid
from ..core.masks import grown, shrunk
from .cusp_metric import CuspMetric, cusp_metric
from .metric_extension import extended_metric
from .valleys import kinks

CELLS_PER_SPACING = 3.5
"""The field's cells are no wider than the flat-ground spacing over this number, so that no two passes fall into one cell."""

TIP_SMOOTHING, METRIC_SMOOTHING = 0.5, 0.8
"""Blur of the tip surface before, and of the metric after, it is differenced: standard deviations in mm. With less, the noise of a scan
makes pass lines zigzag (a test)."""

VALLEY_FRACTION = 0.3
"""Uncut height, over the cusp height, from which a hollow counts as a valley that gets one line along it."""

VALLEY_CELLS = 2.0
"""Cells round a contact in which uncut height shows that the kink above it belongs to a valley: contact and kink are known to a cell each."""

WHOLE = 0.999
"""Part of a cell that is planned from which it counts as wholly planned: a mean of ones in single precision."""

BORDER_CELLS = 1.01
"""Cells along the border of the planned ground whose second differences look beyond it, and a little more for rounding."""


@dataclass(frozen=True)
class PassGround:
    """What pass lines of one cutter are laid on, in plan. metric: known everywhere; planned: (rows, columns) on the metric's
    grid, how much of each cell is planned, 0 to 1. kinked: fine grid, cells where the tip surface has a kink. finished: (rows, columns) on the
    metric's grid, cells whose contacts a larger cutter has finished: lines may overlap there, and leave it uncovered; None for a first cutter.
    beyond: what the body covers beyond the planned cells, in cells of the metric.
    """

    metric: CuspMetric
    planned: FloatArray
    kinked: Mask
    finished: Mask | None = None
    beyond: AxisShares = NOTHING_BEYOND

    @property
    def least_length(self) -> float:
        """Least possible length of all passes in mm (the bound L_min)."""
        return self._least_length(self.planned, self.beyond)

    def least_length_over(self, region: AxisRegion) -> float:
        """The bound for another region of the same cutter on the same grid, such as one with more ground skipped."""
        factor = round(self.metric.grid.cell / region.grid.cell)
        return self._least_length(coarsened(region.cutting.astype(np.float32), factor), region.beyond.coarsened(factor, region.grid.shape))

    def _least_length(self, planned: FloatArray, beyond: AxisShares) -> float:
        density = self.metric.line_density()
        length = (density * planned).sum() + (density[beyond.row, beyond.column] * beyond.share).sum()
        return float(length * self.metric.grid.cell_area)

    @property
    def inside(self) -> Mask:
        """Cells of the metric's grid that are mostly planned."""
        return self.planned >= 0.5

    @property
    def wanted(self) -> Mask:
        """Those of them that no larger cutter has finished: lines have to cover them."""
        return self.inside if self.finished is None else self.inside & ~self.finished


def pass_ground(tip: FloatArray, uncut: FloatArray, grid: Grid, region: AxisRegion, radius: float, cusp: float, left: Mask | None = None) -> PassGround:
    """Cusp metric of a cutter over its axis region.

    tip: (rows, columns), -inf where the ball meets no body. uncut: (rows, columns), height the ball cannot reach; only where
    there is some between the contacts does a kink of the tip surface stay out of the metric: there one line along it is all
    that can be done. A kink over a hollow that just fits gets a line too, for its lines lie closer than the field's cells.
    left: (rows, columns) ground that a larger cutter leaves, None for a first cutter.
    """
    spacing = float(spacing_on_flat(radius, cusp))
    factor = max(1, int(spacing / CELLS_PER_SPACING / grid.cell))
    planned = coarsened(region.cutting.astype(np.float32), factor)
    field_grid = grid.coarsened(factor)
    # A kink whose neighbours miss it by half a spacing leaves about a quarter of turn times spacing.
    kinked = kinks(tip, grid, least_turn=4 * cusp / spacing)
    kinked &= region.cutting
    narrow = kinked
    if kinked.any():
        unreached = grown(uncut > VALLEY_FRACTION * cusp, grid.cell, VALLEY_CELLS * grid.cell)
        narrow = kinked & unreached[region.contact_row, region.contact_column]
    smooth_ground = shrunk(planned >= WHOLE, field_grid.cell, BORDER_CELLS * field_grid.cell)
    if narrow.any():
        # Twice the standard deviation: as far as the blur carries what it takes from the kink.
        blurred = grown(coarsened(narrow.astype(np.float32), factor) > 0, field_grid.cell, 2 * TIP_SMOOTHING)
        smooth_ground &= ~blurred
    if not smooth_ground.any():
        # Strips that are nowhere wide enough to hold ground away from their own border.
        smooth_ground = planned >= min(0.5, float(planned.max()))
    finished = None
    if left is not None:
        touches_left = region.cutting & left[region.contact_row, region.contact_column]
        finished = coarsened(touches_left.astype(np.float32), factor) == 0
    known = tip > -np.inf
    low = float(tip[known].min()) if known.any() else 0.0

    def raw() -> CuspMetric:
        return cusp_metric(coarsened(np.where(known, tip, low), factor), field_grid, radius, cusp, TIP_SMOOTHING)

    metric = extended_metric(raw(), smooth_ground, METRIC_SMOOTHING)
    return PassGround(metric, planned, kinked, finished=finished, beyond=region.beyond.coarsened(factor, grid.shape))
