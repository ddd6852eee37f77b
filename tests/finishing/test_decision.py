"""Deciding on plans: time budget, what ground and grain cost in minutes, and plans side by side."""

from __future__ import annotations

from dataclasses import asdict, replace
from itertools import pairwise

import numpy as np
import pytest
from shapes import block

from addon.finishing.core.errors import BadFile
from addon.finishing.core.path import CUT
from addon.finishing.files.plan_record import plan_record, read_record, record_bytes, settings_record, with_settings
from addon.finishing.job.body import Body, make_body
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.machine import CORNER_SPEED, Machine
from addon.finishing.job.other_operations import OtherOperation
from addon.finishing.job.request import Request
from addon.finishing.job.stock import StockSettings, grain_on, job_from_body, resolve_stock
from addon.finishing.options.budget_ladder import Ladder, expected_advice
from addon.finishing.options.grain import across_grain
from addon.finishing.options.trade_off import minutes_at
from addon.finishing.planning.comparison import HEADER, comparison_text, figures_from, figures_of
from addon.finishing.planning.plan import make_plan

BUDGET = 0.7
"""Minutes: less than the small block takes."""


def wavy(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    return 15 + 2 * np.cos(2 * np.pi * x / 70) + 1.5 * np.sin(2 * np.pi * y / 55)


@pytest.fixture(scope="module")
def body() -> Body:
    return make_body("wavy block", block(wavy, 80, 60, 0.8))


@pytest.fixture(scope="module")
def cutters() -> tuple[Cutter, ...]:
    return Cutter("Round-nose 8", 8.0), Cutter("Round-nose 12", 12.0)


@pytest.fixture(scope="module")
def plan(body: Body, cutters: tuple[Cutter, ...]):  # noqa: ANN201
    return make_plan(Request(body, rack=cutters, lines_from="edge", line_angle=0.0, budget_minutes=BUDGET, cell=0.5))


def test_prediction_for_another_cusp_agrees_with_a_plan_laid_for_it(plan) -> None:  # noqa: ANN001
    # The dial's promise against a plan that is really laid: run time over least minutes measured at one cusp, asked at another.
    other = make_plan(replace(plan.request, cusp=0.1, budget_minutes=None))
    row = next(row for row in plan.rack if row.cutter == plan.cutter)
    ratio = float(minutes_at(row, np.array([0.1]))[0]) / float(minutes_at(row, np.array([0.05]))[0])
    assert other.run_time.minutes == pytest.approx(plan.run_time.minutes * ratio, rel=0.08)


# ---- time budget


def ladder(diameter: float, minutes: float, enough: bool = True) -> Ladder:
    cutter = Cutter(f"Round-nose {diameter:g}", diameter)
    return Ladder((cutter,), (3500.0,), (7000.0,), (minutes,), (minutes / 2,), change_minutes=0.0, coarsest=0.5, enough=enough)


def test_finest_is_the_largest_fitting_cutter_on_level_ground() -> None:
    # On flat ground minutes go with 1/sqrt(R): the larger cutter leaves the finer cusp in the same time, as long as it fits.
    ladders = [ladder(d, 60.0 / np.sqrt(d), enough=d < 32.0) for d in (8.0, 16.0, 32.0)]
    advice = expected_advice(ladders, 18.0)
    assert advice is not None and advice.cutters[0].diameter == 16.0 and advice.is_met
    # 15 minutes at 0.05 mm, and the least length goes with one over the root of h (1 - h / 2R): the cusp metric's only factor with h.
    assert 15.0 * np.sqrt(0.05 * (1 - 0.05 / 16) / (advice.cusp * (1 - advice.cusp / 16))) == pytest.approx(18.0)
    # Less time: the feed goes up first, then the cusp height gives way up to what roughing has left.
    faster = expected_advice(ladders, 10.0)
    assert faster is not None and faster.cusp == pytest.approx(0.05) and faster.feeds[0] == pytest.approx(3500 * 15 / 10, rel=0.001)
    coarser = expected_advice(ladders, 3.0)
    assert coarser is not None and coarser.cusp > 0.05 and coarser.feeds == (7000.0,)
    least = expected_advice(ladders, 0.5)
    assert least is not None and not least.is_met and least.cusp == pytest.approx(0.5)
    assert expected_advice(ladders, 0.0) is None


def test_minutes_only_fall_along_a_ladder() -> None:
    cutters = tuple(Cutter(f"Round-nose {d:g}", d) for d in (25.0, 6.0))
    of_two = Ladder(cutters, (3500.0, 2500.0), (5000.0, 5000.0), (9.0, 2.0), (7.0, 1.5), change_minutes=1.0, coarsest=0.5)
    minutes = [of_two.minutes(of_two.rung(place)) for place in np.linspace(0, 3, 61)]
    assert all(a > b > 1.0 for a, b in pairwise(minutes))
    assert of_two.minutes(of_two.rung(of_two.place_for(10.0))) == pytest.approx(10.0)


def test_budget_answer_names_measures_with_their_minutes(plan) -> None:  # noqa: ANN001
    answer = plan.budget
    assert answer.for_finishing == BUDGET
    finding = next(f for f in plan.findings if f.key == "budget-missed")
    assert f"{plan.run_time.minutes - BUDGET:.1f} over the budget of {BUDGET:g}." in str(finding.sentence)
    assert "What helps most" in str(finding.remedy) and str(answer.measures[0].sentence) in str(finding.remedy)
    assert [m.minutes for m in answer.measures] == sorted(m.minutes for m in answer.measures)
    # Its answer holds: the plan with that cusp height, feed and cutter keeps to the budget. It is a prediction, 15 % early here.
    advice = answer.advice
    met = make_plan(replace(plan.request, cutter=advice.cutters[0], cusp=advice.cusp, feed=advice.feeds[0], budget_minutes=None))
    assert 0.8 * BUDGET < met.run_time.minutes < 1.02 * BUDGET
    # Every measure says which settings do it.
    assert all(measure.changes for measure in answer.measures)


def test_a_budget_speaks_for_the_same_whatever_is_planned(plan) -> None:  # noqa: ANN001
    others = [
        make_plan(replace(plan.request, **changes))
        for changes in ({"cusp": 0.1}, {"cutter": plan.request.rack[0], "spacing": 1.0}, {"line_angle": 90.0, "feed": 2000.0})
    ]
    assert [other.budget.advice for other in others] == [plan.budget.advice] * 3
    sets = {row.cutters for row in plan.sets.rows}
    assert plan.budget.advice.cutters in sets
    named = {change.value for measure in plan.budget.measures for change in measure.changes if change.setting == "cutters"}
    assert named <= {row.name for row in plan.sets.rows}


def test_other_operations_take_their_minutes_from_the_side(plan) -> None:  # noqa: ANN001
    others = (OtherOperation("Roughing", "Flat 22", 20.0), OtherOperation("Drilling", "Drill 8", 3.0, side="back"))
    request = replace(plan.request, elsewhere=others, budget_minutes=30.0)
    answer = make_plan(request).budget
    assert answer.for_finishing == pytest.approx(30.0 - 20.0 - request.machine.tool_change_minutes)


def test_other_operations_keep_their_key_in_settings_files(body: Body) -> None:
    # The key as the README shows it and as files of earlier versions hold it.
    record = {"elsewhere": [{"name": "Roughing", "cutter": "Flat 22", "minutes": 20}]}
    request = with_settings(Request(body), record)
    assert request.elsewhere == (OtherOperation("Roughing", "Flat 22", 20),)
    assert settings_record(request)["elsewhere"] == [asdict(request.elsewhere[0])]


def test_skip_is_reported_in_minutes(body: Body, cutters: tuple[Cutter, ...], plan) -> None:  # noqa: ANN001
    middle = body.triangles.mean(axis=1)
    skip = (np.abs(middle[:, 0] - 40) < 12) & (np.abs(middle[:, 1] - 30) < 10) & (middle[:, 2] > 5)
    # What is told counts lengths, not the turns at the new ends of lines: a control that passes corners at a corner speed loses little there.
    quick = replace(plan.request, cutter=plan.cutter, machine=Machine(corners=CORNER_SPEED), budget_minutes=None, rack_table=False)
    plan, skipped = make_plan(quick), make_plan(replace(quick, body=replace(body, skip=skip)))
    saves = next(f for f in skipped.findings if f.key == "skip-saves")
    told = dict(saves.sentence.values)["minutes"]
    assert told == pytest.approx(plan.run_time.minutes - skipped.run_time.minutes, abs=0.15 + 0.25 * told)
    assert saves.place[:2] == pytest.approx((65.0, 55.0), abs=1.5)  # the middle of the patch, 25 mm in from the stock's corner


# ---- grain


def test_grain_is_weighed_against_minutes(body: Body, cutters: tuple[Cutter, ...]) -> None:
    # The block is longer in x: passes along x have fewer turns. Grain along y is followed once its weight pays for the minutes.
    base = Request(body, cutter=cutters[1], rack_table=False, cell=0.5, grain_angle=90.0, grain_share=0.0)
    quick = make_plan(base)
    heavy = make_plan(replace(base, grain_share=1.0))

    def across(plan) -> float:  # noqa: ANN001
        return across_grain(plan.path.lines(), 90.0)

    assert across(heavy) < 0.1 < across(quick)
    assert heavy.grain.cost_minutes >= 0
    assert any(f.key == "grain" for f in heavy.findings + quick.findings)


def test_the_back_shows_the_same_grain_in_a_mirror(body: Body, cutters: tuple[Cutter, ...]) -> None:
    # An arrow drawn on the side that is cut first, turned over with the stock.
    stock = resolve_stock(StockSettings(), np.zeros(3), np.array([100.0, 80.0, 20.0]))
    first, second = (job_from_body(stock, side)[:3, :3] for side in ("top", "back"))
    x, y, _ = second @ first.T @ np.array([np.cos(np.radians(40)), np.sin(np.radians(40)), 0.0])
    assert (np.degrees(np.arctan2(y, x)) + 40.0) % 180 == pytest.approx(0.0, abs=1e-9)
    assert (grain_on("back", "top", 40.0), grain_on("top", "top", 40.0), grain_on("top", "back", 40.0)) == (-40.0, 40.0, -40.0)
    assert grain_on("back", "top", None) is None
    plan = make_plan(Request(body, side="back", cutter=cutters[1], rack_table=False, cell=0.5, grain_angle=40.0, grain_share=1.0))
    assert across_grain(plan.path.lines(), -40.0) < 0.1 < 0.5 < across_grain(plan.path.lines(), 40.0)


# ---- comparing


def test_figures_survive_the_file_and_stand_side_by_side(plan) -> None:  # noqa: ANN001
    figures = figures_of(plan, "one")
    record = read_record(record_bytes(plan_record(plan)))
    again = replace(figures_from(record), name="one")
    assert again == figures
    assert again.length == pytest.approx(plan.path.length_of(CUT) / 1000)
    text = comparison_text([figures, replace(figures, name="two", minutes=99.0)])
    lines = text.splitlines()
    assert len(lines) == len(HEADER) and "one" in lines[0] and "two" in lines[0]
    assert lines[HEADER.index("minutes")].split()[-1] == "99.0"
    with pytest.raises(BadFile, match="holds no figures"):
        figures_from({"schema": 1})
