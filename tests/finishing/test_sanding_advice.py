"""One advice for sanding: volumes against closed forms, pieces of hand work against a reference library, the same wherever it is told."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest
from scipy import ndimage
from scipy.integrate import quad
from shapes import block
from small_jobs import with_smaller_cutter
from test_bench_sheet import Page, rows_of
from test_standing import RADIUS, SPACING, cut_flat

from addon.finishing.ball.rest_ground import LEAST_PART
from addon.finishing.core.grid import Grid
from addon.finishing.core.result_store import ResultStore
from addon.finishing.core.stepping import finished
from addon.finishing.files.bench_sheet import bench_sheet
from addon.finishing.files.plan_record import plan_record, record_bytes
from addon.finishing.files.summary import sanding_text, summary
from addon.finishing.job.body import make_body
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.request import Request
from addon.finishing.options.hand_work import hand_parts
from addon.finishing.options.sanding import LEAST_REMOVAL
from addon.finishing.planning.result import Plan
from addon.finishing.planning.smaller_cutters import side_plans
from addon.finishing.simulation.finished_surface import Run, finished_heights_steps

COARSE, FINE = Cutter("Round-nose 25", 25.0), Cutter("Round-nose 6", 6.0)
HALF_WIDTH, VALLEY_RADIUS = 3.5, 5.0


def notched(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """A gentle rise with two valleys of 5 mm radius along y, 7 mm wide, which a ball of 12.5 mm bridges: one long, one short."""
    depth = np.zeros(np.broadcast(x, y).shape)
    for middle, length in ((20.0, 34.0), (45.0, 16.0)):
        across = np.minimum(np.abs(x - middle), HALF_WIDTH)
        valley = np.sqrt(VALLEY_RADIUS**2 - across**2) - np.sqrt(VALLEY_RADIUS**2 - HALF_WIDTH**2)
        depth = np.maximum(depth, valley * np.clip((length - np.abs(y - 25.0) * 2) / 8, 0, 1))
    return 15 + x / 40 - depth


@pytest.fixture(scope="module")
def request_of() -> Request:
    return Request(
        make_body("notched", block(notched, 65.0, 50.0, 0.5)), cutter=COARSE, rack=(FINE, COARSE), cell=0.5, lines_from="edge", line_angle=90.0
    )


@pytest.fixture(scope="module")
def alone(request_of: Request) -> Plan:
    (plan,) = finished(side_plans(request_of, ResultStore()))
    return plan


@pytest.fixture(scope="module")
def followed(request_of: Request) -> tuple[Plan, ...]:
    return finished(side_plans(replace(request_of, following_cutters=(FINE,)), ResultStore()))


def test_volume_between_passes_is_that_of_the_ridges() -> None:
    # Closed form by quadrature: a ball leaves R - sqrt(R^2 - u^2) beside its line, on flat ground where the normal stands upright.
    proof = cut_flat(24.0, 24.0, 24.0)
    assert proof.border_area == 0.0, "all of the ground there is"
    mean = quad(lambda u: RADIUS - np.sqrt(RADIUS**2 - u * u), 0, SPACING / 2)[0] / (SPACING / 2)
    assert proof.cusp_area == pytest.approx(30.25 * 24.25)
    assert proof.cusp_volume == pytest.approx(mean * proof.cusp_area, rel=0.05)


def test_pieces_of_hand_work_are_those_of_a_reference_library() -> None:
    rng = np.random.default_rng(5)
    grid = Grid(left=-3.0, front=7.0, cell=0.5, rows=60, columns=80)
    standing = np.where(ndimage.gaussian_filter(rng.standard_normal(grid.shape), 2.5) > 0.06, rng.uniform(0.1, 0.9, grid.shape), 0.02)
    standing[:4] = np.nan
    found = hand_parts(standing, np.full(grid.shape, 4.0), grid, 0.05)
    labels, count = ndimage.label(np.nan_to_num(standing) > 0.05)
    numbers = np.arange(1, count + 1)
    areas = ndimage.sum_labels(np.ones(grid.shape), labels, numbers) * grid.cell_area
    expected = sorted(
        zip(areas, ndimage.maximum(standing, labels, numbers), ndimage.sum_labels(standing, labels, numbers) * grid.cell_area, strict=True),
        reverse=True,
    )
    expected = [row for row in expected if row[0] >= LEAST_PART]
    assert len(found) == len(expected) > 3
    assert np.allclose(sorted((p.area, p.height, p.volume) for p in found), sorted(expected))
    for part in found:
        row, column = grid.nearest(np.array([part.place[:2]]))
        assert standing[row[0], column[0]] == pytest.approx(part.height)
    assert hand_parts(np.full(grid.shape, np.nan), np.zeros(grid.shape), grid, 0.05) == ()


def test_valleys_that_the_cutter_bridges_are_named_with_place_and_height(alone: Plan) -> None:
    hand = [area for area in alone.sanding.areas if area.kind == "hand" and area.height > 0.2]
    assert len(hand) == 2 and hand[0].area > hand[1].area
    x0 = alone.stock.settings.margin
    assert [area.place[0] - x0 for area in hand] == pytest.approx([20.0, 45.0], abs=1.5)
    # The valley is R - sqrt(R^2 - w^2) deep, and so is what a larger ball sinks into it.
    deep, sunk = (radius - np.sqrt(radius**2 - HALF_WIDTH**2) for radius in (VALLEY_RADIUS, COARSE.radius))
    assert hand[0].height == pytest.approx(deep - sunk, abs=0.1)
    assert alone.sanding.hand_area == pytest.approx(alone.fit.area, rel=0.1)
    passes, rims = alone.sanding.areas[:2]
    assert passes.kind == "passes" and rims.kind == "rims"
    assert passes.height == dict(alone.proof.cusp_percentiles)[99.9] and rims.height == dict(alone.proof.border_percentiles)[99.9]
    removal = dict(LEAST_REMOVAL)
    for area in (passes, rims):
        assert area.grit is None or removal[area.grit] >= area.height
    assert alone.sanding.volume == pytest.approx(sum(area.volume for area in alone.sanding.areas))


def test_what_a_smaller_cutter_takes_is_no_hand_work(alone: Plan, followed: tuple[Plan, ...]) -> None:
    assert len(followed) == 2 and followed[0].sanding == followed[1].sanding
    assert followed[0].sanding.hand_area < 0.2 * alone.sanding.hand_area, "a strip along the sharp edges is left"
    assert followed[0].sanding.areas[1] == alone.sanding.areas[1], "the rims are those of the first cutter"
    # Of the ground round the valleys the larger cutter has cut what the smaller one does not reach.
    assert followed[1].proof.unreached.area <= 1.05 * alone.fit.area


def creased(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """A dome with a V crease aslant across it, 2.5 mm deep, that no ball comes into."""
    return 20 - ((x - 35) ** 2 + (y - 25) ** 2) / 500 - np.maximum(2.5 - 0.55 * np.abs((x - 35) * 0.9 + (y - 25) * 0.44), 0)


def simulated(plans: tuple[Plan, ...]) -> float:
    """mm3 that stand on the planned ground after all runs, from stock that stands 3 mm proud: cell by cell under the balls' undersides."""
    first = plans[0]
    ground = np.where(first.ground.planned, first.ground.heights, -np.inf)
    runs = [Run(plan.path.points, plan.cutter.radius) for plan in plans]
    after = finished(finished_heights_steps(ground + 3.0, first.grid, runs))
    return float((after[first.ground.planned] - ground[first.ground.planned]).sum() * first.grid.cell_area)


def test_the_areas_are_the_planned_ground_and_the_volumes_what_stands_on_it(alone: Plan, followed: tuple[Plan, ...], request_of: Request) -> None:
    (dome,) = finished(side_plans(replace(request_of, body=make_body("creased", block(creased, 70.0, 50.0, 0.5)), line_angle=0.0), ResultStore()))
    # What is left in a valley is known from heights on the cells, 0.5 mm here: up to 0.07 mm of 1 mm more than the exact ball leaves.
    for plans in ((alone,), (dome,), followed):
        first = plans[0]
        planned, advice = float(first.ground.planned.sum() * first.grid.cell_area), first.sanding
        # With one cutter every cell is told once; two cutters meet in cells that both measure.
        assert sum(area.area for area in advice.areas) == pytest.approx(planned, rel=1e-9 if len(plans) == 1 else 2e-3)
        assert advice.volume == pytest.approx(simulated(plans), rel=0.05)
        strips = [area for area in advice.areas if area.kind == "strips"]
        assert len(strips) == 1 and strips[0].area > 50 and strips[0].height < 0.2


def test_summary_record_and_sheet_give_one_and_the_same_advice(alone: Plan, followed: tuple[Plan, ...]) -> None:
    for plans in ((alone,), followed):
        advice = plans[0].sanding
        text, page = sanding_text(plans), Page(bench_sheet(plans, rows_of(*plans))).text
        assert text.count("Sanding:") == page.count("Sanding:") == 1
        assert not any("Sanding" in summary(plan) for plan in plans)
        for words in (advice.words, *advice.area_words):
            assert str(words) in text and str(words) in page
        for plan in plans:
            record = json.loads(record_bytes(plan_record(plan)))
            assert record["sanding"]["words"] == str(advice.words)
            assert [area["words"] for area in record["sanding"]["areas"]] == [str(words) for words in advice.area_words]
            assert record["figures"]["sanding_volume"] == pytest.approx(advice.volume / 1000)


def test_no_chips_of_nothing_are_told(followed: tuple[Plan, ...]) -> None:
    for plan in (*followed, *with_smaller_cutter()):
        assert "chips of 0.000" not in summary(plan) and ", 0.000 at most" not in summary(plan)
        usual = plan.bite.usual_chip
        assert usual is None or usual >= 0.0005
