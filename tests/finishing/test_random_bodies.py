"""No gouge on random bodies, by a referee that shares no code with the product; and limits that the cusp keeps.

FINISHING_BODIES=200 runs all shipped seeds; .ci/run takes 120 of them once; by default every kind has a few turns. A larger number tries new bodies.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest
from random_bodies import SHIPPED, SMOOTH, random_body
from referee import Referee

from addon.finishing.core.cusp_formulas import spacing_on_flat
from addon.finishing.core.errors import NothingToPlan
from addon.finishing.files.path_csv import path_csv, read_csv
from addon.finishing.job.body import make_body
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.request import Request
from addon.finishing.planning.pass_stages import SHORTEST_KEPT
from addon.finishing.planning.plan import make_plan
from addon.finishing.planning.result import Plan

BODIES = int(os.environ.get("FINISHING_BODIES", "30"))
GOUGE_LIMIT = 0.002
CSV_ROUNDING = 0.00005
SMOOTH_LIMITS = 1.03, 1.10
"""Cusp over the asked one on bodies without an edge: 99.9 % of the ground that the proof counts, and all of it. The limits of the examples."""
SHARP_LIMITS = 1.30, 2.0
"""The same beside creases, ridges, walls, pockets and the noise of a scan, where the ball leaves one edge and meets another."""
TIPS = 1500
"""Most places of one path that the referee looks at, at random."""
NEW_BODIES_TO_AN_EMPTY_ONE = 50
"""New bodies beyond the shipped seeds, of which one may have all its ground out of the cutter's reach. Of the shipped ones none may."""


@pytest.fixture(scope="module")
def empty_plans() -> Iterator[list[str]]:
    """Gathers the requests that leave nothing to plan, and fails at the end where they are more than a few."""
    found: list[str] = []
    yield found
    allowed = 2 * (max(0, BODIES - SHIPPED) // NEW_BODIES_TO_AN_EMPTY_ONE)
    assert len(found) <= allowed, f"nothing to plan on {', '.join(found)}: at most {allowed} such plans are let pass"


def planned(request: Request, seed: int, empty_plans: list[str]) -> Plan | None:
    """The plan of a request; None, and noted, where there is nothing to plan. Raises NothingToPlan for a shipped seed."""
    try:
        return make_plan(request)
    except NothingToPlan:
        if seed < SHIPPED:
            raise
        empty_plans.append(f"seed {seed} from the {request.lines_from}")
        return None


@pytest.mark.parametrize("seed", range(BODIES))
def test_no_gouge_and_an_honest_proof(seed: int, empty_plans: list[str]) -> None:
    body = random_body(seed)
    cutter = Cutter("Round-nose", 2 * body.radius)
    request = Request(make_body(body.kind, body.triangles), cutter=cutter, lines_from="edge", line_angle=0.0, rack_table=False)
    if body.kind in SMOOTH:
        # As many cells to the radius as in the base case, for which the limits of the cusp are given.
        request = replace(request, cell=body.radius / 32)
    plan = planned(request, seed, empty_plans)
    if plan is None:
        return
    points = read_csv(path_csv(plan.path)).points
    shares = np.array([0.2, 0.35, 0.5, 0.65, 0.8, 1.0])[:, None, None]
    tips = (points[:-1] + shares * np.diff(points, axis=0)).reshape(-1, 3)
    tips = tips[tips[:, 2] < plan.body.high[2] + 1]
    rng = np.random.default_rng(seed)
    tips = tips[rng.permutation(len(tips))[:TIPS]]
    # The body's underside lies out of reach; bridged openings are no ground that could be cut into.
    over = plan.body.triangles[plan.body.triangles[:, :, 2].max(axis=1) > plan.body.low[2] + 0.5]
    referee = Referee(over, body.radius, 0.12)
    worst = float(referee.depths(tips).max())
    assert worst <= GOUGE_LIMIT + CSV_ROUNDING
    # The proof measures upright, which is never less than to the nearest point.
    assert plan.proof.worst_gouge >= worst - 0.0005 - CSV_ROUNDING
    cusp = dict(plan.proof.cusp_percentiles)
    most, greatest = SMOOTH_LIMITS if body.kind in SMOOTH else SHARP_LIMITS
    assert cusp[99.9] <= most * request.cusp
    assert plan.proof.worst_cusp <= greatest * request.cusp
    assert plan.proof.samples > (1000 if body.kind in SMOOTH else 0)
    assert_none_is_short(plan)


@pytest.mark.parametrize("seed", range(BODIES))
def test_lines_from_the_border_inward(seed: int, empty_plans: list[str]) -> None:
    body = random_body(seed)
    cutter = Cutter("Round-nose", 2 * body.radius)
    plan = planned(Request(make_body(body.kind, body.triangles), cutter=cutter, lines_from="border", rack_table=False), seed, empty_plans)
    if plan is None:
        return
    assert plan.proof.worst_gouge <= GOUGE_LIMIT
    assert_none_is_short(plan)


def assert_none_is_short(plan: Plan) -> None:
    """Lines are laid 2 mm long at least, and pieces of them cut that are 1.5 mm long; for their turns both ends may lose half a spacing."""
    spacing = float(spacing_on_flat(plan.cutter.radius, plan.request.cusp))
    assert min(np.linalg.norm(np.diff(line, axis=0), axis=1).sum() for line in plan.path.lines()) >= SHORTEST_KEPT - spacing
