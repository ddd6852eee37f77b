"""Plans whose tool does not run free, the next smaller cutter for what one leaves, and flats that a plan names."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from closed_forms import step_on_curve
from shapes import block

from addon.finishing.core.path import CUT
from addon.finishing.core.result_store import ResultStore
from addon.finishing.core.stepping import finished
from addon.finishing.job.body import Body, make_body
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.ground_settings import FitSettings, RegionSettings
from addon.finishing.job.machine import Machine
from addon.finishing.job.request import Request
from addon.finishing.job.stock import StockSettings
from addon.finishing.planning.plan import make_plan
from addon.finishing.planning.smaller_cutters import next_smaller, rest_request, side_plans, total_minutes

CUTTER = Cutter("Round-nose 16", 16.0)


def test_a_plan_names_the_nut_with_its_place_and_the_remedy() -> None:
    def shell(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        return 45 - 38 * np.exp(-(((x - 40) / 17) ** 4))

    body = make_body("deep trough", block(shell, 80, 60, 1.0))
    short = Cutter("Round-nose 10", 10.0, usable_length=18.0, shank_diameter=10.0, stick_out=20.0)
    request = Request(
        body, cutter=short, rack_table=False, lines_from="edge", line_angle=90.0, cell=0.5, region=RegionSettings(wall_limit=80.0),
        stock=StockSettings(thickness=45.0), machine=replace(Machine(), nut_diameter=38.0),
    )  # fmt: skip
    plan = make_plan(request)
    finding = next(f for f in plan.findings if f.key == "collet-nut")
    assert finding.must_see and "into the body" in str(finding.sentence) and finding.place is not None
    needed = float(dict(finding.remedy.values)["length"])
    free = make_plan(replace(request, cutter=replace(short, stick_out=needed, usable_length=needed)))
    assert not any(f.key in ("collet-nut", "shank") for f in free.findings)


# ---- the next smaller cutter


@pytest.fixture(scope="module")
def grooved() -> Body:
    """A gentle wave with one groove of radius 5, which a ball of radius 8 cannot reach."""

    def heights(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        away = np.abs(y - 30)
        groove = np.where(away < 3.5, 5 - np.sqrt(np.maximum(25 - (away - 0) ** 2, 0)), np.inf)
        rim = 5 - np.sqrt(25 - 3.5**2)
        return 15 + 0.8 * np.cos(2 * np.pi * x / 90) - np.where(away < 3.5, rim - groove, 0)

    return make_body("grooved", block(heights, 90, 60, 0.5))


def test_smaller_cutter_takes_what_the_larger_leaves_and_nothing_else(grooved: Body) -> None:
    rack = (Cutter("Round-nose 4", 4.0), Cutter("Round-nose 9", 9.0), Cutter("Round-nose 16", 16.0))
    request = Request(
        grooved, cutter=rack[2], rack=rack, lines_from="edge", line_angle=0.0, cell=0.25, smaller_cutters=True,
        fit=FitSettings(uncut_height=0.05, uncut_area=5.0),
    )  # fmt: skip
    plans = finished(side_plans(request, ResultStore()))
    assert [plan.cutter.diameter for plan in plans] == [16.0, 9.0]
    first, second = plans
    assert not first.fit.fits and second.fit.fits
    cut = second.path.points[second.path.kind == CUT]
    # The groove lies at y = 30 + 25 in job mm; contacts keep within its half-width of 3.5 with overlap and cells.
    assert np.abs(cut[:, 1] - 55.0).max() < 3.5 + 1.0 + 1.0
    assert np.ptp(cut[:, 0]) > 80.0
    # All that the larger one left lies within half a step of where the smaller one touches (scipy's tree); the step in a hollow of
    # 5 mm is Lin and Koren's.
    from scipy.spatial import cKDTree

    row, column = second.grid.nearest(cut)
    touched = np.column_stack([second.region.contact_row[row, column], second.region.contact_column[row, column]]) * second.grid.cell
    rim = (first.grid.rows - second.grid.rows) // 2
    left = np.argwhere((first.uncut > 0.05) & first.ground.planned) - rim
    away, _ = cKDTree(touched).query(left * second.grid.cell)
    assert np.quantile(away, 0.99) < step_on_curve(4.5, 0.05, -1 / 5) / 2 + second.grid.cell
    assert second.proof.worst_gouge <= 0.002
    # Its bite is what the larger ball left: both rest on the groove's rims 3.5 mm from its middle, so the arcs part by this at the bottom.
    left = (5 - np.sqrt(25 - 3.5**2)) - (8 - np.sqrt(64 - 3.5**2))
    assert second.bite.engagement.depth.max() == pytest.approx(left, abs=0.03)
    assert first.bite.engagement.depth.max() == pytest.approx(0.5)
    assert total_minutes(plans) == pytest.approx(first.run_time.minutes + second.run_time.minutes + 2.0)
    assert second.path.length_of(CUT) < 0.5 * first.path.length_of(CUT)


def test_nothing_follows_a_cutter_that_fits(grooved: Body) -> None:
    rack = (Cutter("Round-nose 9", 9.0), Cutter("Round-nose 16", 16.0))
    plan = make_plan(Request(grooved, cutter=rack[0], rack=rack, lines_from="edge", line_angle=0.0, cell=0.5, rack_table=False))
    assert plan.fit.fits and rest_request(plan) is None
    assert next_smaller(rack[1], rack) == rack[0] and next_smaller(rack[0], rack) is None


# ---- flats


def test_a_flat_is_named_with_its_area() -> None:
    def terrace(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        return 20 - 0.002 * np.maximum(np.abs(x - 45) - 20, 0) ** 2

    body = make_body("terrace", block(terrace, 90, 60, 0.5))
    whole = RegionSettings(flats="follow")
    plan = make_plan(Request(body, cutter=CUTTER, rack_table=False, lines_from="edge", line_angle=0.0, cell=0.5, region=whole))
    (flat,) = [f for f in plan.findings if f.key == "flat"]
    area = dict(flat.sentence.values)["area"]
    # 40 mm between the bends, and as far on as the slope stays below 0.3 degrees: 1.3 mm on each side; rims left out.
    assert area * 100 == pytest.approx((40 + 2.6) * (60 - 2 * 0.75), rel=0.04)
