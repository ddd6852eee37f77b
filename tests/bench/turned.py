"""How the minutes of a body change when it is turned on the table: `python tests/bench/turned.py`.

Smooth bodies are planned as they lie and turned by 90, 180 and 270 degrees, with the lines turned too, on a machine whose axes are alike. Prints the
greatest change of minutes and of the length of cut lines for every start.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from bench_bodies import BODIES, HELD_OUT

from addon.finishing.core.array_types import FloatArray
from addon.finishing.core.path import CUT
from addon.finishing.job.body import make_body
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.machine import Machine
from addon.finishing.job.request import Request
from addon.finishing.planning.plan import make_plan

NAMES = ("belly", "random 13", "random 24", "paddle")
STARTS = ("edge", "middle", "border", "best")
EVEN = Machine(speed_x=5000, speed_y=5000, acceleration_x=400, acceleration_y=400)


def planned(triangles: FloatArray, degrees: int, start: str) -> tuple[float, float]:
    """Minutes, and mm of cut lines, of a body turned by so many degrees."""
    cosine, sine = round(np.cos(np.radians(degrees))), round(np.sin(np.radians(degrees)))
    turned = triangles @ np.array([[cosine, -sine, 0], [sine, cosine, 0], [0, 0, 1.0]]).T
    request = Request(make_body("turned", turned), cutter=Cutter("Round-nose 12", 12.0), rack_table=False, machine=EVEN, lines_from=start)
    plan = make_plan(request if start == "best" else replace(request, line_angle=float(degrees)))
    return plan.run_time.minutes, plan.path.length_of(CUT)


def main() -> None:
    """Plan all of them, print the table."""
    bodies = {name: (BODIES | HELD_OUT)[name]() for name in NAMES}
    print("| lines from | minutes of the run | minutes change by | cut lines change by | most on |\n| --- | --- | --- | --- | --- |")
    for start in STARTS:
        found = {name: np.array([planned(triangles, degrees, start) for degrees in (0, 90, 180, 270)]) for name, triangles in bodies.items()}
        minutes = [runs[0, 0] for runs in found.values()]
        changes = {name: np.abs(runs[1:] / runs[0] - 1).max(axis=0) for name, runs in found.items()}
        most = np.max(list(changes.values()), axis=0)
        name = max(changes, key=lambda each: float(changes[each][0]))
        print(f"| {start} | {min(minutes):.1f} to {max(minutes):.1f} | {most[0]:.1%} at most | {most[1]:.1%} at most | {name} |", flush=True)


if __name__ == "__main__":
    main()
