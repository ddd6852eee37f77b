"""Plans side by side: cutter, cusp height, minutes, sanding and leftovers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass, fields, replace
from typing import Any

from ..core.errors import BadFile
from ..core.message import Message
from ..core.path import CUT, LIFT
from ..job.setting_kinds import Number, Record, Setting, Text
from .result import Plan


@dataclass(frozen=True)
class PlanFigures:
    """What plans are compared by.

    cusp: mm. minutes: run time. length: m of cuts. lifts: moves in the air between lines. sanding_volume: cm3. start_grit: by the removal
    table, 0 for none. uncut_area: mm2 higher than tolerated; uncut_height: mm, the most of it. lines_from: as in plan.json.
    """

    name: str
    side: str
    cutter: str
    diameter: float
    cusp: float
    minutes: float
    length: float
    lines: int
    lifts: int
    sanding_volume: float
    start_grit: int
    uncut_area: float
    uncut_height: float
    lines_from: str


_COUNT = Number(0, 10**9, whole=True)
_MEASURE = Number(0.0, 1e12)

FIGURES = Record(
    "Figures",
    (
        *(Setting(name, Text(), "") for name in ("name", "side", "cutter", "lines_from")),
        *(Setting(name, _COUNT, "") for name in ("lines", "lifts", "start_grit")),
        *(Setting(name, _MEASURE, "") for name in ("diameter", "cusp", "minutes", "length", "sanding_volume", "uncut_area", "uncut_height")),
    ),
    needed=tuple(item.name for item in fields(PlanFigures)),
)
"""What is read of figures, and what they must be."""

HEADER = (
    "plan", "side", "cutter", "cusp mm", "minutes", "length m", "pass lines", "lifts", "to sand cm³", "start grit", "uncut mm²",
    "uncut mm", "lines from",
)  # fmt: skip


def figures_of(plan: Plan, name: str) -> PlanFigures:
    """The figures of a plan under a name of the user's."""
    sanding = plan.sanding
    return PlanFigures(
        name=name,
        side=plan.request.side,
        cutter=plan.cutter.name,
        diameter=plan.cutter.diameter,
        cusp=plan.request.cusp,
        minutes=plan.run_time.minutes,
        length=plan.path.length_of(CUT) / 1000,
        lines=plan.path.line_count,
        lifts=int((plan.path.kind == LIFT).sum()),
        sanding_volume=sanding.volume / 1000,
        start_grit=sanding.first_grit or 0,
        uncut_area=plan.fit.area,
        uncut_height=plan.fit.height,
        lines_from=str(plan.start),
    )


def figures_record(figures: PlanFigures) -> dict[str, Any]:
    """The figures as plain values, for plan.json."""
    return asdict(figures)


def figures_from(record: dict[str, Any]) -> PlanFigures:
    """The figures of a plan.json. Raises BadFile when it was written before there were any, and when they are not what is written."""
    values = record.get("figures")
    if values is None:
        raise BadFile("The plan holds no figures to compare: write it again.")
    said = FIGURES.complaint(Message("its figures"), values)
    if said is not None:
        raise BadFile("The plan's figures cannot be compared: {complaint}. Write the plan again.", complaint=said)
    return PlanFigures(**values)


def comparison_rows(plans: Sequence[PlanFigures]) -> tuple[tuple[str, ...], ...]:
    """The table's rows as text, in the order of HEADER."""
    return tuple(
        (
            p.name, p.side, p.cutter, f"{p.cusp:g}", f"{p.minutes:.1f}", f"{p.length:.1f}", str(p.lines), str(p.lifts),
            f"{p.sanding_volume:.2f}", str(p.start_grit) if p.start_grit else "scraper", f"{p.uncut_area:.0f}", f"{p.uncut_height:.2f}", p.lines_from,
        )
        for p in plans
    )  # fmt: skip


def distinct_names(plans: Sequence[PlanFigures]) -> tuple[str, ...]:
    """A name for every plan that no other has: where several are called the same, with a number from 1."""
    names = [plan.name for plan in plans]
    return tuple(f"{name} ({names[:place].count(name) + 1})" if names.count(name) > 1 else name for place, name in enumerate(names))


def comparison_text(plans: Sequence[PlanFigures]) -> str:
    """The table for a terminal, a column for each plan, so that two or three stand side by side."""
    columns = [HEADER, *comparison_rows([replace(plan, name=name) for plan, name in zip(plans, distinct_names(plans), strict=True)])]
    widths = [max(len(cell) for cell in column) for column in columns]
    lines = []
    for cells in zip(*columns, strict=True):
        first, *others = (cell.ljust(width) for cell, width in zip(cells, widths, strict=True))
        lines.append("  ".join([first, *others]).rstrip())
    return "\n".join(lines)
