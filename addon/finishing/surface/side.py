"""One side of a body as heights and openings, before any cutter is chosen."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ..core.array_types import FloatArray, Labels, Mask
from ..core.grid import ROUNDING, Grid
from ..job.ground_settings import RegionSettings
from .ground import Ground, plan_ground
from .height_map import height_map
from .opening_search import detail_grid, find_openings
from .openings import FoundOpenings, Opening, TreatmentChoices, treated
from .outline import OutlineShares, outline_shares
from .steep_walls import wall_steps

RIM_CELLS = 2
"""Empty cells round a side."""

LEAST_BEYOND = 0.05
"""Cells by which a centre that is not on the body lies off it at least: hardly off it, the half of its cell that the body covers would count for the
next cell, and lengths would jump where a body grows by nothing."""


@dataclass(frozen=True)
class Side:
    """One side of a body before any cutter is chosen, on a grid that just holds it. Maps are (rows, columns).

    heights: top surface, -inf outside. found: its openings, on a grid that may be finer. outline: what the body covers beyond its cells.
    """

    grid: Grid
    heights: FloatArray
    found: FoundOpenings
    outline: OutlineShares

    @property
    def opening_labels(self) -> Labels:
        """Number of the opening, 0 elsewhere, (rows, columns)."""
        return self.found.labels

    @property
    def openings(self) -> tuple[Opening, ...]:
        """The openings as found, their treatment not settled."""
        return self.found.openings


def make_side(triangles: FloatArray, cell: float) -> Side:
    """Read one side of a body, triangles (n, 3, 3) in job mm, onto a grid."""
    corners = [triangles[..., axis] for axis in range(3)]  # axis by axis: much faster than over the last but one
    grid = side_grid(np.array([x.min() for x in corners]), np.array([x.max() for x in corners]), cell)
    heights = height_map(triangles, grid, upward_only=False).astype(np.float32)
    finer, every = detail_grid(grid)
    detail = heights if every == 1 else height_map(triangles, finer, upward_only=False).astype(np.float32)
    outline = outline_shares(triangles, grid, heights)
    return Side(grid=grid, heights=heights, found=find_openings(detail, finer, every, wall_steps(triangles, detail, finer)), outline=outline)


def side_grid(low: FloatArray, high: FloatArray, cell: float) -> Grid:
    """The grid that just holds a body between two corners (3,) in job mm, with a rim of two empty cells.

    It lies with its middle over the body's, so that a body turned on the table by a quarter of a turn lies on its cells as before. A body of whole
    cells has the outermost centres on its outline. Any other has them up to half a cell beyond it, or nearly half a cell within where they would lie
    less than LEAST_BEYOND beyond. So the noisy outline of a scan whose sides were whole cells lies amid cells, and no centre stands on its wall.
    """
    size = np.asarray(high, float)[:2] - np.asarray(low, float)[:2]
    steps = np.ceil(size / cell - ROUNDING)
    beyond = (steps - size / cell) / 2
    steps -= (beyond > ROUNDING) & (beyond < LEAST_BEYOND)
    return Grid.centred(low, size, steps, cell).padded(RIM_CELLS)


def settled_openings(side: Side, settings: RegionSettings, cutter_diameter: float) -> tuple[Opening, ...]:
    """The side's openings with their treatment settled for a cutter of this diameter."""
    floors = {(opening, floor): treatment for opening, floor, treatment in settings.floor_choices}
    return treated(side.openings, cutter_diameter, TreatmentChoices(settings.openings, dict(settings.opening_choices), floors))


def side_ground(
    side: Side, skipped: Mask, settings: RegionSettings, cutter_diameter: float, wanted: Mask | None = None, face: float | None = None
) -> Ground:
    """The planned ground of a side for a cutter of this diameter, on the side's own grid.

    skipped: cells that show a face marked to be skipped. wanted: the only cells that may be planned, None for all. face: z of the
    stock's even face in job mm, None for no such face.
    """
    settled = settled_openings(side, settings, cutter_diameter)
    ground = plan_ground(side.heights, skipped, side.found, settled, side.grid, settings, wanted, face)
    return replace(ground, planned_area=ground.planned_area + side.outline.area_at(ground.planned, ground.slope_degrees, side.grid.cell))
