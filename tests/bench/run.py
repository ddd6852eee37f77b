"""Ratios of the base case within one run: `python build.py bench`.

Base case: the carved bass example, top side, R 8, cell 0.25 mm, cusp 0.05 mm, walls from 60 degrees left out, both ways, default machine,
3500 mm/min. Whole plan = one cutter, one start, with proof, without pictures. Times are wall times of this machine; the ratios are
what to compare. Peak memory is the process's own, above what it held with bpy loaded and idle.
"""

from __future__ import annotations

import resource
import sys
import time
from dataclasses import replace
from pathlib import Path

import bpy  # noqa: F401  first, so that its memory counts as idle
import numpy as np
from scipy import ndimage

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from addon.finishing.cusp import spacing_on_flat  # noqa: E402
from addon.finishing.cutter import DEFAULT_RACK  # noqa: E402
from addon.finishing.dilation import ball_sag  # noqa: E402
from addon.finishing.heights import estimated_memory_mib  # noqa: E402
from addon.finishing.machine import Machine  # noqa: E402
from addon.finishing.motion import run_time  # noqa: E402
from addon.finishing.path import CUT, LIFT  # noqa: E402
from addon.finishing.plan import make_plan  # noqa: E402
from addon.finishing.request import Request  # noqa: E402
from addon.finishing.result import Plan  # noqa: E402
from addon.finishing.stages import StageCache  # noqa: E402
from addon.finishing.tip import closing, tip_surface  # noqa: E402
from addon.scene.file_reading import read_file  # noqa: E402


def timed(work, *arguments):  # noqa: ANN001, ANN002, ANN201
    """Result and wall seconds of a call."""
    began = time.perf_counter()
    result = work(*arguments)
    return result, time.perf_counter() - began


def row(what: str, value: str, reach: str = "") -> None:
    print(f"| {what} | {value} | {reach} |")


def straight_pass_length(plan: Plan) -> float:
    """Length of straight passes along x with one constant spacing in plan that keep the same greatest cusp (99.9 % of the ground).

    The spacing is what the steepest and most bent ground needs; the length is that of the tip over the planned axis region.
    """
    from addon.finishing.passes import pass_ground

    ground = pass_ground(plan.tip, plan.uncut, plan.grid, plan.region, plan.cutter.radius, plan.request.cusp)
    metric = ground.metric
    inside = ground.inside
    # Passes along x, dy apart: their g-distance is dy / sqrt((g^-1)_yy), since neighbours may be met on the slant.
    inverse_yy = metric.xx / (metric.xx * metric.yy - metric.xy**2)
    spacing = float(np.quantile(np.sqrt(inverse_yy[inside]), 0.001))
    length_per_area = np.sqrt(1 + metric.slope_x**2) / spacing
    return float((length_per_area * ground.share).sum() * metric.grid.cell_area)


def main() -> None:
    body = read_file(ROOT / "blend_examples" / "carved_bass.blend")
    idle = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    cutter = next(c for c in DEFAULT_RACK if c.diameter == 16.0)
    base = Request(body, cutter=cutter, start="edge", start_angle=0.0, feed=3500.0, rack_table=False)
    cache = StageCache()
    plan, whole = timed(make_plan, base, cache)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    sag = ball_sag(8.0, 0.25)
    inside = np.isfinite(sag)
    heights = np.where(plan.heights > -np.inf, plan.heights, -np.inf).astype(np.float32)
    ball = np.where(inside, -sag, 0).astype(np.float32)
    reference, dilation = timed(lambda: ndimage.grey_dilation(heights, footprint=inside, structure=ball, mode="constant", cval=-np.inf))
    own, tip = timed(tip_surface, heights, 8.0, 0.25)
    difference = float(np.abs(np.where(reference == own, 0, reference - own)).max())
    _, close = timed(closing, own, 8.0, 0.25)
    print(f"grid {plan.grid.rows} x {plan.grid.columns}, {len(body.triangles)} triangles, {len(plan.path)} path rows\n")
    print("| what | measured | reach |\n| --- | --- | --- |")
    row("whole plan / one scipy grey_dilation", f"{whole:.2f} s / {dilation:.2f} s = {whole / dilation:.2f}", "<= 1.0")
    row("tip surface R 8, times faster than scipy", f"{dilation / tip:.1f}, difference {difference:g}", ">= 10, 0")
    row("closing R 8, times faster than one grey_dilation", f"{dilation / close:.1f}")
    _, feed = timed(make_plan, replace(base, feed=3000.0), cache)
    _, cusp = timed(make_plan, replace(base, cusp=0.06), cache)
    middle = body.triangles.mean(axis=1)
    skip = np.hypot(middle[:, 0] - 200, middle[:, 1] - 60) < 20
    _, skipped = timed(make_plan, replace(base, body=replace(body, skip=skip)), cache)
    row("re-plan after skip / cusp / feed, of the whole", f"{skipped / whole:.2f} / {cusp / whole:.2f} / {feed / whole:.3f}", "<= 0.35 / 0.75 / 0.02")
    estimate = estimated_memory_mib(plan.grid, len(body.triangles))
    row("peak memory above idle bpy (the plan's estimate)", f"{(peak - idle) / 1024:.0f} MiB ({estimate:.0f})", "<= 1024 MiB")
    even = Machine(speed_z=5000.0, acceleration_z=400.0)
    cut, least = plan.path.length_of(CUT), plan.least_length
    row("cut length / L_min", f"{cut / 1000:.2f} m / {least / 1000:.2f} m = {cut / least:.3f}", "<= 1.03")
    row("run time / (L_min / feed), all axes alike", f"{run_time(plan.path, even).minutes / (least / 3500):.3f}", "<= 1.08")
    row("run time / (L_min / feed), default machine", f"{plan.run_time.minutes / (least / 3500):.3f}, {plan.run_time.minutes:.1f} min")
    straight = straight_pass_length(plan)
    row("cut length / straight constant-spacing passes", f"{cut / straight:.2f}", "<= 0.80")
    percentiles = dict(plan.proof.cusp_percentiles)
    row("simulated cusp / h: 99.9 %, all", f"{percentiles[99.9] / 0.05:.3f}, {percentiles[100.0] / 0.05:.3f}", "<= 1.03, <= 1.10")
    row("worst gouge in the proof", f"{plan.proof.worst_gouge:.4f} mm", "<= 0.002 mm")
    row("lifts", f"{int((plan.path.kind == LIFT).sum())} for {plan.path.line_count} lines")
    row("spacing on flat ground", f"{float(spacing_on_flat(8.0, 0.05)):.3f} mm")
    print("\nseconds by stage: " + ", ".join(f"{k} {v:.2f}" for k, v in plan.stage_seconds.items() if v > 0.005))
    _, table = timed(make_plan, replace(base, rack_table=True), cache)
    print(f"rack table of {len(DEFAULT_RACK)} cutters: {table / whole:.2f} whole plans")


if __name__ == "__main__":
    main()
