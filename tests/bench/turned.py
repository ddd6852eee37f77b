"""How the minutes of a body change when it is turned on the table: `python tests/bench/turned.py`.

Bodies of the benches, and others of many outlines that nothing was fitted on, are planned as they lie and turned by 90, 180 and 270 degrees, with the
lines turned too, on a machine whose X and Y are alike. Prints the greatest change of minutes and of the length of cut lines for every start. A run is
counted from over its first line to over its last, as run times of plans are: where the machine stands before and after takes no part.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
from bench_bodies import BODIES, HELD_OUT, Heights
from outlined_bodies import outlined, turned
from shapes import block

from addon.finishing.core.array_types import FloatArray
from addon.finishing.core.path import CUT
from addon.finishing.job.body import make_body
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.machine import Machine
from addon.finishing.job.request import Request
from addon.finishing.planning.plan import make_plan

NAMES = ("belly", "random 13", "random 24", "paddle")


def hollowed(*hollows: tuple[float, float, float, float], slope: float = 0.02) -> Heights:
    """A top 16 mm high that slants and has round hollows at x, y, each of some depth and width."""

    def heights(x: FloatArray, y: FloatArray) -> FloatArray:
        cut = sum((deep * np.exp(-((x - left) ** 2 + (y - front) ** 2) / wide**2) for left, front, deep, wide in hollows), 0.0 * x)
        return 16 + slope * (x - 0.6 * y) - cut

    return heights


OTHERS: dict[str, Callable[[], FloatArray]] = {
    "pear": lambda: outlined(lambda turn: 37 + 11 * np.cos(turn + 0.4) + 3 * np.cos(3 * turn), lambda x, y: 14 - (x - 6) ** 2 / 500 - y * y / 320),
    "trefoil": lambda: outlined(lambda turn: 38 + 6.5 * np.cos(3 * turn + 0.8), hollowed((4, -7, 2.0, 15))),
    "waist": lambda: outlined(lambda turn: 40 + 13 * np.cos(2 * turn + 0.6), lambda x, y: 15 + 1.4 * np.sin((x - 2 * y) / 19)),
    "star": lambda: outlined(lambda turn: 36 + 4.3 * np.cos(5 * turn), lambda x, y: 12 + 3.5 * np.exp(-((x + 7) ** 2 + (y - 3) ** 2) / 700)),
    "dish": lambda: outlined(lambda turn: 41.7 + 2 * np.sin(turn), lambda x, y: 8 + 0.0035 * (x * x + y * y) + 0.01 * x),
    "whole cells, 90 x 52": lambda: block(hollowed((30, 20, 1.8, 14)), 90.0, 52.0, 1.0),
    "half cells, 64.125 x 40.375": lambda: block(lambda x, y: 13 + 1.1 * np.cos(x / 11 + y / 17), 64.125, 40.375, 1.0),
    "broken cells, 77.71 x 48.13": lambda: block(hollowed((22, 14, 1.5, 11), (55, 31, 2.4, 16)), 77.71, 48.13, 1.0),
}
"""Bodies that nothing was fitted on: outlines bent in and out, hollows, rectangles whose sides end on, between and beside the middles of cells."""

STARTS = ("edge", "middle", "border", "best")
EVEN = Machine(speed_x=5000, speed_y=5000, acceleration_x=400, acceleration_y=400)


def planned(triangles: FloatArray, degrees: int, start: str) -> tuple[float, float]:
    """Minutes, and mm of cut lines, of a body turned by so many degrees."""
    body = make_body("turned", turned(triangles, degrees))
    request = Request(body, cutter=Cutter("Round-nose 12", 12.0), rack_table=False, machine=EVEN, lines_from=start)
    plan = make_plan(request if start == "best" else replace(request, line_angle=float(degrees)))
    return plan.run_time.minutes, plan.path.length_of(CUT)


def main() -> None:
    """Plan all of them, print the table."""
    bodies = {name: (BODIES | HELD_OUT)[name]() for name in NAMES} | {name: made() for name, made in OTHERS.items()}
    print("| lines from | minutes of the run | minutes change by | cut lines change by | most on |\n| --- | --- | --- | --- | --- |")
    for start in STARTS:
        found = {name: np.array([planned(triangles, degrees, start) for degrees in (0, 90, 180, 270)]) for name, triangles in bodies.items()}
        minutes = [runs[0, 0] for runs in found.values()]
        changes = {name: np.abs(runs[1:] / runs[0] - 1).max(axis=0) for name, runs in found.items()}
        most = np.max(list(changes.values()), axis=0)
        name = max(changes, key=lambda each: float(changes[each][0]))
        print(f"| {start} | {min(minutes):.1f} to {max(minutes):.1f} | {most[0]:.2%} at most | {most[1]:.2%} at most | {name} |", flush=True)


if __name__ == "__main__":
    main()
