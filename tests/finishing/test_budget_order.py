"""A time budget as an order: what is planned takes the minutes it may take, or is the least that is possible."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapes import block

from addon.finishing.core.cusp_formulas import spacing_on_flat
from addon.finishing.core.result_store import ResultStore
from addon.finishing.job.body import make_body
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.request import Request
from addon.finishing.job.wood import greatest_feed, wood_named
from addon.finishing.planning.plan import make_plan

RACK = (Cutter("Round-nose 8", 8.0, feed=3000.0), Cutter("Round-nose 16", 16.0), Cutter("Round-nose 40", 40.0))


def wavy(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    return 20 + 8 * np.cos(2 * np.pi * x / 70) + 1.5 * np.sin(2 * np.pi * y / 55)


@pytest.fixture(scope="module")
def ordered() -> Request:
    body = make_body("wavy", block(wavy, 90.0, 70.0, 1.0))
    return Request(body, rack=RACK, cell=0.5, lines_from="edge", line_angle=0.0, meet_budget=True)


@pytest.fixture(scope="module")
def store() -> ResultStore:
    return ResultStore()


@pytest.mark.parametrize("minutes", [2.5, 4.0])
def test_the_run_takes_the_minutes_of_the_budget_within_two_hundredths(ordered: Request, store: ResultStore, minutes: float) -> None:
    plan = make_plan(replace(ordered, budget_minutes=minutes), store)
    assert 0.98 * minutes <= plan.run_time.minutes <= minutes
    assert not [finding for finding in plan.findings if finding.key == "budget-missed"]
    # What is recommended is what is planned.
    assert plan.budget is not None and plan.budget.row is not None
    assert (plan.budget.row.cutter, plan.budget.cusp) == (plan.cutter, plan.request.cusp)
    assert plan.cutter.diameter < 40.0, "the hollows are too tight for it"
    # Within chip load and axes.
    most = greatest_feed(wood_named("hardwood"), plan.cutter.spindle_speed, plan.cutter.flutes)
    assert plan.path.feed.max() <= max(most, plan.request.machine.air_feed)


def test_where_minutes_go_in_steps_the_budget_is_not_passed(ordered: Request, store: ResultStore) -> None:
    # Thirty lines and their turns: one line more or less is three hundredths of the run.
    plan = make_plan(replace(ordered, budget_minutes=0.9), store)
    assert 0.9 * 0.9 <= plan.run_time.minutes <= 0.9


def test_the_same_minutes_give_the_same_whatever_was_planned_before(ordered: Request, store: ResultStore) -> None:
    plans = [make_plan(replace(ordered, budget_minutes=1.5), kept) for kept in (store, ResultStore())]
    assert plans[0].request.cusp == plans[1].request.cusp and plans[0].run_time.minutes == plans[1].run_time.minutes


def test_less_time_never_leaves_a_finer_cusp(ordered: Request, store: ResultStore) -> None:
    spacings = [
        float(spacing_on_flat(p.cutter.radius, p.request.cusp))
        for m in (2.0, 0.7, 0.4)
        for p in (make_plan(replace(ordered, budget_minutes=m), store),)
    ]
    assert spacings == sorted(spacings)


def test_what_cannot_be_met_is_planned_as_quickly_as_possible_and_said(ordered: Request, store: ResultStore) -> None:
    plan = make_plan(replace(ordered, budget_minutes=0.02), store)
    (finding,) = [finding for finding in plan.findings if finding.key == "budget-missed"]
    assert finding.must_see and "least that is possible" in str(finding.remedy)
    assert plan.request.cusp == pytest.approx(plan.request.roughing.allowance)
    # Nothing that was asked for takes less: every fitting cutter at the same cusp height and its fastest feed.
    for cutter in RACK[:2]:
        other = make_plan(replace(ordered, meet_budget=False, budget_minutes=None, cutter=cutter, cusp=0.5, feed=plan.request.feed), store)
        assert plan.run_time.minutes <= 1.001 * other.run_time.minutes


def test_a_named_cutter_is_kept(ordered: Request, store: ResultStore) -> None:
    plan = make_plan(replace(ordered, cutter=RACK[0], budget_minutes=2.0), store)
    assert plan.cutter == RACK[0] and 1.96 <= plan.run_time.minutes <= 2.0
