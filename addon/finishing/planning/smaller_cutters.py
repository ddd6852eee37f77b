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
from ..job.request import Request, Rest
from .plan import plan_steps
from .result import Plan

MOST_CUTTERS = 3
"""Cutters of one side; each costs a tool change."""


def next_smaller(cutter: Cutter, rack: Sequence[Cutter]) -> Cutter | None:
    """The next smaller cutter at hand."""
    smaller = [item for item in rack if item.diameter < cutter.diameter - 1e-9]
    return max(smaller, key=lambda item: item.diameter, default=None)


def rest_request(plan: Plan, cutter: Cutter | None = None) -> Request | None:
    """The request for what a plan's cutter leaves, with the next smaller cutter or a named one; None when the
    plan's cutter fits within the tolerances, or there is no smaller one.
    """
    if plan.fit.fits:
        return None
    cutter = cutter if cutter is not None else next_smaller(plan.cutter, plan.request.rack)
    if cutter is None:
        return None
    request = plan.request
    own_cusp = min(request.cusp, 0.1 * cutter.radius)
    return replace(
        request,
        cutter=cutter,
        cusp=own_cusp,
        spacing=None,
        rest=Rest(plan.cutter, request.rest_overlap),
        rack_table=False,
        budget_minutes=None,
        feed=None,
    )


def side_plans(request: Request, store: ResultStore) -> Generator[Progress, None, tuple[Plan, ...]]:
    """All plans of one side in running order: the chosen cutter's, and, where asked for, those of smaller ones for what is left.

    Yields (share done, stage). Raises the errors of finishing.errors.
    """
    share = 0.7 if request.smaller_cutters else 1.0
    first = yield from between(plan_steps(request, store), 0.0, share)
    plans = [first]
    while request.smaller_cutters and len(plans) < MOST_CUTTERS:
        following = rest_request(plans[-1])
        if following is None:
            break
        low = share + (1 - share) * (len(plans) - 1) / (MOST_CUTTERS - 1)
        try:
            plans.append((yield from between(plan_steps(following, store), low, 1.0)))
        except NothingToPlan:  # what is left lies where this cutter may not go either
            break
    return _with_sum(tuple(plans))


def _with_sum(plans: tuple[Plan, ...]) -> tuple[Plan, ...]:
    """The same plans; the last one tells when all together miss a budget that the first alone meets."""
    first, last = plans[0], plans[-1]
    answer = first.budget
    total = total_minutes(plans, first.request.machine.tool_change_minutes)
    if answer is None or len(plans) == 1 or total <= answer.for_finishing or first.run_time.minutes > answer.for_finishing:
        return plans
    sentence = Message(
        "With the smaller cutters and their tool changes the side takes {minutes:.1f} minutes, {over:.1f} over the budget of {budget:g}.",
        minutes=total,
        over=total - answer.for_finishing,
        budget=answer.for_finishing,
    )
    remedy = Message("Leave the rest to sanding, or plan with a smaller cutter from the start.")
    finding = Finding("budget-missed", sentence, remedy, must_see=True)
    return (*plans[:-1], replace(last, findings=(finding, *last.findings)))


def total_minutes(plans: Sequence[Plan], tool_change_minutes: float) -> float:
    """Run time of several plans in a row with a tool change between them."""
    return sum(plan.run_time.minutes for plan in plans) + tool_change_minutes * max(len(plans) - 1, 0)
