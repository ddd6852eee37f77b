"""What can be said of a side before any line is laid: maps, openings, and how the cutters of the rack fit.

The stages are the plan's own, kept under the same digests, so that a plan that follows finds them done.
"""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass

import numpy as np

from ..ball.cutter_view import cutter_view_steps, padded_ground, rim_cells
from ..ball.fit import Fit, FitGround, LargestRadius, fit_steps
from ..core.grid import FloatArray, Grid
from ..core.masks import Mask
from ..core.stages import Progress, StageCache, StageRunner, digest
from ..job.body import Body
from ..job.cutter import Cutter
from ..job.request import Request
from ..job.stock import Stock
from ..options.fit_table import RackRow, rack_steps
from ..options.suggestions import Suggestion, suggestions_for
from ..surface.curvature_maps import SurfaceMaps, surface_maps_steps
from ..surface.ground import Ground
from ..surface.side import Side, side_ground
from .side_stages import body_in_job, side_in_job


@dataclass(frozen=True)
class Survey:
    """One side without a path. body: in job axes. side: heights, skip marks and openings. maps: slope and curvature.

    planned_area: mm2 of planned ground, for the largest cutter of the rack. suggestions: ground that may better be skipped.
    """

    request: Request
    job_from_body: FloatArray
    body: Body
    stock: Stock
    side: Side
    maps: SurfaceMaps
    rack: tuple[RackRow, ...]
    largest: LargestRadius | None
    planned_area: float
    suggestions: tuple[Suggestion, ...]

    @property
    def grid(self) -> Grid:
        """The grid that just holds the body."""
        return self.side.grid

    @property
    def heights(self) -> FloatArray:
        """Top surface, (rows, columns), -inf outside."""
        return self.side.heights


@dataclass(frozen=True)
class FitMap:
    """What one cutter leaves. uncut: (rows, columns) on `grid`, nan off the planned ground; heights: the body there.

    planned: ground that was judged. fit_tolerance: uncut height in mm that does not count.
    """

    cutter: Cutter
    grid: Grid
    heights: FloatArray
    uncut: FloatArray
    fit: Fit
    planned: Mask
    fit_tolerance: float


def survey_steps(request: Request, cache: StageCache) -> Generator[Progress, None, Survey]:
    """Survey a side; yields (share done, stage). Raises the errors of finishing.errors."""
    runner = StageRunner(cache)
    yield 0.0, "heights"
    stock, matrix, body, keys = body_in_job(request, runner)
    side = side_in_job(request, body, keys, runner)
    maps = yield from runner.run("maps", keys.side, 0.1, 0.4, lambda: surface_maps_steps(side.heights, side.grid))
    rack: tuple[RackRow, ...] = ()
    largest: LargestRadius | None = None
    if request.rack and request.rack_table:
        rack_key = digest(keys.turned, keys.skip, request.cell, request.rack, request.region, request.fit, request.cusp, request.feed)
        rack, largest = yield from runner.run("rack", rack_key, 0.4, 1.0, lambda: rack_steps(request, body))
    largest_cutter = max((cutter.diameter for cutter in request.rack), default=16.0)
    ground = side_ground(side, request.region, largest_cutter)
    suggested = suggestions_for(side.heights, ground.slope_degrees, side.opening_labels, side.openings, side.grid, request.region.wall_limit)
    return Survey(request, matrix, body, stock, side, maps, rack, largest, ground.planned_area, suggested)


def fit_map_steps(request: Request, cutter: Cutter, cache: StageCache) -> Generator[Progress, None, FitMap]:
    """Roll one cutter over a side and tell what it leaves; yields (share done, stage)."""
    runner = StageRunner(cache)
    yield 0.0, "heights"
    _, _, body, keys = body_in_job(request, runner)
    side = side_in_job(request, body, keys, runner)
    yield 0.2, "tip surface"
    rim = rim_cells(cutter, side.grid)
    key = digest(keys.side, request.region, cutter.diameter)
    bare: Ground = runner.get("ground", key, lambda: padded_ground(side_ground(side, request.region, cutter.diameter, with_skip=False), rim))
    surface = bare.heights[rim:-rim, rim:-rim]
    view = yield from runner.run("tip surface", key, 0.2, 0.9, lambda: cutter_view_steps(surface, side.grid, cutter))
    ground = padded_ground(side_ground(side, request.region, cutter.diameter), rim) if keys.skip else bare
    own = FitGround(view.grid, ground.heights, ground.planned)
    fit_key = digest(key, keys.skip, request.fit)
    fit = yield from runner.run("fit", fit_key, 0.9, 1.0, lambda: fit_steps(view.left, own, cutter.radius, request.fit))
    uncut = np.where(ground.planned, view.uncut, np.nan).astype(np.float32)
    return FitMap(cutter, view.grid, ground.heights, uncut, fit, ground.planned, request.fit.uncut_height)
