"""What holds of every plan, whatever body and settings: hypothesis chooses both.

A few dozen plans of bodies of 60 x 44 mm by default; FINISHING_BODIES, as .ci/run sets it once, tries more.
"""

from __future__ import annotations

import os
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from shapes import block

from addon.finishing.core.path import CUT
from addon.finishing.files.path_csv import path_csv
from addon.finishing.files.plan_record import plan_record, record_bytes
from addon.finishing.job.body import Body, make_body
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.request import CUTTING_WAYS, LINES_FROM, Request
from addon.finishing.planning.plan import make_plan
from addon.finishing.planning.result import Plan

TRIED = settings(
    max_examples=10 if "FINISHING_BODIES" in os.environ else 5,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow],
    phases=(Phase.explicit, Phase.generate),  # a plan takes seconds: looking for the simplest body that breaks a law takes an hour
)
LENGTH, WIDTH = 60.0, 44.0
GOUGE_LIMIT = 0.002
ROUNDING = 1e-3
"""Share of a length by which another trim at a border may lengthen what a law says is no longer."""
FINER = 0.75
"""A finer cusp height over the coarser one: nearer to 1 the number of lines may be the same."""


def waves(drawn: list[tuple[float, float, float, float]]) -> Body:
    """A block whose top is a sum of waves: the height, length, direction and shift of each."""

    def heights(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        return (
            12 + 0 * x + sum(high * np.cos(2 * np.pi * (x * np.cos(turn) + y * np.sin(turn)) / length + shift) for high, length, turn, shift in drawn)
        )

    return make_body("waves", block(heights, LENGTH, WIDTH, 2.0))


@st.composite
def bodies(draw: st.DrawFn) -> Body:
    """Three waves, none so tight that the smallest cutter could not follow it."""
    return waves([(draw(st.floats(0.1, 0.8)), draw(st.floats(28, 90)), draw(st.floats(0, 3.2)), draw(st.floats(0, 6.3))) for _ in range(3)])


@st.composite
def requests(draw: st.DrawFn) -> Request:
    cusp = draw(st.floats(0.03, 0.25))
    return Request(
        draw(bodies()),
        cutter=Cutter("Round-nose", draw(st.floats(6.0, 16.0))),
        lines_from=draw(st.sampled_from(["edge", "middle", "border"])),
        line_angle=draw(st.sampled_from([0.0, 30.0, 90.0])),
        cutting_way=draw(st.sampled_from(CUTTING_WAYS)),
        cusp=cusp,
        cell=draw(st.sampled_from([0.5, 0.8])),
        chord_tolerance=draw(st.sampled_from([0.001, 0.002])),
        rack_table=False,
    )


def cuts(plan: Plan) -> float:
    return plan.path.length_of(CUT)


def skipped(body: Body, radius: float, x: float, y: float) -> Body:
    """The body with a round place of its top marked to be left out."""
    middle = body.triangles.mean(axis=1)
    return replace(body, skip=(np.hypot(middle[:, 0] - x, middle[:, 1] - y) < radius) & (middle[:, 2] > 8))


@TRIED
@given(requests())
def test_no_gouge_and_the_same_bytes_twice(request: Request) -> None:
    first, second = make_plan(request), make_plan(request)
    assert first.proof.worst_gouge <= GOUGE_LIMIT
    assert path_csv(first.path) == path_csv(second.path)
    records = [plan_record(plan) | {"stage_seconds": None} for plan in (first, second)]
    assert record_bytes(records[0]) == record_bytes(records[1])


@TRIED
@given(requests())
def test_a_finer_cusp_is_never_shorter(request: Request) -> None:
    assert cuts(make_plan(replace(request, cusp=FINER * request.cusp))) > cuts(make_plan(request))


@TRIED
@given(requests(), st.floats(4, 8), st.floats(1.3, 2.0), st.floats(15, 45), st.floats(12, 32))
def test_a_larger_skip_is_never_longer(request: Request, radius: float, more: float, x: float, y: float) -> None:
    request = replace(request, lines_from="edge" if request.lines_from == "border" else request.lines_from)
    lengths = [cuts(make_plan(replace(request, body=skipped(request.body, size, x, y)))) for size in (0.0, radius, more * radius)]
    assert lengths[1] <= lengths[0] * (1 + ROUNDING) and lengths[2] <= lengths[1] * (1 + ROUNDING)


@TRIED
@given(requests(), st.floats(-900, 900), st.floats(-900, 900), st.floats(-50, 50))
def test_a_moved_body_takes_the_same_minutes(request: Request, x: float, y: float, z: float) -> None:
    matrix = np.eye(4)
    matrix[:3, 3] = x, y, z
    plans = make_plan(request), make_plan(replace(request, body=request.body.moved(matrix)))
    assert abs(plans[1].run_time.minutes / plans[0].run_time.minutes - 1) < 0.005
    assert plans[1].proof.worst_gouge <= GOUGE_LIMIT


@TRIED
@given(requests(), st.sampled_from([10.0, 25.4, 1000.0]))
def test_a_file_in_another_unit_takes_the_same_minutes(request: Request, unit: float) -> None:
    other = make_body(request.body.name, (request.body.triangles / unit) * unit)
    plans = make_plan(request), make_plan(replace(request, body=other))
    assert abs(plans[1].run_time.minutes / plans[0].run_time.minutes - 1) < 0.005


@pytest.mark.parametrize("seed", range(100, 116 if "FINISHING_BODIES" in os.environ else 108))
def test_a_turned_body_takes_the_same_minutes(seed: int) -> None:
    # Drawn by numpy: what hypothesis draws depends on which modules are loaded. X and Y of the default machine are alike. A run is counted from over
    # its first line to over its last: where the machine stands takes no part.
    rng = np.random.default_rng(seed)
    degrees, lines_from = (90, 180, 270)[seed % 3], LINES_FROM[seed % len(LINES_FROM)]
    request = Request(
        waves([(rng.uniform(0.1, 0.8), rng.uniform(28, 90), rng.uniform(0, 3.2), rng.uniform(0, 6.3)) for _ in range(3)]),
        cutter=Cutter("Round-nose", rng.uniform(6.0, 16.0)),
        lines_from=lines_from,
        line_angle=None if lines_from == "best" else float(rng.choice([0.0, 30.0, 90.0])),
        cutting_way=str(rng.choice(CUTTING_WAYS)),
        cusp=rng.uniform(0.03, 0.25),
        cell=float(rng.choice([0.5, 0.8])),
        chord_tolerance=float(rng.choice([0.001, 0.002])),
        rack_table=False,
    )
    cosine, sine = round(np.cos(np.radians(degrees))), round(np.sin(np.radians(degrees)))
    matrix = np.eye(4)
    matrix[:2, :2] = [[cosine, -sine], [sine, cosine]]
    angle = None if request.line_angle is None else (request.line_angle + degrees) % 360
    plans = make_plan(request), make_plan(replace(request, body=request.body.moved(matrix), line_angle=angle))
    assert abs(plans[1].run_time.minutes / plans[0].run_time.minutes - 1) < 0.005
    assert plans[1].proof.worst_gouge <= GOUGE_LIMIT
