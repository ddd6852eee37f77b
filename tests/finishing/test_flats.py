"""Flats that are left out: which ones, the strip that passes run on over them without a step, the minutes told, and how they are asked for."""

from __future__ import annotations

import json
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from shapes import block
from test_bench_sheet import Page, rows_of

from addon.command_options import asked_request, command_parser
from addon.finishing.core.errors import BadRequest, NothingToPlan
from addon.finishing.core.path import CUT, LINK
from addon.finishing.files.bench_sheet import bench_sheet
from addon.finishing.files.plan_record import plan_record, record_bytes
from addon.finishing.job.body import Body, make_body
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.ground_settings import RegionSettings, left_to_flat_cutters
from addon.finishing.job.request import Request
from addon.finishing.job.stock import StockSettings
from addon.finishing.planning.flat_work import flat_work, minutes_of_planned_flats
from addon.finishing.planning.plan import make_plan
from addon.finishing.planning.result import Plan

LENGTH, WIDTH, TOP = 110.0, 80.0, 20.0
CARVE, BEVEL = 75.0, 18.0
"""x from which a carve of 70 mm radius rolls off the flat top, and y below which a bevel of 0.18 leaves it with an edge."""

EDGE = CARVE + np.sqrt(2 * 70 * 0.005)
"""x up to which the ground lies no deeper than 0.005 mm below the face: what counts as lying in it."""

BALL = Cutter("Round-nose 12", 12.0)


def bolt_on(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """A top that is mostly flat, with a carve that leaves it tangentially and a bevel that leaves it with an edge."""
    carve = 70 - np.sqrt(70**2 - np.clip(x - CARVE, 0, None) ** 2)
    return TOP - np.maximum(carve, 0.18 * np.clip(BEVEL - y, 0, None))


def drilled(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """The same with a pocket in the flat, narrower than the cutter."""
    return np.where((np.abs(x - 35) < 4) & (np.abs(y - 50) < 4), 8.0, bolt_on(x, y))


def request_for(body: Body, flats: str = "auto", stock: StockSettings | None = None, margin: float = 2.0) -> Request:
    region = RegionSettings(flats=flats, flat_margin=margin)
    own = stock if stock is not None else StockSettings()
    return Request(body, cutter=BALL, rack_table=False, region=region, stock=own, cell=0.5, cusp=0.1, lines_from="edge", line_angle=0.0)


@cache
def body() -> Body:
    return make_body("Bolt-on top", block(bolt_on, LENGTH, WIDTH, 1.0))


@cache
def planned(flats: str) -> Plan:
    return make_plan(request_for(body(), flats))


def over_flat(plan: Plan) -> np.ndarray:
    """Points (n, 3) of passes and their turns over the flat, in body mm, with how far each lies within it."""
    points = plan.path.points[(plan.path.kind == CUT) | (plan.path.kind == LINK)]
    own = (np.column_stack([points, np.ones(len(points))]) @ np.linalg.inv(plan.job_from_body).T)[:, :3]
    inside = np.minimum(EDGE - own[:, 0], own[:, 1] - BEVEL)
    return np.column_stack([own, inside])[(inside > 0) & (own[:, 0] > 0) & (own[:, 1] < WIDTH)]


def test_a_flat_in_the_stocks_face_is_left_out_by_itself() -> None:
    left, whole = planned("auto"), planned("follow")
    assert [flat.in_face for flat in left.ground.flats] == [True] and whole.ground.flats == ()
    assert left.ground.flats[0].area == pytest.approx(EDGE * (WIDTH - BEVEL), rel=0.02)
    assert left.flats == () and len(whole.flats) == 1
    assert left.ground.planned_area < whole.ground.planned_area - 0.95 * CARVE * (WIDTH - BEVEL)
    found = next(finding for finding in left.findings if finding.key == "flat-left")
    assert "needs no cut" in str(found.sentence) and not found.must_see


@pytest.mark.parametrize("margin", [1.0, 2.0, 5.0])
def test_passes_run_on_over_the_flat_by_the_margin_and_leave_no_step(margin: float) -> None:
    plan = planned("auto") if margin == 2.0 else make_plan(request_for(body(), margin=margin))
    found = over_flat(plan)
    # The height of the blend at its edge, and all over it, is that of the flat: the simulated cut leaves nothing and takes nothing.
    flat = found[found[:, 0] < CARVE]
    assert np.abs(flat[:, 2] - TOP).max() <= plan.request.chord_tolerance
    assert plan.proof.worst_gouge <= plan.request.chord_tolerance
    # Beside every place of both edges, at least so far onto the flat; and no farther than cells and the turns between lines need.
    inside = found[:, 3]
    assert inside.max() <= margin + 4 * plan.grid.cell
    spacing = 2 * np.sqrt(2 * 6 * 0.1)
    for y in np.arange(BEVEL + margin + spacing, WIDTH - spacing, 2.0):
        near = np.abs(found[:, 1] - y) < spacing
        assert (EDGE - found[near, 0]).max() >= margin
    along_bevel = found[(found[:, 0] > 5) & (found[:, 0] < CARVE - 5 - margin)]
    for x in np.arange(8.0, CARVE - 8 - margin, 4.0):
        near = np.abs(along_bevel[:, 0] - x) < 4
        assert (along_bevel[near, 1] - BEVEL).max() >= margin - spacing / 2


def test_nothing_stands_where_finished_ground_meets_the_flat() -> None:
    plan = planned("auto")
    # All ground but the flat is planned up to its very edge, and reached: no strip of it is left to neither.
    x, y = np.meshgrid(plan.grid.x(), plan.grid.y())
    own = (np.stack([x, y, np.zeros_like(x), np.ones_like(x)], axis=-1) @ np.linalg.inv(plan.job_from_body).T)[..., :2]
    beside = np.maximum(own[..., 0] - CARVE, BEVEL - own[..., 1])
    strip = (beside > 1.5) & (beside < 4) & (own[..., 0] > 3) & (own[..., 1] > 3) & (own[..., 0] < LENGTH - 3) & (own[..., 1] < WIDTH - 3)
    assert strip.sum() > 500
    assert np.isfinite(plan.proof.cusp[strip]).all()
    assert plan.proof.cusp[strip].max() <= 1.1 * plan.request.cusp


def test_the_minutes_told_are_those_that_are_saved() -> None:
    left, whole = planned("auto"), planned("follow")
    saved = whole.run_time.minutes - left.run_time.minutes
    told = sum(left.flat_minutes.over(flat.area) for flat in left.ground.flats)
    assert minutes_of_planned_flats(whole) == pytest.approx(saved, rel=0.15) and told == pytest.approx(saved, rel=0.15)
    assert saved > 0.3 * whole.run_time.minutes


def test_a_flat_below_the_face_is_left_out_by_choice_alone() -> None:
    thicker = StockSettings(thickness=TOP + 0.1, height_in_stock=0.0)
    by_itself = make_plan(request_for(body(), "auto", thicker))
    assert by_itself.ground.flats == () and len(by_itself.flats) == 1
    chosen = make_plan(request_for(body(), "skip", thicker))
    assert [flat.in_face for flat in chosen.ground.flats] == [False]
    assert "work for a flat cutter" in str(next(finding for finding in chosen.findings if finding.key == "flat-left").words)
    work = flat_work(chosen)
    assert [str(item.what) for item in work if item.needs_cut][0] == "flat surface" and work[0].height == pytest.approx(TOP)


def test_a_stock_that_is_a_body_of_its_own_has_no_even_face() -> None:
    stock = make_body("stock", block(lambda x, y: TOP + 0.5 + 0 * x, LENGTH, WIDTH, 5.0))
    assert make_plan(replace(request_for(body()), stock_body=stock)).ground.flats == ()


def test_a_pocket_in_the_flat_is_left_out_with_it() -> None:
    plan = make_plan(request_for(make_body("drilled", block(drilled, LENGTH, WIDTH, 1.0))))
    assert len(plan.ground.flats) == 1 and [opening.treatment for opening in plan.ground.openings] == ["bridge"]
    assert over_flat(plan)[:, 3].max() <= 2.0 + 4 * plan.grid.cell


def test_where_all_is_flat_it_is_planned_unless_it_is_left_out_by_choice() -> None:
    plate = make_body("plate", block(lambda x, y: 12.0 + 0 * x, 40.0, 30.0, 5.0))
    assert make_plan(request_for(plate)).ground.flats == ()
    with pytest.raises(NothingToPlan):
        make_plan(request_for(plate, "skip"))


def test_the_sheet_lists_flats_walls_and_openings_as_work_for_flat_cutters() -> None:
    plan = planned("auto")
    area = plan.ground.flats[0].area / 100
    rows = [row for row in Page(bench_sheet((plan,), rows_of(plan))).rows if row[:1] == ["top"] and len(row) == 6]
    assert any("needs no cut" in row[1] and row[5] == "no cut" and float(row[2]) == pytest.approx(area, abs=0.05) for row in rows)
    result = json.loads(record_bytes(plan_record(plan)))["result"]
    assert result["flats_left_out"][0]["in_face"] is True and result["flats_planned"] == []


def test_what_is_left_to_flat_cutters_is_asked_for_on_the_command_line() -> None:
    def region_of(*options: str) -> RegionSettings:
        parsed = command_parser("finishing").parse_args(["plan", "body.stl", *options])
        return asked_request(body(), parsed, {"region": {"wall_limit": 75.0, "opening_choices": [[1, "follow"]]}}).region

    assert region_of().flats == "auto" and region_of().wall_limit == 75.0
    every = region_of("--leave-out", "flats,walls,openings")
    assert (every.flats, every.wall_limit, every.openings, every.opening_choices) == ("skip", 60.0, "skip", ())
    walls = region_of("--leave-out", "walls")
    assert (walls.flats, walls.wall_limit, walls.openings, walls.opening_choices) == ("auto", 60.0, "auto", ((1, "follow"),))
    with pytest.raises(BadRequest, match="'flat'"):
        region_of("--leave-out", "flat")
    assert left_to_flat_cutters(RegionSettings(wall_limit=50.0), ("walls",)).wall_limit == 50.0


def test_settings_of_flats_are_checked() -> None:
    with pytest.raises(BadRequest):
        RegionSettings(flats="plane")
    with pytest.raises(BadRequest):
        RegionSettings(flat_margin=-1.0)
