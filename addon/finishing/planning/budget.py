"""This side in so many minutes: the cutters and the cusp height that a time budget speaks for, and what would help most when it is missed."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ..core.array_types import Mask
from ..core.finding import Change, Finding
from ..core.message import Message, in_a_row, word
from ..core.path import CUT, LINK, Path
from ..core.stage_graph import Small
from ..job.body import Body
from ..job.cutter import Cutter
from ..job.cutter_names import size_words
from ..job.machine import Machine
from ..job.other_operations import OtherOperation, minutes_of_others
from ..job.run_log import Experience
from ..job.wood import greatest_feed, wood_named
from ..motion.easing import eased
from ..motion.run_time import RunTime
from ..motion.run_time import run_time as timed
from ..options.budget_ladder import FINEST, Advice, Ladder, expected_advice
from ..options.cutter_sets import SetTable
from ..options.ground_costs import GroundCost
from ..options.trade_off import OVERHEAD, cusp_at_share
from .dowel_time import dowel_minutes, minutes_of_drilling

STEEP_BAND = 10.0
"""Degrees below the wall limit: what ground as steep as that costs is told."""

LEAST_FASTER = 1.01
"""A feed must be this much faster than the one that was asked for to be worth a word."""

LEAST_SAVED = 0.1
"""Minutes; ground that takes less is not worth a word."""

BUDGET_MET = 0.02
"""A run that takes no less than the budget without this share of it, and no more than the budget, has met it: it is what was ordered."""

MOST_NAMED = 3
"""Measures that a finding names."""


@dataclass(frozen=True)
class Measure:
    """Something that changes the run time. minutes: what the finishing run would take with it. sentence: what to do, with numbers. changes: of
    settings that do it.
    """

    minutes: float
    sentence: Message
    changes: tuple[Change, ...]


@dataclass(frozen=True)
class BudgetMinutes:
    """The minutes of a side. whole: its budget. elsewhere: of it for other operations with its tool changes. for_finishing: what it leaves."""

    whole: float
    elsewhere: float
    for_finishing: float


@dataclass(frozen=True)
class BudgetAnswer:
    """The answer to "this side in so many minutes".

    minutes: budget of the side. elsewhere: of it for other operations with its tool changes. for_finishing: for the finishing run.
    advice: the set of cutters with the finest cusp height in these minutes, as planned where the budget is an order; None where there is no set to
    choose from, or no time. measures: what changes the run time, the most helpful first. rack: the cutters at hand.
    """

    minutes: float
    elsewhere: float
    for_finishing: float
    advice: Advice | None
    measures: tuple[Measure, ...]
    rack: tuple[Cutter, ...] = ()

    @property
    def changes(self) -> tuple[Change, ...]:
        """The settings that make an order of the budget; none where it is one, or speaks for nothing."""
        if self.advice is None or self.advice.is_planned:
            return ()
        return (Change("cutters", ""), Change("meet_budget", True))

    @property
    def words(self) -> Message:
        """The answer as a sentence."""
        if self.for_finishing <= 0:
            return Message(
                "Other operations take {taken:.1f} of this side's {budget:g} minutes, which leaves none for finishing.",
                taken=self.elsewhere,
                budget=self.minutes,
            )
        if self.advice is None:
            return Message("No cutter that fits finishes this side in {left:.1f} minutes.", left=self.for_finishing)
        return _advised(self.advice, self.for_finishing, self.rack)


def _advised(advice: Advice, left: float, rack: tuple[Cutter, ...]) -> Message:
    values = {
        "left": left,
        "cutters": tuple(size_words(cutter, rack) for cutter in advice.cutters),
        "cusp": advice.cusp,
        "minutes": advice.minutes,
        "feed": advice.feeds[0],
    }
    if advice.is_planned and advice.is_met:
        return Message(
            "Planned for {left:.1f} minutes: cutters {cutters}, cusp height {cusp:.3f} mm, feed {feed:.0f} mm/min, {minutes:.1f} minutes.",
            **values,
        )
    if advice.is_planned:
        return Message(
            "The least that is possible is {minutes:.1f} minutes: cutters {cutters}, cusp height {cusp:.3f} mm, feed {feed:.0f} mm/min.", **values
        )
    if advice.is_met:
        return Message(
            "Planned for {left:.1f} minutes alone, the side would get the cutters {cutters} and a cusp height of about {cusp:.2f} mm.", **values
        )
    return Message("No set of cutters finishes this side in {left:.1f} minutes; {cutters} comes nearest, with about {minutes:.1f}.", **values)


def overhead(run_time: RunTime, least_length: float, asked_feed: float) -> float:
    """Run time over least length at the feed that was asked for, as measured on the plan."""
    least = least_length / asked_feed
    return run_time.minutes / least if least > 0 else OVERHEAD


def minutes_for_finishing(
    budget_minutes: float | None, elsewhere: tuple[OtherOperation, ...], side: str, machine_tool_change_minutes: float, dowel_minutes: float
) -> Small[BudgetMinutes | None]:
    """What a side's budget leaves for the finishing run; None without a budget."""
    if budget_minutes is None:
        return None
    other = minutes_of_others(elsewhere, side, machine_tool_change_minutes) + minutes_of_drilling(dowel_minutes, machine_tool_change_minutes)
    return BudgetMinutes(budget_minutes, other, budget_minutes - other)


def other_sets(
    minutes_for_finishing: BudgetMinutes | None, cutter_sets: SetTable | None, cutter: Cutter, named_set: tuple[Cutter, ...], run_time: RunTime
) -> tuple[Measure, ...]:
    """What the other sets of the table would take, drawn after the run that is measured where its cutter begins a set of the table too."""
    if minutes_for_finishing is None or cutter_sets is None:
        return ()
    own = next((row for row in cutter_sets.rows if row.cutters[0] == cutter), None)
    planned = named_set or (() if own is None else own.cutters)
    share = run_time.minutes / own.run_minutes[0] if own is not None and own.run_minutes[0] > 0 else 1.0
    found = []
    for row in cutter_sets.rows:
        if row.cutters == planned:
            continue
        minutes = row.minutes + (share - 1) * sum(row.run_minutes)
        sentence = Message(
            "Take the cutters {cutters}: the side takes about {minutes:.1f} minutes.",
            cutters=row.sizes,
            minutes=minutes,
        )
        if not row.enough:
            sentence = Message(
                "Take the cutters {cutters}, which leave {area:.0f} mm² uncut: the side takes about {minutes:.1f} minutes.",
                cutters=row.sizes,
                area=row.left_area,
                minutes=minutes,
            )
        found.append(Measure(minutes, sentence, (Change("cutters", row.name),)))
    return tuple(found)


def faster_feed(
    minutes_for_finishing: BudgetMinutes | None,
    path: Path,
    asked_feed: float,
    cutter: Cutter,
    bite_wood: str,
    machine: Machine,
    program_fusing_tolerance: float,
    experience: Experience,
) -> tuple[Measure, ...]:
    """What the fastest feed within chip load and axes would take, eased where the control could not take the blocks."""
    if minutes_for_finishing is None:
        return ()
    wood = wood_named(bite_wood)
    most = min(greatest_feed(wood, cutter.spindle_speed, cutter.flutes), machine.speed_x, machine.speed_y)
    if most <= asked_feed * LEAST_FASTER:
        return ()
    on_surface = (path.kind == CUT) | (path.kind == LINK)
    faster = replace(path, feed=_scaled(path.feed, on_surface, most / asked_feed, most))
    minutes = timed(eased(faster, machine, program_fusing_tolerance, experience).path, machine, program_fusing_tolerance, experience).minutes
    sentence = Message(
        "Raise the feed to {feed:.0f} mm/min, within the chip load of {wood} and the speed of the axes: the run takes {minutes:.1f} minutes.",
        feed=most,
        wood=word(wood.name),
        minutes=minutes,
    )
    return (Measure(minutes, sentence, (Change("feed", float(np.floor(most))),)),)


def _scaled(feed: NDArray[np.float64], on_surface: Mask, factor: float, most: float) -> NDArray[np.float64]:
    scaled = feed.copy()
    scaled[on_surface] = (feed[on_surface] * factor).clip(max=most)
    return scaled


def coarser_cusp(minutes_for_finishing: BudgetMinutes | None, run_time: RunTime, cusp: float, ball_radius: float) -> tuple[Measure, ...]:
    """The cusp height with which the plan's own cutter would meet the budget."""
    if minutes_for_finishing is None or minutes_for_finishing.for_finishing <= 0 or run_time.minutes <= minutes_for_finishing.for_finishing:
        return ()
    left = minutes_for_finishing.for_finishing
    coarser = cusp_at_share(cusp, ball_radius, left / run_time.minutes)
    if coarser is None:
        return ()
    sentence = Message("Allow a cusp height of about {cusp:.3f} mm: the run takes {minutes:.1f} minutes.", cusp=coarser, minutes=left)
    return (Measure(left, sentence, (Change("cusp", round(coarser, 4)),)),)


def ground_minutes(ground_costs: tuple[GroundCost, ...], overhead: float, asked_feed: float) -> tuple[float, ...]:
    """Minutes of the run that go to each piece of ground."""
    return tuple(overhead * cost.length / asked_feed for cost in ground_costs)


def less_ground(
    minutes_for_finishing: BudgetMinutes | None,
    ground_costs: tuple[GroundCost, ...],
    ground_minutes: tuple[float, ...],
    run_time: RunTime,
    region_wall_limit: float,
) -> tuple[Measure, ...]:
    """What leaving out overrun or steep ground would leave."""
    if minutes_for_finishing is None:
        return ()
    found = []
    for cost, saved in zip(ground_costs, ground_minutes, strict=True):
        if cost.kind == "skip" or saved < LEAST_SAVED:
            continue
        minutes = run_time.minutes - saved
        sentence = Message("Leave out the overrun beyond the outline: the run takes {minutes:.1f} minutes.", minutes=minutes)
        change = Change("region.overrun", 0.0)
        if cost.kind == "steep":
            sentence = Message(
                "Lower Wall Limit to {limit:g} degrees: the run takes {minutes:.1f} minutes.",
                limit=region_wall_limit - STEEP_BAND,
                minutes=minutes,
            )
            change = Change("region.wall_limit", region_wall_limit - STEEP_BAND)
        found.append(Measure(minutes, sentence, (change,)))
    return tuple(found)


def measures(
    other_sets: tuple[Measure, ...], faster_feed: tuple[Measure, ...], coarser_cusp: tuple[Measure, ...], less_ground: tuple[Measure, ...]
) -> tuple[Measure, ...]:
    """What changes the run time, the most helpful first."""
    return tuple(sorted((*other_sets, *faster_feed, *coarser_cusp, *less_ground), key=lambda measure: measure.minutes))


def recommended(minutes_for_finishing: BudgetMinutes | None, order_budget_ladders: tuple[Ladder, ...] | None) -> Advice | None:
    """What the budget alone speaks for, whatever cutter and cusp height the plan at hand has: the same minutes always give the same."""
    if minutes_for_finishing is None or order_budget_ladders is None:
        return None
    return expected_advice(order_budget_ladders, minutes_for_finishing.for_finishing)


def budget(
    minutes_for_finishing: BudgetMinutes | None, recommended: Advice | None, measures: tuple[Measure, ...], rack: tuple[Cutter, ...]
) -> BudgetAnswer | None:
    """The answer to the time budget; None when there is none."""
    if minutes_for_finishing is None:
        return None
    given = minutes_for_finishing
    return BudgetAnswer(
        minutes=given.whole, elsewhere=given.elsewhere, for_finishing=given.for_finishing, advice=recommended, measures=measures, rack=rack
    )


def budget_findings(
    budget: BudgetAnswer | None,
    run_time: RunTime,
    ground_costs: tuple[GroundCost, ...],
    ground_minutes: tuple[float, ...],
    job_body: Body,
    meet_budget: bool,
) -> tuple[Finding, ...]:
    """Whether the run meets the budget that it is held against, and what skip regions and overrun cost."""
    found = []
    if budget is not None and not meet_budget and run_time.minutes > budget.for_finishing:
        found.append(missed_budget(budget, run_time.minutes))
    for cost, minutes in zip(ground_costs, ground_minutes, strict=True):
        if minutes < LEAST_SAVED or cost.kind == "steep":
            continue
        if cost.kind == "skip":
            place = (*cost.place, job_body.high[2]) if cost.place is not None else None
            sentence = Message("Skipping {area:.1f} cm² here saves about {minutes:.1f} minutes.", area=cost.area / 100, minutes=minutes)
            found.append(Finding("skip-saves", sentence, place=place))
        else:
            sentence = Message("The overrun beyond the outline takes about {minutes:.1f} minutes.", minutes=minutes)
            found.append(Finding("overrun-costs", sentence))
    return tuple(found)


def order_findings(answer: BudgetAnswer, order: Advice) -> tuple[Finding, ...]:
    """Whether a budget that was an order is met, by all of the set; answer: with the order as its advice."""
    if not order.is_met:
        return (missed_budget(answer, order.minutes),)
    if order.minutes >= (1 - BUDGET_MET) * answer.for_finishing:
        return ()
    values = {"cusp": FINEST, "minutes": order.minutes, "left": answer.for_finishing}
    sentence = Message("The finest cusp height that is planned, {cusp:g} mm, takes {minutes:.2f} of the {left:g} minutes.", **values)
    if order.cusp > FINEST * 1.01:
        sentence = Message("The side takes {minutes:.2f} of the {left:g} minutes: one pass line more would take it past them.", **values)
    return (Finding("budget-ample", sentence),)


def missed_budget(answer: BudgetAnswer, minutes: float) -> Finding:
    """That so many minutes are more than the budget, and what would help; where the advice is what is planned, it is the least possible."""
    whole, other = answer.minutes, answer.elsewhere
    if answer.for_finishing <= 0:
        sentence = Message(
            "Other operations and their tool changes take {taken:.1f} of the side's {budget:g} minutes: none are left.", taken=other, budget=whole
        )
        return Finding("budget-missed", sentence, Message("Give the side more minutes, or take operations off it."), must_see=True)
    sentence = Message(
        "The run takes {minutes:.1f} minutes, {over:.1f} over the budget of {budget:g}.", minutes=minutes, over=minutes - whole, budget=whole
    )
    if other:
        sentence = Message(
            "The run takes {minutes:.1f} minutes, {over:.1f} over the {left:g} that other operations leave of the budget of {budget:g}.",
            minutes=minutes,
            over=minutes - answer.for_finishing,
            left=answer.for_finishing,
            budget=whole,
        )
    if answer.advice is not None and answer.advice.is_planned:
        remedy = in_a_row(answer.words, Message("Give the side more minutes, or skip some of it."))
        return Finding("budget-missed", sentence, remedy, must_see=True)
    remedy = answer.words
    helpful = [measure.sentence for measure in answer.measures if measure.minutes < minutes - 0.05][:MOST_NAMED]
    if helpful:
        remedy = in_a_row(answer.words, Message("What helps most:"), *helpful)
    return Finding("budget-missed", sentence, remedy, must_see=True)


STAGES = (
    overhead,
    dowel_minutes,
    minutes_for_finishing,
    other_sets,
    faster_feed,
    coarser_cusp,
    ground_minutes,
    less_ground,
    measures,
    recommended,
    budget,
    budget_findings,
)
