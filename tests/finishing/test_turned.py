"""A body that lies turned on the table is run in the same minutes: its grid, its lines and their order turn with it.

On a machine whose X and Y are alike. A run is counted from the safe height over its first line to the safe height over its last one, as every run
time of a plan is: where the machine stands before and after takes no part, so no corner of the stock does.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from outlined_bodies import outlined, turned

from addon.finishing.job.body import make_body
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.machine import Machine
from addon.finishing.job.request import Request
from addon.finishing.planning.plan import make_plan
from addon.finishing.planning.result import Plan

EVEN = Machine(speed_x=5000, speed_y=5000, acceleration_x=400, acceleration_y=400)
WITHIN = 0.005


def bean() -> np.ndarray:
    """A bean of about 67 x 52 mm, of no whole cells, with a belly that slants."""
    return outlined(lambda turn: 29 + 6 * np.cos(turn - 0.7) - 5.3 * np.cos(2 * turn + 0.4), lambda x, y: 11 + 1.5 * np.cos(x / 21) + 0.03 * y)


def bowl() -> np.ndarray:
    """An oval of about 61 x 47 mm with two hollows of different size."""

    def heights(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        return 12 - 2.1 * np.exp(-((x - 9) ** 2 + (y - 4) ** 2) / 90) - 1.2 * np.exp(-((x + 13) ** 2 + (y + 5) ** 2) / 60)

    return outlined(lambda turn: 30.53 * 23.41 / np.hypot(23.41 * np.cos(turn), 30.53 * np.sin(turn)), heights)


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
    [(bean, "edge", 270), (bean, "border", 90), (bean, "best", 180), (bowl, "middle", 90), (bowl, "border", 270)],
    ids=lambda given: getattr(given, "__name__", str(given)),
)
def test_a_turned_body_is_run_in_the_same_minutes(body: Callable[[], np.ndarray], lines_from: str, degrees: int) -> None:
    here, there = (plan_of(body(), turn, lines_from) for turn in (0, degrees))
    assert abs(there.run_time.minutes / here.run_time.minutes - 1) < WITHIN
    assert there.path.line_count == here.path.line_count
