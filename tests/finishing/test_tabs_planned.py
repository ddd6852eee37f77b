"""Plans with tabs: no part of the tool enters them on either side, what lies in them is named, and files tell where they stand."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest
from rim_bodies import ellipse, plate
from shapely import Point, Polygon
from small_jobs import two_sides

from addon.finishing.core.grid import Grid
from addon.finishing.core.path import CUT, LIFT
from addon.finishing.core.result_store import ResultStore
from addon.finishing.files.bench_sheet import bench_sheet
from addon.finishing.files.plan_record import plan_record, read_record, record_bytes, with_settings
from addon.finishing.files.summary import summary
from addon.finishing.job.body import make_body
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.dowels import DowelSettings
from addon.finishing.job.request import Request
from addon.finishing.job.stock import StockSettings
from addon.finishing.job.tabs import Tab, TabSettings
from addon.finishing.planning.plan import make_plan
from addon.finishing.planning.result import Plan
from addon.finishing.planning.run_list import in_running_order
from addon.finishing.planning.tab_findings import tab_findings
from addon.finishing.tooling.tab_ground import inward_reach, tab_ground
from addon.finishing.tooling.tab_strength import SAFETY

CUTTER = Cutter("Round-nose 10", 10.0, usable_length=25.0, shank_diameter=10.0, stick_out=40.0)


def rounded(share: np.ndarray) -> np.ndarray:
    """A top that falls by 11 of 20 mm towards its rim, so that a tab in the middle of the rim lies in it."""
    return 20 - 11 * share**4


@pytest.fixture(scope="module")
def sides() -> tuple[Plan, Plan, Plan]:
    """Top without tabs, and both sides with four of them."""
    body = make_body("cushion", plate(ellipse(120.0, 84.0), 120.0, 20.0, rounded))
    bare = Request(
        body, cutter=CUTTER, rack=(CUTTER,), rack_table=False, cell=1.0, cusp=0.1, lines_from="edge", line_angle=0.0, stock=StockSettings(margin=40.0)
    )
    held = replace(bare, tabs=TabSettings(count=4, width=10.0, height=9.0, height_in_stock=6.0), dowels=DowelSettings(count=2))
    store = ResultStore()
    return make_plan(bare, store), make_plan(held, store), make_plan(replace(held, side="back"), store)


def test_no_tabs_are_the_default_and_tell_nothing(sides: tuple[Plan, Plan, Plan]) -> None:
    assert sides[0].held is None and plan_record(sides[0])["tabs"] is None
    assert not any("tab" in finding.key.split("-") for finding in two_sides()[0].findings)


def test_no_part_of_the_ball_enters_a_tab(sides: tuple[Plan, Plan, Plan]) -> None:
    # On the back they lie deep below the surface here: test_tabs_kept_off.py looks at both sides, and at every part of the tool.
    plan = sides[1]
    assert plan.held is not None and len(plan.held.tabs) == 4
    points, radius = plan.path.points, CUTTER.radius
    moves = np.diff(points, axis=0)
    count = np.maximum(np.ceil(np.linalg.norm(moves, axis=1) / 0.3).astype(int), 1)
    tips = np.concatenate([a + np.linspace(0, 1, k)[:, None] * move for a, move, k in zip(points[:-1], moves, count, strict=True)])
    near = 0
    for tab in plan.held.tabs:
        shape = Polygon(tab.corners())
        for x, y, z in tips[(np.hypot(*(tips[:, :2] - tab.place).T) < 40) & (tips[:, 2] < tab.high)]:
            # The cutter is as wide as its ball from the equator on up.
            away = shape.distance(Point(x, y))
            assert np.hypot(away, max(z + radius - tab.high, 0.0)) >= radius - 0.02
            near += 1
    assert near > 50  # it does run beside them
    assert not any(finding.hits for finding in plan.findings)


def test_the_same_tabs_stand_on_both_sides(sides: tuple[Plan, Plan, Plan]) -> None:
    top, back = sides[1], sides[2]
    assert top.held is not None and back.held is not None
    for here, there in zip(top.held.tabs, back.held.tabs, strict=True):
        levels = []
        for plan, tab in ((top, here), (back, there)):
            away = np.linalg.inv(plan.job_from_body)
            corners = np.array([[*tab.place, tab.low, 1.0], [*tab.place, tab.high, 1.0], [*tab.end, tab.low, 1.0]]) @ away.T
            levels.append((corners[0, :2], corners[2, :2], sorted(corners[:2, 2])))
        for one, other in zip(*levels, strict=True):
            assert one == pytest.approx(other, abs=1e-9)


def test_links_and_hops_pass_over_tabs_and_lines_stay_as_they_are_elsewhere(sides: tuple[Plan, Plan, Plan]) -> None:
    bare, held = sides[0], sides[1]
    assert held.held is not None
    far = np.min([np.hypot(*(bare.path.points[:, :2] - tab.place).T) for tab in held.held.tabs], axis=0) > 30
    cut = bare.path.points[far & (bare.path.kind == CUT)]
    kept = {tuple(point) for point in np.round(held.path.points[held.path.kind == CUT], 4)}
    assert np.mean([tuple(point) in kept for point in np.round(cut, 4)]) > 0.9
    assert (held.path.kind == LIFT).sum() >= (bare.path.kind == LIFT).sum()


def test_surface_in_a_tab_is_found_with_its_wood(sides: tuple[Plan, Plan, Plan]) -> None:
    # A plane that rises by 1 in 2 inwards, under a tab 3 mm above its foot: 6 mm deep and 22 wide, a wedge of wood.
    grid = Grid(left=-30.05, front=-30.05, cell=0.1, rows=601, columns=601)
    x = np.broadcast_to(grid.x(), grid.shape)
    heights = np.where(x <= 0, 10.0 - x / 2, -np.inf)
    tab = Tab(1, (0.0, 0.0), (1.0, 0.0), 22.0, 20.0, 5.0, 13.0)
    found = tab_ground(tab, grid, heights, heights > -np.inf)
    assert found.area == pytest.approx(22 * 6.0, rel=0.02) and found.volume == pytest.approx(22 * 6 * 3.0 / 2, rel=0.02)
    assert found.height == pytest.approx(3.0, abs=0.06) and inward_reach(tab, grid, heights) == pytest.approx(6.0, abs=0.15)
    turned = replace(tab, way=(float(np.cos(0.3)), float(np.sin(0.3))))
    assert tab_ground(turned, grid, heights, heights > -np.inf).area == pytest.approx(22 * 6.0 / np.cos(0.3), rel=0.08)
    # What lies behind ground that rises above the tab is none of its own.
    ridge = np.where((x < -4) & (x > -5), 20.0, heights)
    assert tab_ground(tab, grid, ridge, ridge > -np.inf).area == pytest.approx(22 * 4.0, rel=0.03)
    # In the plan it is told, and the cutter leaves it.
    told = [finding for finding in sides[1].findings if finding.key == "tab-ground"]
    assert len(told) == 1 and told[0].must_see and "left to hand work" in str(told[0].sentence)
    assert sides[2].held is not None and all(ground.area == 0 for ground in sides[2].held.ground)  # the back is upright at its rim
    assert any(finding.key == "kept-out" and "Tabs keep" in str(finding.sentence) for finding in sides[1].findings)


def test_tabs_that_do_not_hold_are_told_and_more_are_taken_where_the_number_is_left_open() -> None:
    body = make_body("slab", plate(ellipse(160.0, 110.0), 160.0, 30.0))
    base = Request(
        body, cutter=CUTTER, rack=(CUTTER,), rack_table=False, cell=1.5, cusp=0.3, lines_from="edge", line_angle=0.0, stock=StockSettings(margin=40.0)
    )
    store = ResultStore()
    weak = make_plan(replace(base, tabs=TabSettings(count=3, height=2.0)), store)
    assert weak.held is not None and min(one.times for one in weak.held.borne) < SAFETY
    finding = next(finding for finding in weak.findings if finding.key == "tab-weak")
    assert finding.must_see and "Set Grain Angle" in str(finding.remedy)
    enough = make_plan(replace(base, tabs=TabSettings(count=None, height=4.0)), store)
    assert enough.held is not None and len(enough.held.tabs) > 3
    assert all(one.holds for one in enough.held.borne)
    fewer = make_plan(replace(base, tabs=TabSettings(count=len(enough.held.tabs) - 1, height=4.0)), store)
    assert fewer.held is not None and not all(one.holds for one in fewer.held.borne)
    with_grain = make_plan(replace(base, tabs=TabSettings(count=3, height=4.0), grain_angle=90.0), store)
    assert with_grain.held is not None and with_grain.held.layout.grain == 90.0
    places = tuple((80.0 + 60 * np.cos(t), 40 * np.sin(t)) for t in (0.3, 0.9, 1.5))
    near = make_plan(replace(base, tabs=TabSettings(count=3, places=places)), store)
    assert {"tabs-apart", "tab-on-curve"} <= {finding.key for finding in near.findings}


def test_what_stands_badly_is_told_with_the_numbers_of_the_tabs(sides: tuple[Plan, Plan, Plan]) -> None:
    held = sides[1].held
    assert held is not None
    named = {"tab-in-the-way": ("barred", (2,)), "tab-off-rim": ("thin", (1, 3)), "tab-on-curve": ("curved", (2, 4)), "tab-frame": ("narrow", (4,)),
             "tab-at-skip": ("skipped", (3, 4)), "tab-at-end-grain": ("end_grain", (1, 2))}  # fmt: skip
    badly = replace(held.layout, wanted=6, gap=0.7, **dict(named.values()))
    found = {finding.key: finding for finding in tab_findings(replace(held, layout=badly))}
    for key, (_, numbers) in named.items():
        first = held.tabs[numbers[0] - 1]
        assert f"({', '.join(map(str, numbers))})" in str(found[key].sentence)
        assert found[key].place == (*first.place, first.high)
    assert str(found["fewer-tabs"].sentence) == "There is room for 4 tabs, not for 6." and "70%" in str(found["tabs-apart"].sentence)
    # None of it where nothing stands badly; no room for any; and no tabs at all.
    well = replace(held.layout, wanted=4, gap=0.3, **{name: () for name, _ in named.values()})
    assert not {*named, "fewer-tabs", "tabs-apart"} & {finding.key for finding in tab_findings(replace(held, layout=well))}
    assert [finding.key for finding in tab_findings(replace(held, tabs=()))] == ["no-tabs"] and tab_findings(None) == ()


def test_tabs_are_shown_where_the_outline_is_nearest(sides: tuple[Plan, Plan, Plan]) -> None:
    held = sides[1].held
    assert held is not None
    rim = Polygon(held.layout.hung.rim)
    middle = np.array([rim.centroid.x, rim.centroid.y])
    asked = [(middle[0] + 200.0, middle[1]), (middle[0], middle[1] - 90.0), (middle[0] - 20.0, middle[1] + 70.0)]
    shown = held.layout.standing_at(asked)
    assert [tab.number for tab in shown] == [1, 2, 3] and {(tab.width, tab.low, tab.high) for tab in shown} == {(10.0, shown[0].low, shown[0].high)}
    for tab, place in zip(shown, asked, strict=True):
        assert rim.exterior.distance(Point(tab.place)) < 1e-9
        assert Point(place).distance(Point(tab.place)) == pytest.approx(rim.exterior.distance(Point(place)), abs=0.5)
        assert np.hypot(*tab.way) == pytest.approx(1.0) and np.array(tab.way) @ (np.array(tab.place) - middle) > 0


def test_files_tell_where_the_tabs_stand(sides: tuple[Plan, Plan, Plan]) -> None:
    plans = in_running_order(sides[1:])
    record = json.loads(record_bytes(plan_record(plans[0])))
    assert len(record["tabs"]["tabs"]) == 4 and record["tabs"]["safety"] == SAFETY
    # The two on the long sides lie in planned surface; round the narrow ends the top falls too steeply.
    assert sorted(tab["planned_surface"]["volume"] > 0 for tab in record["tabs"]["tabs"]) == [False, False, True, True]
    again = with_settings(Request(plans[0].request.body), read_record(record_bytes(record)))
    assert again.tabs == plans[0].request.tabs
    sheet = bench_sheet(plans, ()).decode("utf-8")
    assert sheet.count("<polygon") == 8 and "<h2>Tabs</h2>" in sheet and "saw the tabs through" in sheet
    assert summary(plans[0]).count("\nTab ") == 4
