"""Spacing: what is asked for is the cusp height of any cutter, and what is told of lines is how far they lie apart."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapes import block

from addon.finishing.core.cusp_formulas import spacing_on_flat
from addon.finishing.core.errors import BadRequest
from addon.finishing.core.result_store import ResultStore
from addon.finishing.files.summary import summary
from addon.finishing.job.body import make_body
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.request import Request
from addon.finishing.passes.line_spacing import line_spacing
from addon.finishing.planning.plan import make_plan


def straight(y: float, slope: float = 0.0) -> np.ndarray:
    x = np.linspace(0.0, 60.0, 25)
    return np.column_stack([x, np.full(25, y), slope * y * np.ones(25)])


def test_straight_lines_lie_as_far_apart_as_they_were_drawn() -> None:
    found = line_spacing([straight(y) for y in np.cumsum([0.0, 1.5, *[2.0] * 30, 2.5])], 2.0)
    assert found is not None
    assert (found.least, found.usual, found.greatest) == pytest.approx((1.5, 2.0, 2.5), abs=1e-9)
    # In space: a slope of 3 to 4 across the lines stretches 2 mm in plan to 2.5 mm.
    tilted = line_spacing([straight(y, 0.75) for y in np.arange(0.0, 40.0, 2.0)], 2.0)
    assert tilted is not None and tilted.usual == pytest.approx(2.5, abs=1e-9)
    assert line_spacing([straight(0.0)], 2.0) is None and line_spacing([], 2.0) is None
    # Farther than three spacings away lies other ground.
    assert line_spacing([straight(0.0), straight(6.5)], 2.0) is None


def test_rings_lie_apart_by_the_difference_of_their_radii() -> None:
    turn = np.linspace(0.0, 2 * np.pi, 400)
    rings = [np.column_stack([r * np.cos(turn), r * np.sin(turn), np.zeros(400)]) for r in np.arange(6.0, 40.0, 1.7)]
    found = line_spacing(rings, 1.7)
    assert found is not None
    # Chords of the circles lie up to r (1 - cos(pi / 400)) inside them: 0.0012 mm at 40 mm; places lie half a cell of 0.425 mm off square.
    assert (found.least, found.usual, found.greatest) == pytest.approx((1.7, 1.7, 1.7), abs=0.01)


def test_lines_that_fan_out_against_the_nearest_place_of_another_line() -> None:
    # The slow twin: from every place of a line, the least distance to all places of the other ones.
    fan = [np.column_stack([np.linspace(20, 60, 81) * np.cos(a), np.linspace(20, 60, 81) * np.sin(a), np.zeros(81)]) for a in np.arange(0, 1, 0.05)]
    found = line_spacing(fan, 2.0)
    nearest = [np.linalg.norm(fan[k][:, None] - np.concatenate(fan[:k] + fan[k + 1 :])[None], axis=2).min(axis=1) for k in range(len(fan))]
    assert found is not None
    least, usual, greatest = np.percentile(np.concatenate(nearest), [1.0, 50.0, 99.0])
    assert (found.least, found.usual, found.greatest) == pytest.approx((least, usual, greatest), rel=0.04)


@pytest.fixture(scope="module")
def flat() -> Request:
    body = make_body("flat", block(lambda x, y: 12 + 0 * x, 60.0, 40.0, 2.0))
    cutters = (Cutter("Round-nose 8", 8.0), Cutter("Round-nose 12", 12.0))
    return Request(body, rack=cutters, spacing=2.0, cell=1.0, lines_from="edge", line_angle=0.0)


def test_a_spacing_is_the_cusp_height_of_the_cutter_that_is_chosen(flat: Request) -> None:
    store = ResultStore()
    plan = make_plan(flat, store)
    assert plan.cutter.diameter == 12.0 and float(spacing_on_flat(6.0, plan.request.cusp)) == pytest.approx(2.0, abs=1e-12)
    assert [float(spacing_on_flat(row.cutter.radius, row.cusp)) for row in plan.rack] == pytest.approx([2.0, 2.0], abs=1e-12)
    assert plan.line_spacing is not None
    # Whole numbers of lines fill the ground: none lies farther apart than was asked for, but for the 3 % of cusp height that is allowed.
    assert 1.8 < plan.line_spacing.usual <= 2.0 + 1e-3 and plan.line_spacing.greatest <= 2.03
    same = make_plan(replace(flat, cutter=flat.rack[1], cusp=plan.request.cusp, spacing=None), store)
    assert np.array_equal(same.path.points, plan.path.points)
    named = make_plan(replace(flat, cutter=flat.rack[0]), store)
    assert float(spacing_on_flat(4.0, named.request.cusp)) == pytest.approx(2.0, abs=1e-12)
    text = summary(plan)
    assert "Spacing on a flat surface 2.00 mm; between the lines " in text and f"usually {plan.line_spacing.usual:.2f}" in text


def test_a_budget_that_is_to_be_met_overrules_the_spacing(flat: Request) -> None:
    plan = make_plan(replace(flat, cutter=flat.rack[1], budget_minutes=1.5, meet_budget=True, rack_table=False))
    assert plan.request.spacing is None and float(spacing_on_flat(6.0, plan.request.cusp)) != pytest.approx(2.0, abs=0.1)


def test_a_spacing_that_cannot_be_is_refused(flat: Request) -> None:
    with pytest.raises(BadRequest, match="The spacing must be below the cutter's diameter of 8 mm, not 8 mm."):
        replace(flat, cutter=flat.rack[0], spacing=8.0)
    with pytest.raises(BadRequest, match="spacing must"):
        replace(flat, spacing=0.0)
