"""One side of a body as heights, skip marks and openings, before any cutter is chosen."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..core.array_types import FloatArray, Labels, Mask
from ..core.grid import Grid
from ..job.body import Body
from ..job.ground_settings import RegionSettings
from .ground import Ground, plan_ground
from .height_map import height_map, top_marks
from .openings import Opening, find_openings, treated


@dataclass(frozen=True)
class Side:
    """One side of a body before any cutter is chosen, on a grid that just holds it. Maps are (rows, columns).

    heights: top surface, -inf outside. skipped: cells that show a face marked to be skipped. opening_labels: number of the
    opening, 0 elsewhere; openings: as found, treatment not settled. wanted: the only cells that are planned, None for all.
    """

    grid: Grid
    heights: FloatArray
    skipped: Mask
    opening_labels: Labels
    openings: tuple[Opening, ...]
    wanted: Mask | None = None


def make_side(body: Body, cell: float) -> Side:
    """Read one side of a body that lies in job axes onto a grid."""
    grid = side_grid(body, cell)
    heights = height_map(body.triangles, grid, upward_only=False).astype(np.float32)
    skipped = top_marks(body.triangles, body.skip, grid, heights)
    labels, openings = find_openings(heights, grid)
    return Side(grid=grid, heights=heights, skipped=skipped, opening_labels=labels, openings=openings)


def side_grid(body: Body, cell: float) -> Grid:
    """The grid that just holds a body, with a rim of two empty cells."""
    return Grid.over(body.low, body.high, cell, margin=2 * cell)


def settled_openings(side: Side, settings: RegionSettings, cutter_diameter: float) -> tuple[Opening, ...]:
    """The side's openings with their treatment settled for a cutter of this diameter."""
    return treated(side.openings, cutter_diameter, settings.openings, dict(settings.opening_choices))


def side_ground(side: Side, settings: RegionSettings, cutter_diameter: float, with_skip: bool = True) -> Ground:
    """The planned ground of a side for a cutter of this diameter, on the side's own grid."""
    settled = settled_openings(side, settings, cutter_diameter)
    skipped = side.skipped if with_skip else np.zeros_like(side.skipped)
    return plan_ground(side.heights, skipped, side.opening_labels, settled, side.grid, settings, side.wanted)
