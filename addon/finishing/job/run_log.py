"""What was run before: runs with their measured minutes, the grit that sanding began with and remarks, and what their medians say."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median, median_low

from .machine import GREATEST_FACTOR, LEAST_FACTOR
from .setting_kinds import Number, OrNothing, Record, Setting, Text, require

LIKE_CUSP = 2.0
"""A grit is taken over from runs whose cusp height was up to so many times larger or smaller: from one grit of the removal table in
options/sanding.py to the next the removal doubles about."""

_MINUTES = Number(0.001, 100000.0, "min")

RUN = Record(
    "Run log",
    (
        Setting("day", Text(), "Day of the run, as ISO 8601 writes it"),
        Setting("body", Text(), "Name of the body"),
        Setting("side", Text(), "Side of the body"),
        Setting("machine", Text(), "Name of the machine"),
        Setting("cutter", Text(), "Name of the cutter"),
        Setting("diameter_mm", Number(0.2, 200.0, "mm"), "Diameter of the cutter"),
        Setting("wood", Text(), "Kind of wood"),
        Setting("cusp_mm", Number(0.0005, 5.0, "mm"), "Cusp height of the plan"),
        Setting("estimated_minutes", _MINUTES, "Run time that was estimated, at time factor 1"),
        Setting("measured_minutes", _MINUTES, "Run time that was measured, without spindle start and tool change"),
        Setting("grit", OrNothing(Number(20, 1000, whole=True), "not known"), "Grit that sanding began with"),
        Setting("remarks", Text(), "What is worth knowing next time"),
    ),
)
"""One run; the names are the columns of the log."""


@dataclass(frozen=True)
class LoggedRun:
    """One run that was logged: see RUN."""

    day: str
    body: str
    side: str
    machine: str
    cutter: str
    diameter_mm: float
    wood: str
    cusp_mm: float
    estimated_minutes: float
    measured_minutes: float
    grit: int | None = None
    remarks: str = ""

    def __post_init__(self) -> None:
        require(RUN, self)

    @property
    def time_factor(self) -> float:
        """Measured over estimated time."""
        return self.measured_minutes / self.estimated_minutes


@dataclass(frozen=True)
class Experience:
    """What the logged runs of one machine, cutter and wood say.

    runs: how many there are. time_factor: median of measured over estimated time, None without runs; least_factor, greatest_factor: its range.
    grit: median of the grits that sanding began with after cusps of like height, None without any; grit_runs: of how many. remark: the last one.
    """

    runs: int = 0
    time_factor: float | None = None
    least_factor: float = 1.0
    greatest_factor: float = 1.0
    grit: int | None = None
    grit_runs: int = 0
    remark: str = ""


@dataclass(frozen=True)
class RunKind:
    """What runs must share to say something of each other. diameter: mm."""

    machine: str
    cutter: str
    diameter: float
    wood: str

    def takes(self, run: LoggedRun) -> bool:
        """Whether a run was of this kind."""
        own = (self.machine, self.cutter, self.wood, round(self.diameter, 6))
        return own == (run.machine, run.cutter, run.wood, round(run.diameter_mm, 6))


def kind_of(run: LoggedRun) -> RunKind:
    """The kind that a run was of."""
    return RunKind(run.machine, run.cutter, run.diameter_mm, run.wood)


def experience_with(log: Sequence[LoggedRun], kind: RunKind, cusp: float) -> Experience:
    """The medians of the logged runs of one kind, for a plan of a cusp height in mm.

    A run whose measured time cannot belong to its estimate (a factor that no machine has) is not counted.
    """
    alike = [run for run in log if kind.takes(run) and LEAST_FACTOR <= run.time_factor <= GREATEST_FACTOR]
    if not alike:
        return Experience()
    factors = [run.time_factor for run in alike]
    grits = [run.grit for run in alike if run.grit is not None and cusp / LIKE_CUSP <= run.cusp_mm <= cusp * LIKE_CUSP]
    return Experience(
        runs=len(alike),
        time_factor=median(factors),
        least_factor=min(factors),
        greatest_factor=max(factors),
        # A grit that can be bought: of an even number the coarser of the two in the middle, which leaves no cusp standing.
        grit=median_low(grits) if grits else None,
        grit_runs=len(grits),
        remark=next((run.remarks for run in reversed(alike) if run.remarks), ""),
    )
