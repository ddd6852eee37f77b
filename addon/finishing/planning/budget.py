"""This side in so many minutes: the cutter and cusp height that meet a time budget, and what would help most when it cannot be met."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from ..core.finding import Finding
from ..core.masks import Mask
from ..core.path import CUT, LINK
from ..job.other_operations import minutes_of_others
from ..job.wood import greatest_feed, wood_named
from ..motion.run_time import run_time
from ..options.fit_table import RackRow
from ..options.ground_costs import GroundCost
from ..options.trade_off import OVERHEAD, cusp_at_share, cusp_for, minutes_at
from .cutter_path import STEEP_BAND

if TYPE_CHECKING:
    from .result import Plan


@dataclass(frozen=True)
class Measure:
    """Something that changes the run time. minutes: what the finishing run would take with it. sentence: what to do, with numbers."""

    minutes: float
    sentence: str


@dataclass(frozen=True)
class BudgetAnswer:
    """The answer to "this side in so many minutes".

    minutes: budget of the side. elsewhere: of it for work made elsewhere with its tool changes. left: for the finishing run.
    row, cusp: the fitting cutter with the finest cusp height that meets it, None where none does. measures: what changes the
    run time, the most helpful first.
    """

    minutes: float
    elsewhere: float
    left: float
    row: RackRow | None
    cusp: float | None
    measures: tuple[Measure, ...]

    @property
    def words(self) -> str:
        """The answer as a sentence."""
        if self.left <= 0:
            return f"Work made elsewhere takes {self.elsewhere:.1f} of this side's {self.minutes:g} minutes: none are left for finishing."
        if self.row is None or self.cusp is None:
            return f"No cutter that fits finishes this side in {self.left:.1f} minutes."
        return f"In {self.left:.1f} minutes {self.row.cutter.name} leaves a cusp height of about {self.cusp:.3f} mm, the finest that meets it."


def finest_cusp(rack: Sequence[RackRow], minutes: float, overhead: float = OVERHEAD) -> tuple[RackRow, float] | None:
    """The fitting cutter whose cusp height is the finest within these minutes, with that height in mm; None when none can.

    overhead: run time over least length at the feed.
    """
    found = [(cusp, row) for row in rack if row.fits and (cusp := cusp_for(row, minutes / overhead)) is not None]
    if not found:
        return None
    cusp, row = min(found, key=lambda pair: pair[0])
    return row, cusp


def overhead_of(plan: Plan) -> float:
    """Run time of a plan over its least length at its feed, as measured on it."""
    feed = plan.request.feed if plan.request.feed is not None else plan.cutter.feed
    least = plan.least_length / feed
    return plan.run_time.minutes / least if least > 0 else OVERHEAD


def budget_answer(plan: Plan) -> BudgetAnswer | None:
    """Answer a plan's time budget; None when it has none."""
    request = plan.request
    if request.budget_minutes is None:
        return None
    other = minutes_of_others(request.elsewhere, request.side, request.machine.tool_change_minutes)
    left = request.budget_minutes - other
    overhead = overhead_of(plan)
    met = finest_cusp(plan.rack, left, overhead) if left > 0 else None
    row, cusp = met if met is not None else (None, None)
    measures = sorted(_measures(plan, left, overhead), key=lambda measure: measure.minutes)
    return BudgetAnswer(request.budget_minutes, other, left, row, cusp, tuple(measures))


def _measures(plan: Plan, left: float, overhead: float) -> list[Measure]:
    """What would shorten this plan's run, each with the minutes it would leave."""
    return [*_other_cutters(plan, overhead), *_faster(plan), *_coarser(plan, left), *_less_ground(plan, overhead)]


def _other_cutters(plan: Plan, overhead: float) -> list[Measure]:
    found = []
    for row in plan.rack:
        if row.cutter.diameter > plan.cutter.diameter:
            minutes = overhead * float(minutes_at(row, plan.request.cusp))
            fits = "" if row.fits else f", which leaves {row.uncut_area:.0f} mm2 uncut"
            found.append(Measure(minutes, f"{row.cutter.name}{fits}: {minutes:.1f} minutes."))
    return found


def _faster(plan: Plan) -> list[Measure]:
    cutter, machine, request = plan.cutter, plan.request.machine, plan.request
    feed = request.feed if request.feed is not None else cutter.feed
    wood = wood_named(request.bite.wood)
    most = min(greatest_feed(wood, cutter.spindle_speed, cutter.flutes), machine.speed_x, machine.speed_y)
    if most <= feed * 1.01:
        return []
    path = plan.path
    on_surface = (path.kind == CUT) | (path.kind == LINK)
    faster = type(path)(path.points, path.kind, path.line, _scaled(path.feed, on_surface, most / feed, most))
    minutes = run_time(faster, machine).minutes
    return [Measure(minutes, f"Feed {most:.0f} mm/min, within the chip load of {wood.name} and the axes' speed: {minutes:.1f} minutes.")]


def _scaled(feed: NDArray[np.float64], on_surface: Mask, factor: float, most: float) -> NDArray[np.float64]:
    scaled = feed.copy()
    scaled[on_surface] = (feed[on_surface] * factor).clip(max=most)
    return scaled


def _coarser(plan: Plan, left: float) -> list[Measure]:
    minutes = plan.run_time.minutes
    if left <= 0 or minutes <= left:
        return []
    cusp = cusp_at_share(plan.request.cusp, plan.cutter.radius, left / minutes)
    if cusp is None:
        return []
    return [Measure(left, f"A cusp height of about {cusp:.3f} mm: {left:.1f} minutes.")]


def minutes_of(plan: Plan, cost: GroundCost) -> float:
    """Minutes of the run that go to a piece of ground."""
    feed = plan.request.feed if plan.request.feed is not None else plan.cutter.feed
    return overhead_of(plan) * cost.length / feed


def _less_ground(plan: Plan, overhead: float) -> list[Measure]:
    found = []
    for cost in plan.ground_costs:
        saved = minutes_of(plan, cost)
        if cost.kind == "skip" or saved < 0.1:
            continue
        minutes = plan.run_time.minutes - saved
        what = (
            "No overrun beyond the outline" if cost.kind == "overrun"
            else f"A wall limit of {plan.request.region.wall_limit - STEEP_BAND:g} degrees"
        )  # fmt: skip
        found.append(Measure(minutes, f"{what}: {minutes:.1f} minutes."))
    return found


MOST_NAMED = 3
"""Measures that a finding names."""


def budget_findings(plan: Plan) -> list[Finding]:
    """Whether the budget is met, and what skip regions and overrun cost."""
    found = []
    if plan.budget is not None and plan.run_time.minutes > plan.budget.left:
        found.append(_missed(plan, plan.budget))
    for cost in plan.ground_costs:
        minutes = minutes_of(plan, cost)
        if minutes < 0.1 or cost.kind == "steep":
            continue
        if cost.kind == "skip":
            place = (*cost.place, plan.body.high[2]) if cost.place is not None else None
            found.append(Finding("skip-saves", f"Skipping {cost.area / 100:.1f} cm2 here saves about {minutes:.1f} minutes.", "", place))
        else:
            found.append(Finding("overrun-costs", f"The overrun beyond the outline takes about {minutes:.1f} minutes."))
    return found


def _missed(plan: Plan, answer: BudgetAnswer) -> Finding:
    whole, other, minutes = answer.minutes, answer.elsewhere, plan.run_time.minutes
    if answer.left <= 0:
        return Finding(
            "budget-missed", f"Work made elsewhere and its tool changes take {other:.1f} of the side's {whole:g} minutes: none are left.",
            "Give the side more minutes, or take work off it.", must_see=True,
        )  # fmt: skip
    sentence = f"The run takes {minutes:.1f} minutes, {minutes - answer.left:.1f} more than the budget of {answer.left:g}" + (
        f" that is left of {whole:g}." if other else "."
    )
    helpful = [m for m in answer.measures if m.minutes < minutes - 0.05][:MOST_NAMED]
    remedy = answer.words + (" What helps most: " + " ".join(m.sentence for m in helpful) if helpful else "")
    return Finding("budget-missed", sentence, remedy, must_see=True)
