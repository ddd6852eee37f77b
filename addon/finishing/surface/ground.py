"""The planned ground of one side: what is finished and what is left out, on the body (at the contact)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..core.array_types import FloatArray, Labels, Mask
from ..core.grid import Grid
from ..core.masks import grown
from ..job.ground_settings import RegionSettings
from .bridges import bridged
from .edges import WALL_SLOPE
from .level_ground import Leaving, LeftFlat, flats_left_out
from .openings import FoundOpenings, Opening

EDGE_CELLS = 1.5
"""Ground this many cells from the outline or from a drop is rim: the cutter rolls over the edge there."""

BRINK_CELLS = 1.0
"""Cells from the edge of a wall at which a contact may still be one on the edge itself."""

STEEPEST_AREA = 85.0
"""Degrees; ground counts with no more true surface over its plan than this slope has (11.5 times): beyond, cells no longer show it."""


@dataclass(frozen=True)
class Ground:
    """Ground of one side on a grid; every map is (rows, columns).

    heights: surface that is planned on, openings bridged, -inf outside. planned: contacts are wanted here.
    passable: contacts are tolerated here on links: planned ground and rims, and the cells just outside a rim, for where the
    ball rolls over an edge its contact is known to a cell only; and the cells of walls next to such ground, where the same holds for a ball that
    rolls over the edge of a wall without touching it. brinks: those of them that are not on the outline: contacts there count as planned.
    forbidden: skipped faces, skipped openings with their margins, walls away from such ground and ground below the lowest depth: no contact may lie
    here. rims: within EDGE_CELLS of a drop.
    bridged: bridges over openings, and strips of flats that are left out, which lines cross but which are no ground to finish.
    flats: those that are left out.
    opening_labels: number of the opening, 0 elsewhere. bridges: (n, 3, 3) triangles that close bridged openings.
    Areas in mm2: planned_area, skipped_area and wall_area of true surface, opening_area of plan.
    """

    heights: FloatArray
    slope_degrees: FloatArray
    planned: Mask
    passable: Mask
    brinks: Mask
    forbidden: Mask
    skipped: Mask
    walls: Mask
    rims: Mask
    bridged: Mask
    opening_labels: Labels
    openings: tuple[Opening, ...]
    bridges: FloatArray
    flats: tuple[LeftFlat, ...]
    planned_area: float
    skipped_area: float
    wall_area: float
    opening_area: float


def plan_ground(
    heights: FloatArray,
    skipped: Mask,
    found: FoundOpenings,
    openings: tuple[Opening, ...],
    grid: Grid,
    settings: RegionSettings,
    wanted: Mask | None = None,
    face: float | None = None,
) -> Ground:
    """Decide for every cell whether its ground is planned.

    heights: top surface, (rows, columns), -inf outside the body. skipped: cells that show a skipped face.
    found: its openings; openings: the same with their treatment settled. wanted: the only cells that may be planned, None for all. face: z of the
    stock's even face, None for no such face.
    """
    body = heights > -np.inf
    surface, bridges = bridged(heights, found, openings)
    standing = surface > -np.inf
    slope = surface_slope(surface, grid.cell)
    omitted, bridge = (found.of_sets([each == kind for each in found.treatments(openings)]) > 0 for kind in ("skip", "bridge"))
    edge = standing & grown(~standing, grid.cell, EDGE_CELLS * grid.cell)
    # A cell beside an opening that is left out shows the drop into it, which is no wall of the ground.
    walls = standing & (slope >= settings.wall_limit) & ~(grown(omitted, grid.cell, grid.cell) if omitted.any() else omitted) & ~bridge
    lowest = -np.inf if settings.deepest_tip is None else float(heights[body].max()) - settings.deepest_tip
    kept_off = (standing & (surface < lowest)) | _margins(standing, skipped, omitted, wanted, grid.cell, settings)
    rims = edge | (standing & grown(_drops(surface, grid.cell), grid.cell, EDGE_CELLS * grid.cell))
    leaving = Leaving(settings.flats, face, settings.flat_margin)
    flat = flats_left_out(surface, slope, standing & ~walls & ~kept_off & ~rims & ~bridge, bridge, grid, leaving)
    kept_off |= flat.kept_off
    passable = standing & ~walls & ~kept_off
    beside = walls & ~kept_off & grown(passable, grid.cell, BRINK_CELLS * grid.cell)
    # A wall a cell or two wide on the outline is the body's own side: nobody wants contacts there.
    outer = grown(edge & walls, grid.cell, EDGE_CELLS * grid.cell)
    # Bridges and the strips along flats are no ground to finish, but the cutter may pass over them.
    planned = passable & ~rims & ~bridge & ~flat.all
    outside = ~standing & grown(edge & passable, grid.cell, EDGE_CELLS * grid.cell)
    area = grid.cell_area / np.cos(np.radians(np.where(standing, np.minimum(slope, STEEPEST_AREA), 0.0)))
    return Ground(
        heights=surface,
        slope_degrees=slope,
        planned=planned,
        passable=passable | outside | beside,
        brinks=beside & ~outer,
        forbidden=(walls & ~beside) | (kept_off & standing),
        skipped=skipped & body,
        walls=walls,
        rims=rims,
        bridged=passable & ~rims & (bridge | flat.all),
        opening_labels=found.labels,
        openings=openings,
        bridges=bridges,
        flats=flat.flats,
        planned_area=float(area[planned].sum()),
        skipped_area=float(area[skipped & body].sum()),
        wall_area=float(area[walls].sum()),
        opening_area=float((found.labels > 0).sum() * grid.cell_area),
    )


def _margins(standing: Mask, skipped: Mask, omitted: Mask, wanted: Mask | None, cell: float, settings: RegionSettings) -> Mask:
    """Cells within the margins, of a cell at least, of skipped faces, of openings that are left out and of ground that is not wanted."""
    margins = np.zeros(standing.shape, bool)
    if skipped.any():
        margins |= grown(skipped, cell, max(settings.skip_margin, cell))
    if wanted is not None:
        margins |= standing & grown(~wanted, cell, max(settings.skip_margin, cell))
    if omitted.any():
        margins |= grown(omitted, cell, max(settings.opening_margin, cell))
    return margins


def surface_slope(heights: FloatArray, cell: float) -> FloatArray:
    """Slope in degrees from horizontal, (rows, columns) float32; nan outside.

    By central differences, which show a drop to lower ground as steep; beside the outline one-sided, for the ball that rolls
    over the edge never touches the drop there.
    """
    body = heights > -np.inf
    level = np.where(body, heights, 0).astype(np.float32)
    squared = np.zeros(heights.shape, np.float32)
    for axis in (0, 1):
        z, stands = np.moveaxis(level, axis, 0), np.moveaxis(body, axis, 0)
        both = stands[1:] & stands[:-1]
        rise = np.where(both, z[1:] - z[:-1], 0)
        total, count = np.zeros_like(z), np.zeros(z.shape, np.float32)
        total[1:] += rise
        total[:-1] += rise
        count[1:] += both
        count[:-1] += both
        slope = total / (np.maximum(count, 1) * np.float32(cell))
        squared += np.moveaxis(slope * slope, 0, axis)
    return np.where(body, np.degrees(np.arctan(np.sqrt(squared))), np.nan).astype(np.float32)


def _drops(heights: FloatArray, cell: float) -> Mask:
    """Cells at the foot or the head of a wall: a steeper drop to a neighbour than WALL_SLOPE."""
    steep = cell * WALL_SLOPE
    drop = np.zeros(heights.shape, bool)
    with np.errstate(invalid="ignore"):
        along_x = np.abs(heights[:, 1:] - heights[:, :-1]) > steep
        along_y = np.abs(heights[1:] - heights[:-1]) > steep
    drop[:, 1:] |= along_x
    drop[:, :-1] |= along_x
    drop[1:] |= along_y
    drop[:-1] |= along_y
    return drop & (heights > -np.inf)
