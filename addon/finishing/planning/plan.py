"""The whole plan: from a request to pass lines, run time and proof.

What is left open in the request is settled first, by asking the graph of stages what each possibility would give: every cutter of the
rack, every start. Whatever does not depend on that is found, not made. Then the plan is asked for as settled.
"""

from __future__ import annotations

from collections.abc import Callable, Generator
from dataclasses import dataclass, replace
from typing import Any

from ..core.errors import BadRequest, NothingToPlan, TooLarge
from ..core.result_store import ResultStore
from ..core.stage_runner import Progress, StageRunner
from ..core.stepping import Result, told
from ..job.body import check_size
from ..job.request import Request
from ..options.fit_table import chosen_row
from ..options.grain import GrainChoice, grain_findings, weighed
from ..passes.starts import Start, starts_to_try
from ..surface.height_map import estimated_memory_mib
from ..surface.side import side_grid
from .findings import OF_A_FIRST_CUTTER, OF_A_SMALLER_CUTTER, most_important_first
from .plan_graph import PLAN_GRAPH
from .result import Plan

PARTS = {
    "job_from_body": "turned", "body": "job_body", "stock": "placed_stock", "rack": "fit_table", "largest": "largest_radius",
    **{
        name: name
        for name in (
            "body_digest", "shown_maps", "ground", "region", "tip_surface", "fit", "path", "least_length", "run_time", "proof",
            "hidden_area", "bite", "contacts", "ground_costs", "ground_minutes", "overhead", "budget", "flats",
        )
    },
}  # fmt: skip
"""The fields of a plan that are results of stages, and of which."""

TABLE_SHARE, TRIALS_SHARE = 0.25, 0.45
"""Shares of the progress: by the end of the fit table, and of the comparison of starts."""


def make_plan(request: Request, store: ResultStore | None = None, progress: Callable[[float, str], None] | None = None) -> Plan:
    """Make the whole plan at once; `progress` is told the share done and the stage. Raises the errors of finishing.core.errors."""
    return told(plan_steps(request, store if store is not None else ResultStore()), progress)


def plan_steps(request: Request, store: ResultStore) -> Generator[Progress, None, Plan]:
    """Make the whole plan in short steps; yields (share done, stage). Raises the errors of finishing.core.errors."""
    runner = StageRunner(PLAN_GRAPH, store)
    check_request(request)
    yield 0.0, "heights"
    settled = yield from between(_with_cutter(request, runner), 0.0, TABLE_SHARE)
    chosen = yield from between(_with_start(settled, runner), TABLE_SHARE if settled is not request else 0.0, TRIALS_SHARE)
    findings = OF_A_FIRST_CUTTER if request.rest is None else OF_A_SMALLER_CUTTER
    begun = TRIALS_SHARE if chosen.request is not request else 0.0
    answers = yield from between(runner.ask((*PARTS.values(), *findings), chosen.request), begun, 1.0)
    assert chosen.request.cutter is not None
    parts: dict[str, Any] = {name: answers[stage] for name, stage in PARTS.items()}
    told_apart: dict[str, Any] = {name: answers[name] for name in findings}
    if request.rest is None:
        told_apart["grain"] = grain_findings(chosen.grain)
    return Plan(
        request=request,
        cutter=chosen.request.cutter,
        start=chosen.start.name,
        grain=chosen.grain,
        findings=most_important_first(finding for name in _in_order(findings) for finding in told_apart.get(name, ())),
        stage_seconds=runner.seconds,
        **parts,
    )


def _in_order(findings: tuple[str, ...]) -> tuple[str, ...]:
    """The groups of findings as they are told: what the grain has done stands before what is left out."""
    place = findings.index("left_out_findings") if "left_out_findings" in findings else len(findings)
    return (*findings[:place], "grain", *findings[place:])


def between(steps: Generator[Progress, None, Result], low: float, high: float) -> Generator[Progress, None, Result]:
    """Pass on progress with its shares squeezed into low..high, and return what the steps return."""
    while True:
        try:
            share, stage = next(steps)
        except StopIteration as end:
            return end.value
        yield low + (high - low) * share, stage


def check_request(request: Request) -> None:
    """Refuse what cannot be planned before anything large is made. Raises BadRequest, BadBody and TooLarge."""
    if request.cutter is None and not request.rack:
        raise BadRequest("The rack is empty: add a cutter, or name one.")
    smallest = request.cutter if request.cutter is not None else min(request.rack, key=lambda c: c.diameter)
    machine, body = request.machine, request.body
    check_size(body, machine.bed_x, machine.bed_y, machine.travel_z, smallest.diameter)
    needed = estimated_memory_mib(side_grid(body.low, body.high, request.cell), len(body.triangles))
    if needed > request.memory_limit_mib:
        raise TooLarge(
            "A cell of {cell:g} mm would take about {needed:.0f} MiB, more than the limit of {limit:.0f} MiB: use a coarser cell.",
            cell=request.cell,
            needed=needed,
            limit=request.memory_limit_mib,
        )


def _with_cutter(request: Request, runner: StageRunner[Request]) -> Generator[Progress, None, Request]:
    """The request with a cutter: the named one, or that of the rack which the fit table speaks for."""
    if request.cutter is not None:
        return request
    tried = replace(request, rack_table=True)
    answers = yield from runner.ask(("fit_table",), tried)
    rows: Any = answers["fit_table"]
    return replace(tried, cutter=chosen_row(rows).cutter)


@dataclass(frozen=True)
class _Chosen:
    """A request with a single start, that start, and what weighing the grain has done."""

    request: Request
    start: Start
    grain: GrainChoice | None


@dataclass(frozen=True)
class _Trial:
    """One start with its lines laid. weight: its seconds, with what runs across the grain counted for more."""

    start: Start
    seconds: float
    across: float
    weight: float


def _with_start(request: Request, runner: StageRunner[Request]) -> Generator[Progress, None, _Chosen]:
    """The request with the start whose lines run the shortest time. Where the grain is known, time across it counts for more.

    A start whose lines alone would take longer than the best so far, by the length its field promises, is not laid.
    """
    starts = starts_to_try(request.start, request.start_angle, request.grain_angle)
    if len(starts) == 1:
        return _Chosen(_for_start(request, starts[0]), starts[0], None)
    assert request.cutter is not None
    trials: list[_Trial] = []
    refusal: NothingToPlan | None = None
    for number, start in enumerate(starts):
        one = _for_start(request, start)
        low, middle, high = ((number + part) / len(starts) for part in (0, 0.5, 1))
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
    best, quickest = min(trials, key=lambda trial: trial.weight), min(trials, key=lambda trial: trial.seconds)
    grain = None
    if request.grain_angle is not None:
        grain = GrainChoice(best.across, quickest.across, (best.seconds - quickest.seconds) / 60)
    return _Chosen(_for_start(request, best.start), best.start, grain)


def _for_start(request: Request, start: Start) -> Request:
    """The request with this start alone."""
    return replace(request, start=start.kind, start_angle=start.angle)
