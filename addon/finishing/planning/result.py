"""The plan as a record: everything that the stages have found."""

from __future__ import annotations

from dataclasses import dataclass

from ..ball.axis_region import AxisRegion
from ..ball.cutter_view import CutterView
from ..ball.fit import Fit, LargestRadius
from ..core.array_types import FloatArray
from ..core.finding import Finding
from ..core.grid import Grid
from ..core.message import Message
from ..core.path import Path
from ..job.body import Body
from ..job.cutter import Cutter
from ..job.request import Request
from ..job.run_log import Experience
from ..job.stock import Stock
from ..motion.easing import Eased
from ..motion.run_time import RunTime, time_factor
from ..options.budget_ladder import Advice
from ..options.cutter_sets import SetTable
from ..options.fit_table import RackRow
from ..options.flats import Flat, MinutesOnFlats
from ..options.grain import GrainChoice
from ..options.ground_costs import GroundCost
from ..options.hand_work import HandWork
from ..options.tab_layout import TabLayout
from ..passes.line_spacing import LineSpacing
from ..simulation.proof import Proof
from ..surface.curvature_maps import SurfaceMaps
from ..surface.ground import Ground
from ..tooling.bite import Bite
from ..tooling.clearance import Contact
from ..tooling.free_height import FreeHeight
from .answer_stages import ShownMaps
from .budget import BudgetAnswer
from .rim_stages import RimPass
from .sanding_advice import SandingAdvice
from .tab_stages import Held


@dataclass(frozen=True)
class Plan:
    """Everything that one plan says. Maps are (rows, columns) on `grid`, lengths in job mm.

    request: as it was asked, with the cusp height and the feed that were planned. cutter: the chosen one.
    start: the chosen start in words. job_from_body: 4x4 turn and shift. body: in job axes.
    tip_surface: the ball rolled over the side. shown_maps: heights, slope and curvature of the body.
    rack: what every cutter of the rack would do; sets: which of them together finish the side soonest, None where neither was asked for. largest:
    the largest radius that fits the planned ground at all.
    fit: how the chosen cutter fits, on the cells of the fit table, so that both say the same. least_length: the bound L_min. hidden_area:
    undercut, mm2.
    stage_seconds: wall time of every stage that ran for it; what was kept from before is not in it, and some stages run in the background.
    bite: at the feed that was asked for; the path's own feed is lowered where the bite says so. contacts: where cutter, shank or nut
    touch on their way. grain: what weighing the grain has done, None where there was nothing to weigh. order: what was
    settled to meet the budget, None where it was no order.
    ground_costs: what skipped ground, overrun and steep ground cost; ground_minutes: the minutes of each.
    line_spacing: how far the pass lines lie apart. safe_z: of moves in the air, job mm.
    eased: what easing the path's feeds costs, where the control could not take its blocks.
    overhead: run time over least length at the feed. budget: the answer to the time budget, None without one.
    flats: level ground that is planned, work for a flat cutter. flat_minutes: what passes over flat ground take.
    rim: the pass along the rims, run or not. experience: what logged runs of this machine, cutter and wood say.
    held: the tabs, and what they bear; None where there are to be none. free_height: how low the tool may hop over what may stand.
    hand_work: what this cutter leaves standing. sanding: of the whole side, after the last of its cutters.
    """

    request: Request
    body_digest: str
    job_from_body: FloatArray
    body: Body
    stock: Stock
    shown_maps: ShownMaps
    ground: Ground
    region: AxisRegion
    rack: tuple[RackRow, ...]
    sets: SetTable | None
    largest: LargestRadius | None
    cutter: Cutter
    tip_surface: CutterView
    fit: Fit
    start: Message
    path: Path
    least_length: float
    run_time: RunTime
    proof: Proof
    hidden_area: float
    bite: Bite
    eased: Eased
    contacts: tuple[Contact, ...]
    line_spacing: LineSpacing | None
    safe_z: float
    grain: GrainChoice | None
    order: Advice | None
    ground_costs: tuple[GroundCost, ...]
    ground_minutes: tuple[float, ...]
    overhead: float
    budget: BudgetAnswer | None
    flats: tuple[Flat, ...]
    flat_minutes: MinutesOnFlats
    rim: RimPass
    experience: Experience
    free_height: FreeHeight
    held: Held | None
    hand_work: HandWork
    sanding: SandingAdvice
    findings: tuple[Finding, ...]
    stage_seconds: dict[str, float]

    @property
    def time_factor(self) -> float:
        """What the run time was multiplied by."""
        return time_factor(self.request.machine, self.experience)

    @property
    def tab_layout(self) -> TabLayout | None:
        """Where the tabs were put, in the axes of the body as it lies; None where there are to be none."""
        return None if self.held is None else self.held.layout

    @property
    def grid(self) -> Grid:
        """The grid of all maps."""
        return self.tip_surface.grid

    @property
    def tip(self) -> FloatArray:
        """Tip surface."""
        return self.tip_surface.tip

    @property
    def closing(self) -> FloatArray:
        """The surface that the ball leaves at best."""
        return self.tip_surface.closing

    @property
    def uncut(self) -> FloatArray:
        """What that leaves above the planned surface."""
        return self.tip_surface.uncut

    @property
    def heights(self) -> FloatArray:
        """Top surface of the body, -inf outside."""
        return self.shown_maps.heights

    @property
    def maps(self) -> SurfaceMaps:
        """Slope and curvature of the body."""
        return self.shown_maps.maps
