"""The rack table: what every cutter at hand would do on one side, before a line is laid."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass

import numpy as np

from ..ball.axis_region import axis_region
from ..ball.cutter_view import cutter_view_steps, padded_ground, rim_cells
from ..ball.fit import FitGround, LargestRadius, fit_steps, largest_radius_steps
from ..core.grid import FloatArray
from ..core.stepping import within
from ..job.body import Body
from ..job.cutter import Cutter
from ..job.request import Request
from ..passes.pass_ground import pass_ground
from ..surface.curvature_maps import surface_maps_steps
from ..surface.ground import Ground
from ..surface.side import Side, make_side, settled_openings, side_ground

TABLE_CELL = 0.5
"""Cell in mm of the grid the table is worked out on, to save time; where it says that a ball does not fit, `fit_steps` measures
off the grid. The plan judges the chosen cutter again on its own cells."""


@dataclass(frozen=True)
class RackRow:
    """One cutter on the planned ground. uncut_area in mm2 and uncut_height in mm: what it cannot reach; place: where most.

    hollow_radius: the tightest hollow on its planned ground in mm, None where there is none. least_length: bound on the pass
    length in mm for the cusp; minutes: that length at the cutter's feed.
    """

    cutter: Cutter
    fits: bool
    hollow_radius: float | None
    uncut_area: float
    uncut_height: float
    place: tuple[float, float, float] | None
    least_length: float
    minutes: float
    cusp: float


def rack_steps(request: Request, body: Body) -> Generator[float, None, tuple[tuple[RackRow, ...], LargestRadius]]:
    """The rack table and the largest radius that fits at all; yields shares done. body: in job axes."""
    side = make_side(body, max(request.cell, TABLE_CELL))
    grounds: dict[tuple[str, ...], Ground] = {}

    def ground_for(diameter: float) -> Ground:
        settled = tuple(o.treatment for o in settled_openings(side, request.region, diameter))
        if settled not in grounds:
            grounds[settled] = side_ground(side, request.region, diameter)
        return grounds[settled]

    maps = yield from within(surface_maps_steps(side.heights, side.grid), 0.0, 0.1)
    hollow = maps.hollow_radius()
    rows = []
    cutters = sorted(request.rack, key=lambda cutter: cutter.diameter)
    for number, cutter in enumerate(cutters):
        low, high = (0.1 + 0.6 * (number + k) / len(cutters) for k in (0, 1))
        row = yield from within(_row_steps(request, side, ground_for(cutter.diameter), hollow, cutter), low, high)
        rows.append(row)
    fitting = max((row.cutter.radius for row in rows if row.fits), default=0.0)
    failing = [row.cutter.radius for row in rows if not row.fits and row.cutter.radius > fitting]

    def ground_of(radius: float) -> FitGround:
        ground = ground_for(2 * radius)
        return FitGround(side.grid, ground.heights, ground.planned)

    largest = yield from within(largest_radius_steps(ground_of, request.fit, fitting, min(failing, default=None), GREATEST_RADIUS), 0.7, 1.0)
    return tuple(rows), largest


GREATEST_RADIUS = 40.0
"""mm; no larger ball is tried."""

TIGHTEST_SHARE = 0.001
"""Share of the planned ground whose hollows may be tighter than the radius shown: single cells of noise are no hollow."""


def _row_steps(request: Request, side: Side, ground: Ground, hollow: FloatArray, cutter: Cutter) -> Generator[float, None, RackRow]:
    """One cutter's row."""
    view = yield from within(cutter_view_steps(ground.heights, side.grid, cutter), 0.0, 0.7)
    wide = padded_ground(ground, rim_cells(cutter, side.grid))
    own = FitGround(view.grid, wide.heights, wide.planned)
    fit = yield from within(fit_steps(view.left, own, cutter.radius, request.fit), 0.7, 0.75)
    region = axis_region(view.tip, wide, view.grid, cutter.radius, request.region.wall_limit, request.region.overrun)
    yield 0.8
    cusp = min(request.cusp, 0.5 * cutter.radius)
    least = 0.0
    if region.cutting.any():
        least = pass_ground(view.tip, view.uncut, view.grid, region, cutter.radius, cusp).least_length
    feed = request.feed if request.feed is not None else cutter.feed
    radii = hollow[ground.planned]
    radii = radii[np.isfinite(radii)]
    tightest = float(np.quantile(radii, TIGHTEST_SHARE)) if len(radii) else None
    return RackRow(cutter, fit.fits, tightest, fit.area, fit.height, fit.place, least, least / feed, cusp)


def chosen_row(rows: tuple[RackRow, ...]) -> RackRow:
    """The largest cutter that fits; when none does, the one that leaves the least ground, the larger of equals."""
    fitting = [row for row in rows if row.fits]
    if fitting:
        return max(fitting, key=lambda row: row.cutter.diameter)
    return min(rows, key=lambda row: (row.uncut_area, -row.cutter.diameter))
