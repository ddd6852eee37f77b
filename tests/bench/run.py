"""Ratios of the base case within one run, and the passes of every example: `python build.py bench`.

Base case: the carved bass example, top side, R 8, cell 0.25 mm, cusp 0.05 mm, walls from 60 degrees left out, to and fro, default machine,
3500 mm/min. Whole plan = one cutter, one start, with proof, without pictures. Times are wall times of this machine; the ratios are
what to compare. Peak memory is the process's own, above what it held with bpy loaded and idle.
"""

from __future__ import annotations

import pathlib
import resource
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace

import bpy  # noqa: F401  first, so that its memory counts as idle
import numpy as np
from scipy import ndimage

ROOT = pathlib.Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from constant_spacing import constant_spacing_path  # noqa: E402

from addon.finishing.ball.sag import ball_sag  # noqa: E402
from addon.finishing.ball.tip_surface import tip_surface  # noqa: E402
from addon.finishing.core.cusp_formulas import spacing_on_flat  # noqa: E402
from addon.finishing.core.path import CUT, LIFT, Path  # noqa: E402
from addon.finishing.core.result_store import ResultStore  # noqa: E402
from addon.finishing.job.apart import without_strays  # noqa: E402
from addon.finishing.job.body import Body, make_body  # noqa: E402
from addon.finishing.job.cutter import DEFAULT_RACK  # noqa: E402
from addon.finishing.job.ground_settings import RegionSettings  # noqa: E402
from addon.finishing.job.machine import CORNER_SPEED, Machine  # noqa: E402
from addon.finishing.job.request import Request  # noqa: E402
from addon.finishing.motion.run_time import run_time  # noqa: E402
from addon.finishing.options.trade_off import trade_off  # noqa: E402
from addon.finishing.planning.plan import make_plan  # noqa: E402
from addon.finishing.planning.result import Plan  # noqa: E402
from addon.finishing.reading.mesh_file import read_mesh_body, read_parts  # noqa: E402
from addon.finishing.reading.stl import RECORD  # noqa: E402
from addon.finishing.surface.height_map import estimated_memory_mib  # noqa: E402
from addon.scene.file_reading import read_file  # noqa: E402

WHOLE = RegionSettings(flats="follow")
"""All ground but walls is planned, flats in the stock's face too: the base case has them."""


def timed(work, *arguments):  # noqa: ANN001, ANN002, ANN201
    """Result and wall seconds of a call."""
    began = time.perf_counter()
    result = work(*arguments)
    return result, time.perf_counter() - began


def row(what: str, value: str, reach: str = "") -> None:
    print(f"| {what} | {value} | {reach} |")


def lifts(path: Path) -> int:
    """How often the cutter is lifted between lines."""
    return int((np.diff((path.kind == LIFT).astype(int)) == 1).sum())


def constant_spacings(plans: dict[str, Plan]) -> None:
    """The plans' passes against those of one constant spacing at the same cusp, straight ones and such along the border."""
    print("\n| passes of one spacing at the same cusp | spacing, mm | cusp 99.9 % / h | length | run time | lifts | plan / these: length, time |")
    print("| --- |" + " --- |" * 6)
    for name, plan in plans.items():
        for border in (False, True):
            path, spacing, cusp = constant_spacing_path(plan, border)
            minutes, length = run_time(path, plan.request.machine).minutes, path.length_of(CUT)
            shares = f"{plan.path.length_of(CUT) / length:.2f}, {plan.run_time.minutes / minutes:.2f}"
            print(
                f"| {name}, {'along the border' if border else 'straight'} | {spacing:.2f} | {cusp / plan.request.cusp:.2f} "
                f"| {length / 1000:.1f} m | {minutes:.1f} min | {lifts(path)} | {shares} |"
            )


def speed(base: Request) -> None:
    """Times of the base case against one dilation by scipy in the same run, and of plans made again."""
    idle = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    body, cache = base.body, ResultStore()
    plan, whole = timed(make_plan, base, cache)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    heights = np.where(plan.heights > -np.inf, plan.heights, -np.inf).astype(np.float32)
    print(f"\ngrid {plan.grid.rows} x {plan.grid.columns}, {len(body.triangles)} triangles, {len(plan.path)} path rows\n")
    print("| speed, base case | measured | reach |\n| --- | --- | --- |")
    for radius, reach in ((8.0, ">= 10, 0"), (16.0, ">= 50, 0")):
        sag = ball_sag(radius, 0.25)
        inside = np.isfinite(sag)
        ball = np.where(inside, -sag, 0).astype(np.float32)
        wide = np.pad(plan.heights, 34, constant_values=-np.inf).astype(np.float32) if radius > 8 else heights
        reference, dilation = timed(lambda h=wide, i=inside, b=ball: ndimage.grey_dilation(h, footprint=i, structure=b, mode="constant", cval=-np.inf))
        own, tip = timed(tip_surface, wide, radius, 0.25)
        other = reference != own
        difference = float(np.abs(reference[other] - own[other]).max(initial=0))
        row(f"tip surface R {radius:g}, times faster than scipy; difference", f"{dilation / tip:.1f}, {difference:g}", reach)
        if radius == 8:
            row("whole plan / one scipy grey_dilation", f"{whole:.2f} s / {dilation:.2f} s = {whole / dilation:.2f}", "<= 1.0")
    _, feed = timed(make_plan, replace(base, feed=3000.0), cache)
    _, cusp = timed(make_plan, replace(base, cusp=0.06), cache)
    middle = body.triangles.mean(axis=1)
    skip = np.hypot(middle[:, 0] - 200, middle[:, 1] - 60) < 20
    _, skipped = timed(make_plan, replace(base, body=replace(body, skip=skip)), cache)
    again = f"{skipped / whole:.2f} / {cusp / whole:.2f} / {feed / whole:.3f}"
    row("plan again after skip / cusp / feed, of the whole", again, "<= 0.35 / 0.75 / 0.02")
    estimate = estimated_memory_mib(plan.grid, len(body.triangles))
    row("peak memory above idle bpy (the plan's own estimate)", f"{(peak - idle) / 1024:.0f} MiB ({estimate:.0f})", "<= 1024 MiB")
    rack_plan, table = timed(make_plan, replace(base, rack_table=True), cache)
    row(f"rack table of {len(DEFAULT_RACK)} cutters, in whole plans", f"{table / whole:.2f}", "<= 2.5")
    began = time.perf_counter()
    for cusp in np.linspace(0.02, 0.2, 50):
        trade_off(rack_plan.rack, float(cusp), rack_plan.ground.planned_area)
    row("all cutters at another cusp height, in one move of the dial", f"{20 * (time.perf_counter() - began):.2f} ms", "< 100 ms")
    print("\nseconds by stage, some of which run in the background: " + ", ".join(f"{k} {v:.2f}" for k, v in plan.stage_seconds.items() if v > 0.005))


def reading() -> None:
    """How fast a large mesh file is read, against a plain read of its bytes."""
    n = 709
    x, y = np.meshgrid(np.linspace(0, 400, n), np.linspace(0, 400, n))
    v = np.stack([x, y, 20 + 5 * np.sin(x / 30)], axis=-1)
    a, b, c, d = v[:-1, :-1], v[:-1, 1:], v[1:, 1:], v[1:, :-1]
    triangles = np.concatenate([np.stack([a, b, c], axis=2), np.stack([a, c, d], axis=2)]).reshape(-1, 3, 3)
    records = np.zeros(len(triangles), RECORD)
    records["corners"] = triangles
    with tempfile.TemporaryDirectory() as folder:
        file = pathlib.Path(folder) / "large.stl"
        file.write_bytes(bytes(80) + len(triangles).to_bytes(4, "little") + records.tobytes())
        works = (pathlib.Path.read_bytes, read_parts, _checked_body, read_mesh_body)
        plain, strict, checked, thinned = (timed(work, file)[1] for work in works)
    value = "; ".join(f"{seconds:.2f} s, {seconds / plain:.1f}" for seconds in (strict, checked, thinned))
    row("1 M triangles of binary STL, read; with the checks of a body; thinned too; each over a plain read of the bytes", value, "<= 0.5 s; ; ")


def _checked_body(file: pathlib.Path) -> Body:
    """A mesh file as a body that has passed its checks, with no part of it left apart; not thinned."""
    return without_strays(make_body(file.stem, read_parts(file)[0].triangles))


def quality(requests: dict[str, Request]) -> None:
    """What the passes of every example are like."""
    # The reach was set for corners that are passed at a speed; controls that overlap blocks take longer at turns whatever the path is like.
    even, quick = (Machine(speed_z=z, acceleration_z=a, corners=CORNER_SPEED) for z, a in ((5000.0, 400.0), (1500.0, 150.0)))
    plans = {name: make_plan(request) for name, request in requests.items()}
    inward = [make_plan(replace(request, lines_from="border")) for request in requests.values()]
    one_way = [make_plan(replace(request, cutting_way="climb only")) for request in requests.values()]
    print("| passes, R 8, 0.05 mm, best start | " + " | ".join(plans) + " | reach |\n| --- |" + " --- |" * (len(plans) + 1))

    def line(what: str, shown: Callable[[Plan], str], reach: str = "") -> None:
        print(f"| {what} | " + " | ".join(shown(plan) for plan in plans.values()) + f" | {reach} |")

    def factor(plan: Plan, minutes: float) -> float:
        return minutes / (plan.least_length / plan.request.feed)

    line("pass lines", lambda p: str(p.start))
    line("simulated cusp / h, 99.9 %", lambda p: f"{dict(p.proof.cusp_percentiles)[99.9] / p.request.cusp:.3f}", "<= 1.03")
    line("simulated cusp / h, all", lambda p: f"{p.proof.worst_cusp / p.request.cusp:.3f}", "<= 1.10")
    line("border (0.6 of a spacing), 99.9 %", lambda p: f"{dict(p.proof.border_percentiles)[99.9] / p.request.cusp:.2f}", "reported separately")
    line("worst gouge in the proof, mm", lambda p: f"{p.proof.worst_gouge:.4f}", "<= 0.002")
    line("cut length / L_min", lambda p: f"{p.path.length_of(CUT) / p.least_length:.3f}", "<= 1.03")
    line("run time / (L_min / feed), axes alike, corners at a speed", lambda p: f"{factor(p, run_time(p.path, even).minutes):.3f}", "<= 1.08")
    line("run time / (L_min / feed), default axes, corners at a speed", lambda p: f"{factor(p, run_time(p.path, quick).minutes):.3f}")
    line("run time / (L_min / feed), default machine (overlapping blocks)", lambda p: f"{factor(p, p.run_time.minutes):.3f}")
    line("minutes, default machine, with their range", lambda p: "{:.1f}, {:.1f} to {:.1f}".format(p.run_time.minutes, *p.run_time.range_minutes))
    line("pass lines, lifts", lambda p: f"{p.path.line_count}, {lifts(p.path)}")
    cells = [f"{factor(p, run_time(p.path, even).minutes):.3f}, {factor(p, p.run_time.minutes):.3f}" for p in one_way]
    print("| run time / (L_min / feed), one way (climb): axes alike and corners at a speed, default machine | " + " | ".join(cells) + " | |")
    cells = [f"{p.run_time.minutes:.1f}, {lifts(p.path)}" for p in one_way]
    print("| minutes, lifts, one way (climb) | " + " | ".join(cells) + " | |")
    cells = [f"{dict(p.proof.cusp_percentiles)[99.9] / p.request.cusp:.3f}, {p.proof.worst_cusp / p.request.cusp:.3f}" for p in inward]
    print("| from the border inward instead: cusp / h, 99.9 %, all | " + " | ".join(cells) + " | |")
    constant_spacings(plans)


def main() -> None:
    cutter = next(c for c in DEFAULT_RACK if c.diameter == 16.0)
    names = ("carved_bass", "arched_plate", "scooped_seat")
    bodies = {name: read_file(ROOT / "blend_examples" / f"{name}.blend") for name in names}
    speed(Request(bodies["carved_bass"], cutter=cutter, lines_from="edge", line_angle=0.0, feed=3500.0, rack_table=False, region=WHOLE))
    reading()
    print()
    quality({name: Request(body, cutter=cutter, lines_from="best", feed=3500.0, rack_table=False, region=WHOLE) for name, body in bodies.items()})
    print(f"\nspacing on flat ground: {float(spacing_on_flat(8.0, 0.05)):.3f} mm")


if __name__ == "__main__":
    main()
