"""A time budget as an order: what is planned takes the minutes it may take, or is the least that is possible."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapes import block

from addon.finishing.core.cusp_formulas import spacing_on_flat
from addon.finishing.core.path import CUT
from addon.finishing.core.result_store import ResultStore
from addon.finishing.core.stepping import finished
from addon.finishing.job.body import make_body
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.machine import Machine
from addon.finishing.job.request import Request
from addon.finishing.job.wood import greatest_feed, wood_named
from addon.finishing.planning.budget import order_findings
from addon.finishing.planning.plan import make_plan
from addon.finishing.planning.smaller_cutters import side_plans, total_minutes

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
    assert plan.budget is not None and plan.budget.advice is not None and plan.budget.advice == plan.order
    assert (plan.order.cutters, plan.order.cusp) == ((plan.cutter,), plan.request.cusp)
    assert plan.order.minutes == plan.run_time.minutes
    assert plan.cutter.diameter < 40.0, "the hollows are too tight for it"
    # Within chip load and axes.
    most = greatest_feed(wood_named("hardwood"), plan.cutter.spindle_speed, plan.cutter.flutes)
    assert plan.path.feed.max() <= max(most, plan.request.machine.air_feed)


def test_where_minutes_go_in_steps_the_budget_is_not_passed(ordered: Request, store: ResultStore) -> None:
    # Thirty lines and their turns: one line more or less is three hundredths of the run.
    plan = make_plan(replace(ordered, budget_minutes=0.9), store)
    assert 0.9 * 0.9 <= plan.run_time.minutes <= 0.9
    ample = [finding for finding in plan.findings if finding.key == "budget-ample"]
    assert bool(ample) == (plan.run_time.minutes < 0.98 * 0.9)
    # And where more than two hundredths are left, it is said.
    assert plan.order is not None and plan.budget is not None
    for minutes, said in ((0.8, ["budget-ample"]), (0.89, [])):
        assert [finding.key for finding in order_findings(plan.budget, replace(plan.order, minutes=minutes, cusp=0.1))] == said


def test_the_same_minutes_give_the_same_whatever_was_planned_before(ordered: Request, store: ResultStore) -> None:
    # Nor does it matter what cusp height or spacing was asked for before.
    asked = (replace(ordered, budget_minutes=2.5), store), (replace(ordered, budget_minutes=2.5, cusp=0.2, spacing=3.0), ResultStore())
    plans = [make_plan(request, kept) for request, kept in asked]
    assert plans[0].order == plans[1].order and np.array_equal(plans[0].path.points, plans[1].path.points)


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
    assert plan.order is not None and not plan.order.is_met and f"{plan.order.minutes:.1f} minutes" in str(finding.remedy)
    # Nothing that was asked for takes less: every fitting cutter at the same cusp height and its fastest feed.
    for cutter in RACK[:2]:
        other = make_plan(replace(ordered, meet_budget=False, budget_minutes=None, cutter=cutter, cusp=0.5, feed=plan.request.feed), store)
        assert plan.run_time.minutes <= 1.001 * other.run_time.minutes


def test_a_named_cutter_is_kept(ordered: Request, store: ResultStore) -> None:
    plan = make_plan(replace(ordered, cutter=RACK[0], budget_minutes=2.0), store)
    assert plan.cutter == RACK[0] and 1.96 <= plan.run_time.minutes <= 2.0


# ---- sets of cutters: ground that only a small ball reaches, and minutes that a large one saves


def dished(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """A gentle dome with a short groove at its bottom, which a ball of 4 mm follows and one of 8 mm does not."""
    dome = 22 - ((x - 70) ** 2 + (y - 50) ** 2) / 700
    from_axis = np.hypot(np.maximum(np.abs(x - 70) - 12, 0) * 0.6, y - 50)
    return dome - 2.5 * np.exp(-((from_axis / 5.5) ** 2))


@pytest.fixture(scope="module")
def of_sets() -> Request:
    rack = (Cutter("Round-nose 6", 6.0, feed=2500.0), Cutter("Round-nose 12", 12.0), Cutter("Round-nose 32", 32.0))
    body = make_body("dished", block(dished, 140.0, 100.0, 1.0))
    machine = Machine(tool_change_minutes=0.3)
    return Request(body, rack=rack, cell=1.0, lines_from="edge", line_angle=0.0, meet_budget=True, machine=machine)


@pytest.fixture(scope="module")
def of_sets_store() -> ResultStore:
    return ResultStore()


@pytest.mark.parametrize("minutes", [3.5, 5.0])
def test_a_set_with_its_smaller_cutters_and_changes_takes_the_minutes(of_sets: Request, of_sets_store: ResultStore, minutes: float) -> None:
    plans = finished(side_plans(replace(of_sets, budget_minutes=minutes), of_sets_store))
    assert len(plans) == 2 and plans[0].cutter.diameter == 32.0
    taken = total_minutes(plans)
    assert 0.98 * minutes <= taken <= minutes
    order = plans[0].order
    assert order is not None and order.minutes == pytest.approx(taken, abs=1e-9)
    assert order.cutters == tuple(plan.cutter for plan in plans) and order.is_met
    assert order.cutters in {row.cutters for row in plans[0].sets.rows}, "it is a row of the table"
    for plan in plans:
        most = min(greatest_feed(wood_named("hardwood"), plan.cutter.spindle_speed, plan.cutter.flutes), plan.request.machine.speed_x)
        assert plan.path.feed[plan.path.kind == CUT].max() <= most
    assert not [finding for plan in plans for finding in plan.findings if finding.key == "budget-missed"]


def test_a_named_cutter_with_smaller_ones_after_it_is_an_order_too(of_sets: Request, of_sets_store: ResultStore) -> None:
    request = replace(of_sets, cutter=of_sets.rack[1], smaller_cutters=True, budget_minutes=4.0)
    plans = finished(side_plans(request, of_sets_store))
    taken = total_minutes(plans)
    assert plans[0].cutter == of_sets.rack[1] and 0.98 * 4.0 <= taken <= 4.0


def test_a_named_set_is_kept_and_its_least_is_said_where_it_is_too_slow(of_sets: Request, of_sets_store: ResultStore) -> None:
    request = replace(of_sets, cutter=of_sets.rack[2], following_cutters=(of_sets.rack[0],), budget_minutes=0.5)
    plans = finished(side_plans(request, of_sets_store))
    assert [plan.cutter.diameter for plan in plans] == [32.0, 6.0]
    (missed,) = [finding for plan in plans for finding in plan.findings if finding.key == "budget-missed"]
    taken = total_minutes(plans)
    assert missed.must_see and f"{taken:.1f} minutes: cutters 32 mm, 6 mm" in str(missed.remedy)


def test_a_budget_that_is_held_against_a_set_counts_all_of_it(of_sets: Request, of_sets_store: ResultStore) -> None:
    request = replace(of_sets, meet_budget=False, cutter=of_sets.rack[2], following_cutters=(of_sets.rack[0],), budget_minutes=0.5)
    plans = finished(side_plans(request, of_sets_store))
    (missed,) = [finding for plan in plans for finding in plan.findings if finding.key == "budget-missed"]
    assert f"{total_minutes(plans) - 0.5:.1f} over the budget" in str(missed.sentence)


def test_a_rim_pass_that_is_left_open_is_within_the_budget(of_sets: Request, of_sets_store: ResultStore) -> None:
    plans = finished(side_plans(replace(of_sets, rim_pass="auto", budget_minutes=5.0), of_sets_store))
    assert total_minutes(plans) <= 5.0
    assert plans[0].order is not None and plans[0].order.minutes == pytest.approx(total_minutes(plans), abs=1e-9)
