"""Sanding, minutes against cusp height, chip loads, bend, time budget, grain and comparing, against published figures and closed forms."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from shapes import block

from addon.finishing.core.errors import BadFile, BadRequest
from addon.finishing.core.grid import Grid
from addon.finishing.core.path import CUT
from addon.finishing.files.plan_record import plan_record, read_record, record_bytes
from addon.finishing.job.body import Body, make_body
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.other_operations import ElsewhereWork
from addon.finishing.job.request import Request
from addon.finishing.job.wood import WOODS, greatest_feed, wood_named
from addon.finishing.options.fit_table import RackRow
from addon.finishing.options.grain import across_grain
from addon.finishing.options.ground_costs import cost_of, skip_costs
from addon.finishing.options.sanding import sanding_after
from addon.finishing.options.trade_off import cusp_for, minutes_at, trade_off
from addon.finishing.planning.budget import finest_cusp
from addon.finishing.planning.comparison import HEADER, comparison_text, figures_from, figures_of
from addon.finishing.planning.plan import make_plan
from addon.finishing.tooling.beam import cantilever_bend, cutter_bend
from addon.finishing.tooling.bite import edge_length, effective_diameter, greatest_chip, section_area, thinning

VALUES = json.loads((Path(__file__).parents[1] / "reference_values.json").read_text())
INCH = 25.4
BUDGET = 0.7
"""Minutes: less than the small block takes."""


def rack_row(diameter: float, minutes: float, fits: bool = True, cusp: float = 0.05) -> RackRow:
    return RackRow(Cutter(f"Round-nose {diameter:g}", diameter), fits, None, 0.0, 0.0, None, 0.0, minutes, cusp)


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
    return make_plan(Request(body, rack=cutters, start="edge", start_angle=0.0, budget_minutes=BUDGET, cell=0.5))


# ---- sanding


def test_equal_cusps_by_quadrature() -> None:
    # Parabolic cusps of height 1, by quadrature with scipy, independent of the constants in the product; Ra 0.2566 h: values.json.
    from scipy.integrate import quad

    mean = quad(lambda u: u * u, 0, 1)[0]
    rough = quad(lambda u: abs(u * u - mean), 0, 1, points=[mean**0.5])[0]
    sanding = sanding_after(0.05, 10_000.0)
    assert sanding.volume == pytest.approx(mean * 0.05 * 10_000)
    assert sanding.roughness_ra == pytest.approx(rough * 0.05, rel=2e-4)
    assert sanding.roughness_rz == 0.05
    assert VALUES["roughness"]["Ra_over_h"] * 0.05 == pytest.approx(sanding.roughness_ra)


@pytest.mark.parametrize("grit", sorted(VALUES["least_removal_to_clear_a_scratch"]["mm"]))
def test_start_grit_by_the_removal_table(grit: str) -> None:
    # Woodworking Network 2014: a cusp just as deep as what clears a grit's own scratch calls for that grit; a little deeper for the next.
    removal = VALUES["least_removal_to_clear_a_scratch"]["mm"][grit]
    assert sanding_after(removal, 1.0).start_grit == int(grit)
    coarser = sanding_after(removal * 1.01, 1.0).start_grit
    assert coarser is None if grit == "60" else coarser is not None and coarser < int(grit)


# ---- minutes against cusp height


def test_minutes_of_the_least_length_scale_with_the_cusp() -> None:
    # On flat ground the length is area over spacing, spacing 2 sqrt(h (2R - h)): the closed form that the scaling has to follow.
    row = rack_row(16.0, 20.0)
    cusps = np.array([0.01, 0.03, 0.05, 0.12, 0.4])
    spacing = 2 * np.sqrt(cusps * (16.0 - cusps))
    known = 2 * np.sqrt(0.05 * (16.0 - 0.05))
    assert minutes_at(row, cusps) == pytest.approx(20.0 * known / spacing, rel=1e-12)


@pytest.mark.parametrize("cusp", [0.01, 0.05, 0.31])
def test_cusp_for_minutes_is_the_inverse(cusp: float) -> None:
    row = rack_row(16.0, 20.0)
    assert cusp_for(row, float(minutes_at(row, np.array([cusp]))[0])) == pytest.approx(cusp, rel=1e-9)
    assert cusp_for(row, 1.0) is None


def test_trade_off_tells_spacing_minutes_and_sanding_at_once() -> None:
    rows = trade_off([rack_row(12.0, 17.0), rack_row(16.0, 15.0)], 0.05, 90_000.0, overhead=1.2)
    assert [row.minutes for row in rows] == pytest.approx([20.4, 18.0])
    assert rows[1].spacing == pytest.approx(2 * np.sqrt(0.05 * 15.95))
    assert rows[0].sanding.volume == pytest.approx(1500.0)


def test_practice_minutes_are_met_by_the_least_length() -> None:
    # Common practice, no source: 90000 to 110000 mm2, 16 mm cutter, spacing 2 mm, 3500 mm/min: 12 to 17 minutes.
    practice = VALUES["common_practice"]["finish_time_per_side_min"]
    minutes = [area / practice["spacing"] / practice["feed_mm_min"] for area in (90_000, 110_000)]
    assert 12 <= minutes[0] <= minutes[1] <= 17


def test_prediction_for_another_cusp_agrees_with_a_plan_laid_for_it(plan) -> None:  # noqa: ANN001
    # The dial's promise against a plan that is really laid: run time over least minutes measured at one cusp, asked at another.
    other = make_plan(replace(plan.request, cusp=0.1, budget_minutes=None))
    row = next(row for row in plan.rack if row.cutter == plan.cutter)
    ratio = float(minutes_at(row, np.array([0.1]))[0]) / float(minutes_at(row, np.array([0.05]))[0])
    assert other.run_time.minutes == pytest.approx(plan.run_time.minutes * ratio, rel=0.08)


# ---- time budget


def test_finest_cusp_is_that_of_the_largest_fitting_cutter_on_level_ground() -> None:
    # On flat ground minutes go with 1/sqrt(R): the larger cutter leaves the finer cusp in the same time, as long as it fits.
    rack = [rack_row(d, 60.0 / np.sqrt(d)) for d in (8.0, 16.0)] + [rack_row(32.0, 60.0 / np.sqrt(32.0), fits=False)]
    row, cusp = finest_cusp(rack, 18.0, overhead=1.1)
    assert row.cutter.diameter == 16.0
    assert 1.1 * float(minutes_at(row, np.array([cusp]))[0]) == pytest.approx(18.0)
    assert finest_cusp(rack, 0.5) is None


def test_budget_answer_names_measures_with_their_minutes(plan) -> None:  # noqa: ANN001
    answer = plan.budget
    assert answer.left == BUDGET
    finding = next(f for f in plan.findings if f.key == "budget-missed")
    assert f"{plan.run_time.minutes - BUDGET:.1f} over the budget of {BUDGET:g}." in str(finding.sentence)
    assert "What helps most" in str(finding.remedy) and str(answer.measures[0].sentence) in str(finding.remedy)
    assert [m.minutes for m in answer.measures] == sorted(m.minutes for m in answer.measures)
    # Its answer holds: the plan with that cusp height and cutter takes about the budget.
    met = make_plan(replace(plan.request, cutter=answer.row.cutter, cusp=round(answer.cusp, 4), budget_minutes=None))
    assert met.run_time.minutes == pytest.approx(BUDGET, rel=0.15)


def test_work_made_elsewhere_takes_its_minutes_from_the_side(plan) -> None:  # noqa: ANN001
    work = (ElsewhereWork("Roughing", "Flat 22", 20.0), ElsewhereWork("Drilling", "Drill 8", 3.0, side="back"))
    request = replace(plan.request, elsewhere=work, budget_minutes=30.0)
    answer = make_plan(request).budget
    assert answer.left == pytest.approx(30.0 - 20.0 - request.machine.tool_change_minutes)


def test_skip_is_told_in_minutes(body: Body, cutters: tuple[Cutter, ...], plan) -> None:  # noqa: ANN001
    middle = body.triangles.mean(axis=1)
    skip = (np.abs(middle[:, 0] - 40) < 12) & (np.abs(middle[:, 1] - 30) < 10) & (middle[:, 2] > 5)
    skipped = make_plan(replace(plan.request, body=replace(body, skip=skip), cutter=plan.cutter, budget_minutes=None, rack_table=False))
    saves = next(f for f in skipped.findings if f.key == "skip-saves")
    told = dict(saves.sentence.values)["minutes"]
    assert told == pytest.approx(plan.run_time.minutes - skipped.run_time.minutes, abs=0.15 + 0.25 * told)
    assert saves.place[:2] == pytest.approx((65.0, 55.0), abs=1.5)  # the middle of the patch, 25 mm in from the stock's corner


def test_costs_of_pieces_of_ground_add_up() -> None:
    # Closed form: an even density times the area; two patches are told one by one, the dearer first, with their middles.
    grid = Grid(0.0, 0.0, 0.5, 100, 200)
    all_cells = np.ones(grid.shape, bool)
    kept = all_cells.copy()
    kept[10:30, 20:60] = False
    kept[60:80, 100:180] = False
    density = np.full(grid.shape, 0.6)
    dear, cheap = skip_costs(density, grid, all_cells, kept)
    assert (dear.area, cheap.area) == (400.0, 200.0)
    assert (dear.length, cheap.length) == pytest.approx((240.0, 120.0))
    assert dear.place == pytest.approx((69.75, 34.75))
    assert cost_of("overrun", density, grid, ~kept).length == pytest.approx(360.0)


# ---- chip load, effective diameter, bend


def test_effective_diameter_table() -> None:
    # Dapra Corporation, ball nose speed and feed diameter compensation, Table 1 (inch, to 0.001).
    table = VALUES["effective_diameter"]
    for diameter, row in table["rows"].items():
        for depth, value in zip(table["depths_inch"], row, strict=False):
            if depth <= float(diameter) / 2:
                assert effective_diameter(float(diameter) / 2 * INCH, depth * INCH) / INCH == pytest.approx(value, abs=0.0011)


def test_chip_loads_are_those_of_the_charts() -> None:
    # Router-bit makers' charts; greatest feed by the worked example of cncshop.eu: 18000 1/min, 2 flutes, 0.1 mm give 3600 mm/min.
    chart, worked = VALUES["chip_load"], VALUES["chip_load"]["worked"]
    for wood in WOODS:
        assert [wood.least_chip, wood.greatest_chip] == chart[wood.name]
    wood = replace(wood_named("hardwood"), greatest_chip=worked["chip_load"])
    assert greatest_feed(wood, worked["rpm"], worked["flutes"]) == pytest.approx(worked["feed_mm_min"])
    hard = wood_named("hardwood")
    shares = greatest_chip(hard, [0.5, 1.0, 2.0, 3.0, 5.0]) / hard.greatest_chip
    assert shares == pytest.approx([1.0, 1.0, chart["derating"]["2xD"], chart["derating"]["3xD"], chart["derating"]["3xD"]])
    with pytest.raises(BadRequest, match="The wood must be one of"):
        wood_named("brass")


def test_chip_thinning_formula() -> None:
    # formulas.md: the feed may rise by (D/2)/sqrt(D ae - ae^2) below half the diameter; thickness over feed per tooth is the inverse.
    d, w = 10.0, np.array([0.5, 2.0, 4.9])
    assert 1 / thinning(d, w) == pytest.approx((d / 2) / np.sqrt(d * w - w * w))
    assert thinning(d, [5.0, 8.0]) == pytest.approx(1.0)


def test_bend_of_a_cantilever() -> None:
    # Closed form and scaling (Mitsubishi Materials training pages: twice the overhang bends 8 times, twice the diameter a sixteenth).
    case = VALUES["deflection"]["case"]
    assert cantilever_bend(case["F_N"], case["L"], case["d"], case["E_GPa"] * 1000) == pytest.approx(case["deflection"], rel=1e-4)
    assert cantilever_bend(1, 60, 6) / cantilever_bend(1, 30, 6) == pytest.approx(8)
    assert cantilever_bend(1, 30, 12) / cantilever_bend(1, 30, 6) == pytest.approx(1 / 16)


def test_bend_of_a_stepped_cutter_against_numbers_by_integration() -> None:
    # Independent: y'' = M / (E I) integrated twice from the nut with scipy.
    from scipy.integrate import solve_ivp

    cutter = Cutter("c", 8.0, usable_length=30.0, shank_diameter=12.0, stick_out=55.0)
    force, stiffness = 40.0, 210_000.0

    def slope(z: float, y: np.ndarray) -> list[float]:  # z from the nut down to the tip
        d = 12.0 if z < 25.0 else 0.8 * 8.0
        return [y[1], force * (55.0 - z) / (stiffness * np.pi * d**4 / 64)]

    first = solve_ivp(slope, (0, 25.0), [0.0, 0.0], rtol=1e-10, atol=1e-14).y[:, -1]
    bend = solve_ivp(slope, (25.0 + 1e-12, 55.0), first, rtol=1e-10, atol=1e-14).y[0, -1]
    assert float(cutter_bend(force, cutter)) == pytest.approx(bend, rel=1e-6)


@pytest.mark.parametrize("depth", [0.2, 0.5, 3.0, 8.0, 11.0])
def test_section_of_passes_against_polygons(depth: float) -> None:
    # Independent: shapely's areas of the ball with its flanks, in an even layer, alone and beside another pass.
    from shapely import Point, box

    radius, distance = 8.0, 1.8
    layer = box(-60, 0, 60, depth)

    def cut(x: float):  # noqa: ANN202
        return Point(x, radius).buffer(radius, quad_segs=4000).union(box(x - radius, radius, x + radius, 60)).intersection(layer)

    assert float(section_area(radius, depth)) == pytest.approx(cut(0).area, rel=1e-4)
    for left, right in ((np.inf, distance), (distance, np.inf), (distance, 1.3 * distance), (9.0, distance), (30.0, 30.0)):
        before = [cut(x) for x in (-left, right) if np.isfinite(x)]
        taken = cut(0)
        for other in before:
            taken = taken.difference(other)
        assert float(section_area(radius, depth, left, right)) == pytest.approx(taken.area, rel=1e-3, abs=1e-4)
    assert float(edge_length(radius, depth)) == pytest.approx(radius * np.arccos(1 - min(depth, radius) / radius) + max(depth - radius, 0))


# ---- grain


@pytest.mark.parametrize(("angle", "grain", "across"), [(0, 0, 0.0), (90, 0, 1.0), (45, 0, 0.5), (30, 30, 0.0), (120, 30, 1.0)])
def test_across_the_grain_of_straight_lines(angle: float, grain: float, across: float) -> None:
    way = np.array([np.cos(np.radians(angle)), np.sin(np.radians(angle))])
    assert across_grain([np.outer([0.0, 3.0, 10.0], way)], grain) == pytest.approx(across, abs=1e-12)


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
