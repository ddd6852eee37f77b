"""Dry runs: they follow the true outline of the work, one above everything, one low above the work."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from program_reader import known, read
from shapely.geometry import LineString, MultiLineString, Point, Polygon
from small_jobs import two_sides

from addon.finishing.core.path import CUT, LIFT, Path
from addon.finishing.files.dry_run import outline
from addon.finishing.files.plan_programs import plan_dry_run, plan_low_dry_run
from addon.finishing.job.dowels import DowelSettings
from addon.finishing.planning.result import Plan


def rows_in(ends: list[tuple[float, float]], spacing: float) -> Path:
    """Parallel lines along x, `spacing` apart, from and to the given x; the way to each leads through the air."""
    points, numbers, kinds = [], [], []
    for number, (low, high) in enumerate(ends, start=1):
        x = np.linspace(low, high, 1 + int(high - low))
        points.append(np.column_stack([x, np.full(len(x), number * spacing), np.full(len(x), 10.0)]))
        numbers += [number] * len(x)
        kinds += [LIFT] + [CUT] * (len(x) - 1)
    whole = np.concatenate(points)
    return Path(whole, np.array(kinds, np.uint8), np.array(numbers, np.int32), np.full(len(whole), 1000.0))


def test_the_outline_follows_bays_that_a_convex_one_would_cross() -> None:
    # A C: 40 lines of 60 mm, the middle 20 of them only 25 mm long; shapely's outline of the lines widened and narrowed again.
    ends = [(0.0, 60.0)] * 10 + [(0.0, 25.0)] * 20 + [(0.0, 60.0)] * 10
    path = rows_in(ends, 2.0)
    (ring,) = outline(path, 3.0)
    lines = MultiLineString([LineString(line[:, :2]) for line in path.lines()])
    true = lines.buffer(3.0).buffer(-3.0)
    own = Polygon(ring)
    assert own.is_valid and own.exterior.hausdorff_distance(true.exterior) < 2.5  # two cells, and what the outline is thinned by
    assert own.area < 0.8 * own.convex_hull.area and np.array_equal(ring[0], ring[-1])


def test_separate_ground_has_separate_outlines_and_holes_have_none() -> None:
    ring_of_lines = [(0.0, 40.0)] * 5 + [(0.0, 12.0)] * 5
    right = rows_in(ring_of_lines, 2.0)
    far = replace(right, points=right.points + (100.0, 0.0, 0.0))
    both = Path(*(np.concatenate([getattr(right, name), getattr(far, name)]) for name in ("points", "kind", "line", "feed")))
    rings = outline(both, 3.0)
    assert len(rings) == 2 and abs(rings[0][:, 0].mean() - rings[1][:, 0].mean()) > 50


@pytest.fixture(scope="module")
def plan() -> Plan:
    top = two_sides()[0]
    return replace(top, request=replace(top.request, dowels=DowelSettings()), findings=())


def test_the_dry_run_stays_above_stock_and_clamps(plan: Plan) -> None:
    run = read(plan_dry_run(plan, "mm"))
    # By construction: a clamp up to 40 mm, and 5 mm above it.
    assert "M3" not in run.words and all(step.end[2] == 45.0 for step in known(run.steps))
    assert not any(step.spindle for step in run.steps)
    lines = MultiLineString([LineString(line[:, :2]) for line in plan.path.lines()])
    ring = Polygon([step.end[:2] for step in known(run.steps)])
    assert ring.exterior.hausdorff_distance(lines.buffer(2.5).buffer(-2.5).exterior) < 2.5


def test_the_low_dry_run_keeps_off_work_and_stock(plan: Plan) -> None:
    run = read(plan_low_dry_run(plan, "mm"))
    assert "M3" not in run.words and not any(step.spindle for step in run.steps)
    # It is somewhere lower than the safe height, never lower than 1.5 mm above the path near by, and rapid moves only go up or across on high.
    places = np.array([step.end for step in known(run.steps)])
    assert places[:, 2].min() < 20.0
    cuts = plan.path.points[plan.path.kind == CUT]
    for place in places:
        near = cuts[np.hypot(*(cuts[:, :2] - place[:2]).T) < 1.5]
        if len(near):
            assert place[2] >= near[:, 2].max() + 1.5
    for step in known(run.steps):
        assert not step.fast or step.end[2] == 45.0
    # The stock beyond the channel of 22 mm is 15 mm high, the stock on the body half a millimetre above it: the ball's side clears both.
    assert Point(places[0, :2]).distance(Point(places[-1, :2])) < 1e-6
