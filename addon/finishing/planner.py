"""The stages of a plan in their order, each kept under a digest of what it is made from."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import fields, replace

import numpy as np

from .body import Body, check_size
from .cutter_path import SideKeys, cutter_path_steps
from .cutter_view import rim_cells
from .errors import BadRequest, TooLarge
from .findings import findings_of
from .fit import LargestRadius, fit_of
from .heights import estimated_memory_mib, top_marks
from .maps import SurfaceMaps, surface_maps_steps
from .motion import run_time
from .proof import ProvedGround, prove_steps
from .rack import RackRow, chosen_row, rack_steps
from .request import Request
from .result import Plan
from .side import make_side, side_grid
from .stages import Progress, StageCache, StageRunner, digest
from .stock import job_from_body, resolve_stock, stock_top
from .touch import TipFinder
from .undercut import undercut_area


def plan_stages(request: Request, cache: StageCache) -> Generator[Progress, None, Plan]:
    """All stages for one request; yields (share done, stage). Raises the errors of finishing.errors."""
    runner = StageRunner(cache)
    stock = resolve_stock(request.stock, request.body)
    matrix = job_from_body(stock, request.side)
    body_key = digest(request.body.triangles)
    turned_key = digest(body_key, matrix)
    body = replace(runner.get("body", turned_key, lambda: request.body.moved(matrix)), skip=request.body.skip)
    _check(request, body)
    yield 0.0, "heights"
    side_key = digest(turned_key, request.cell)
    nothing = np.zeros(len(body.skip), bool)
    side = runner.get("heights", side_key, lambda: make_side(replace(body, skip=nothing), request.cell))
    skip_key = digest(body.skip) if body.skip.any() else ""
    if skip_key:
        skipped = runner.get(
            "skip marks", digest(side_key, skip_key), lambda: top_marks(body.triangles, body.skip, side.grid, side.heights)
        )
        side = replace(side, skipped=skipped)
    maps = yield from runner.run("maps", side_key, 0.04, 0.10, lambda: surface_maps_steps(side.heights, side.grid))
    hidden = runner.get("undercut", body_key, lambda: undercut_area(request.body))
    rack: tuple[RackRow, ...] = ()
    largest: LargestRadius | None = None
    if request.rack_table or request.cutter is None:
        rack_key = digest(turned_key, skip_key, request.rack, request.region, request.fit, request.cusp, request.feed)
        rack, largest = yield from runner.run("rack", rack_key, 0.10, 0.30, lambda: rack_steps(request, body))
    cutter = request.cutter if request.cutter is not None else chosen_row(rack).cutter
    finder = runner.get("triangle tree", turned_key, lambda: TipFinder(body.triangles, upward_only=False))
    top = stock_top(stock, request.side)
    cut = yield from cutter_path_steps(request, side, SideKeys(side_key, skip_key), cutter, finder, top, runner)
    feed_key = digest(cut.path_key, request.feed, cutter.feed, request.machine)
    timing = runner.get("run time", feed_key, lambda: run_time(cut.path, request.machine))
    surface = ProvedGround(
        cut.view.grid, cut.view.left, cut.ground.heights, cut.reached, request.fit.uncut_height
    )
    proof = yield from runner.run(
        "proof", digest(cut.path_key, request.fit, skip_key), 0.85, 1.0,
        lambda: prove_steps(cut.path, cutter.radius, request.cusp, surface, cut.surface.finder),
    )  # fmt: skip
    rim = rim_cells(cutter, side.grid)
    fit = fit_of(cut.view.left, cut.ground.heights, cut.ground.planned, cut.view.grid, request.fit)
    plan = Plan(
        request=request,
        body_digest=digest(body_key, skip_key),
        job_from_body=matrix,
        body=body,
        stock=stock,
        grid=cut.view.grid,
        heights=np.pad(side.heights, rim, constant_values=-np.inf),
        maps=_padded_maps(maps, rim),
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
        path=cut.path,
        least_length=cut.least_length,
        run_time=timing,
        proof=proof,
        hidden_area=hidden,
        findings=(),
        stage_seconds=runner.seconds,
    )
    return replace(plan, findings=findings_of(plan))


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
            f"A cell of {request.cell:g} mm would take about {needed:.0f} MiB, more than the limit of "
            f"{request.memory_limit_mib:.0f} MiB: use a coarser cell."
        )


def _padded_maps(maps: SurfaceMaps, rim: int) -> SurfaceMaps:
    """The maps on the grid with a rim of unknown cells more."""
    wide = {item.name: np.pad(getattr(maps, item.name), rim, constant_values=np.nan) for item in fields(maps)}
    return replace(maps, **wide)
