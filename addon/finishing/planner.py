"""The stages of a plan in their order, each kept under a digest of what it is made from."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import fields, replace

import numpy as np

from .body import Body, check_size
from .cutter import Cutter
from .cutter_path import CutterPath, cutter_path_steps
from .cutter_view import rim_cells
from .decision.bite import Engagement, bite_of, engagement_of, with_allowed_feed
from .decision.budget import budget_answer
from .decision.clearance import CELL as OBSTACLE_CELL
from .decision.clearance import Contact, Obstacles, contacts
from .decision.flats import flats_of
from .decision.roughing import StockBox, stock_after_roughing
from .errors import BadRequest, NothingToPlan, TooLarge
from .findings import findings_of
from .fit import FitGround, LargestRadius, fit_steps
from .grid import FloatArray, Grid
from .heights import estimated_memory_mib, height_map
from .maps import SurfaceMaps, surface_maps_steps
from .motion import run_time
from .path import Path
from .proof import ProvedGround, prove_steps
from .rack import RackRow, chosen_row, rack_steps
from .request import Request
from .rest_ground import rest_steps
from .result import Plan
from .side import side_grid
from .side_stages import body_in_job, side_in_job
from .stages import Progress, StageCache, StageRunner, digest
from .stock import Stock, job_from_body, stock_top
from .touch import TipFinder
from .undercut import undercut_area


def plan_stages(request: Request, cache: StageCache) -> Generator[Progress, None, Plan]:
    """All stages for one request; yields (share done, stage). Raises the errors of finishing.errors."""
    runner = StageRunner(cache)
    stock, matrix, body, keys = body_in_job(request, runner)
    _check(request, body)
    yield 0.0, "heights"
    side = side_in_job(request, body, keys, runner)
    if request.rest is not None:
        rest, rest_key = request.rest, digest(keys.side, keys.skip, request.region, request.rest, request.fit)
        wanted = yield from runner.run(
            "rest", rest_key, 0.0, 0.04,
            lambda: rest_steps(side, rest.larger, request.region, request.fit.uncut_height, rest.overlap),
        )  # fmt: skip
        if not wanted.any():
            raise NothingToPlan(f"The {rest.larger.diameter:g} mm cutter reaches all of the planned ground: nothing is left for a smaller one.")
        side, keys = replace(side, wanted=wanted), replace(keys, side=rest_key)
    maps = yield from runner.run("maps", keys.side, 0.04, 0.10, lambda: surface_maps_steps(side.heights, side.grid))
    hidden = runner.get("undercut", keys.body, lambda: undercut_area(request.body))
    rack: tuple[RackRow, ...] = ()
    largest: LargestRadius | None = None
    if request.rack_table or request.cutter is None:
        rack_key = digest(keys.turned, keys.skip, request.cell, request.rack, request.region, request.fit, request.cusp, request.feed)
        rack, largest = yield from runner.run("rack", rack_key, 0.10, 0.30, lambda: rack_steps(request, body))
    cutter = request.cutter if request.cutter is not None else chosen_row(rack).cutter
    finder = runner.get("triangle tree", keys.turned, lambda: TipFinder(body.triangles, upward_only=False))
    top = stock_top(stock, request.side)
    cut = yield from cutter_path_steps(request, side, keys, cutter, finder, top, runner)
    box = _stock_box(stock, request.side)
    engaged = runner.get(
        "engagement", digest(cut.path_key, request.roughing, request.stock_body and request.stock_body.triangles, keys.turned),
        lambda: _engagement(request, cut, matrix, box),
    )  # fmt: skip
    bite = bite_of(engaged, cut.path, cutter, request.bite)
    path = with_allowed_feed(cut.path, bite) if request.bite.lower_feed else cut.path
    feed_key = digest(cut.path_key, path.feed, request.machine)
    timing = runner.get("run time", feed_key, lambda: run_time(path, request.machine))
    touched = runner.get(
        "clearance", digest(cut.path_key, cutter, request.machine, request.roughing, request.stock_body and request.stock_body.triangles, box),
        lambda: _contacts(request, cut, path, cutter, matrix, box),
    )  # fmt: skip
    surface = ProvedGround(
        cut.view.grid, cut.view.left, cut.ground.heights, cut.reached, request.fit.uncut_height
    )
    proof = yield from runner.run(
        "proof", digest(cut.path_key, request.fit, keys.skip), 0.85, 1.0,
        lambda: prove_steps(cut.path, cutter.radius, request.cusp, surface, cut.surface.finder),
    )  # fmt: skip
    rim = rim_cells(cutter, side.grid)
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
        path=path,
        least_length=cut.least_length,
        run_time=timing,
        proof=proof,
        hidden_area=hidden,
        bite=bite,
        contacts=touched,
        grain=cut.grain,
        ground_costs=cut.ground_costs,
        budget=None,
        flats=runner.get("flats", cut.land_key, lambda: flats_of(cut.ground, cut.view.grid)),
        findings=(),
        stage_seconds=runner.seconds,
    )
    plan = replace(plan, budget=budget_answer(plan))
    return replace(plan, findings=findings_of(plan))


def _stock_box(stock: Stock, side: str) -> StockBox:
    """The stock in job mm of a side."""
    corners = np.array([stock.low, stock.high]) @ job_from_body(stock, side)[:3, :3].T + job_from_body(stock, side)[:3, 3]
    low, high = corners.min(axis=0).tolist(), corners.max(axis=0).tolist()
    return StockBox((low[0], low[1]), (high[0], high[1]), high[2], low[2])


def _rough_heights(request: Request, surface: FloatArray, grid: Grid, matrix: FloatArray, box: StockBox) -> FloatArray:
    """What stands before finishing, (rows, columns): the stock that was given, or what roughing leaves."""
    if request.stock_body is None:
        return stock_after_roughing(surface, grid, request.roughing, box)
    return height_map(request.stock_body.moved(matrix).triangles, grid, upward_only=False).astype(np.float32)


def _engagement(request: Request, cut: CutterPath, matrix: FloatArray, box: StockBox) -> Engagement:
    """Depth of the stock at the contact of every axis position, and from it how the passes stand in it."""
    grid, region, surface = cut.view.grid, cut.region, cut.ground.heights
    if request.stock_body is None and request.roughing.step_down is None:
        depth = np.full(grid.shape, request.roughing.allowance, np.float32)
    else:
        rough = _rough_heights(request, surface, grid, matrix, box)
        standing = (surface > -np.inf) & (rough > -np.inf)
        over = np.where(standing, np.where(standing, rough, 0) - np.where(standing, surface, 0), 0.0)
        over = over[region.contact_row, region.contact_column]
        depth = (over * np.cos(np.radians(np.where(np.isfinite(region.slope_degrees), region.slope_degrees, 0.0)))).astype(np.float32)
    return engagement_of(cut.path, cut.view.cutter.radius, depth, grid)


def _contacts(
    request: Request, cut: CutterPath, path: Path, cutter: Cutter, matrix: FloatArray, box: StockBox
) -> tuple[Contact, ...]:
    """Whether the stepped profile of the tool runs free."""
    rim = max(request.machine.nut_diameter / 2, cutter.radius)
    low = np.minimum(np.array(box.low), path.points[:, :2].min(axis=0)) - rim
    high = np.maximum(np.array(box.high), path.points[:, :2].max(axis=0)) + rim
    grid = Grid.over(low, high, OBSTACLE_CELL)
    near = np.stack(np.meshgrid(grid.x(), grid.y()), axis=-1).reshape(-1, 2)
    row, column = cut.view.grid.position(near)
    inside = (row > -0.5) & (row < cut.view.grid.rows - 0.5) & (column > -0.5) & (column < cut.view.grid.columns - 0.5)
    at = cut.view.grid.nearest(near)
    body = np.where(inside, cut.ground.heights[at], -np.inf).reshape(grid.shape).astype(np.float32)
    rough = _rough_heights(request, body, grid, matrix, box)
    standing = np.where((body > -np.inf) | (rough <= box.bottom), -np.inf, rough).astype(np.float32)
    return contacts(path, cutter, request.machine, Obstacles(grid, body, rough, standing))


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
