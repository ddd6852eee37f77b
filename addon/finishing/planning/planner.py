"""The stages of a plan in their order, each kept under a digest of what it is made from."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import fields, replace

import numpy as np
from numpy.typing import NDArray

from ..ball.cutter_view import rim_cells
from ..ball.exact_tip import TipFinder
from ..ball.fit import FitGround, LargestRadius, fit_steps
from ..ball.rest_ground import rest_steps
from ..core.errors import BadRequest, NothingToPlan, TooLarge
from ..core.grid import FloatArray
from ..core.path import Path
from ..core.stages import Progress, StageCache, StageRunner, digest
from ..job.body import Body, check_size
from ..job.request import Request
from ..job.stock import stock_top
from ..motion.run_time import RunTime, run_time
from ..options.fit_table import RackRow, chosen_row, rack_steps
from ..options.flats import flats_of
from ..simulation.proof import prove_steps
from ..surface.curvature_maps import SurfaceMaps, surface_maps
from ..surface.height_map import estimated_memory_mib
from ..surface.side import side_grid
from ..surface.undercut import undercut_area
from ..tooling.bite import Bite, Engagement, bite_of, with_allowed_feed
from ..tooling.clearance import Contact, contacts
from ..tooling.standing_stock import StockBox
from ..tooling.surroundings import engagement_in, obstacles_of, stock_before, stock_box
from .budget import budget_answer
from .cutter_path import CutterPath, cutter_path_steps
from .findings import findings_of
from .result import Plan
from .side_stages import body_in_job, side_in_job


def plan_stages(request: Request, cache: StageCache) -> Generator[Progress, None, Plan]:
    """All stages for one request; yields (share done, stage). Raises the errors of finishing.errors."""
    with StageRunner(cache) as runner:
        return (yield from _plan_stages(request, runner))


def _plan_stages(request: Request, runner: StageRunner) -> Generator[Progress, None, Plan]:
    stock, matrix, body, keys = body_in_job(request, runner)
    _check(request, body)
    yield 0.0, "heights"
    finder = runner.beside("triangle tree", keys.turned, lambda: TipFinder(body.triangles, upward_only=False))
    hidden = runner.beside("undercut", keys.body, lambda: undercut_area(request.body), hold=True)
    side = side_in_job(request, body, keys, runner)
    left_before: FloatArray | None = None
    if request.rest is not None:
        rest, rest_key = request.rest, digest(keys.side, keys.skip, request.region, request.rest, request.fit)
        found = yield from runner.run(
            "rest", rest_key, 0.0, 0.04,
            lambda: rest_steps(side, rest.larger, request.region, request.fit.uncut_height, rest.overlap),
        )  # fmt: skip
        left_before = found.left
        if not found.wanted.any():
            raise NothingToPlan(
                "The {diameter:g} mm cutter reaches all of the planned ground: nothing is left for a smaller one.", diameter=rest.larger.diameter
            )
        side, keys = replace(side, wanted=found.wanted), replace(keys, side=rest_key)
    maps = runner.beside("maps", keys.side, lambda: surface_maps(side.heights, side.grid), hold=True)
    rack: tuple[RackRow, ...] = ()
    largest: LargestRadius | None = None
    if request.rack_table or request.cutter is None:
        rack_key = digest(keys.turned, keys.skip, request.cell, request.rack, request.region, request.fit, request.cusp, request.feed)
        rack, largest = yield from runner.run("rack", rack_key, 0.10, 0.30, lambda: rack_steps(request, body))
    cutter = request.cutter if request.cutter is not None else chosen_row(rack).cutter
    top = stock_top(stock, request.side)
    cut = yield from cutter_path_steps(request, side, keys, cutter, finder(), top, runner)
    box = stock_box(stock, request.side)
    stock_key = digest(cut.path_key, request.roughing, request.stock_body and request.stock_body.triangles, box)
    around = runner.beside(
        "surroundings", digest(stock_key, cutter, request.machine), lambda: _surroundings(request, cut, matrix, box, left_before)
    )  # fmt: skip
    driven = runner.beside(
        "run time", digest(stock_key, cutter, cut.path.feed, request.bite, request.machine), lambda: _driven(request, cut, around()[0])
    )  # fmt: skip
    flats = runner.beside("flats", cut.land_key, lambda: flats_of(cut.ground, cut.view.grid))
    proof = yield from runner.run(
        "proof", digest(cut.path_key, request.fit, keys.skip), 0.85, 1.0,
        lambda: prove_steps(cut.path, cutter.radius, request.cusp, cut.proved, cut.surface.finder, cut.samples),
    )  # fmt: skip
    (_, touched), (bite, path, timing) = around(), driven()
    rim = rim_cells(cutter, side.grid)
    heights, shown = runner.get(
        "rimmed maps", digest(keys.side, rim), lambda: (np.pad(side.heights, rim, constant_values=-np.inf), _rimmed(maps(), rim))
    )  # fmt: skip
    fit_ground = FitGround(cut.view.grid, cut.ground.heights, cut.ground.planned)
    fit = yield from runner.run(
        "fit", digest(cut.land_key, request.fit), 0.98, 1.0,
        lambda: fit_steps(cut.view.left, fit_ground, cutter.radius, request.fit),
    )  # fmt: skip
    plan = Plan(
        request=request,
        body_digest=digest(keys.body, keys.skip),
        job_from_body=matrix,
        body=body,
        stock=stock,
        grid=cut.view.grid,
        heights=heights,
        maps=shown,
        ground=cut.ground,
        region=cut.region,
        rack=rack,
        largest=largest,
        cutter=cutter,
        tip=cut.view.tip,
        left=cut.view.left,
        uncut=cut.view.uncut,
        fit=fit,
        start=cut.start,
        path=path,
        least_length=cut.least_length,
        run_time=timing,
        proof=proof,
        hidden_area=hidden(),
        bite=bite,
        contacts=touched,
        grain=cut.grain,
        ground_costs=cut.ground_costs,
        budget=None,
        flats=flats(),
        findings=(),
        stage_seconds=runner.seconds,
    )
    plan = replace(plan, budget=budget_answer(plan))
    return replace(plan, findings=findings_of(plan))


def _surroundings(
    request: Request, cut: CutterPath, matrix: NDArray[np.float64], box: StockBox, left_before: FloatArray | None
) -> tuple[Engagement, tuple[Contact, ...]]:
    """How the passes stand in the stock, and what the tool touches on its way."""
    before = stock_before(request, cut, matrix, box, left_before)
    return engagement_in(before, cut), contacts(cut.path, cut.view.cutter, request.machine, obstacles_of(before, request.machine))


def _driven(request: Request, cut: CutterPath, engaged: Engagement) -> tuple[Bite, Path, RunTime]:
    """What the cutter bites off, the path with the feeds that this allows, and how long it takes."""
    bite = bite_of(engaged, cut.path, cut.view.cutter, request.bite)
    path = with_allowed_feed(cut.path, bite) if request.bite.lower_feed else cut.path
    return bite, path, run_time(path, request.machine)


def _check(request: Request, body: Body) -> None:
    """Refuse what cannot be planned before anything large is made."""
    if request.cutter is None and not request.rack:
        raise BadRequest("The rack is empty: add a cutter, or name one.")
    smallest = request.cutter if request.cutter is not None else min(request.rack, key=lambda c: c.diameter)
    machine = request.machine
    check_size(body, machine.bed_x, machine.bed_y, machine.travel_z, smallest.diameter)
    needed = estimated_memory_mib(side_grid(body, request.cell), len(body.triangles))
    if needed > request.memory_limit_mib:
        raise TooLarge(
            "A cell of {cell:g} mm would take about {needed:.0f} MiB, more than the limit of {limit:.0f} MiB: use a coarser cell.",
            cell=request.cell,
            needed=needed,
            limit=request.memory_limit_mib,
        )


def _rimmed(maps: SurfaceMaps, rim: int) -> SurfaceMaps:
    """The maps on the grid with a rim of unknown cells more."""
    wide = {item.name: np.pad(getattr(maps, item.name), rim, constant_values=np.nan) for item in fields(maps)}
    return replace(maps, **wide)
