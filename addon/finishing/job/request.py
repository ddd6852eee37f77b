"""What the user asks for: everything that a plan depends on, in one frozen record."""

from __future__ import annotations

from dataclasses import dataclass, field

from ..core.errors import BadRequest
from ..core.message import setting_name
from .bite_settings import BiteSettings
from .body import Body
from .cutter import DEFAULT_RACK, Cutter
from .dowels import DowelSettings
from .ground_settings import OPENINGS, FitSettings, RegionSettings
from .keep_out import KeepOut
from .machine import Machine
from .orientation import UPS
from .other_operations import OtherOperation
from .roughing import RoughingSettings
from .stock import StockSettings

SIDES = ("top", "back")
STARTS = ("best", "edge", "middle", "border")
DIRECTIONS = ("both", "climb", "conventional")


@dataclass(frozen=True)
class Rest:
    """What a smaller cutter is for: ground that a larger one leaves, with an overlap in mm round it."""

    larger: Cutter
    overlap: float


@dataclass(frozen=True)
class Request:
    """One body, one side, and every setting of its plan. Lengths in mm, feeds in mm/min.

    up: which axis of the body looks up on the machine; "auto" lays a body flat that stands on its edge. All that stands in the body's axes
    otherwise (stock, dowels) stands in those of the body as it lies. cutter: None lets the plan take the largest cutter of the rack that fits.
    start_angle: direction of the passes of an "edge" or "middle" start in degrees from x (None: the plan tries a few). feed: None takes the
    cutter's own. rack_table: whether to try every cutter of the rack even when one is named. budget_minutes: for the side, with all work made
    elsewhere on it and the tool changes. meet_budget: whether cutter, feed and cusp height are chosen to meet it (the finest cusp height that
    does), or it is only held against the run. grain_angle: the wood's grain in degrees from x; grain_share: how much longer passes may take to
    run along it, as a share of the run time. stock_body: the stock as it really is, in the body's axes, None for what roughing leaves.
    smaller_cutters: whether ground that the cutter cannot reach goes to smaller ones, with rest_overlap mm round it; rest: what such a
    smaller cutter's own plan is limited to.
    """

    body: Body
    side: str = "top"
    up: str = "auto"
    cutter: Cutter | None = None
    rack: tuple[Cutter, ...] = DEFAULT_RACK
    machine: Machine = field(default_factory=Machine)
    stock: StockSettings = field(default_factory=StockSettings)
    region: RegionSettings = field(default_factory=RegionSettings)
    fit: FitSettings = field(default_factory=FitSettings)
    dowels: DowelSettings = field(default_factory=DowelSettings)
    keep_out: tuple[KeepOut, ...] = ()
    elsewhere: tuple[OtherOperation, ...] = ()
    cusp: float = 0.05
    start: str = "best"
    start_angle: float | None = None
    direction: str = "both"
    feed: float | None = None
    budget_minutes: float | None = None
    meet_budget: bool = False
    cell: float = 0.25
    chord_tolerance: float = 0.002
    grain_angle: float | None = None
    grain_share: float = 0.05
    roughing: RoughingSettings = field(default_factory=RoughingSettings)
    bite: BiteSettings = field(default_factory=BiteSettings)
    stock_body: Body | None = None
    smaller_cutters: bool = False
    rest_overlap: float = 1.0
    rest: Rest | None = None
    memory_limit_mib: float = 1024.0
    rack_table: bool = True

    def __post_init__(self) -> None:
        for name, choices in (("side", SIDES), ("up", UPS), ("start", STARTS), ("direction", DIRECTIONS)):
            if getattr(self, name) not in choices:
                raise BadRequest(
                    "The {setting} must be one of {choices}, not '{given}'.", setting=setting_name(name), choices=choices, given=getattr(self, name)
                )
        if self.region.openings not in OPENINGS:
            raise BadRequest("The treatment of openings must be one of {choices}, not '{given}'.", choices=OPENINGS, given=self.region.openings)
        for name in ("cusp", "cell", "chord_tolerance", "memory_limit_mib"):
            if not getattr(self, name) > 0:
                raise BadRequest("The {setting} must be above 0, not {value}.", setting=setting_name(name), value=getattr(self, name))
        if self.feed is not None and not self.feed > 0:
            raise BadRequest("The feed must be above 0 mm/min, not {value}.", value=self.feed)
        if self.budget_minutes is not None and not self.budget_minutes > 0:
            raise BadRequest("The time budget must be above 0 minutes, not {value}.", value=self.budget_minutes)
        for name in ("grain_share", "rest_overlap"):
            if not getattr(self, name) >= 0:
                raise BadRequest("The {setting} must be 0 or more, not {value}.", setting=setting_name(name), value=getattr(self, name))
        if not 5 <= self.region.wall_limit <= 89:
            raise BadRequest("The wall limit must lie between 5 and 89 degrees, not {value:g}.", value=self.region.wall_limit)
        if self.cutter is not None and self.cusp >= self.cutter.radius:
            raise BadRequest("The cusp height must be below the cutter's radius of {radius:g} mm.", radius=self.cutter.radius)
