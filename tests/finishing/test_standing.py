"""What stands along borders and on ground that is not reached: measured against closed forms, and told wherever the inner cusps are."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
from shapes import graph
from small_jobs import two_sides, with_smaller_cutter
from test_bench_sheet import Page, rows_of
from test_proof import path_of, straight

from addon.finishing.ball.exact_tip import TipFinder
from addon.finishing.core.grid import Grid
from addon.finishing.files.bench_sheet import bench_sheet
from addon.finishing.files.summary import summary
from addon.finishing.planning.standing_words import standing_words, unreached_words
from addon.finishing.simulation.proof import Proof, ProvedGround, prove
from addon.finishing.simulation.unreached import NONE_UNREACHED

RADIUS, SPACING, LEVEL, CELL = 6.0, 1.5, 5.0, 0.25


def cut_flat(planned_to: float, wanted_to: float, last_line: float) -> Proof:
    """The proof of straight passes along x over flat ground of 30 x 24 mm, the last one at a y; planned and wanted up to a y each."""
    grid = Grid(left=0.0, front=0.0, cell=CELL, rows=97, columns=121)
    _, y = np.meshgrid(grid.x(), grid.y())
    flat = np.full(grid.shape, LEVEL, np.float32)
    lines = [straight(np.array([-8, at, LEVEL]), np.array([38, at, LEVEL])) for at in np.arange(last_line, -1.0, -SPACING)]
    triangles = graph(lambda a, b: np.full(np.shape(a), LEVEL), np.array([-1.0, 31.0]), np.array([-1.0, 25.0]))
    ground = ProvedGround(grid=grid, closing=flat, surface=flat, planned=y <= planned_to, tolerance=0.05, wanted=y <= wanted_to)
    return prove(path_of(lines), RADIUS, 0.05, ground, TipFinder(triangles))


def left_at(distance: float) -> float:
    """Closed form: what a ball leaves on flat ground beside its last line, along the normal; all of the radius from the radius on."""
    return RADIUS - np.sqrt(RADIUS**2 - min(distance, RADIUS) ** 2)


@pytest.mark.parametrize(("last_line", "planned_to", "wanted_to"), [(10.0, 12.0, 14.0), (10.0, 10.5, 11.0), (7.0, 9.5, 20.0)])
def test_borders_and_unreached_ground_against_the_closed_form(last_line: float, planned_to: float, wanted_to: float) -> None:
    found = cut_flat(planned_to, wanted_to, last_line)
    # The grid ends in x and at y 0 without a border, and the highest place is looked for as far as the last cells reach.
    assert dict(found.border_percentiles)[100.0] == pytest.approx(left_at(planned_to + CELL / 2 - last_line), rel=1e-3)
    assert found.unreached.height == pytest.approx(left_at(wanted_to - last_line), rel=1e-3)
    levels = np.arange(97) * CELL
    row = 121 * CELL**2
    assert found.unreached.area == pytest.approx(((levels > planned_to) & (levels <= wanted_to)).sum() * row)
    assert found.unreached.place is not None and found.unreached.place[1] > planned_to
    # By definition 0.6 spacings on flat ground.
    width = 0.6 * 2 * np.sqrt(2 * RADIUS * 0.05 - 0.05**2)
    assert found.border_width == pytest.approx(width)
    assert found.border_area == pytest.approx(((levels <= planned_to) & (planned_to + CELL - levels <= width)).sum() * row)


def test_all_reached_is_said_so() -> None:
    found = cut_flat(12.0, 12.0, 12.0)
    assert found.unreached == NONE_UNREACHED
    assert "none" in str(unreached_words(found))


def test_summary_and_sheet_never_tell_the_inner_cusps_alone() -> None:
    for plan in (*two_sides(), with_smaller_cutter()[0]):
        text, page = summary(plan), Page(bench_sheet((plan,), rows_of(plan)))
        for words in standing_words(plan.proof):
            assert str(words) in text.split("\n") and str(words) in page.text
        border = next(line for line in text.split("\n") if line.startswith("Along borders"))
        shown = [float(number) for number in re.findall(r"\d+\.\d+", border)]
        assert shown[-1] == pytest.approx(dict(plan.proof.border_percentiles)[100.0], abs=5e-5)
        assert shown[0] == pytest.approx(plan.proof.border_area / 100, abs=0.05)


def test_what_is_not_reached_on_a_plan_is_planned_ground_without_a_measured_cusp() -> None:
    plan = with_smaller_cutter()[0]
    unreached = plan.ground.planned & ~np.isfinite(plan.proof.cusp)
    assert plan.proof.unreached.area == pytest.approx(unreached.sum() * plan.grid.cell_area)
    # The dent is too tight for the cutter, which leaves at least the uncut height of it standing.
    assert plan.proof.unreached.height >= plan.fit.height * 0.9
    assert f"{plan.proof.unreached.height:.2f} mm" in str(unreached_words(plan.proof))
    assert "none" in str(unreached_words(replace(plan.proof, unreached=NONE_UNREACHED)))
