"""Fit the shares by which minutes of cutters are predicted before a line is laid: `python tests/bench/fit_overhead.py [sets] [quick]`.

Prints the fitted values beside those that stand in `options/pass_minutes.py` and `options/cutter_sets.py`, and how far the prediction is off
with the values that stand there, on the bodies of the fit and on others that took no part in it; then how far the minutes in the tables of sets
are off that are not those of laid lines, on small bodies, and on large ones by the power with which the ratio of tried sets counts, and with tool
changes. With `sets` these tables alone, with `quick` three bodies of each.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import islice
from typing import Any
from unittest.mock import patch

import numpy as np
from bench_bodies import FITTED, HELD_OUT, LARGE

from addon.finishing.core.array_types import FloatArray
from addon.finishing.core.errors import NothingToPlan
from addon.finishing.core.result_store import ResultStore
from addon.finishing.core.stage_runner import StageRunner
from addon.finishing.core.stepping import finished
from addon.finishing.job.body import make_body
from addon.finishing.job.cutter import DEFAULT_RACK
from addon.finishing.job.request import Remaining, Request
from addon.finishing.options import pass_minutes, reach
from addon.finishing.options.cutter_sets import LEFT_PASS_SHARE, LEFT_RUN_HOPS, PACE_SHARE, TURN_SHARE, run_minutes
from addon.finishing.options.pass_minutes import ACCELERATION_SHARE
from addon.finishing.options.reach import Reach, Run, reach_of, run_over, wanted_of
from addon.finishing.planning.plan import make_plan
from addon.finishing.planning.plan_graph import PLAN_GRAPH
from addon.finishing.planning.questions import TABLE_CELL
from addon.finishing.planning.smaller_cutters import side_plans, total_minutes
from addon.finishing.planning.tried_sets import with_cutter

WHOLE = (12.0, 22.0)
"""Diameters that are laid over all of the ground."""

AFTER = ((22.0, 8.0), (16.0, 6.0))
"""Diameters of a larger cutter and of one that follows it."""

SHARES = (0.3, 0.4, 0.5)
"""Shares of the acceleration that are tried."""

POWERS = (0.0, 0.25, 0.5, 0.75, 1.0)
"""Powers of the ratio of tried sets that are tried."""

CUTTERS = {cutter.diameter: cutter for cutter in DEFAULT_RACK}
MAPS = ("tip_surface", "ground", "region", "pass_ground")


@dataclass(frozen=True)
class Sample:
    """One run that was laid. seconds: of it. runs, reaches: what was known before, for every share of the acceleration."""

    name: str
    seconds: float
    runs: tuple[Run, ...]
    reaches: tuple[Reach, ...]


def reaches_of(request: Request, diameter: float, store: ResultStore) -> tuple[Reach, ...]:
    """What a cutter reaches, for every share of the acceleration."""
    asked = replace(request, cutter=CUTTERS[diameter], cell=TABLE_CELL)
    found: dict[str, Any] = finished(StageRunner(PLAN_GRAPH, store).ask((*MAPS, "asked_feed"), asked))
    out = []
    for share in SHARES:
        with patch.object(pass_minutes, "ACCELERATION_SHARE", share), patch.object(reach, "ACCELERATION_SHARE", share):
            maps = (found[name] for name in MAPS)
            out.append(reach_of(asked.cutter, *maps, asked.machine, found["asked_feed"], asked.fit.uncut_height))  # type: ignore[arg-type]
    return tuple(out)


def samples_of(name: str, triangles: FloatArray) -> tuple[list[Sample], list[Sample]]:
    """The runs of one body: over all of the ground, and over what a larger cutter leaves."""
    store = ResultStore()
    base = Request(make_body(name, triangles), rack_table=False)
    known = {diameter: reaches_of(base, diameter, store) for diameter in {*WHOLE, *(d for pair in AFTER for d in pair)}}
    whole, after = [], []
    for diameter in WHOLE:
        runs = [run_over(one, None) for one in known[diameter]]
        plan = make_plan(replace(base, cutter=CUTTERS[diameter]), store)
        whole.append(Sample(f"{name}, {diameter:g}", plan.run_time.total_seconds, tuple(filter(None, runs)), known[diameter]))
    for larger, diameter in AFTER:
        wanted = wanted_of(known[larger][0].left, TABLE_CELL, base.overlap_with_larger)
        runs = [run_over(one, wanted) for one in known[diameter]]
        cusp = min(base.cusp, 0.1 * CUTTERS[diameter].radius)
        try:
            plan = make_plan(
                replace(base, cutter=CUTTERS[diameter], cusp=cusp, lines_from="border", remaining=Remaining(CUTTERS[larger], base.overlap_with_larger)),
                store,
            )
        except NothingToPlan:
            continue
        if None not in runs:
            after.append(Sample(f"{name}, {diameter:g} after {larger:g}", plan.run_time.total_seconds, tuple(filter(None, runs)), known[diameter]))
    return whole, after


def gathered(bodies: dict[str, Callable[[], FloatArray]], most: int | None) -> tuple[list[Sample], list[Sample]]:
    """The runs of some bodies."""
    whole: list[Sample] = []
    after: list[Sample] = []
    for name, triangles in islice(bodies.items(), most):
        first, second = samples_of(name, triangles())
        whole += first
        after += second
        print(f"  {name}: {len(first)} and {len(second)} runs", file=sys.stderr, flush=True)
    return whole, after


def fitted_passes(samples: Sequence[Sample], k: int) -> tuple[float, float]:
    """The share of passes over what a larger cutter leaves, and the hops of such a run, of the least mean square of relative errors.

    k: number of the acceleration's share.
    """
    laid = np.array([one.seconds for one in samples])
    hops = np.array([one.reaches[k].hop_seconds for one in samples])
    parts = np.array([one.runs[k].parts for one in samples])
    features = np.stack([np.array([one.runs[k].least_seconds for one in samples]), hops], axis=1) / laid[:, None]
    passes, more = np.linalg.lstsq(features, 1 - parts * hops / laid, rcond=None)[0]
    return float(passes), float(more)


def fitted_turns(samples: Sequence[Sample]) -> tuple[float, float, float]:
    """The share of the acceleration and that of turns that fit best, and the root mean square of relative errors."""
    best = (np.inf, 0.0, 0.0)
    for k, share in enumerate(SHARES):
        for turns in np.arange(0.0, 2.01, 0.05):
            errors = [_whole_seconds(one, k, float(turns)) / one.seconds - 1 for one in samples]
            best = min(best, (float(np.sqrt(np.mean(np.square(errors)))), share, float(turns)))
    return best[1], best[2], best[0]


def _whole_seconds(one: Sample, k: int, turns: float) -> float:
    run, known = one.runs[k], one.reaches[k]
    return min(p + turns * n * known.turn_seconds for p, n in zip(run.seconds, run.turns, strict=True)) + run.parts * known.hop_seconds


def errors_line(what: str, samples: Sequence[Sample], of_left: bool) -> None:
    """Print how far the prediction is off with the values that stand in the code."""
    k = SHARES.index(ACCELERATION_SHARE)
    errors = np.array([60 * run_minutes(one.reaches[k], one.runs[k], of_left) / one.seconds - 1 for one in samples])
    within = f"{(np.abs(errors) <= 0.1).sum()} of {len(errors)}"
    worst = samples[int(np.abs(errors).argmax())].name
    print(f"| {what} | {np.abs(errors).mean():.1%} | {within} | {errors.min():+.0%} to {errors.max():+.0%} | {worst} |")


def predicted_rows(bodies: dict[str, Callable[[], FloatArray]], most: int | None) -> FloatArray:
    """Of every set in the table of a body whose minutes are not those of laid lines, once it was planned by itself: minutes of its runs as they are
    said without the ratio of tried sets, of its tool changes, of both as they were laid, and that ratio, 1 for a set that was tried, (n, 4).
    """
    found = []
    for name, triangles in islice(bodies.items(), most):
        request, store = Request(make_body(name, triangles())), ResultStore()
        planned = finished(side_plans(request, store))[0]
        sets = planned.sets
        tried = {one.cutters for one in finished(with_cutter(request, StageRunner(PLAN_GRAPH, store))).tried_sets}  # found again in the store
        for row in () if sets is None else sets.rows:
            if not row.enough or row.laid:
                continue
            named = replace(request, cutter=row.cutters[0], following_cutters=row.cutters[1:], rack_table=False)
            laid = total_minutes(finished(side_plans(named, store)))
            changes = row.minutes - sum(row.run_minutes)
            pace = 1.0 if row.cutters in tried else sets.pace
            found.append((sum(row.run_minutes) / pace, changes, laid, pace ** (1 / PACE_SHARE)))
        print(f"  {name}: {len(found)} predicted sets so far", file=sys.stderr, flush=True)
    return np.array(found).reshape(-1, 4)


def print_small(rows: FloatArray) -> None:
    """Print how far the minutes of predicted sets of small bodies are off, all of which were tried."""
    runs, changes, laid, _ = rows.T
    print("\n| minutes of sets that are not laid, small bodies | mean error | within 10 % | from, to |\n| --- | --- | --- | --- |")
    print(f"| all were tried | {_errors_words((runs + changes) / laid - 1)} |")


def print_large(rows: FloatArray) -> None:
    """Print how far the minutes of predicted sets of large bodies are off: without tool changes, by the power of the ratio of tried ones; and with
    them, as the table shows them.
    """
    runs, changes, laid, ratio = rows.T
    print("\n| minutes of runs of sets that are not laid, large bodies, by the power of the ratio | mean error | within 10 % | from, to |")
    print("| --- | --- | --- | --- |")
    for power in sorted({*POWERS, PACE_SHARE}):
        stands = ", stands in the code" if power == PACE_SHARE else ""
        print(f"| {power:g}{stands} | {_errors_words(runs * ratio**power / (laid - changes) - 1)} |")
    print(f"| as the table shows them, with tool changes | {_errors_words((runs * ratio**PACE_SHARE + changes) / laid - 1)} |")


def _errors_words(errors: FloatArray) -> str:
    within = f"{(np.abs(errors) <= 0.1).sum()} of {len(errors)}"
    return f"{np.abs(errors).mean():.1%} | {within} | {errors.min():+.0%} to {errors.max():+.0%}"


def print_fit(most: int | None) -> None:
    """Lay single cutters and those that follow a larger one, fit, and print what was found."""
    whole, after = gathered(FITTED, most)
    held_whole, held_after = gathered(HELD_OUT, most)
    share, turns, _ = fitted_turns(whole)
    k = SHARES.index(ACCELERATION_SHARE)
    passes, hops = fitted_passes(after, k)
    print("| value | fitted | stands in the code |\n| --- | --- | --- |")
    for name, found, stands in (
        ("ACCELERATION_SHARE", share, ACCELERATION_SHARE), ("TURN_SHARE", turns, TURN_SHARE),
        ("LEFT_PASS_SHARE", passes, LEFT_PASS_SHARE), ("LEFT_RUN_HOPS", hops, LEFT_RUN_HOPS),
    ):  # fmt: skip
        print(f"| {name} | {found:.2f} | {stands:g} |")
    print("\n| seconds said against seconds laid | mean error | within 10 % | from, to | worst |\n| --- | --- | --- | --- | --- |")
    errors_line("all of the ground, bodies of the fit", whole, of_left=False)
    errors_line("all of the ground, held out", held_whole, of_left=False)
    errors_line("what a larger cutter leaves, bodies of the fit", after, of_left=True)
    errors_line("what a larger cutter leaves, held out", held_after, of_left=True)


def main(arguments: list[str]) -> None:
    """The fit, unless the tables of sets alone are asked for, and these."""
    most = 3 if "quick" in arguments else None
    if "sets" not in arguments:
        print_fit(most)
    print_small(predicted_rows(HELD_OUT, most))
    print_large(predicted_rows(LARGE, most))


if __name__ == "__main__":
    main(sys.argv[1:])
