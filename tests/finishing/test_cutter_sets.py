"""Sets of cutters: what is chosen, what it is said to take, and that no sentence contradicts the table."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import permutations

import numpy as np
import pytest
from rack_rows import rack_row
from shapes import block

from addon.finishing.core.array_types import FloatArray
from addon.finishing.core.errors import BadRequest
from addon.finishing.core.result_store import ResultStore
from addon.finishing.core.stage_runner import StageRunner
from addon.finishing.core.stepping import finished
from addon.finishing.files.summary import summary
from addon.finishing.job.body import Body, make_body
from addon.finishing.job.cutter import DEFAULT_RACK, Cutter
from addon.finishing.job.ground_settings import FitSettings
from addon.finishing.job.machine import Machine
from addon.finishing.job.request import Request
from addon.finishing.job.roughing import RoughingSettings
from addon.finishing.job.tool_changes import tool_changes
from addon.finishing.options.cutter_sets import LEFT_PASS_SHARE, WORTH_A_CUTTER, SetCosts, SetTable, run_minutes, weighed_sets
from addon.finishing.options.missing_cutter import MissingCutter
from addon.finishing.options.pass_minutes import slowness_along_x
from addon.finishing.options.reach import Reach, run_over
from addon.finishing.planning.both_sides import both_sides_steps
from addon.finishing.planning.plan import make_plan
from addon.finishing.planning.plan_graph import PLAN_GRAPH
from addon.finishing.planning.result import Plan
from addon.finishing.planning.smaller_cutters import side_plans, total_minutes

RACK = tuple(cutter for cutter in DEFAULT_RACK if cutter.diameter in (8.0, 16.0, 32.0))


def grooved(x: FloatArray, y: FloatArray) -> FloatArray:
    """A gentle dome with a short groove of 4.7 mm radius at its bottom, which a ball of 4 mm follows and one of 8 mm does not."""
    dome = 24 - ((x - 60) ** 2 + (y - 45) ** 2) / 500
    from_axis = np.hypot(np.maximum(np.abs(x - 60) - 15, 0) * 0.6, y - 45)
    return dome - 3.2 * np.exp(-((from_axis / 5.5) ** 2))


@pytest.fixture(scope="module")
def body() -> Body:
    return make_body("grooved", block(grooved, 120.0, 90.0, 0.75))


@pytest.fixture(scope="module")
def request_of(body: Body) -> Request:
    return Request(body, rack=RACK, cell=0.75, lines_from="edge", line_angle=0.0, machine=Machine(tool_change_minutes=0.2))


@pytest.fixture(scope="module")
def plans(request_of: Request) -> tuple[Plan, ...]:
    return finished(side_plans(request_of, ResultStore()))


def test_a_short_groove_does_not_make_the_whole_side_small(plans: tuple[Plan, ...]) -> None:
    sets = plans[0].sets
    assert sets is not None and len(plans) == 2
    assert tuple(plan.cutter for plan in plans) == sets.best.cutters and plans[0].cutter.diameter > plans[1].cutter.diameter
    alone = next(row for row in sets.rows if row.cutters == (plans[1].cutter,))
    assert sets.best.minutes < alone.minutes
    # The table in the summary has its best set first, marked.
    lines = summary(plans[0]).split("\n")
    head = next(k for k, line in enumerate(lines) if line.split()[:2] == ["cutters", "mm"])
    assert lines[head + 1].split()[0] == sets.best.name and lines[head + 1].endswith("soonest")


def test_what_a_set_is_said_to_take_is_what_its_plans_take(plans: tuple[Plan, ...]) -> None:
    # The reach of this project: within 10 % of the plan laid. This body has taken part in the choice of LEFT_PASS_SHARE; those below have not.
    sets = plans[0].sets
    assert sets is not None
    laid = total_minutes(plans)
    assert sets.best.minutes == pytest.approx(laid, rel=0.10)


SMOOTH: dict[str, Callable[[FloatArray, FloatArray], FloatArray]] = {
    "dish": lambda x, y: 12 + 4 * ((x - 65) / 65) ** 2 + 3 * ((y - 40) / 40) ** 2,
    "saddle": lambda x, y: 18 + 3 * ((x - 65) / 65) ** 2 - 3 * ((y - 40) / 40) ** 2,
    "waves": lambda x, y: 16 + 1.2 * np.sin(x / 9) * np.cos(y / 11),
}


@pytest.mark.parametrize("form", SMOOTH)
def test_minutes_of_bodies_that_nothing_was_fitted_on(form: str) -> None:
    smooth = make_body(form, block(SMOOTH[form], 130.0, 80.0, 1.0))
    made = finished(side_plans(Request(smooth, rack=RACK, cell=0.75, machine=Machine(tool_change_minutes=0.3)), ResultStore()))
    sets = made[0].sets
    assert sets is not None and sets.best.minutes == pytest.approx(total_minutes(made), rel=0.10)


def test_the_first_cutter_hands_on_what_it_leaves(plans: tuple[Plan, ...]) -> None:
    keys = [[finding.key for finding in plan.findings] for plan in plans]
    assert "left-to-smaller" in keys[0] and not {"cutter-too-large", "no-cutter-fits"} & {*keys[0], *keys[1]}
    assert plans[1].fit.fits


def test_a_cutter_that_rubs_beside_the_channel_is_in_no_set(request_of: Request) -> None:
    # With its axis over the rim a ball of 32 mm reaches 16 mm beyond it, one of 16 mm only 8.
    narrow = replace(request_of, roughing=RoughingSettings(channel_width=12.0))
    plan = make_plan(narrow)
    assert plan.sets is not None
    kept_out = {row.cutter.diameter for row in plan.sets.kept_out}
    assert kept_out == {32.0} and plan.cutter.diameter < 32.0
    assert "The 32 mm cutter is in no set" in summary(plan)
    assert not {finding.key for finding in plan.findings} & {"channel", "shank", "collet-nut"}
    # Taken in spite of that, it does what the table says.
    rubbing = make_plan(replace(narrow, cutter=RACK[-1], rack_table=False))
    assert "channel" in {finding.key for finding in rubbing.findings}
    # In a wider channel it may come along.
    wide = make_plan(replace(request_of, roughing=RoughingSettings(channel_width=40.0)))
    assert wide.sets is not None and not wide.sets.kept_out


def test_table_and_plan_say_the_same_of_the_cutter(body: Body) -> None:
    # On cells finer than the table's too.
    small = make_body("part", block(lambda x, y: grooved(x + 40, y + 30), 40.0, 30.0, 0.75))
    plan = make_plan(Request(small, cutter=RACK[1], rack=RACK, cell=0.3, lines_from="edge", line_angle=0.0))
    row = next(row for row in plan.rack if row.cutter == plan.cutter)
    assert (row.fits, row.uncut_area, row.uncut_height) == (plan.fit.fits, plan.fit.area, plan.fit.height)


def test_a_named_set_is_planned_as_named(request_of: Request) -> None:
    large, small = RACK[2], RACK[0]
    plans = finished(side_plans(replace(request_of, cutter=large, following_cutters=(small,)), ResultStore()))
    assert tuple(plan.cutter for plan in plans) == (large, small)
    # On level ground nothing is left for the smaller one, which is told.
    level = make_body("level", block(lambda x, y: 10 + 0 * x, 40.0, 30.0, 2.0))
    (alone,) = finished(side_plans(replace(request_of, body=level, cutter=large, following_cutters=(small,)), ResultStore()))
    assert "nothing-for-smaller" in {finding.key for finding in alone.findings}


@pytest.mark.parametrize(
    ("cutter", "following", "words"),
    [
        (None, RACK[:1], "not the one that they follow"),
        (RACK[0], RACK[1:2], "the largest first"),
        (RACK[1], RACK[1:2], "the largest first"),
        (RACK[2], (RACK[1], RACK[0], Cutter("Round-nose 6", 6.0)), "at most 2"),
    ],
)
def test_sets_that_cannot_take_turns_are_refused(request_of: Request, cutter: Cutter | None, following: tuple[Cutter, ...], words: str) -> None:
    with pytest.raises(BadRequest, match=words):
        make_plan(replace(request_of, cutter=cutter, following_cutters=following))


def reach_with(diameter: float, seconds: float, left: FloatArray) -> Reach:
    """A cutter that takes some seconds for every cell of a side of 10 x 10 cells, without turns."""
    cells = np.arange(100, dtype=np.int32)
    return Reach(
        cutter=Cutter(f"Round-nose {diameter:g}", diameter),
        contact=cells,
        place=cells,
        shape=(10, 10),
        seconds=np.full((100, 2), seconds, np.float32),
        density=np.zeros((100, 2), np.float32),
        left=left,
        sample=1.0,
        turn_seconds=0.0,
        hop_seconds=0.0,
    )


@pytest.mark.parametrize("seed", range(8))
def test_the_best_of_all_sets_by_a_plain_twin(seed: int) -> None:
    # Four cutters whose leftovers lie within each other; every set tried by hand.
    rng = np.random.default_rng(seed)
    depth = rng.random((10, 10))
    diameters, limits = [4.0, 8.0, 16.0, 32.0], np.sort(rng.random(4))[::-1]
    seconds = np.sort(rng.uniform(0.2, 3.0, 4))[::-1]
    reaches = [reach_with(d, s, depth > limit) for d, s, limit in zip(diameters, seconds, limits, strict=True)]
    rows = [
        replace(rack_row(d, 1.0), cutter=one.cutter, uncut_area=float(one.left.sum()), fits=False) for d, one in zip(diameters, reaches, strict=True)
    ]
    costs = SetCosts(cell=1.0, overlap=0.0, hand_work=5.0, change_minutes=0.3)
    table = weighed_sets(reaches, rows, costs)
    least = min(row.uncut_area for row in rows)
    best = (np.inf, np.inf)
    for count in (1, 2, 3):
        for chosen in permutations(range(4), count):
            if list(chosen) != sorted(chosen, reverse=True) or rows[chosen[-1]].uncut_area > least + 5.0:
                continue
            shares = [100, *(int(reaches[k].left.sum()) for k in chosen[:-1])]
            if 0 in shares:
                continue
            factors = [1.0, *[LEFT_PASS_SHARE] * (count - 1)]
            taken = sum(factor * share * seconds[k] for factor, share, k in zip(factors, shares, chosen, strict=True))
            minutes = taken / 60 + 0.3 * (count - 1)
            best = min(best, (minutes * (1 + WORTH_A_CUTTER * (count - 1)), minutes))
    # Of sets that take nearly the same, the one with fewer cutters counts as the sooner.
    assert table.best.minutes == pytest.approx(best[1], rel=1e-5)
    assert all(row.minutes * (1 + WORTH_A_CUTTER * row.changes) >= best[0] * (1 - 1e-5) for row in table.rows if row.enough)


def test_ground_that_may_be_left_to_hand_work_saves_the_smaller_cutter() -> None:
    left = np.zeros((10, 10), bool)
    left[4, 4:7] = True
    reaches = [reach_with(8.0, 2.0, np.zeros((10, 10), bool)), reach_with(16.0, 1.0, left)]
    rows = [replace(rack_row(8.0, 1.0), cutter=reaches[0].cutter), replace(rack_row(16.0, 1.0), cutter=reaches[1].cutter, uncut_area=3.0)]
    costs = SetCosts(cell=1.0, overlap=0.0, hand_work=0.0, change_minutes=0.1)
    assert weighed_sets(reaches, rows, costs).best.name == "16,8"
    assert weighed_sets(reaches, rows, replace(costs, hand_work=5.0)).best.name == "16"
    # A change that costs more than it gains is left out.
    assert weighed_sets(reaches, rows, replace(costs, change_minutes=5.0)).best.name == "8"


def test_tool_changes_are_counted_where_cutters_differ() -> None:
    small, middle, large = RACK
    assert tool_changes([large, small]) == 1 and tool_changes([large, large]) == 0 and tool_changes([large]) == 0
    assert tool_changes([large, small], in_spindle=large) == 1 and tool_changes([large, small], in_spindle=middle) == 2


def test_a_cutter_that_is_in_the_spindle_saves_its_change() -> None:
    nothing = np.zeros((10, 10), bool)
    reaches = [reach_with(8.0, 2.0, nothing), reach_with(16.0, 1.0, nothing)]
    rows = [replace(rack_row(each.cutter.diameter, 1.0), cutter=each.cutter) for each in reaches]
    costs = SetCosts(cell=1.0, overlap=0.0, hand_work=0.0, change_minutes=5.0)
    without = weighed_sets(reaches, rows, costs)
    assert without.best.name == "16" and {row.changes for row in without.rows} == {0}
    small, large = weighed_sets(reaches, rows, replace(costs, in_spindle=reaches[0].cutter)).rows
    assert (small.name, small.changes, large.name, large.changes) == ("8", 0, "16", 1)
    assert large.minutes == pytest.approx(without.best.minutes + 5.0)


def test_the_second_side_knows_what_the_first_has_left_in_the_spindle(request_of: Request) -> None:
    """A back that the largest cutter would finish sooner, by less than a change takes."""
    request = replace(request_of, cell=1.5)
    for minutes, changed in ((0.0, True), (30.0, False)):
        plans = finished(both_sides_steps(replace(request, machine=Machine(tool_change_minutes=minutes)), ResultStore())).in_running_order
        top, back = ([plan for plan in plans if plan.request.side == side] for side in ("top", "back"))
        assert [plan.request.side for plan in plans] == ["top"] * len(top) + ["back"] * len(back)
        assert back[0].request.cutter_in_spindle == top[-1].cutter
        assert (back[0].cutter != top[-1].cutter) == changed
        runs = sum(plan.run_time.minutes for plan in plans)
        assert total_minutes(plans) == pytest.approx(runs + minutes * (len(top) - 1 + changed + len(back) - 1))
    turned = replace(request, stock=replace(request.stock, first_side="back"))
    assert finished(both_sides_steps(turned, ResultStore())).in_running_order[0].request.side == "back"


def test_speed_along_a_slope_is_what_z_allows() -> None:
    # Closed form: on a plane of 45 degrees Z runs at its greatest speed when the feed is its speed times the root of 2.
    x = np.arange(200.0)
    tip = np.broadcast_to(x, (5, 200)).copy()
    machine = Machine(speed_z=600.0)
    slow = slowness_along_x(tip, np.ones(tip.shape, bool), 1.0, machine, 3500.0, 20.0)
    assert 1 / slow[2, 100] == pytest.approx(10 * np.sqrt(2), rel=1e-6)
    level = slowness_along_x(tip * 0, np.ones(tip.shape, bool), 1.0, machine, 3500.0, 20.0)
    assert 1 / level[2, 100] == pytest.approx(3500 / 60, rel=1e-6) and 1 / level[2, 0] == pytest.approx(20.0)


def test_turns_of_a_rectangle_are_its_lines() -> None:
    # By construction: passes 2 mm apart over 20 x 40 mm; 20 lines of 20 mm along x make 20 turns, 10 lines along y make 10.
    rows, columns = np.indices((40, 20))
    cells = (rows * 20 + columns).ravel().astype(np.int32)
    reach = replace(
        reach_with(8.0, 0.0, np.zeros((40, 20), bool)), contact=cells, place=cells, shape=(40, 20),
        seconds=np.ones((800, 2), np.float32), density=np.full((800, 2), 0.5, np.float32), turn_seconds=1.0,
    )  # fmt: skip
    run = run_over(reach, None)
    assert run is not None and run.turns == pytest.approx((20.0, 10.0)) and run.parts == 1
    assert run_minutes(reach, run) > 800 / 60


def test_what_runs_free_ahead_runs_free_when_laid(request_of: Request) -> None:
    # Every cutter of the rack, ahead of its path and along it.
    for cutter in RACK:
        asked = replace(request_of, cutter=cutter, rack_table=False, roughing=RoughingSettings(channel_width=12.0))
        found = finished(StageRunner(PLAN_GRAPH, ResultStore()).ask(("contacts_ahead", "contacts"), asked))
        assert bool(found["contacts_ahead"]) == bool(found["contacts"]), cutter.name


def test_the_tolerated_area_is_what_may_be_left(request_of: Request) -> None:
    plan = make_plan(replace(request_of, fit=FitSettings(uncut_area=5000.0)))
    assert plan.sets is not None and len(plan.sets.best.cutters) == 1


def test_the_cutter_that_is_missing_does_what_is_said_of_it(request_of: Request) -> None:
    # Said from its neighbours on the rack; then it is put on the rack and weighed like any other.
    level = make_body("level", block(lambda x, y: 20 - ((x - 60) ** 2 + (y - 45) ** 2) / 500, 120.0, 90.0, 1.5))
    large = RACK[2]
    rack = (large, replace(large, name="Round-nose 48", diameter=48.0))
    hollow = make_body("hollow", block(lambda x, y: 6 + ((x - 60) ** 2 + (y - 45) ** 2) / 40, 120.0, 90.0, 1.5))
    asked = replace(request_of, body=hollow, rack=rack, cell=1.0, roughing=RoughingSettings(channel_width=80.0))
    found = finished(StageRunner(PLAN_GRAPH, ResultStore()).ask(("missing_cutter",), asked))["missing_cutter"]
    assert isinstance(found, MissingCutter) and found.followed_by is None and 32 < found.diameter < 48
    there = replace(large, name="new", diameter=found.diameter)
    after = finished(StageRunner(PLAN_GRAPH, ResultStore()).ask(("cutter_sets",), replace(asked, rack=(*rack, there))))["cutter_sets"]
    assert isinstance(after, SetTable) and after.best.cutters == (there,)
    # The reach of this project for predicted minutes.
    assert found.minutes == pytest.approx(after.best.minutes, rel=0.10)
    # Where the largest cutter of the rack does it all, none is missing.
    enough = finished(StageRunner(PLAN_GRAPH, ResultStore()).ask(("missing_cutter",), replace(asked, body=level)))["missing_cutter"]
    assert enough is None
