"""The whole plan: from a request to pass lines, run time and proof.

What is left open in the request is settled first, by asking the graph of stages what each possibility would give: every cutter of the
rack, every start. Whatever does not depend on that is found, not made. Then the plan is asked for as settled.
"""

from __future__ import annotations

from collections.abc import Callable, Generator
from dataclasses import replace
from typing import Any

from ..core.result_store import ResultStore
from ..core.stage_runner import Progress, StageRunner
from ..core.stepping import between, told
from ..job.request import Request
from ..options.budget_ladder import Advice
from ..options.grain import grain_findings
from .budget import order_findings
from .budget_order import with_budget
from .checking import check_request
from .findings import OF_A_FIRST_CUTTER, OF_A_SMALLER_CUTTER, most_important_first
from .plan_graph import PLAN_GRAPH
from .result import Plan
from .rim_stages import settled_rim
from .sanding_advice import Left, sanding_advice
from .settling import Chosen, with_cusp, with_start
from .tried_sets import with_cutter, with_own_run

PARTS = {
    "job_from_body": "turned", "body": "job_body", "stock": "placed_stock", "rack": "fit_table", "largest": "largest_radius",
    "rim": "timed_rim", "fit": "judged_fit", "sets": "cutter_sets", "eased": "eased",
    **{
        name: name
        for name in (
            "body_digest", "shown_maps", "ground", "region", "tip_surface", "path", "least_length", "run_time", "proof",
            "hidden_area", "bite", "contacts", "line_spacing", "safe_z", "ground_costs", "ground_minutes", "overhead", "budget", "flats",
            "flat_minutes", "experience", "hand_work", "free_height", "held",
        )
    },
}  # fmt: skip
"""The fields of a plan that are results of stages, and of which."""

TABLE_SHARE, TRIALS_SHARE = 0.7, 0.5
"""Shares of the progress: of what settles the request, by the time that the cutters are chosen; of the whole, by the end of that."""


def make_plan(request: Request, store: ResultStore | None = None, progress: Callable[[float, str], None] | None = None) -> Plan:
    """Make the whole plan at once; `progress` is told the share done and the stage. Raises the errors of finishing.core.errors."""
    return told(plan_steps(request, store if store is not None else ResultStore()), progress)


def plan_steps(request: Request, store: ResultStore) -> Generator[Progress, None, Plan]:
    """Make the whole plan in short steps; yields (share done, stage). Raises the errors of finishing.core.errors."""
    runner = StageRunner(PLAN_GRAPH, store)
    check_request(request)
    yield 0.0, "heights"
    settled, order = yield from between(_settled(request, runner), 0.0, TRIALS_SHARE if request.rim_pass != "auto" else TRIALS_SHARE / 2)
    chosen = yield from between(_with_rim(settled, runner), TRIALS_SHARE / 2, TRIALS_SHARE)
    findings = OF_A_FIRST_CUTTER if request.remaining is None else OF_A_SMALLER_CUTTER
    begun = TRIALS_SHARE if chosen.request is not request else 0.0
    answers = yield from between(runner.ask((*PARTS.values(), *findings), chosen.request), begun, 1.0)
    assert chosen.request.cutter is not None
    parts: dict[str, Any] = {name: answers[stage] for name, stage in PARTS.items()}
    groups: dict[str, Any] = {name: answers[name] for name in findings}
    if request.remaining is None:
        groups["grain"] = grain_findings(chosen.grain)
    if order is not None:
        parts["budget"] = replace(parts["budget"], advice=order)
        groups["budget_findings"] = (*order_findings(parts["budget"], order), *groups["budget_findings"])
    left = Left(parts["proof"], parts["hand_work"], parts["ground"].planned, parts["tip_surface"].grid)
    return Plan(
        request=replace(request, cusp=chosen.request.cusp, spacing=chosen.request.spacing, feed=chosen.request.feed),
        cutter=chosen.request.cutter,
        start=chosen.start.name,
        grain=chosen.grain,
        order=order,
        sanding=sanding_advice((left,), parts["experience"].grit),
        findings=most_important_first(finding for name in _in_order(findings) for finding in groups.get(name, ())),
        stage_seconds=runner.seconds,
        **parts,
    )


def _settled(request: Request, runner: StageRunner[Request]) -> Generator[Progress, None, tuple[Chosen, Advice | None]]:
    """The request with one cutter, feed, cusp height and start; and what a budget has ordered."""
    if request.meet_budget and request.budget_minutes is not None and request.remaining is None:
        ordered = yield from with_budget(request, runner)
        return ordered.chosen, ordered.advice
    if request.cutter is None:
        with_one = with_cusp((yield from between(with_cutter(request, runner), 0.0, TABLE_SHARE)))
        return (yield from between(with_start(with_one, runner), TABLE_SHARE, 1.0)), None
    chosen = yield from between(with_start(with_cusp(request), runner), 0.0, TABLE_SHARE)
    return replace(chosen, request=(yield from between(with_own_run(chosen.request, runner), TABLE_SHARE, 1.0))), None


def _with_rim(chosen: Chosen, runner: StageRunner[Request]) -> Generator[Progress, None, Chosen]:
    """The same with its rim pass settled: where that is left open, by the simulated cut without it."""
    if chosen.request.rim_pass != "auto":
        return chosen
    answers: Any = yield from runner.ask(("proof",), replace(chosen.request, rim_pass="off"))
    return replace(chosen, request=settled_rim(chosen.request, answers["proof"]))


def _in_order(findings: tuple[str, ...]) -> tuple[str, ...]:
    """The groups of findings as they are told: what the grain has done stands before what is left out."""
    place = findings.index("left_out_findings") if "left_out_findings" in findings else len(findings)
    return (*findings[:place], "grain", *findings[place:])
