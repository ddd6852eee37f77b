"""A plan round a keep-out box: no part of the tool enters it, and the ground beside it is finished all the same."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapes import block

from addon.finishing.core.path import CUT, LIFT
from addon.finishing.core.result_store import ResultStore
from addon.finishing.job.body import make_body
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.keep_out import KeepOut
from addon.finishing.job.machine import Machine
from addon.finishing.job.request import Request
from addon.finishing.job.stock import StockSettings
from addon.finishing.planning.plan import make_plan
from addon.finishing.planning.result import Plan

CUTTER = Cutter("Round-nose 10", 10.0, usable_length=25.0, shank_diameter=12.0, stick_out=40.0)
BOX = KeepOut("Clamp", (45.0, 30.0, 0.0), (60.0, 42.0, 34.0))
ALONG = 0.2
"""mm between the places at which the tool is held against the box."""


@pytest.fixture(scope="module", params=["edge", "middle", "border"])
def plans(request: pytest.FixtureRequest) -> tuple[Plan, Plan]:
    """The same start without and with a box in the middle of the body, higher than shank and nut can pass."""
    dome = make_body("dome", block(lambda x, y: 22 - ((x - 45) ** 2 + (y - 30) ** 2) / 250, 90.0, 60.0, 1.0))
    bare = Request(
        dome,
        cutter=CUTTER,
        rack_table=False,
        cell=0.6,
        lines_from=request.param,
        line_angle=None if request.param == "border" else 0.0,
        machine=replace(Machine(), nut_diameter=30.0),
        stock=StockSettings(length=110.0, width=80.0, thickness=24.0),
    )
    store = ResultStore()
    return make_plan(bare, store), make_plan(replace(bare, keep_out=(BOX,)), store)


def inside_by(plan: Plan) -> float:
    """How deep any part of the tool goes into the box, mm: ball, shank and nut as discs held against it all along the path."""
    points = plan.path.points
    starts, moves = points[:-1], np.diff(points, axis=0)
    count = np.maximum(np.ceil(np.linalg.norm(moves, axis=1) / ALONG).astype(int), 1)
    owner = np.repeat(np.arange(len(moves)), count)
    share = (np.arange(len(owner)) - np.repeat(np.cumsum(count) - count, count)) / count[owner]
    tip = starts[owner] + share[:, None] * moves[owner]
    low, high = np.array(BOX.low), np.array(BOX.high)
    away = np.linalg.norm(np.maximum(np.maximum(low[:2] - tip[:, :2], tip[:, :2] - high[:2]), 0.0), axis=1)
    top = high[2] - tip[:, 2]
    deepest = -np.inf
    ball = away < CUTTER.radius
    if ball.any():
        deepest = float((top[ball] - (CUTTER.radius - np.sqrt(CUTTER.radius**2 - away[ball] ** 2))).max())
    for radius, above in ((CUTTER.shank_diameter / 2, CUTTER.usable_length), (15.0, CUTTER.stick_out)):
        near = away < radius
        if near.any():
            deepest = max(deepest, float((top[near] - above).max()))
    return deepest


def test_no_part_of_the_tool_enters_the_box(plans: tuple[Plan, Plan]) -> None:
    bare, boxed = plans
    assert inside_by(bare) > 5.0, "without being told it would"
    assert inside_by(boxed) <= 0.01
    assert not any(finding.hits for finding in boxed.findings)


def test_lines_are_clipped_and_ways_lead_round(plans: tuple[Plan, Plan]) -> None:
    bare, boxed = plans
    # What lies under the box and within a cutter's radius of it is lost, and nothing else: 15 by 12 mm with a round rim of 5 mm, or of the shank's 6.
    # Lines from the border inward are laid anew round the box, in more rings than before: of them the least length alone tells what is lost.
    anew = bare.request.lines_from == "border"
    lost = [bare.least_length - boxed.least_length] + [bare.path.length_of(CUT) - boxed.path.length_of(CUT)] * (not anew)
    usual = float(bare.line_spacing.usual)
    least, most = (15 * 12 + 2 * rim * (15 + 12) + np.pi * rim**2 for rim in (5.0, 6.0))
    assert 0.8 * least / usual < min(lost) and max(lost) < 1.1 * most / usual
    # A line that the box cuts in two is gone round or hopped over, not left for the air between.
    assert int((boxed.path.kind == LIFT).sum()) <= int((bare.path.kind == LIFT).sum()) + 1
    in_the_air = [plan.run_time.total_seconds - plan.run_time.seconds_by_kind["cut"] for plan in plans]
    assert in_the_air[1] < in_the_air[0] + 5
    assert anew or boxed.run_time.total_seconds < bare.run_time.total_seconds + 5
