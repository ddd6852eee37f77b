"""Entries and exits of whole plans: programs walked through the stock, and what they leave on the finished surface."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
import pytest
from scipy.interpolate import RegularGridInterpolator
from scipy.ndimage import maximum_filter, minimum_filter
from shapes import block
from stock_walk import CELL, Step, Walk, moves_of

from addon.finishing.core.errors import BadRequest
from addon.finishing.core.path import CUT, ENTRY, EXIT, LIFT, LINK, entry_counts
from addon.finishing.core.result_store import ResultStore
from addon.finishing.core.stepping import finished
from addon.finishing.files.plan_programs import finishing_program, part_of, part_program
from addon.finishing.job.bite_settings import BiteSettings
from addon.finishing.job.body import make_body
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.ground_settings import FitSettings, RegionSettings
from addon.finishing.job.request import Request
from addon.finishing.job.roughing import RoughingSettings
from addon.finishing.job.stock import StockSettings
from addon.finishing.motion.leads import lead_rows
from addon.finishing.planning.plan import make_plan
from addon.finishing.planning.result import Plan
from addon.finishing.planning.smaller_cutters import side_plans

Heights = Callable[[np.ndarray, np.ndarray], np.ndarray]

LENGTH, WIDTH = 64.0, 44.0
BALL = Cutter("Round-nose 10", 10.0, shank_diameter=10.0, stick_out=60.0)
SMALL = Cutter("Round-nose 6", 6.0, shank_diameter=6.0, stick_out=60.0)
TOUCH = 0.06
"""mm; heights on cells, chords and rounding in the program: the tool goes into nothing deeper than this where it should be free."""


def waves(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """A top with a boss that stands up steeply in its middle, so that lines end inside the work."""
    boss = 9.0 / (1 + np.exp((np.hypot(x - 30, y - 22) - 9) / 1.0))
    return 10 + 1.5 * np.sin(x / 12) + y / 22 + boss


def top_of_body(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    inside = (x >= 0) & (x <= LENGTH) & (y >= 0) & (y <= WIDTH)
    return np.where(inside, waves(np.clip(x, 0, LENGTH), np.clip(y, 0, WIDTH)), -np.inf)


@cache
def asked() -> Request:
    body = make_body("boss", block(waves, LENGTH, WIDTH, 0.5))
    return Request(body, cutter=BALL, rack=(BALL,), rack_table=False, cusp=0.08, cell=0.5, lines_from="edge", line_angle=0.0)


@dataclass(frozen=True)
class Job:
    """A request, and the stock that stands before it, as heights over the body's own axes, known by how it is made."""

    request: Request
    heights: Heights


def terraces(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """What a flat cutter of 6 mm leaves that comes down in steps of 4 mm from the stock's top wherever 2 mm along the normal stay on the body, by
    the plain definition: the least, over all its places above a point, of the lowest step that clears all of its disc.
    """
    top = float(asked().body.high[2])
    reach = np.arange(-3.0, 3.1, CELL)
    disc = reach[:, None] ** 2 + reach**2 <= 9.0
    rise = [(waves(x + a, y + b) - waves(x - a, y - b)) / 0.2 for a, b in ((0.1, 0.0), (0.0, 0.1))]
    rough = np.minimum(top_of_body(x, y) + 2.0 * np.sqrt(np.minimum(1 + rise[0] ** 2 + rise[1] ** 2, 4.0)), top)
    highest = maximum_filter(rough, footprint=disc, mode="constant", cval=-np.inf)
    lowest = np.where(highest > -np.inf, top - 4.0 * np.floor((top - np.where(highest > -np.inf, highest, 0.0)) / 4.0), -np.inf)
    standing = minimum_filter(lowest, footprint=disc, mode="nearest")
    return np.where(top_of_body(x, y) > -np.inf, np.maximum(standing, rough), -np.inf)


def pocketed(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """A gentle top with a pocket of 20 x 18 mm, 8 mm deep: no flat cutter of 22 mm comes into it."""
    return np.where((np.abs(x - 30) < 10) & (np.abs(y - 22) < 9), 6.0, 14 + np.sin(x / 15) + 0 * y)


def pocket_after_flat_cutter(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """What a flat cutter of 22 mm leaves of it that keeps 0.5 mm off everywhere, by the plain definition: the lowest that any of its places above
    a point allows."""
    reach = np.arange(-11.0, 11.1, CELL)
    disc = reach[:, None] ** 2 + reach**2 <= 121.0
    inside = (x >= 0) & (x <= LENGTH) & (y >= 0) & (y <= WIDTH)
    highest = maximum_filter(np.where(inside, pocketed(x, y) + 0.5, -np.inf), footprint=disc, mode="constant", cval=-np.inf)
    lowest = minimum_filter(np.where(highest > -np.inf, highest, np.inf), footprint=disc, mode="nearest")
    return np.where(inside, np.maximum(lowest, pocketed(x, y) + 0.5), -np.inf)


def job(name: str) -> Job:
    request = asked()
    if name == "a pocket narrower than the flat cutter":
        body = make_body("pocket", block(pocketed, LENGTH, WIDTH, 0.5))
        return Job(replace(request, body=body, cutter=SMALL, rack=(SMALL,), region=RegionSettings(openings="follow")), pocket_after_flat_cutter)
    if name == "thick allowance and terraces":
        rough = RoughingSettings(allowance=2.0, terrace_height=4.0, cutter_diameter=6.0, channel_width=40.0)

        return Job(replace(request, roughing=rough), terraces)
    if name == "a narrow channel":
        rough = RoughingSettings(allowance=0.5, channel_width=4.0)

        def heights(x: np.ndarray, y: np.ndarray) -> np.ndarray:
            apart = np.hypot(np.maximum(np.maximum(-x, x - LENGTH), 0), np.maximum(np.maximum(-y, y - WIDTH), 0))
            beside = np.where(apart > 4.5, 24.0, -np.inf)
            return np.where(apart > 0, beside, top_of_body(x, y) + 0.5)

        stock = StockSettings(margin=30.0, thickness=24.0, height_in_stock=0.0)
        return Job(replace(request, roughing=rough, stock=stock), heights)
    thick = make_body("blank", block(lambda x, y: 23.0 + 0 * x, LENGTH, WIDTH, 4.0))

    def blank(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        return np.where(top_of_body(x, y) > -np.inf, 23.0, -np.inf)

    return Job(replace(request, stock_body=thick, stock=StockSettings(thickness=24.0, height_in_stock=0.0)), blank)


JOBS = ("thick allowance and terraces", "a narrow channel", "the stock as it stands", "a pocket narrower than the flat cutter")


@cache
def planned(name: str) -> Plan:
    return make_plan(job(name).request)


def walked(plan: Plan, heights: Heights, program: bytes | None = None) -> tuple[list[Step], np.ndarray]:
    """The moves of a plan's program, or of one of its parts, and how deep each goes into the wood."""
    shift = plan.job_from_body[:3, 3]
    low, high = np.array([-40.0, -40.0]), np.array([LENGTH + 40.0, WIDTH + 40.0])
    walk = Walk.through(heights, low, high, plan.cutter.radius)
    walk = replace(walk, low=walk.low + shift[:2], heights=walk.heights + shift[2])
    first = plan.path.points[0]
    steps = moves_of(finishing_program(plan, "mm") if program is None else program, (first[0], first[1], 1000.0))
    return steps, walk.run(steps)


def on_the_surface(plan: Plan) -> set[tuple[float, ...]]:
    """Places of lines and links as a program writes them."""
    path = plan.path
    kept = (path.kind == CUT) | (path.kind == LINK)
    return {tuple(row) for row in np.round(path.points[kept], 4).tolist()}


@pytest.mark.parametrize("name", JOBS)
def test_nothing_comes_down_faster_than_it_may_plunge_where_wood_stands(name: str) -> None:
    check_walk(planned(name), job(name).heights)


def test_ramps_run_at_the_feed_of_the_lines_but_no_faster_down_than_it_may_plunge() -> None:
    # With a ramp of 30 degrees on rolling ground some moves fall steeply enough that the plunge feed holds them back, others do not.
    plan = make_plan(replace(asked(), cutting_way="climb only", ramp_angle=30.0))
    path, plunge = plan.path, plan.request.machine.plunge_feed
    moves = np.diff(path.points, axis=0)
    length = np.linalg.norm(moves, axis=1)
    across = np.hypot(moves[:, 0], moves[:, 1]) > 1e-6
    leads = np.flatnonzero(across & np.isin(path.kind[1:], (ENTRY, EXIT)))
    down = path.feed[leads + 1] * -moves[leads, 2] / length[leads]
    assert (path.feed[leads + 1] <= plan.cutter.feed).all() and down.max() <= plunge * (1 + 1e-9)
    held = path.feed[leads + 1] < plan.cutter.feed
    assert held.any() and not held.all()
    # Held back no more than that: feeds are whole numbers.
    assert (down[held] > plunge - 1.0).all()


def test_where_the_bite_is_limited_ramps_are_slowed_down_too() -> None:
    # A limp cutter in the stock as it stands, which is thick: its lines are slowed down, and so are its ways in.
    hard = job("the stock as it stands").request
    plan = make_plan(replace(hard, bite=BiteSettings(tip_bend_limit=0.002)))
    loose = planned("the stock as it stands")
    leads = lead_rows(plan.path)
    np.testing.assert_array_equal(leads, lead_rows(loose.path))
    plunge = plan.request.machine.plunge_feed
    assert (plan.path.feed[leads] <= loose.path.feed[leads]).all() and plan.path.feed[leads].sum() < 0.9 * loose.path.feed[leads].sum()
    # Never slower than it comes straight down into as much.
    assert plan.path.feed[leads].min() >= plunge


@pytest.mark.parametrize("name", JOBS)
def test_restarts_and_parts_come_down_as_gently(name: str) -> None:
    # Walked through the whole stock, as if nothing of it had been cut before.
    plan = planned(name)
    linked = sorted({int(number) for number in plan.path.line[plan.path.kind == LINK]})
    middle = linked[len(linked) // 2]
    count = plan.path.line_count
    for first, last in ((middle, count), (linked[0] - 1, middle - 1)):
        part, program = part_of(plan, first, last), part_program(plan, "mm", first, last)
        check_walk(plan, job(name).heights, program, meets=3 * TOUCH)
        # A ramp of 3 degrees over the line itself both down and up: it lies above the line by the way left times the slope of the ramp.
        for kind, number in ((ENTRY, first), (EXIT, last)):
            own = part.points[(part.line == number) & (part.kind == CUT)]
            rows = np.flatnonzero((part.line == number) & (part.kind == kind) & (part.feed < plan.request.machine.air_feed))
            ramp = part.points[rows]
            if (kind, number) not in ((ENTRY, middle), (EXIT, middle - 1)):
                continue
            assert len(ramp) >= 2
            steps = np.diff(ramp, axis=0)
            end, on_line = (ramp[-1], own[0]) if kind == ENTRY else (ramp[0], own[-1])
            assert np.hypot(*steps[:, :2].T).sum() > 5.0 or len(own) < 5
            if kind == ENTRY:
                np.testing.assert_allclose(end, on_line, atol=1e-9)
            assert float(np.min(np.linalg.norm(own[:, None, :2] - ramp[None, :, :2], axis=2), axis=0).max()) < 1.0


def wood_on_the_body(heights: Heights) -> float:
    """How much stands above half of the body, mm."""
    x, y = np.meshgrid(np.arange(2.0, LENGTH - 1.0, 1.0), np.arange(2.0, WIDTH - 1.0, 1.0))
    return float(np.median(heights(x, y) - top_of_body(x, y)))


def downwards(step: Step) -> float:
    """How fast a move comes down, mm/min; programs are rounded to 0.0001 mm at both ends."""
    way = step.end - step.start
    return step.feed * (-way[2] - 1e-4) / float(np.linalg.norm(way)) if way[2] < -1e-4 else 0.0


def check_walk(plan: Plan, heights: Heights, program: bytes | None = None, meets: float | None = None) -> None:
    """Walk a plan's program, or one of its parts: what is no line or link goes through wood at the feed of the lines at most, and downwards at plunge
    feed at most. meets: how deep the lines stand in wood somewhere, mm; None for three quarters of what stands above half of the body, since a line
    meets what the one beside it has left.
    """
    steps, deep = walked(plan, heights, program)
    lines = on_the_surface(plan)
    plunge = plan.request.machine.plunge_feed
    too_fast = [step.feed > plan.cutter.feed or downwards(step) > plunge for step in steps]
    fast = [k for k, step in enumerate(steps) if too_fast[k] and not {tuple(step.start.tolist()), tuple(step.end.tolist())} <= lines]
    assert len(fast) >= 2
    worst = max(fast, key=lambda k: deep[k])
    assert deep[worst] <= TOUCH, (steps[worst], deep[worst])
    # The walk does meet the wood elsewhere.
    assert deep.max() > (0.75 * wood_on_the_body(heights) if meets is None else meets)


def test_a_smaller_cutter_comes_down_slowly_where_the_larger_one_left_wood() -> None:
    # The larger ball leaves the foot of the boss; the smaller one is walked through what a ball of 16 mm leaves, by the plain definition.
    large, small = Cutter("Round-nose 16", 16.0), Cutter("Round-nose 6", 6.0, shank_diameter=6.0)
    request = replace(asked(), cutter=large, rack=(small, large), smaller_cutters=True, fit=FitSettings(uncut_area=1.0))
    plans = finished(side_plans(request, ResultStore()))
    assert [plan.cutter.diameter for plan in plans] == [16.0, 6.0]
    x, y = np.meshgrid(np.arange(-10.0, LENGTH + 10.5, 0.5), np.arange(-10.0, WIDTH + 10.5, 0.5))
    reach = np.arange(-8.0, 8.25, 0.5)
    ball = [(a, b, np.sqrt(64 - a * a - b * b)) for a in reach for b in reach if a * a + b * b < 64]
    tip = np.max([top_of_body(x + a, y + b) + z for a, b, z in ball], axis=0) - 8.0
    known = RegularGridInterpolator((y[:, 0], x[0]), np.where(tip > -np.inf, tip, 0.0), bounds_error=False, fill_value=0.0)

    def left(a: np.ndarray, b: np.ndarray) -> np.ndarray:
        closing = np.min([known(np.stack([b + v, a + u], axis=-1)) + 8.0 - z for u, v, z in ball], axis=0)
        # Lines stop short of the wall limit: the boss itself still has its allowance.
        near = np.hypot(a - 30, b - 22) < 16
        body = top_of_body(a, b)
        return np.where(body > -np.inf, np.where(near, body + 1.0, np.maximum(closing, body)), -np.inf)

    check_walk(plans[1], left, meets=0.3)
    # So does each part that a run is taken up with.
    count = plans[1].path.line_count
    for first in {1, 1 + count // 3, 1 + 2 * count // 3}:
        check_walk(plans[1], left, part_program(plans[1], "mm", first, count), meets=3 * TOUCH)


def true_tip(places: np.ndarray, radius: float) -> np.ndarray:
    """Tip heights (k,) over places (k, 2) in the body's axes, by the plain definition on points 0.1 mm apart; a hair low, never high."""
    u, v = np.meshgrid(np.arange(-radius, radius, 0.1), np.arange(-radius, radius, 0.1))
    under = np.sqrt(np.maximum(radius**2 - u**2 - v**2, 0)) - radius
    inside = u**2 + v**2 < radius**2
    return np.array([np.where(inside, top_of_body(x + u, y + v) + under, -np.inf).max() for x, y in places])


@pytest.mark.parametrize("change", [{"cutting_way": "climb only"}, {"lines_from": "border"}, {"lines_from": "middle", "line_angle": 35.0}])
def test_entries_and_exits_leave_no_mark(change: dict[str, object]) -> None:
    plan = make_plan(replace(asked(), **change))
    path, radius = plan.path, plan.cutter.radius
    shift = plan.job_from_body[:3, 3]
    counts = entry_counts(path)
    assert counts.straight == 0 and counts.beside + counts.ramped == int((path.kind == LIFT).sum()) > 1
    x, y = np.meshgrid(np.arange(0.0, LENGTH + 0.1, 0.25), np.arange(0.0, WIDTH + 0.1, 0.25))
    lowest = float(waves(x, y).min())
    into, out = path.kind == ENTRY, path.kind == EXIT
    moves = np.flatnonzero(into[1:] | out[1:]) + 1
    low, high = np.sort([path.points[moves - 1, 2], path.points[moves, 2]], axis=0)
    plunges = np.hypot(*(path.points[moves] - path.points[moves - 1])[:, :2].T) < 1e-9
    tips = true_tip(path.points[moves, :2] - shift[:2], radius) + shift[2]
    # Straight up and down the cutter stays clear of the finished surface; on ramps it is never below it.
    assert plunges.any() and (low[plunges] > tips[plunges] + 0.2).all()
    ends = path.points[moves, 2]
    # (The mesh's facets of 0.5 mm lie up to 0.5^2 / 8 times the boss's curvature of 9 / 10 inside it: 0.03 mm.)
    assert (ends > tips - 0.03).all()
    assert high.max() <= plan.safe_z + 1e-9
    # From one place of a ramp to the next the height above the surface changes by the ramp's angle; level runs in come from beside the work.
    for first, last in runs_of(into):
        if path.points[last, 2] != path.points[last - 1, 2]:
            ramp = path.points[first : last + 1]
            # The tip never goes below the lowest place of the top, over a rim either.
            surface = np.maximum(true_tip(ramp[:, :2] - shift[:2], radius), lowest)
            above = ramp[:, 2] - shift[2] - surface
            level = np.hypot(*np.diff(ramp[:, :2], axis=0).T) > 1e-9
            way = np.linalg.norm(np.diff(ramp, axis=0), axis=1)[level].sum()
            assert above[np.flatnonzero(level)[0]] <= np.tan(np.radians(3.3)) * way + 0.01


def runs_of(marked: np.ndarray) -> list[tuple[int, int]]:
    """First and last row of every run of marked rows."""
    change = np.flatnonzero(np.diff(np.concatenate([[0], marked.astype(int), [0]])))
    return [(int(a), int(b) - 1) for a, b in zip(change[::2], change[1::2], strict=True)]


def test_the_ramp_angle_is_a_setting() -> None:
    plan = make_plan(replace(asked(), cutting_way="climb only", ramp_angle=6.0))
    same = make_plan(replace(asked(), cutting_way="climb only"))
    far, near = (np.array([p.points[r - 1, 2] - p.points[r, 2] for r in np.flatnonzero(p.kind == EXIT) if r]) for p in (plan.path, same.path))
    assert len(far) and not np.array_equal(far, near)
    assert np.array_equal(np.concatenate(plan.path.lines()), np.concatenate(same.path.lines()))
    for angle in (0.0, 45.0):
        with pytest.raises(BadRequest, match="ramp angle must"):
            replace(asked(), ramp_angle=angle)
