"""What is left open in a request is settled by asking the graph of stages what each possibility would give: here every start, in `tried_sets.py`
sets of cutters. Whatever does not depend on that is found, not made."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass, replace
from typing import Any

from ..core.errors import NothingToPlan
from ..core.stage_runner import Progress, StageRunner
from ..core.stepping import between
from ..job.request import Request
from ..job.stock import grain_on
from ..options.grain import GrainChoice, weighed
from ..passes.starts import Start, starts_to_try

NEAR = 1.05
"""Starts whose lines take no more than this times the quickest are near it: for another cutter one of them may be the quickest."""

MOST_NEAR = 2
"""Starts that are told as near, the quickest with them."""

LOOKED = 0.2
"""Share of the progress by the time that it is known which ground is planned, before the first start is tried."""


def with_cusp(request: Request) -> Request:
    """The request with the cusp height that its spacing means for its cutter; the same object where none is given."""
    if request.spacing is None or request.cutter is None:
        return request
    return replace(request, cusp=request.cusp_with(request.cutter.radius))


@dataclass(frozen=True)
class Chosen:
    """A request with a single start, that start, and what weighing the grain has done. near: it and starts that take hardly longer, the best first."""

    request: Request
    start: Start
    grain: GrainChoice | None
    near: tuple[Start, ...]


@dataclass(frozen=True)
class _Trial:
    """One start with its lines laid. weight: its seconds, with what runs across the grain counted for more."""

    start: Start
    seconds: float
    across: float
    weight: float


def with_start(request: Request, runner: StageRunner[Request]) -> Generator[Progress, None, Chosen]:
    """The request with the start whose lines run the shortest time. Where the grain is known, time across it counts for more.

    A start whose lines alone would take longer than the best so far, by the length its field promises, is not laid.
    """
    starts = starts_to_try(request.lines_from, request.line_angle, grain_on(request.side, request.stock.first_side, request.grain_angle))
    if len(starts) == 1:
        return Chosen(for_start(request, starts[0]), starts[0], None, starts)
    assert request.cutter is not None
    trials: list[_Trial] = []
    refusal: NothingToPlan | None = None
    possible: Any = yield from between(runner.ask(("starts_tried",), request), 0.0, LOOKED)
    starts = possible["starts_tried"]
    for number, start in enumerate(starts):
        one = for_start(request, start)
        low, middle, high = (LOOKED + (1 - LOOKED) * (number + part) / len(starts) for part in (0, 0.5, 1))
        try:
            promised: Any = yield from between(runner.ask(("laid_field_length",), one), low, middle)
            fastest = min((trial.weight for trial in trials), default=float("inf"))
            if promised["laid_field_length"] / (request.cutter.feed / 60) >= fastest:
                continue
            answers: Any = yield from between(runner.ask(("trial_run", "share_across_grain"), one), middle, high)
        except NothingToPlan as error:
            refusal = error
            continue
        seconds, across = answers["trial_run"], answers["share_across_grain"]
        trials.append(_Trial(start, seconds, across, weighed(seconds, across, request.grain_share)))
    if refusal is not None and not trials:
        raise refusal
    trials.sort(key=lambda trial: trial.weight)
    best, quickest = trials[0], min(trials, key=lambda trial: trial.seconds)
    near = tuple(trial.start for trial in trials if trial.weight <= NEAR * best.weight)
    grain = None
    if request.grain_angle is not None:
        grain = GrainChoice(best.across, quickest.across, (best.seconds - quickest.seconds) / 60)
    return Chosen(for_start(request, best.start), best.start, grain, near[:MOST_NEAR])


def for_start(request: Request, start: Start) -> Request:
    """The request with this start alone, the same object where it asks for it already."""
    angle = request.line_angle if start.kind == "border" else start.angle
    same = (request.lines_from, request.line_angle) == (start.kind, angle)
    return request if same else replace(request, lines_from=start.kind, line_angle=angle)
