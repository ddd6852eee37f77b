"""The next smaller cutter for ground that the chosen one cannot reach, and the plans of one side in their running order."""

from __future__ import annotations

from collections.abc import Generator, Sequence
from dataclasses import replace

from ..core.errors import NothingToPlan
from ..core.finding import Finding
from ..core.message import Message
from ..core.result_store import ResultStore
from ..core.stage_runner import Progress
from ..core.stepping import between
from ..job.cutter import Cutter
from ..job.request import Request
from ..job.tool_changes import tool_changes
from ..options.cutter_sets import MOST_CUTTERS
from .budget import missed_budget
from .following import following_request
from .plan import plan_steps
from .result import Plan
from .sanding_advice import Left, sanding_advice

FIT_KEYS = ("no-cutter-fits", "cutter-too-large", "hollows-left")
"""Findings about what a cutter leaves: for the last one of a side alone they are the end of it."""


def next_smaller(cutter: Cutter, rack: Sequence[Cutter]) -> Cutter | None:
    """The next smaller cutter at hand."""
    smaller = [item for item in rack if item.diameter < cutter.diameter - 1e-9]
    return max(smaller, key=lambda item: item.diameter, default=None)


def rest_request(plan: Plan, cutter: Cutter | None = None, feed: float | None = None) -> Request | None:
    """The request for what a plan's cutter leaves, with a named cutter or the next smaller one; None when there is no smaller one, and, where
    none is named, when the plan's cutter fits within the tolerances. feed: mm/min, None for the cutter's own.
    """
    if cutter is None:
        cutter = None if plan.fit.fits else next_smaller(plan.cutter, plan.request.rack)
    if cutter is None:
        return None
    return following_request(plan.request, plan.cutter, cutter, feed)


def named_followers(first: Plan) -> tuple[Cutter, ...]:
    """The smaller cutters that follow the first one of a side: those that were named with it, or those of the set that was found to be the best."""
    request = first.request
    if first.order is not None:
        return first.order.cutters[1:]
    if request.cutter is None and first.sets is not None and first.sets.best.cutters[0] == first.cutter:
        return first.sets.best.cutters[1:]
    return request.following_cutters


def side_plans(request: Request, store: ResultStore) -> Generator[Progress, None, tuple[Plan, ...]]:
    """All plans of one side in running order: the chosen cutter's, and those of the smaller ones of its set for what is left; where smaller
    cutters are asked for and none are named, the next smaller ones until nothing is left.

    Yields (share done, stage). Raises the errors of finishing.core.errors.
    """
    several = request.smaller_cutters or request.cutter is None or request.following_cutters
    share = 0.7 if several else 1.0
    first = yield from between(plan_steps(request, store), 0.0, share)
    plans, named = [first], list(named_followers(first))
    feeds = {} if first.order is None else dict(zip(first.order.cutters, first.order.feeds, strict=True))
    while len(plans) < MOST_CUTTERS and (named or (request.smaller_cutters and first.order is None)):
        cutter = named.pop(0) if named else None
        following = rest_request(plans[-1], cutter, None if cutter is None else feeds.get(cutter))
        if following is None:
            break
        low = share + (1 - share) * (len(plans) - 1) / (MOST_CUTTERS - 1)
        try:
            plans.append((yield from between(plan_steps(following, store), low, 1.0)))
        except NothingToPlan:  # what is left lies where this cutter may not go either
            if cutter is None:
                break
            plans[-1] = _without(plans[-1], cutter)
    return _with_sanding(_with_sum(_handed_on(tuple(plans))))


def _without(plan: Plan, cutter: Cutter) -> Plan:
    """The plan before a cutter of its set that has nothing to do."""
    sentence = Message("Nothing remains that the {diameter:g} mm cutter of the set could reach: it is not run.", diameter=cutter.diameter)
    return replace(plan, findings=(*plan.findings, Finding("nothing-for-smaller", sentence)))


def _handed_on(plans: tuple[Plan, ...]) -> tuple[Plan, ...]:
    """The same plans; what all but the last of them leave is told as the next one's work."""
    return (*(_left_to(plan, after) for plan, after in zip(plans[:-1], plans[1:], strict=True)), plans[-1])


def _left_to(plan: Plan, after: Plan) -> Plan:
    sentence = Message(
        "The {diameter:g} mm cutter leaves {area:.0f} mm² standing more than {tolerance:g} mm proud; the {smaller:g} mm cutter takes it.",
        diameter=plan.cutter.diameter,
        area=plan.fit.area,
        tolerance=plan.request.fit.uncut_height,
        smaller=after.cutter.diameter,
    )
    others = tuple(finding for finding in plan.findings if finding.key not in FIT_KEYS)
    return replace(plan, findings=(*others, Finding("left-to-smaller", sentence, place=plan.fit.place)))


def _with_sum(plans: tuple[Plan, ...]) -> tuple[Plan, ...]:
    """The same plans; the first one tells when all together miss a budget that is held against them."""
    first = plans[0]
    answer, total = first.budget, total_minutes(plans)
    if answer is None or first.order is not None or len(plans) == 1 or not 0 < answer.for_finishing < total:
        return plans
    sentence = Message(
        "With the smaller cutters and their tool changes the side takes {minutes:.1f} minutes, {over:.1f} over the budget of {budget:g}.",
        minutes=total,
        over=total - answer.for_finishing,
        budget=answer.for_finishing,
    )
    finding = replace(missed_budget(answer, total), sentence=sentence)
    others = tuple(other for other in first.findings if other.key != finding.key)
    return (replace(first, findings=(finding, *others)), *plans[1:])


def _with_sanding(plans: tuple[Plan, ...]) -> tuple[Plan, ...]:
    """The same plans, each with the one advice for sanding the side after all of them."""
    if len(plans) == 1:
        return plans
    advice = sanding_advice(tuple(Left(plan.proof, plan.hand_work, plan.ground.planned, plan.grid) for plan in plans), plans[0].experience.grit)
    return tuple(replace(plan, sanding=advice) for plan in plans)


def total_minutes(plans: Sequence[Plan]) -> float:
    """Run time of several plans in a row, with a tool change wherever the cutter is another one."""
    first = plans[0].request
    changes = tool_changes([plan.cutter for plan in plans], first.cutter_in_spindle)
    return sum(plan.run_time.minutes for plan in plans) + first.machine.tool_change_minutes * changes
