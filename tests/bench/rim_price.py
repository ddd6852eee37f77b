"""Hold the price of a rim pass that is not run against what it takes: `python tests/bench/rim_price.py [QUICK]`.

Plans bodies that no formula was fitted on with and without the pass along the rims, at three cutters, and prints the minutes that are told where it is
not run beside those that the run takes more where it is. Wanted is a tenth of those, or a tenth of a minute where that is more. With QUICK, three
bodies.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import replace
from itertools import islice

import numpy as np
from bench_bodies import HELD_OUT, creased, enlarged, grooved, stretched
from shapes import block

from addon.finishing.core.array_types import FloatArray
from addon.finishing.core.errors import NothingToPlan
from addon.finishing.core.result_store import ResultStore
from addon.finishing.job.body import make_body
from addon.finishing.job.cutter import DEFAULT_RACK
from addon.finishing.job.request import Request
from addon.finishing.planning.plan import make_plan

DIAMETERS = (12.0, 16.0, 32.0)

WANTED_SHARE, WANTED_MINUTES = 0.1, 0.1
"""What a price may be off: the greater of a share and of minutes."""


def holed(x: FloatArray, y: FloatArray) -> FloatArray:
    """An arched plate with two slanted slots and a round hole."""
    arch = 20 - (x - 120) ** 2 / 2400 - (y - 80) ** 2 / 1100
    across = np.abs((y - 80) + 0.35 * (x - 120))
    slots = (np.abs(across - 42) < 5) & (np.abs(x - 120) < 45)
    return np.where(slots | (np.hypot(x - 120, y - 80) < 16), 2.0, arch)


BODIES: dict[str, Callable[[], FloatArray]] = {
    "slots and a hole": lambda: block(holed, 240.0, 160.0, 1.0),
    "ledge, 140 x 96": HELD_OUT["ledge, 140 x 96"],
    "paddle": HELD_OUT["paddle"],
    **{f"crease {seed}, 2 times": (lambda seed=seed: stretched(creased(seed), 2.0)) for seed in (31, 32)},
    **{f"groove {seed}, 2 times": (lambda seed=seed: stretched(grooved(seed), 2.0)) for seed in (31, 32)},
    **{f"random {seed}": (lambda seed=seed: enlarged(seed, 7.0)) for seed in (34, 44, 52, 63, 66)},
}  # fmt: skip
"""Triangles by name."""


def main(quick: bool) -> None:
    print("| body | cutter, mm | border / h | run without, min | told | takes | off by | within a tenth |\n|" + " --- |" * 8)
    kept, off = 0, []
    for name, make in islice(BODIES.items(), 3 if quick else None):
        body = make_body(name, make())
        for cutter in (each for each in DEFAULT_RACK if each.diameter in DIAMETERS):
            store = ResultStore()
            request = Request(body, cutter=cutter, rack_table=False, lines_from="edge", line_angle=0.0, cell=0.5)
            try:
                without, with_it = (make_plan(replace(request, rim_pass=which), store) for which in ("off", "on"))
            except NothingToPlan:
                continue
            told, takes = without.rim.minutes, with_it.run_time.minutes - without.run_time.minutes
            within = abs(told - takes) <= max(WANTED_SHARE * takes, WANTED_MINUTES)
            kept += within
            off.append(told / takes - 1)
            border = dict(without.proof.border_percentiles)[99.9] / request.cusp
            words = f"{border:.2f} | {without.run_time.minutes:.2f} | {told:.2f} | {takes:.2f} | {off[-1]:+.0%} | {'yes' if within else 'no'}"
            print(f"| {name} | {cutter.diameter:g} | {words} |", flush=True)
    spread = f"off by {min(off):+.0%} to {max(off):+.0%}, {np.mean(np.abs(off)):.0%} in the mean"
    print(f"\n{kept} of {len(off)} within a tenth or {WANTED_MINUTES:g} min; {spread}.")


if __name__ == "__main__":
    main(len(sys.argv) > 1)
