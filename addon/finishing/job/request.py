"""What the user asks for: everything that a plan depends on, in one frozen record."""

from __future__ import annotations

from dataclasses import dataclass, field

from ..core.cusp_formulas import cusp_on_flat
from ..core.errors import BadRequest
from .bite_settings import BITE, BiteSettings
from .body import Body
from .cutter import CUTTER, DEFAULT_RACK, Cutter
from .dowels import DOWELS, DowelSettings
from .ground_settings import FIT, REGION, FitSettings, RegionSettings
from .keep_out import KEEP_OUT, KeepOut
from .machine import MACHINE, Machine
from .orientation import UPS
from .other_operations import OTHER_OPERATION, OtherOperation
from .program_settings import PROGRAM, ProgramSettings
from .roughing import ROUGHING, RoughingSettings
from .run_log import LoggedRun
from .setting_kinds import Choice, Number, OrCalled, OrNothing, Record, Setting, Several, YesNo, require
from .stock import SIDES, STOCK, StockSettings
from .tabs import TABS, TabSettings

LINES_FROM = ("best", "edge", "middle", "border")
TO_AND_FRO, CLIMB_ONLY, CONVENTIONAL_ONLY = CUTTING_WAYS = ("to and fro", "climb only", "conventional only")
"""Which way the cutter runs along neighbouring lines. Climb: the edge cuts with the feed, conventional: against it."""
MEASURED = ("cutter", "zero", "minutes", "cusp")
"""What a test coupon can tell."""

RIM_PASSES = ("off", "auto", "on")
"""Whether a pass runs along the rims of the planned ground; "auto" where the border would stand too high without it."""

RAMP = Number(0.5, 30.0, "degrees")
"""A flatter ramp of 10 mm ends less than 0.1 mm above the surface; on a steeper one the cutter all but comes straight down."""


_OVERLAP = Number(0.0, 20.0, "mm")

REMAINING = Record(
    "Remaining",
    (
        Setting("larger", CUTTER, "The larger cutter whose remaining surface is planned"),
        Setting("overlap", _OVERLAP, "How far the smaller cutter goes beyond what the larger one leaves"),
    ),
    needed=("larger", "overlap"),
    partial=False,
)
"""What a smaller cutter is for."""

ON_RACK = OrCalled(CUTTER, CUTTER.limits("diameter"), "its name or its diameter on the rack")
"""A cutter, as a settings file may give it."""

PLAN = Record(
    "",
    (
        Setting("side", Choice(SIDES), "Side of the body that lies up on the machine"),
        Setting("up", Choice(UPS), "Axis of the body that looks up on the machine; auto is Z, but lays a body flat that stands on its edge"),
        Setting("cutter", OrNothing(ON_RACK, "the set of the rack that finishes the side soonest"), "Cutter to plan with"),
        Setting("following_cutters", Several(ON_RACK, 2), "Smaller cutters that take what a named cutter leaves, the largest first"),
        Setting(
            "cutter_in_spindle",
            OrNothing(ON_RACK, "not known"),
            "Cutter that is in the spindle before: a set that begins with another costs a change more",
        ),
        Setting("rack", Several(CUTTER, 100), "Cutters at hand"),
        Setting("machine", MACHINE, "The router"),
        Setting("program", PROGRAM, "What programs say to the control"),
        Setting("stock", STOCK, "The stock and its zeros"),
        Setting("region", REGION, "Which surface is planned"),
        Setting("fit", FIT, "When a cutter counts as fitting"),
        Setting("dowels", DOWELS, "Dowel holes that the turned stock lands on"),
        Setting("tabs", TABS, "Tabs that hold the body in its stock: the cutter keeps off them"),
        Setting("keep_out", Several(KEEP_OUT, 100), "Boxes that the cutter must stay out of"),
        Setting("elsewhere", Several(OTHER_OPERATION, 100), "Other operations on the body: they take their minutes of the budget"),
        Setting("cusp", Number(0.0005, 5.0, "mm"), "Cusp height: what may stand between pass lines, along the surface normal"),
        Setting(
            "spacing",
            OrNothing(Number(0.01, 100.0, "mm"), "the cusp height says it"),
            "Spacing of pass lines on a flat surface: the other way to say the cusp height",
        ),
        Setting("lines_from", Choice(LINES_FROM), "Where pass lines are laid from; best tries all and keeps the one with the shortest run time"),
        Setting("line_angle", OrNothing(Number(-360.0, 360.0, "degrees"), "the plan tries a few"), "Angle of straight pass lines from X"),
        Setting("cutting_way", Choice(CUTTING_WAYS), "Which way the cutter runs along neighbouring lines; the other two lift it between them"),
        Setting(
            "rim_pass",
            Choice(RIM_PASSES),
            "Whether a pass runs along outline, openings and skipped surface; auto where a border would stand above 1.5 times the cusp height",
        ),
        Setting("feed", OrNothing(Number(1.0, 60000.0, "mm/min"), "the cutter's own"), "Feed along pass lines"),
        Setting(
            "budget_minutes", OrNothing(Number(0.01, 6000.0, "min"), "no budget"), "Minutes for the side, with other operations on it and tool changes"
        ),
        Setting("meet_budget", YesNo(), "Whether cutter, feed and cusp height are chosen to meet the budget; else it is only held against the run"),
        Setting(
            "smooth",
            OrNothing(Number(0.0, 5.0, "mm"), "as much as the mesh's roughness calls for"),
            "Greatest deviation of smoothing a rough mesh, such as a scan's; 0 for none",
        ),
        Setting("cell", Number(0.02, 10.0, "mm"), "Edge of the cells of the height grid; finer is slower and needs more memory"),
        Setting("chord_tolerance", Number(0.0002, 0.02, "mm"), "How far the straight moves of pass lines may lie off the exact curve"),
        Setting("ramp_angle", RAMP, "Angle between the surface and the ramps on which the cutter comes down to it and leaves it"),
        Setting("grain_angle", OrNothing(Number(-360.0, 360.0, "degrees"), "not known"), "Grain's angle from X, seen on the side cut first"),
        Setting("grain_share", Number(0.0, 1.0), "How much longer pass lines may take to run along the grain, as a share of the run time"),
        Setting("roughing", ROUGHING, "What roughing leaves"),
        Setting("bite", BITE, "What may be asked of the cutter"),
        Setting("smaller_cutters", YesNo(), "Whether surface that the cutter cannot reach goes to smaller ones"),
        Setting("overlap_with_larger", _OVERLAP, "How far a smaller cutter goes beyond what the larger one leaves"),
        Setting("remaining", OrNothing(REMAINING, "all of the surface"), "What the plan of a smaller cutter is limited to; its own plan.json holds it"),
        Setting("measured", Several(Choice(MEASURED), len(MEASURED)), "What comes from a test coupon and not from catalogues or habit"),
        Setting("memory_limit_mib", Number(16.0, 1048576.0, "MiB"), "Memory that the grids of a plan may take"),
    ),
)
"""Every setting of a plan, in the order in which they are documented."""


@dataclass(frozen=True)
class Remaining:
    """What a smaller cutter is for: ground that a larger one leaves, with an overlap in mm round it."""

    larger: Cutter
    overlap: float

    def __post_init__(self) -> None:
        require(REMAINING, self)


@dataclass(frozen=True)
class TriedSet:
    """A set of cutters, the largest first, whose lines were laid to choose among sets. run_minutes: of each cutter, as laid. as_planned: whether
    the largest was laid as it is planned, not on the coarser cells of the table.
    """

    cutters: tuple[Cutter, ...]
    run_minutes: tuple[float, ...]
    as_planned: bool


@dataclass(frozen=True)
class Request:
    """One body, one side, and every setting of its plan. Lengths in mm, feeds in mm/min.

    Settings: see PLAN; where a spacing is given, the chosen cutter's cusp height follows from it, and a budget that is to be met overrules both.
    stock_body: the stock as it really is, in the body's axes, None for what roughing leaves. rack_table: whether to try every cutter of the rack
    even when one is named. run_log: runs to learn from, the oldest first. tried_sets: what has been laid to choose the cutters.
    """

    body: Body
    side: str = "top"
    up: str = "auto"
    cutter: Cutter | None = None
    following_cutters: tuple[Cutter, ...] = ()
    cutter_in_spindle: Cutter | None = None
    rack: tuple[Cutter, ...] = DEFAULT_RACK
    machine: Machine = field(default_factory=Machine)
    program: ProgramSettings = field(default_factory=ProgramSettings)
    stock: StockSettings = field(default_factory=StockSettings)
    region: RegionSettings = field(default_factory=RegionSettings)
    fit: FitSettings = field(default_factory=FitSettings)
    dowels: DowelSettings = field(default_factory=DowelSettings)
    tabs: TabSettings = field(default_factory=TabSettings)
    keep_out: tuple[KeepOut, ...] = ()
    elsewhere: tuple[OtherOperation, ...] = ()
    cusp: float = 0.05
    spacing: float | None = None
    lines_from: str = "best"
    line_angle: float | None = None
    cutting_way: str = TO_AND_FRO
    feed: float | None = None
    budget_minutes: float | None = None
    meet_budget: bool = False
    smooth: float | None = 0.0
    cell: float = 0.25
    chord_tolerance: float = 0.002
    ramp_angle: float = 3.0
    grain_angle: float | None = None
    grain_share: float = 0.05
    roughing: RoughingSettings = field(default_factory=RoughingSettings)
    bite: BiteSettings = field(default_factory=BiteSettings)
    stock_body: Body | None = None
    smaller_cutters: bool = False
    overlap_with_larger: float = 1.0
    remaining: Remaining | None = None
    memory_limit_mib: float = 1024.0
    rack_table: bool = True
    rim_pass: str = "off"
    measured: tuple[str, ...] = ()
    run_log: tuple[LoggedRun, ...] = ()
    tried_sets: tuple[TriedSet, ...] = ()

    def __post_init__(self) -> None:
        require(PLAN, self)
        if self.cutter is not None and self.cusp >= self.cutter.radius:
            raise BadRequest(
                "The cusp height must be below half of the cutter's diameter of {diameter:g} mm (R {radius:g}): lower it, or take a larger cutter.",
                diameter=self.cutter.diameter,
                radius=self.cutter.radius,
            )
        self._check_spacing()

    def _check_spacing(self) -> None:
        """Refuse a spacing that no passes can have."""
        if self.spacing is not None and self.cutter is not None and self.spacing >= self.cutter.cutting_diameter:
            raise BadRequest(
                "The spacing must be below the cutter's diameter of {diameter:g} mm, not {value:g} mm: lower it, or take a larger cutter.",
                diameter=self.cutter.cutting_diameter,
                value=self.spacing,
            )

    def cusp_with(self, radius: float) -> float:
        """The cusp height in mm that a ball of this radius is asked for; half a circle at most, where the spacing is wider than the ball."""
        return self.cusp if self.spacing is None else float(cusp_on_flat(radius, min(self.spacing, 2 * radius)))
