"""Ground that a larger cutter leaves along a ledge and in a ring groove: lines run along it, and no smaller cutter leaves more than a larger one."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from ledge_bodies import LedgeTop
from shapes import block

from addon.finishing.core.path import CUT, LIFT
from addon.finishing.core.result_store import ResultStore
from addon.finishing.core.stage_runner import StageRunner
from addon.finishing.core.stepping import finished
from addon.finishing.job.body import make_body
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.request import Remaining, Request
from addon.finishing.passes.gap_closing import TOLERATED_CUSP
from addon.finishing.passes.narrow_parts import narrow_parts
from addon.finishing.planning.plan import make_plan
from addon.finishing.planning.plan_graph import PLAN_GRAPH
from addon.finishing.planning.result import Plan
from addon.finishing.planning.smaller_cutters import side_plans

RACK = tuple(Cutter(f"Round-nose {diameter:g}", diameter) for diameter in (4.0, 10.0, 16.0))
TOP = LedgeTop(half_length=52.0, half_width=40.0, bevel_rise=8.0, strip_width=8.0)


@pytest.fixture(scope="module")
def plans() -> tuple[Plan, ...]:
    """Straight passes with the largest cutter, and the two that follow it."""
    body = make_body("ledge", TOP.triangles(around=240, inner=20))
    request = Request(body, cutter=RACK[2], rack=RACK, rack_table=False, lines_from="middle", line_angle=0.0, cell=0.25, cusp=0.1, smaller_cutters=True)
    return finished(side_plans(request, ResultStore()))


def test_lines_run_along_what_is_left_and_hops_are_few(plans: tuple[Plan, ...]) -> None:
    assert [plan.cutter.diameter for plan in plans] == [16.0, 10.0, 4.0]
    assert sum(int((plan.path.kind == LIFT).sum()) for plan in plans) <= 20
    for plan in plans[1:]:
        # How each line runs against the direction of the oval through the same place.
        along = across = 0.0
        middle = plan.path.points[plan.path.kind == CUT, :2]
        middle = (middle.min(axis=0) + middle.max(axis=0)) / 2
        for line in plan.path.lines():
            moves, at = np.diff(line[:, :2], axis=0), (line[1:, :2] + line[:-1, :2]) / 2 - middle
            normal = at / np.array([TOP.half_length, TOP.half_width]) ** 2
            normal /= np.linalg.norm(normal, axis=1)[:, None]
            across += float(np.abs((moves * normal).sum(axis=1)).sum())
            along += float(np.abs(moves[:, 0] * normal[:, 1] - moves[:, 1] * normal[:, 0]).sum())
        assert along > 5 * across
        assert plan.proof.worst_gouge <= 0.002


def test_the_overlap_costs_no_detours_and_is_not_measured() -> None:
    # The larger cutter has finished the overlap: no line turns aside for a corner of it, which on coarse cells doubled the way.
    body = make_body("ledge", LedgeTop(half_length=40.0, half_width=32.0, bevel_rise=8.0, strip_width=7.0).triangles(around=240, inner=20))
    larger = Cutter("Round-nose 25", 25.0)
    small = Cutter("Round-nose 6", 6.0)
    request = Request(body, cutter=small, rack_table=False, cell=0.35, lines_from="border", remaining=Remaining(larger, 1.0))
    store = ResultStore()
    plan = make_plan(request, store)
    lines = plan.path.lines()
    turned = sum(float(np.abs(np.diff(np.unwrap(np.arctan2(*np.diff(line[:, 1::-1], axis=0).T)))).sum()) for line in lines)
    length = plan.path.length_of(CUT)
    # Round an oval of this size a line turns by 2 pi in some 200 mm, round a small patch in 20; a detour every few mm turns more than twice as much.
    assert turned / length < 2 * np.pi / 15
    # What it leaves of that ground is as asked all the same, and none of it is the overlap's.
    left = finished(StageRunner(PLAN_GRAPH, store).ask(("left_by_larger",), request))["left_by_larger"].left
    measured = np.isfinite(plan.proof.cusp)
    assert measured.any() and np.pad(left, plan.tip_surface.rim)[measured].all()
    assert dict(plan.proof.cusp_percentiles)[99.9] <= 1.03 * plan.request.cusp and plan.proof.worst_cusp <= 1.5 * plan.request.cusp


@pytest.fixture(scope="module")
def along_the_ledge() -> dict[str, Plan]:
    """What a cutter of 16 mm leaves along ledge and groove, planned for one of 6 mm, by cutting way."""
    body, store = make_body("ledge", TOP.triangles(around=240, inner=20)), ResultStore()
    request = Request(body, cutter=Cutter("Round-nose 6", 6.0), rack_table=False, cell=0.35, lines_from="border", remaining=Remaining(RACK[2], 1.0))
    return {way: make_plan(replace(request, cutting_way=way), store) for way in ("to and fro", "climb only")}


def test_cut_one_way_it_takes_hardly_longer(along_the_ledge: dict[str, Plan]) -> None:
    both, one = along_the_ledge["to and fro"], along_the_ledge["climb only"]
    lifts = {way: int((plan.path.kind == LIFT).sum()) for way, plan in along_the_ledge.items()}
    assert both.path.line_count == one.path.line_count and lifts["climb only"] <= lifts["to and fro"] + 2
    assert one.run_time.total_seconds <= 1.1 * both.run_time.total_seconds
    assert one.proof.worst_gouge <= 0.002


def test_no_smaller_cutter_leaves_more_than_a_larger_one() -> None:
    # On a grid the closing by a smaller ball never lies above that by a larger one; what is measured off the grid must not turn that round. A
    # crease at the foot of a steep bevel is where single cells differ most.
    body = make_body("ledge", LedgeTop(bevel_rise=10.0).triangles())
    store, larger, left = ResultStore(), None, []
    for cutter in (Cutter(f"Round-nose {diameter:g}", diameter) for diameter in (16.0, 12.0, 8.0, 6.0, 4.0)):
        request = Request(body, cutter=cutter, rack_table=False, cell=0.5, lines_from="border", remaining=Remaining(larger, 1.0) if larger else None)
        fit = finished(StageRunner(PLAN_GRAPH, store).ask(("fit",), request))["fit"]
        left.append((fit.height, fit.area))
        larger = cutter
    assert all(small[0] <= large[0] + 0.02 and small[1] <= large[1] for large, small in pairwise(left))
    assert left[0][0] > 1.0


# ---- narrow parts of one cutter's ground


def test_strips_are_narrow_parts_and_wide_or_short_ground_is_none() -> None:
    # By construction, on cells of 0.5 mm with lines 1 mm apart: 8 mm, 16 cells, are the widest that counts, and three times as long as wide.
    cell, inside = 0.5, np.zeros((120, 200), bool)
    inside[2:12, 2:180] = True  # 5 mm wide and 89 mm long
    inside[20:60, 2:180] = True  # 20 mm wide
    inside[70:80, 2:20] = True  # 5 mm wide and 9 mm long
    ring = np.hypot(*np.meshgrid(np.arange(200) - 100, np.arange(120) - 95))
    inside[(ring > 12) & (ring < 20)] = True  # 4 mm wide and 50 mm round
    found = narrow_parts(inside, cell, spacing=1.0)
    expected = np.zeros_like(inside)
    expected[2:12, 2:180] = True
    expected[(ring > 12) & (ring < 20)] = True
    assert (found == expected).all()
    assert not narrow_parts(inside, cell, spacing=0.2).any()
    assert not narrow_parts(np.zeros_like(inside), cell, 1.0).any()


@pytest.mark.parametrize("start", ["edge", "middle"])
def test_straight_starts_run_along_a_ledge_and_straight_over_the_rest(start: str) -> None:
    # Two levels with a wall between, the lower a ledge of 8 mm along one side: lines at 90 degrees would cross its long side.
    def stepped(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        return np.where(y < 8, 10.0, 20 + np.cos(x / 20))

    body = make_body("stepped", block(stepped, 90.0, 50.0, 1.0))
    request = Request(body, cutter=Cutter("Round-nose 6", 6.0), rack_table=False, cell=0.5, cusp=0.1, lines_from=start, line_angle=90.0)
    plan = make_plan(request)
    low = float(plan.path.points[plan.path.kind == CUT, 2].min())
    below = [line for line in plan.path.lines() if line[:, 2].max() < low + 3.0]
    above = [line for line in plan.path.lines() if line[:, 2].min() > low + 6.0]
    assert 1 <= len(below) <= 4 and len(above) > 20
    for lines, axis in ((below, 0), (above, 1)):
        moves = np.abs(np.concatenate([np.diff(line[:, :2], axis=0) for line in lines])).sum(axis=0)
        assert moves[axis] > 5 * moves[1 - axis]
    assert plan.proof.worst_gouge <= 0.002
    assert dict(plan.proof.cusp_percentiles)[99.9] <= TOLERATED_CUSP * request.cusp
