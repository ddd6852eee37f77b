"""The plan as a record: everything that the stages have found."""

from __future__ import annotations

from dataclasses import dataclass

from ..ball.axis_region import AxisRegion
from ..ball.fit import Fit, LargestRadius
from ..core.finding import Finding
from ..core.grid import FloatArray, Grid
from ..core.path import Path
from ..job.body import Body
from ..job.cutter import Cutter
from ..job.request import Request
from ..job.stock import Stock
from ..motion.run_time import RunTime
from ..options.fit_table import RackRow
from ..options.flats import Flat
from ..options.grain import GrainChoice
from ..options.ground_costs import GroundCost
from ..simulation.proof import Proof
from ..surface.curvature_maps import SurfaceMaps
from ..surface.ground import Ground
from ..tooling.bite import Bite
from ..tooling.clearance import Contact
from .budget import BudgetAnswer


@dataclass(frozen=True)
class Plan:
    """Everything that one plan says. Maps are (rows, columns) on `grid`, lengths in job mm.

    maps: slope and curvature of the body. left: surface the ball leaves at best. uncut: left above the planned surface.
    rack: what every cutter of the rack would do. largest: the largest radius that fits the planned ground at all.
    fit: how the chosen cutter fits on the plan's own grid. start: the chosen start in words. least_length: the bound L_min. hidden_area: undercut, mm2.
    stage_seconds: wall time by stage; what was kept from before takes next to none, and some stages run beside others.
    bite: at the feed that was asked for; the path's own feed is lowered where the bite says so. contacts: where cutter, shank or nut
    touch on their way. grain: what weighing the grain has done.
    ground_costs: what skipped ground, overrun and steep ground cost. budget: the answer to the time budget, None without one.
    flats: level ground that is planned, work for a flat cutter.
    """

    request: Request
    body_digest: str
    job_from_body: FloatArray
    body: Body
    stock: Stock
    grid: Grid
    heights: FloatArray
    maps: SurfaceMaps
    ground: Ground
    region: AxisRegion
    rack: tuple[RackRow, ...]
    largest: LargestRadius | None
    cutter: Cutter
    tip: FloatArray
    left: FloatArray
    uncut: FloatArray
    fit: Fit
    start: str
    path: Path
    least_length: float
    run_time: RunTime
    proof: Proof
    hidden_area: float
    bite: Bite
    contacts: tuple[Contact, ...]
    grain: GrainChoice | None
    ground_costs: tuple[GroundCost, ...]
    budget: BudgetAnswer | None
    flats: tuple[Flat, ...]
    findings: tuple[Finding, ...]
    stage_seconds: dict[str, float]
