"""How time and memory grow with the body, the cell and the ball, stage by stage: `python build.py sizes`.

Three series round one case (200k triangles, cell 0.25 mm, R 8): bodies of 50k, 200k and 1M triangles at the same triangles per area;
cells of 0.5, 0.25 and 0.125 mm; balls of R 4, 8, 12.5 and 16 mm. Times are wall times of one run, peaks those that tracemalloc sees in a
run of its own. Beside them stand the library calls that one would write instead: scipy.ndimage.grey_dilation and grey_closing,
measured on a square piece of the grid and scaled to all of it (their time is that of cells times ball), trimesh's ray casting on some
rays, scaled to all cells, and skfmm.travel_time, which solves the plain distance on the same cells.
"""

from __future__ import annotations

import pathlib
import sys
import time
import tracemalloc
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import skfmm
import trimesh
from scipy import ndimage

ROOT = pathlib.Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from addon.finishing.ball.sag import ball_sag  # noqa: E402
from addon.finishing.ball.tip_surface import closing_steps, tip_surface  # noqa: E402
from addon.finishing.core.array_types import FloatArray  # noqa: E402
from addon.finishing.core.result_store import ResultStore  # noqa: E402
from addon.finishing.core.stepping import finished  # noqa: E402
from addon.finishing.job.body import Body, make_body  # noqa: E402
from addon.finishing.job.cutter import Cutter  # noqa: E402
from addon.finishing.job.machine import Machine  # noqa: E402
from addon.finishing.job.request import Request  # noqa: E402
from addon.finishing.passes.pass_ground import pass_ground  # noqa: E402
from addon.finishing.passes.starts import Start, pass_field_steps  # noqa: E402
from addon.finishing.planning.plan import make_plan  # noqa: E402
from addon.finishing.planning.result import Plan  # noqa: E402
from addon.finishing.surface.height_map import height_map  # noqa: E402

BASE = (200, 0.25, 8.0)
BODIES, CELLS, RADII = (50, 200, 1000), (0.5, 0.25, 0.125), (4.0, 8.0, 12.5, 16.0)
TRIANGLES_PER_AREA = 2.0
"""1/mm2 of the top: a square grid of 1 mm cut in halves."""

LARGE_BALLS = (36, 48, 64, 96)
"""Radii in cells at which the tip surface's growth with the radius is told."""

PIECE = 600
"""Edge in cells of the piece of the grid that scipy's calls are measured on, so large that its border does not decide; the ball's
reach comes on top."""

RAYS = 1500
BIG_MACHINE = Machine(bed_x=5000.0, bed_y=5000.0)


def wavy_body(thousands: int) -> Body:
    """A closed block of about so many thousand triangles whose top waves gently in both directions: balls up to R 16 fit everywhere."""
    width = np.sqrt(1000 * thousands / TRIANGLES_PER_AREA * 1.4)
    x, y = np.arange(0, width + 0.5), np.arange(0, width / 1.4 + 0.5)
    height = 24 + 3.0 * np.sin(2 * np.pi * x / 61)[None, :] + 2.5 * np.cos(2 * np.pi * y / 53 + 0.4)[:, None]
    corner = np.stack(np.broadcast_arrays(x[None, :], y[:, None], height), axis=-1)
    a, b, c, d = corner[:-1, :-1], corner[:-1, 1:], corner[1:, 1:], corner[1:, :-1]
    top = np.concatenate([np.stack(t, axis=2).reshape(-1, 3, 3) for t in ((a, b, c), (a, c, d))])
    rims = (corner[0], corner[1:, -1], corner[-1, -2::-1], corner[-2::-1, 0])
    rim = np.concatenate([*rims, corner[:1, 0]])
    foot = rim * [1, 1, 0]
    walls = np.concatenate([np.stack([foot[:-1], foot[1:], rim[1:]], axis=1), np.stack([foot[:-1], rim[1:], rim[:-1]], axis=1)])
    one, two, three, four = (corner[r, c] * [1, 1, 0] for r, c in ((0, 0), (0, -1), (-1, -1), (-1, 0)))
    bottom = np.array([[one, three, two], [one, four, three]])
    return make_body(f"{thousands}k", np.concatenate([top, walls, bottom]))


@dataclass
class Case:
    """One body, cell and ball. plan: as made in `seconds`. peaks: MiB by stage, and of the whole."""

    thousands: int
    cell: float
    radius: float
    plan: Plan
    seconds: float
    peaks: dict[str, float]
    ratios: dict[str, str]

    @property
    def cells(self) -> int:
        return self.plan.grid.rows * self.plan.grid.columns

    @property
    def name(self) -> str:
        return f"{self.thousands}k, {self.cell:g} mm, R {self.radius:g}"


def timed(work: Callable[[], object]) -> tuple[object, float]:
    """Result and wall seconds of a call."""
    began = time.perf_counter()
    return work(), time.perf_counter() - began


def measured(body: Body, thousands: int, cell: float, radius: float) -> Case:
    """Plan a case twice, once for its times and once for its peaks of memory, and hold it against the library calls."""
    request = Request(
        body, cutter=Cutter("ball", 2 * radius), cell=cell, lines_from="edge", line_angle=0.0, rack_table=False, machine=BIG_MACHINE,
        memory_limit_mib=1e6,
    )  # fmt: skip
    plan, seconds = timed(lambda: make_plan(request, ResultStore()))
    assert isinstance(plan, Plan)
    peaks = peaks_of(lambda store: make_plan(request, store))
    return Case(thousands, cell, radius, plan, seconds, peaks, against_libraries(plan))


def peaks_of(work: Callable[[ResultStore], object]) -> dict[str, float]:
    """Peak of the memory that Python and numpy hold while each stage runs, MiB above the start, and of the whole."""
    peaks: dict[str, float] = {}

    class Watched(ResultStore):
        """Reads the peak of memory whenever a stage has run."""

        def note(self, stage: str, seconds: float) -> None:
            peaks[stage] = max(peaks.get(stage, 0.0), tracemalloc.get_traced_memory()[1] - idle)
            tracemalloc.reset_peak()
            super().note(stage, seconds)

    tracemalloc.start()
    idle = tracemalloc.get_traced_memory()[0]
    try:
        work(Watched())
    finally:
        tracemalloc.stop()
    return {"whole": max(peaks.values()) / 2**20} | {stage: peak / 2**20 for stage, peak in peaks.items()}


def against_libraries(plan: Plan) -> dict[str, str]:
    """How many times as long the library calls take as ours, with the greatest difference where the results must be alike."""
    grid, radius = plan.grid, plan.cutter.radius
    heights = np.asarray(plan.heights, np.float32)
    ratios = {}
    reach = int(np.ceil(radius / grid.cell)) + 1
    edge = min(PIECE, grid.rows - 4 * reach, grid.columns - 4 * reach) + 2 * reach
    place = slice((grid.rows - edge) // 2, (grid.rows + edge) // 2), slice((grid.columns - edge) // 2, (grid.columns + edge) // 2)
    piece = heights[place]
    sag = ball_sag(radius, grid.cell)
    inside = np.isfinite(sag)
    ball = np.where(inside, -sag, 0).astype(np.float32)
    share = grid.rows * grid.columns / piece.size
    for name, own, other, exact in (
        ("tip surface / grey_dilation", tip_surface, ndimage.grey_dilation, True),
        ("closing / grey_closing", lambda h, r, c: finished(closing_steps(tip_surface(h, r, c), r, c)), ndimage.grey_closing, False),
    ):
        theirs, their_time = timed(lambda f=other: f(piece, footprint=inside, structure=ball, mode="nearest"))
        ours, own_time = timed(lambda f=own: f(heights, radius, grid.cell))
        inner = slice(2 * reach, -2 * reach)
        difference = float(np.abs(ours[place][inner, inner] - theirs[inner, inner]).max())
        ratios[name] = f"{their_time * share / own_time:.1f}, {difference:.1g}" if exact else f"{their_time * share / own_time:.1f}"
    ratios["height grid / ray casting"] = f"{ray_casting_seconds(plan) / timed(lambda: height_map(plan.body.triangles, grid, False))[1]:.0f}"
    ground = pass_ground(plan.tip, plan.uncut, grid, plan.region, radius, plan.request.cusp)
    _, field = timed(lambda: finished(pass_field_steps(ground.metric, ground.planned, Start("edge"))))
    _, plain = timed(lambda: skfmm.travel_time(started(ground.inside), np.ones(ground.inside.shape), dx=float(ground.metric.grid.cell)))
    ratios["field / skfmm.travel_time"] = f"{plain / field:.2f}"
    return ratios


def started(inside: np.ndarray) -> np.ma.MaskedArray:
    """A front along the first row of the cells, with the others masked."""
    first = int(np.flatnonzero(inside.any(axis=1))[0])
    phi = np.ones(inside.shape)
    phi[: first + 1] = -1.0
    return np.ma.MaskedArray(phi, ~inside)


def ray_casting_seconds(plan: Plan) -> float:
    """What trimesh would take for all cells, from some rays."""
    triangles, grid = plan.body.triangles, plan.grid
    mesh = trimesh.Trimesh(triangles.reshape(-1, 3), np.arange(3 * len(triangles)).reshape(-1, 3), process=False)
    low, high = plan.body.low, plan.body.high
    rng = np.random.default_rng(7)
    above = np.column_stack([rng.uniform(low[:2], high[:2], (RAYS, 2)), np.full(RAYS, high[2] + 1)])
    down = np.tile([0.0, 0.0, -1.0], (RAYS, 1))
    mesh.ray.intersects_location(above[:2], down[:2])  # builds its tree
    _, seconds = timed(lambda: mesh.ray.intersects_location(above, down))
    return seconds / RAYS * grid.rows * grid.columns


def slope(sizes: list[float], values: list[float]) -> float:
    """Slope of a straight line through the logarithms."""
    return float(np.polyfit(np.log(sizes), np.log(np.maximum(values, 1e-9)), 1)[0])


def print_stages(cases: list[Case]) -> None:
    """Seconds and peak MiB of every stage of every case, and the ratios."""
    stages = sorted({stage for case in cases for stage, spent in case.plan.stage_seconds.items() if spent >= 0.05})
    print("\n| seconds, peak MiB | " + " | ".join(case.name for case in cases) + " |\n| --- |" + " --- |" * len(cases))
    print("| cells, triangles | " + " | ".join(f"{c.cells / 1e6:.2f} M, {len(c.plan.body.triangles) / 1e3:.0f} k" for c in cases) + " |")
    print("| whole plan | " + " | ".join(f"{c.seconds:.1f}, {c.peaks['whole']:.0f}" for c in cases) + " |")
    for stage in stages:
        print(f"| {stage} | " + " | ".join(f"{c.plan.stage_seconds.get(stage, 0):.2f}, {c.peaks.get(stage, 0):.0f}" for c in cases) + " |")
    print("\n| times as fast as the library call | " + " | ".join(case.name for case in cases) + " |\n| --- |" + " --- |" * len(cases))
    for what in cases[0].ratios:
        print(f"| {what} | " + " | ".join(case.ratios[what] for case in cases) + " |")


def print_growth(by_body: list[Case], by_cell: list[Case], heights: FloatArray) -> None:
    """Log-log slopes of time and memory."""
    print("\n| growth, log-log slope | time | memory | reach |\n| --- | --- | --- | --- |")

    def row(what: str, cases: list[Case], reach: str) -> None:
        sizes = [float(case.cells) for case in cases]
        seconds, memory = slope(sizes, [c.seconds for c in cases]), slope(sizes, [c.peaks["whole"] for c in cases])
        print(f"| {what} | {seconds:.2f} | {memory:.2f} | {reach} |")

    row("whole plan in area, 50k to 1M triangles", by_body, "<= 1.1")
    row("whole plan in cells, 0.5 to 0.125 mm", by_cell, "<= 1.6")
    seconds = []
    for cells in LARGE_BALLS:
        wide = np.pad(heights, cells, constant_values=-np.inf)
        seconds.append(min(timed(lambda w=wide, r=cells: tip_surface(w, r * 0.25, 0.25))[1] for _ in range(4)))
    print(f"| tip surface in R, {LARGE_BALLS[0]} to {LARGE_BALLS[-1]} cells | {slope([float(c) for c in LARGE_BALLS], seconds):.2f} |  | <= 0.3 |")


def main() -> None:
    bodies = {thousands: wavy_body(thousands) for thousands in BODIES}
    wanted = [(t, BASE[1], BASE[2]) for t in BODIES] + [(BASE[0], c, BASE[2]) for c in CELLS] + [(BASE[0], BASE[1], r) for r in RADII]
    cases = {}
    for case in dict.fromkeys(wanted):
        print(f"planning {case[0]}k triangles, cell {case[1]:g} mm, R {case[2]:g} ...", file=sys.stderr, flush=True)
        cases[case] = measured(bodies[case[0]], *case)
    by_body, by_cell, by_radius = (
        [cases[t, BASE[1], BASE[2]] for t in BODIES], [cases[BASE[0], c, BASE[2]] for c in CELLS], [cases[BASE[0], BASE[1], r] for r in RADII]
    )  # fmt: skip
    for series in (by_body, by_cell, by_radius):
        print_stages(series)
    print_growth(by_body, by_cell, np.asarray(cases[BASE].plan.heights, np.float32))


if __name__ == "__main__":
    main()
