"""Entries and exits of whole plans: programs walked through the stock, and what they leave on the finished surface."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache

import numpy as np
import pytest
from shapes import block
from stock_walk import Walk, moves_of

from addon.finishing.core.path import CUT, ENTRY, EXIT, LIFT, LINK, Path
from addon.finishing.core.result_store import ResultStore
from addon.finishing.core.stepping import finished
from addon.finishing.files.plan_programs import finishing_program
from addon.finishing.job.body import make_body
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.request import Request
from addon.finishing.job.roughing import RoughingSettings
from addon.finishing.job.stock import StockSettings, stock_top
from addon.finishing.planning.plan import make_plan
from addon.finishing.planning.result import Plan
from addon.finishing.planning.smaller_cutters import side_plans

LENGTH, WIDTH = 64.0, 44.0
BALL = Cutter("Round-nose 10", 10.0, shank_diameter=10.0, stick_out=60.0)
TOUCH = 0.06
"""mm; heights on cells, chords and rounding in the program: the tool goes into nothing deeper than this where it should be free."""


def waves(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """A top with a boss that stands up steeply in its middle, so that lines end inside the work."""
    boss = 9.0 / (1 + np.exp((np.hypot(x - 30, y - 22) - 9) / 0.5))
    return 10 + 1.5 * np.sin(x / 12) + y / 22 + boss


def top_of_body(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    inside = (x >= 0) & (x <= LENGTH) & (y >= 0) & (y <= WIDTH)
    return np.where(inside, waves(np.clip(x, 0, LENGTH), np.clip(y, 0, WIDTH)), -np.inf)


@cache
def asked() -> Request:
    body = make_body("boss", block(waves, LENGTH, WIDTH, 0.5))
    return Request(body, cutter=BALL, rack=(BALL,), rack_table=False, cusp=0.08, cell=0.5, start="edge", start_angle=0.0)


@dataclass(frozen=True)
class Job:
    """A request, and the stock that stands before it, as heights over the body's own axes, known by how it is made."""

    request: Request
    heights: object


def job(name: str) -> Job:
    request = asked()
    if name == "thick allowance and terraces":
        rough = RoughingSettings(allowance=2.0, step_down=4.0, cutter_diameter=6.0, slot_width=40.0)

        def heights(x: np.ndarray, y: np.ndarray) -> np.ndarray:
            # Wherever the flat cutter has been, what stands is less than its step above the allowance within its own radius.
            return np.max([top_of_body(x + a, y + b) for a in (-3.0, 0.0, 3.0) for b in (-3.0, 0.0, 3.0)], axis=0) + 2.0

        return Job(replace(request, roughing=rough), heights)
    if name == "a narrow slot":
        rough = RoughingSettings(allowance=0.5, slot_width=4.0)

        def heights(x: np.ndarray, y: np.ndarray) -> np.ndarray:
            apart = np.hypot(np.maximum(np.maximum(-x, x - LENGTH), 0), np.maximum(np.maximum(-y, y - WIDTH), 0))
            beside = np.where(apart > 4.5, 24.0, -np.inf)
            return np.where(apart > 0, beside, top_of_body(x, y) + 0.5)

        stock = StockSettings(margin=30.0, thickness=24.0, body_lift=0.0)
        return Job(replace(request, roughing=rough, stock=stock), heights)
    thick = make_body("blank", block(lambda x, y: 23.0 + 0 * x, LENGTH, WIDTH, 4.0))

    def blank(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        return np.where(top_of_body(x, y) > -np.inf, 23.0, -np.inf)

    return Job(replace(request, stock_body=thick, stock=StockSettings(thickness=24.0, body_lift=0.0)), blank)


JOBS = ("thick allowance and terraces", "a narrow slot", "the stock as it stands")


@cache
def planned(name: str) -> Plan:
    return make_plan(job(name).request)


def walked(plan: Plan, heights: object) -> tuple[list, np.ndarray]:
    """The moves of a plan's program, and how deep each goes into the wood."""
    shift = plan.job_from_body[:3, 3]
    low, high = np.array([-40.0, -40.0]), np.array([LENGTH + 40.0, WIDTH + 40.0])
    walk = Walk.through(heights, low, high, plan.cutter.radius)
    walk = replace(walk, low=walk.low + shift[:2], heights=walk.heights + shift[2])
    first = plan.path.points[0]
    steps = moves_of(finishing_program(plan, "mm"), (first[0], first[1], 1000.0))
    return steps, walk.run(steps)


def on_the_surface(plan: Plan) -> set[tuple[float, ...]]:
    """Places of lines and links as a program writes them."""
    path = plan.path
    kept = (path.kind == CUT) | (path.kind == LINK)
    return {tuple(row) for row in np.round(path.points[kept], 4).tolist()}


@pytest.mark.parametrize("name", JOBS)
def test_nothing_moves_faster_than_it_may_plunge_where_wood_stands(name: str) -> None:
    plan = planned(name)
    steps, deep = walked(plan, job(name).heights)
    lines = on_the_surface(plan)
    plunge = plan.request.machine.plunge_feed
    fast = [k for k, step in enumerate(steps) if step.feed > plunge and not {tuple(step.start.tolist()), tuple(step.end.tolist())} <= lines]
    assert len(fast) > 4
    worst = max(fast, key=lambda k: deep[k])
    assert deep[worst] <= TOUCH, (steps[worst], deep[worst])
    # The walk does meet the wood elsewhere.
    assert deep.max() > 0.4
