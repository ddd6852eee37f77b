"""Bite along the passes, clearance of the stepped tool, stock after roughing, and the next smaller cutter."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from closed_forms import step_on_curve
from shapes import block
from test_decision import VALUES

from addon.finishing.core.grid import Grid
from addon.finishing.core.path import CUT, ENTRY, LIFT, Path
from addon.finishing.core.result_store import ResultStore
from addon.finishing.core.stepping import finished
from addon.finishing.job.bite_settings import BiteSettings
from addon.finishing.job.body import Body, make_body
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.ground_settings import FitSettings, RegionSettings
from addon.finishing.job.machine import Machine
from addon.finishing.job.request import Request
from addon.finishing.job.roughing import RoughingSettings
from addon.finishing.job.stock import StockSettings
from addon.finishing.planning.plan import make_plan
from addon.finishing.planning.smaller_cutters import next_smaller, rest_request, side_plans, total_minutes
from addon.finishing.tooling.bite import bite_findings, bite_of, engagement_of, with_allowed_feed
from addon.finishing.tooling.clearance import Obstacles, clearance_findings, contacts
from addon.finishing.tooling.flat_cutter import disc_dilation
from addon.finishing.tooling.standing_stock import StockBox, stock_after_roughing, terraced

CUTTER = Cutter("Round-nose 16", 16.0)


def straight_passes(spacing: float, count: int, length: float, feed: float = 3500.0, z: float = 0.0) -> Path:
    """Passes along x on level ground, to and fro, in the order of y."""
    points = []
    for k in range(count):
        ends = [0.0, length] if k % 2 == 0 else [length, 0.0]
        points += [[x, k * spacing, z] for x in ends]
    n = len(points)
    kind = np.full(n, CUT, np.uint8)
    kind[0] = LIFT
    kind[2::2] = LIFT
    return Path(np.array(points), kind, np.repeat(np.arange(count) + 1, 2).astype(np.int32), np.full(n, feed))


def level_depth(depth: float) -> tuple[np.ndarray, Grid]:
    grid = Grid(-40.0, -40.0, 0.5, 300, 400)
    return np.full(grid.shape, depth, np.float32), grid


# ---- the bite


def sequential_sections(path: Path, radius: float, depth: float, cell: float) -> np.ndarray:
    """Independent referee: stock as columns across the passes, lowered by one pass after the other; the area that each takes."""
    y = np.arange(-20.0, 80.0, cell)
    stock = np.full(len(y), depth)
    taken = []
    for line in range(1, path.line_count + 1):
        at = path.points[path.line == line][0, 1]
        away = np.abs(y - at)
        ball = np.where(away <= radius, radius - np.sqrt(np.maximum(radius**2 - away**2, 0)), np.inf)
        lower = np.minimum(stock, ball)
        taken.append((stock - lower).sum() * cell)
        stock = lower
    return np.array(taken)


@pytest.mark.parametrize("order", ["along", "middle out"])
@pytest.mark.parametrize("depth", [0.5, 3.0])
def test_sections_against_one_pass_after_the_other(depth: float, order: str) -> None:
    path = straight_passes(1.8, 20, 60.0)
    if order == "middle out":  # every second pass first, so that the others have neighbours on both sides
        rank = np.concatenate([np.arange(0, 20, 2), np.arange(1, 20, 2)])
        rows = np.concatenate([[2 * k, 2 * k + 1] for k in rank])
        path = Path(path.points[rows], path.kind, path.line, path.feed)
    values, grid = level_depth(depth)
    engagement = engagement_of(path, CUTTER.radius, values, grid)
    referee = sequential_sections(path, CUTTER.radius, depth, 0.002)
    for line in range(1, path.line_count + 1):
        mine = engagement.section[path.line[engagement.row] == line]
        assert np.median(mine) == pytest.approx(referee[line - 1], rel=0.01, abs=0.01)


def test_what_all_passes_take_is_the_layer() -> None:
    # Conservation: sections times length make the volume of the layer between first and last pass, without the cusps that stay.
    path = straight_passes(2.0, 30, 100.0)
    values, grid = level_depth(0.5)
    engagement = engagement_of(path, CUTTER.radius, values, grid)
    step = 100.0 / (engagement.row == 1).sum()
    volume = engagement.section.sum() * step
    assert volume == pytest.approx(sequential_sections(path, 8.0, 0.5, 0.002).sum() * 100.0, rel=0.01)


def test_practice_feeds_keep_the_chips_within_the_charts() -> None:
    # Common practice, no source: 3500 to 4500 mm/min for finishing with half a millimetre of allowance runs without trouble.
    for feed in VALUES["common_practice"]["finish_feed_mm_min"]:
        values, grid = level_depth(VALUES["common_practice"]["allowance_left_by_roughing"])
        path = straight_passes(2.0, 5, 50.0, feed)
        bite = bite_of(engagement_of(path, CUTTER.radius, values, grid), path, CUTTER, BiteSettings())
        assert bite.allowed.min() == 1.0
        assert bite.chip.max() <= feed / (18000 * 2) + 1e-12


def test_deep_terraces_lower_the_feed_or_are_told() -> None:
    values, grid = level_depth(14.0)
    thin = Cutter("Round-nose 6", 6.0, usable_length=25.0, shank_diameter=6.0, stick_out=60.0)
    path = straight_passes(1.0, 4, 50.0, 6000.0)
    engagement = engagement_of(path, thin.radius, values, grid)
    lowering, telling = BiteSettings(), BiteSettings(lower_feed=False)
    bite = bite_of(engagement, path, thin, lowering)
    slower = with_allowed_feed(path, bite)
    assert (slower.feed <= path.feed).all() and slower.feed.min() < path.feed.min()
    again = bite_of(engagement, slower, thin, lowering)
    assert (again.chip <= again.greatest_chip + 1e-9).all() and (again.bend <= lowering.greatest_bend + 1e-9).all()
    (lowered,) = bite_findings(bite, lowering)
    (told,) = bite_findings(bite, telling)
    assert not lowered.must_see and told.must_see and told.place is not None
    assert f"{slower.feed.min():.0f} mm/min at the worst place" in str(lowered.remedy)


# ---- stock after roughing


def test_disc_dilation_is_that_of_scipy() -> None:
    from scipy.ndimage import grey_dilation

    heights = np.random.default_rng(4).normal(size=(53, 71)).astype(np.float32)
    for radius in (0.4, 1.0, 3.3, 7.0):
        n = int(radius / 0.5 + 1e-9)
        y, x = np.mgrid[-n : n + 1, -n : n + 1] * 0.5
        disc = x * x + y * y <= radius * radius + 1e-9
        wanted = grey_dilation(heights, footprint=disc, mode="constant", cval=-np.inf)
        assert np.array_equal(disc_dilation(heights, radius, 0.5), wanted)


def test_terraces_of_a_slope_are_as_wide_as_the_step_down_asks() -> None:
    # A plane rising 1 in 4 under steps of 3 mm: terraces 12 mm long, nowhere below the surface, none more than one step above it plus
    # what the flat cutter's radius cannot reach.
    grid = Grid(0.0, 0.0, 0.5, 60, 240)
    surface = np.broadcast_to(grid.x() / 4, grid.shape).astype(np.float32)
    settings = RoughingSettings(step_down=3.0, cutter_diameter=6.0)
    left = terraced(surface, grid.cell, settings, 30.0)
    over = (left - surface)[20:40, 20:-20]
    assert over.min() >= 0 and over.max() <= 3.0 + 0.5
    levels = left[30, 20:-20]
    on_step = np.abs((30.0 - levels) / 3.0 - np.round((30.0 - levels) / 3.0)) < 1e-4
    assert on_step.mean() > 0.95
    runs = np.diff(np.flatnonzero(np.diff(levels) > 1)) * 0.5
    assert np.median(runs) == pytest.approx(12.0, abs=0.5)


def test_allowance_stands_along_the_normal() -> None:
    grid = Grid(0.0, 0.0, 0.25, 80, 80)
    surface = np.broadcast_to(grid.x() * np.tan(np.radians(40)), grid.shape)
    box = StockBox((-50.0, -50.0), (80.0, 80.0), 90.0, -10.0)
    rough = stock_after_roughing(surface, grid, RoughingSettings(allowance=0.5), box)
    assert (rough - surface)[5:-5, 5:-5] == pytest.approx(0.5 / np.cos(np.radians(40)), rel=1e-4)


# ---- clearance


def standing_strip(slot: float) -> Obstacles:
    """A body 60 mm wide and 30 mm high, the slot beside it, and stock that stands 40 mm high beyond."""
    grid = Grid.over(np.array([-60.0, -60.0]), np.array([160.0, 60.0]), 0.5)
    x = np.broadcast_to(grid.x(), grid.shape)
    body = np.where(np.abs(x - 30) <= 30, 30.0, -np.inf).astype(np.float32)
    away = np.maximum(np.maximum(-x, x - 60), 0)
    standing = np.where(away > slot, 40.0, -np.inf).astype(np.float32)
    return Obstacles(grid, body, np.maximum(body, standing), standing)


def overrunning(radius: float, z: float) -> Path:
    """Along the body's edge with the axis one radius outside."""
    x = 60.0 + radius
    points = np.array([[x, -20.0, 80.0], [x, -20.0, z], [x, 20.0, z]])
    return Path(points, np.array([LIFT, ENTRY, CUT], np.uint8), np.ones(3, np.int32), np.full(3, 3000.0))


@pytest.mark.parametrize(("diameter", "free"), [(16.0, True), (22.0, False)])
def test_slot_rule_of_practice(diameter: float, free: bool) -> None:
    # Common practice, no source: a 16 mm cutter runs freely in the slot that a 22 mm cutter left; a 22 mm one rubs the stock.
    cutter = Cutter("c", diameter, usable_length=60.0, stick_out=80.0)
    found = contacts(overrunning(diameter / 2, 5.0), cutter, Machine(), standing_strip(22.0))
    assert (found == ()) is free
    if not free:
        (finding,) = clearance_findings(found, cutter, 22.0)
        assert finding.key == "slot" and finding.must_see and "wider than 22.5 mm" in str(finding.remedy)


def test_nut_clears_the_body_but_not_stock_that_still_stands() -> None:
    # Common practice, no source: a nut no wider than the cutter clears what the cutter has cut, but not stock that still stands.
    narrow = replace(Machine(), nut_diameter=16.0)
    cutter = Cutter("c", 16.0, usable_length=20.0, shank_diameter=12.0, stick_out=22.0)
    deep = overrunning(8.0, 5.0)
    assert contacts(deep, cutter, narrow, standing_strip(22.0)) == ()
    close = [c for c in contacts(deep, cutter, narrow, standing_strip(15.0)) if c.part == "collet nut"]
    assert close[0].obstacle == "stock" and close[0].depth == pytest.approx(40.0 - (5.0 + 22.0), abs=1e-4)


def test_wide_nut_over_the_body_by_closed_form() -> None:
    # The nut's lower end is at tip + 22 = 27, the body 30 high stands within its radius of 15: 3 mm into the body.
    cutter = Cutter("c", 16.0, usable_length=20.0, shank_diameter=12.0, stick_out=22.0)
    (contact,) = contacts(overrunning(8.0, 5.0), cutter, Machine(), standing_strip(40.0))
    assert (contact.part, contact.obstacle) == ("collet nut", "body")
    assert contact.depth == pytest.approx(3.0, abs=1e-4)
    (finding,) = clearance_findings((contact,), cutter, 40.0)
    assert "25 mm or more" in str(finding.remedy)
    longer = replace(cutter, stick_out=25.1)
    assert contacts(overrunning(8.0, 5.0), longer, Machine(), standing_strip(40.0)) == ()


def test_a_long_move_is_looked_at_between_its_ends() -> None:
    # One straight move past a post that only the middle of the move comes near: 40 - (5 + 22) = 13 mm into the nut.
    obstacles = standing_strip(200.0)
    x, y = np.meshgrid(obstacles.grid.x(), obstacles.grid.y())
    post = np.where((np.abs(x - 80) < 3) & (np.abs(y) < 3), 40.0, -np.inf).astype(np.float32)
    nothing = np.full_like(post, -np.inf)
    obstacles = Obstacles(obstacles.grid, nothing, post, nothing)
    cutter = Cutter("c", 16.0, usable_length=20.0, shank_diameter=12.0, stick_out=22.0)
    path = overrunning(8.0, 5.0)  # along x = 68 from y -20 to 20, its ends 17 mm and more away from the post
    (contact,) = contacts(path, cutter, Machine(), obstacles)
    assert (contact.part, contact.obstacle) == ("collet nut", "stock")
    assert contact.depth == pytest.approx(13.0, abs=1e-4) and abs(contact.place[1]) < 14


def test_shank_wider_than_the_ball_at_a_wall() -> None:
    # A shank of 12 on a ball of 6, usable over 10 mm, beside a wall 25 mm above the tip: 15 mm into it.
    cutter = Cutter("c", 6.0, usable_length=10.0, shank_diameter=12.0, stick_out=50.0)
    (contact,) = contacts(overrunning(3.0, 5.0), cutter, Machine(), standing_strip(40.0))
    assert (contact.part, contact.obstacle, contact.depth) == ("shank", "body", pytest.approx(15.0, abs=1e-4))


def test_plan_tells_the_nut_with_its_place_and_the_remedy() -> None:
    def shell(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        return 45 - 38 * np.exp(-(((x - 40) / 17) ** 4))

    body = make_body("deep trough", block(shell, 80, 60, 1.0))
    short = Cutter("Round-nose 10", 10.0, usable_length=18.0, shank_diameter=10.0, stick_out=20.0)
    request = Request(
        body, cutter=short, rack_table=False, start="edge", start_angle=90.0, cell=0.5, region=RegionSettings(wall_limit=80.0),
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
        grooved, cutter=rack[2], rack=rack, start="edge", start_angle=0.0, cell=0.25, smaller_cutters=True,
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
    assert total_minutes(plans, 2.0) == pytest.approx(first.run_time.minutes + second.run_time.minutes + 2.0)
    assert second.path.length_of(CUT) < 0.5 * first.path.length_of(CUT)


def test_nothing_follows_a_cutter_that_fits(grooved: Body) -> None:
    rack = (Cutter("Round-nose 9", 9.0), Cutter("Round-nose 16", 16.0))
    plan = make_plan(Request(grooved, cutter=rack[0], rack=rack, start="edge", start_angle=0.0, cell=0.5, rack_table=False))
    assert plan.fit.fits and rest_request(plan) is None
    assert next_smaller(rack[1], rack) == rack[0] and next_smaller(rack[0], rack) is None


# ---- flats


def test_a_flat_is_named_with_its_area() -> None:
    def terrace(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        return 20 - 0.002 * np.maximum(np.abs(x - 45) - 20, 0) ** 2

    body = make_body("terrace", block(terrace, 90, 60, 0.5))
    plan = make_plan(Request(body, cutter=CUTTER, rack_table=False, start="edge", start_angle=0.0, cell=0.5))
    (flat,) = [f for f in plan.findings if f.key == "flat"]
    area = dict(flat.sentence.values)["area"]
    # 40 mm between the bends, and as far on as the slope stays below 0.3 degrees: 1.3 mm on each side; rims left out.
    assert area * 100 == pytest.approx((40 + 2.6) * (60 - 2 * 0.75), rel=0.04)
