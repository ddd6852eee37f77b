"""The pass along the rims: where it runs, what it leaves of the border, its price, and when it is taken by itself."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from shapes import block

from addon.finishing.core.path import CUT
from addon.finishing.core.result_store import ResultStore
from addon.finishing.core.stage_runner import StageRunner
from addon.finishing.core.stepping import finished
from addon.finishing.job.body import make_body
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.request import Request
from addon.finishing.planning.plan import make_plan
from addon.finishing.planning.plan_graph import PLAN_GRAPH
from addon.finishing.planning.result import Plan
from addon.finishing.planning.rim_stages import border_stands_high

LENGTH, WIDTH = 110.0, 76.0


def with_f_holes(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """An arched plate with two S-shaped openings, narrow beside the cutter."""
    arch = 14 + 5 * np.cos(np.pi * (x / LENGTH - 0.5)) * np.cos(np.pi * (y / WIDTH - 0.5))
    away = np.minimum(np.abs(y - 22 - 5 * np.sin(x / 9)), np.abs(y - 54 + 5 * np.sin(x / 9)))
    return np.where((away < 3.5) & (np.abs(x - 55) < 24), 2.0, arch)


@cache
def request() -> Request:
    plate = make_body("plate", block(with_f_holes, LENGTH, WIDTH, 0.5))
    region = replace(Request(plate).region, openings="skip")
    ball = Cutter("Round-nose 12", 12.0)
    # Lines that meet all rims on the slant leave most there.
    return Request(plate, cutter=ball, rack_table=False, region=region, cell=0.5, cusp=0.05, lines_from="edge", line_angle=45.0)


@cache
def planned(rim_pass: str) -> Plan:
    return make_plan(replace(request(), rim_pass=rim_pass))


def border(plan: Plan) -> float:
    """What a thousandth of the border stands higher than, in cusp heights."""
    return dict(plan.proof.border_percentiles)[99.9] / plan.request.cusp


def test_the_border_is_cut_down_by_it() -> None:
    without, with_it = planned("off"), planned("on")
    assert border(without) > 1.5 and border(with_it) <= 1.2
    assert with_it.proof.worst_gouge <= 0.002
    # Away from the border nothing has become worse, and the border is the same ground.
    assert with_it.proof.worst_cusp <= without.proof.worst_cusp * 1.001 and with_it.proof.border_area == without.proof.border_area


def test_it_runs_round_the_outline_and_both_holes() -> None:
    plan = planned("on")
    assert plan.rim.is_run and len(plan.rim.lines) == 3
    # The outline alone is that long; each hole is another 2 x 48 mm at least.
    assert plan.rim.length > 2 * (LENGTH + WIDTH) + 4 * 48
    for line in plan.rim.lines:
        assert plan.region.may_link(line).all()
        np.testing.assert_allclose(line[0], line[-1], atol=1e-9)


def test_its_price_is_what_it_adds() -> None:
    without, with_it = planned("off"), planned("on")
    assert without.rim.minutes == with_it.rim.minutes and not without.rim.is_run
    added = with_it.run_time.minutes - without.run_time.minutes
    assert without.rim.minutes == pytest.approx(added, rel=0.15)
    cut = with_it.path.length_of(CUT) - without.path.length_of(CUT)
    assert with_it.rim.length == pytest.approx(cut, rel=0.05)


def test_its_price_has_the_short_lines_in_it() -> None:
    # A crease runs out over the rim on both sides of a dome: where the pass is run, short lines beside it take longer than the pass itself.
    def crossed(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        dome = 24 - ((x - 60) ** 2 + (y - 45) ** 2) / 600
        return dome - np.maximum(2.6 - 0.55 * np.abs(y - 45 + 0.25 * (x - 60)), 0) - np.maximum(2.2 - 0.5 * np.abs(x - 50 - 0.3 * y), 0)

    body = make_body("crossed", block(crossed, 120.0, 90.0, 0.75))
    base = Request(body, cutter=Cutter("Round-nose 12", 12.0), rack_table=False, cell=0.5, lines_from="edge", line_angle=0.0)
    store = ResultStore()
    without, with_it = (make_plan(replace(base, rim_pass=which), store) for which in ("off", "on"))
    added = with_it.run_time.minutes - without.run_time.minutes
    assert without.rim.lines == with_it.rim.lines and len(with_it.rim.lines) > 5
    assert without.rim.minutes == pytest.approx(added, abs=max(0.1 * added, 0.03))


def test_it_is_told_without_it_and_with_it() -> None:
    without, with_it = planned("off"), planned("on")
    told = next(finding for finding in without.findings if finding.key == "border-stands")
    assert f"{without.rim.minutes:.1f} minutes" in str(told.words) and not told.must_see
    assert [finding.key for finding in with_it.findings if finding.key in ("border-stands", "rim-pass")] == ["rim-pass"]


def test_by_itself_it_is_taken_where_the_border_would_stand_high() -> None:
    plan = planned("auto")
    assert plan.rim.is_run and plan.request.rim_pass == "auto"
    np.testing.assert_array_equal(plan.path.points, planned("on").path.points)
    # Twice the cusp height that is asked for leaves the border below 1.5 times it only where it did not stand high before.
    low = planned("off")
    assert not border_stands_high(replace(low.proof, border_percentiles=((99.9, 0.07),)), 0.05)
    assert border_stands_high(replace(low.proof, border_percentiles=((99.9, 0.08),)), 0.05)


def holed(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """A dome with a round hole and a pocket."""
    dome = np.where(np.hypot(x - 35, y - 40) < 9, 0.5, 16 - (x - 55) ** 2 / 900 - (y - 40) ** 2 / 500)
    return np.where((np.abs(x - 78) < 13) & (np.abs(y - 38) < 10), 4.0, dome)


def seat(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    return 22 - 9 * np.exp(-(((x - 55) / 34) ** 2 + ((y - 40) / 24) ** 2))


def waves(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    return 14 + 3 * np.sin(x / 17) + 2 * np.cos(y / 13)


@pytest.mark.parametrize(("surface", "diameter"), [(holed, 16.0), (seat, 16.0), (waves, 12.0)])
def test_on_other_bodies_the_border_is_cut_down_and_left_to_itself_where_it_is_low(surface: Callable, diameter: float) -> None:
    body = make_body("other", block(surface, LENGTH, 80.0, 1.0))
    base = Request(body, cutter=Cutter("Round-nose", diameter), rack_table=False, cell=0.5, lines_from="edge", line_angle=0.0)
    store = ResultStore()
    without, with_it, by_itself = (make_plan(replace(base, rim_pass=rim), store) for rim in ("off", "on", "auto"))
    assert border(with_it) <= 1.2
    assert by_itself.rim.is_run == (border(without) > 1.5)


RIM_RADIUS, RIM_HEIGHT, BALL = 38.0, 15.0, 8.0
FALL = RIM_RADIUS / 110
"""Tangent of the angle at which the cap falls to its outline."""


def turned(height: Callable, radius: float, longer: float, bottom: float) -> np.ndarray:
    """A body (n, 3, 3) on an oval outline, `longer` times as long as wide, whose heights are known by the share of the way to the outline."""
    around = np.linspace(0, 2 * np.pi, 181)

    def ring(share: float, height: float) -> np.ndarray:
        return np.stack([longer * share * radius * np.cos(around), share * radius * np.sin(around), np.full(181, height)], axis=-1)

    top = [ring(share, height(share)) for share in np.linspace(0, 1, 39 if longer == 1 else 91)]
    rings = [*top, ring(1, bottom), ring(0, bottom)]
    pairs = list(zip(rings[:-1], rings[1:], strict=True))
    halves = [np.stack([inner[:-1], outer[:-1], outer[1:]], axis=1) for inner, outer in pairs]
    halves += [np.stack([inner[:-1], outer[1:], inner[1:]], axis=1) for inner, outer in pairs]
    triangles = np.concatenate(halves)
    sides = np.linalg.norm(np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0]), axis=1)
    return triangles[sides > 0]


def edged(triangles: np.ndarray) -> Plan:
    ball = Cutter("Round-nose", 2 * BALL)
    return make_plan(Request(make_body("turned", triangles), cutter=ball, rack_table=False, lines_from="edge", line_angle=0.0, rim_pass="on"))


def capped(bottom: float) -> Plan:
    """A cap that falls at 19 degrees to a round outline of one height, its lowest place, with an even bottom under it."""
    return edged(turned(lambda share: RIM_HEIGHT + RIM_RADIUS**2 * (1 - share * share) / 220, RIM_RADIUS, 1.0, bottom))


def test_where_the_outline_is_the_lowest_place_the_tip_goes_as_far_below_it_as_the_ball_needs() -> None:
    plan = capped(bottom=0.0)
    # The ball that touches ground falling at an angle a has its tip R (1 - cos a) below where it touches.
    below = BALL * (1 - np.cos(np.arctan(FALL)))
    lowest = plan.path.points[:, 2].min()
    assert RIM_HEIGHT - below - plan.grid.cell - 1e-3 <= lowest < RIM_HEIGHT - 0.7 * below
    assert border(plan) <= 1.2 and dict(plan.proof.cusp_percentiles)[99.9] <= 1.03 * 0.05
    assert plan.proof.worst_gouge <= 0.002


def test_but_never_below_the_body() -> None:
    plan = capped(bottom=RIM_HEIGHT)
    # Job heights count from the body's bottom here; its outline is as low.
    assert plan.path.points[:, 2].min() >= plan.job_from_body[2, 3] + RIM_HEIGHT - 1e-9
    assert border(plan) > 1.2


@pytest.mark.parametrize(("recurve", "rise"), [(0.84, 3.4), (0.88, 2.5)])
def test_beside_a_hollow_that_the_ball_does_not_reach_the_border_is_cut_down_too(recurve: float, rise: float) -> None:
    """An arch whose recurve along the outline is narrower than the ball."""

    def height(share: float) -> float:
        edge = max(share - recurve, 0.0) / (1 - recurve)
        return 9 + 5 * np.cos(np.pi * min(share / recurve, 1.0)) + rise * edge**2

    plan = edged(turned(height, 44.0, 1.3, 0.0))
    assert plan.proof.left.sum() > 50
    assert border(plan) <= 1.2 and plan.proof.worst_gouge <= 0.002


def creased(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """A dome with two V creases that cross and run out over the edge, on a mesh whose edges do not follow them."""
    dome = 20 - ((x - 46) ** 2 + (y - 35) ** 2) / 500
    return dome - np.maximum(2.5 - 0.58 * np.abs(y - 24 - 0.27 * x), 0) - np.maximum(2.1 - 0.51 * np.abs(x - 62 + 0.41 * y), 0)


def test_along_creases_that_facets_do_not_follow_the_border_is_cut_down_too() -> None:
    body = make_body("creased", block(creased, 92.0, 70.0, 0.75))
    ball = Cutter("Round-nose 12", 12.0)
    plan = make_plan(Request(body, cutter=ball, rack_table=False, lines_from="edge", line_angle=0.0, rim_pass="on"))
    assert len(plan.rim.lines) > 1 and border(plan) <= 1.2 and plan.proof.worst_gouge <= 0.002
    assert dict(plan.proof.cusp_percentiles)[99.9] <= 1.03 * plan.request.cusp


def test_the_ball_comes_lowest_over_a_place_from_where_its_closing_is_defined() -> None:
    # Held against the closing of the same tip surface, made by a dilation: the ball's underside there is the closing itself.
    plan = planned("off")
    meter = finished(StageRunner(PLAN_GRAPH, ResultStore()).ask(("crest_meter",), plan.request))["crest_meter"]
    view, rng = plan.tip_surface, np.random.default_rng(4)
    row, column = np.nonzero(plan.ground.planned)
    some = rng.choice(len(row), 60, replace=False)
    row, column = row[some], column[some]
    at = meter.lowest_over(row, column)
    away = np.hypot(*(at - view.grid.middles(row, column)).T)
    under = view.tip[view.grid.nearest(at)] + 6.0 - np.sqrt(36.0 - away**2)
    np.testing.assert_allclose(under, view.closing[row, column], atol=1e-5)
