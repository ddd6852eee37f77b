"""A body of whole cells that lies turned on the table is run in the same minutes: its lines and their order turn with it.

On a machine whose X and Y are alike. A run is counted from the safe height over its first line to the safe height over its last one, as every run
time of a plan is: where the machine stands before and after takes no part, so no corner of the stock does.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from outlined_bodies import turned
from shapes import block

from addon.finishing.job.body import make_body
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.machine import Machine
from addon.finishing.job.request import Request
from addon.finishing.planning.plan import make_plan
from addon.finishing.planning.result import Plan

EVEN = Machine(speed_x=5000, speed_y=5000, acceleration_x=400, acceleration_y=400)
WITHIN = 0.005


def waves() -> np.ndarray:
    """A wavy rectangle of 62 x 41 mm."""
    return block(lambda x, y: 13 + 1.2 * np.cos(x / 9 + 0.4) + 0.9 * np.sin(y / 8 - x / 40), 62.0, 41.0, 1.0)


def bowl() -> np.ndarray:
    """A rectangle of 58 x 47 mm with two hollows of different size."""

    def heights(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        return 12 - 2.1 * np.exp(-((x - 38) ** 2 + (y - 27) ** 2) / 90) - 1.2 * np.exp(-((x - 15) ** 2 + (y - 18) ** 2) / 60)

    return block(heights, 58.0, 47.0, 1.0)


def plan_of(triangles: np.ndarray, degrees: int, lines_from: str) -> Plan:
    """The plan of a body turned by so many degrees, its lines with it."""
    request = Request(
        make_body("turned", turned(triangles, degrees)),
        cutter=Cutter("Round-nose 10", 10.0),
        cell=0.5,
        rack_table=False,
        machine=EVEN,
        lines_from=lines_from,
    )
    return make_plan(request if lines_from == "best" else replace(request, line_angle=20.0 + degrees))


@pytest.mark.parametrize(
    ("body", "lines_from", "degrees"),
    [(waves, "edge", 270), (waves, "border", 90), (waves, "best", 180), (bowl, "middle", 90), (bowl, "border", 270)],
    ids=lambda given: getattr(given, "__name__", str(given)),
)
def test_a_turned_body_is_run_in_the_same_minutes(body: Callable[[], np.ndarray], lines_from: str, degrees: int) -> None:
    here, there = (plan_of(body(), turn, lines_from) for turn in (0, degrees))
    assert abs(there.run_time.minutes / here.run_time.minutes - 1) < WITHIN
    assert there.path.line_count == here.path.line_count
