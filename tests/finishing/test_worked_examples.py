"""The worked examples of DEVELOPERS.md run as they stand there, and do what they say."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest
from developers_guide import run_example, worked_examples
from png_reader import pixels_of, share_of
from shapes import block
from small_jobs import two_sides

from addon.finishing.ball.tip_surface import closing_steps, tip_surface
from addon.finishing.core.result_store import ResultStore
from addon.finishing.core.stage_runner import StageRunner
from addon.finishing.core.stepping import finished
from addon.finishing.files.job_files import PATH_FILES, JobFiles, job_files
from addon.finishing.job.body import make_body
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.request import Request
from addon.finishing.pictures.plan_maps import PLAN_MAPS
from addon.finishing.pictures.ramps import SLOPE

MOST_LINES = 12
"""Lines of code of an example, without what it imports, docstrings and empty lines."""


def code_lines(code: str) -> list[str]:
    lines = [line.strip() for line in code.split("\n")]
    return [line for line in lines if line and not line.startswith(("#", '"""', "from ", "import "))]


@pytest.mark.parametrize("heading", worked_examples())
def test_every_example_runs_and_is_short(heading: str) -> None:
    assert len(code_lines(worked_examples()[heading])) <= MOST_LINES
    assert len(run_example(heading)) > 2


def test_the_examples_are_those_that_are_promised() -> None:
    assert {"A stage", "A map", "A cutter form", "A file format"} <= set(worked_examples())


# ---- a stage


def test_a_stage_is_asked_for_like_any_other() -> None:
    graph, store = run_example("A stage")["GRAPH"], ResultStore()
    # Closed form: a plane of 20 degrees, all of whose ground is planned.
    plane = make_body("plane", block(lambda x, y: 10 + np.tan(np.radians(20)) * x, 30.0, 20.0, 1.0))
    request = Request(plane, cutter=Cutter("Round-nose 6", 6.0), cell=0.5)

    def asked(changed: Request) -> tuple[float, list[str]]:
        runner = StageRunner(graph, store)
        value = finished(runner.ask(("steepness",), changed))["steepness"]
        assert isinstance(value, float)
        return value, runner.ran

    value, ran = asked(request)
    assert value == pytest.approx(20 / 60, rel=1e-3) and {"heights", "ground", "steepness"} <= set(ran)
    assert asked(request) == (value, [])
    assert asked(replace(request, feed=2000.0)) == (value, [])
    steeper = replace(request, region=replace(request.region, wall_limit=40.0))
    assert asked(steeper)[0] == pytest.approx(20 / 40, rel=1e-3)


# ---- a map


def test_a_map_is_drawn_and_written_with_the_others() -> None:
    added = run_example("A map")["DEPTH_MAP"]
    plan = two_sides()[0]
    files = job_files((plan,), JobFiles(maps=(*PLAN_MAPS, added)))
    names = [name for name in files if name.endswith("-map.png")]
    assert len(names) == len(PLAN_MAPS) + 1 and names[-1].endswith("-top-depth-map.png")
    assert names[-1] in json.loads(next(content for name, content in files.items() if name.endswith("plan.json")))["files"]
    # By construction: the arch rises 3 mm above its border, so depths run from 0 to 3, the least ones in the middle.
    values, legend = added.values(plan), added.legend(plan)
    assert np.nanmin(values) == pytest.approx(0, abs=0.01) and legend.high == pytest.approx(3, abs=0.1)
    assert [str(tick.label) for tick in legend.ticks][:2] == ["0.0", "0.5"]
    pixels = pixels_of(files[names[-1]])
    middle = pixels[pixels.shape[0] // 2 - 60 : pixels.shape[0] // 2 + 60, 500:680]
    assert share_of(middle, SLOPE.colours(np.array([0.0]), 0, 1)[0, :3], 0.06) > 0.8


# ---- a cutter form


def profile(distance: np.ndarray, flat_radius: float, corner_radius: float) -> np.ndarray:
    """Height of the cutter's surface above its tip at distances from its axis: flat, then a quarter circle; infinite outside."""
    beyond = np.maximum(distance - flat_radius, 0)
    inside = beyond <= corner_radius
    return np.where(inside, corner_radius - np.sqrt(np.where(inside, corner_radius**2 - beyond**2, 0)), np.inf)


def tip_plainly(heights: np.ndarray, cell: float, flat_radius: float, corner_radius: float) -> np.ndarray:
    """The tip surface by its definition, cell by cell: the least height at which the profile is nowhere below the heights."""
    rows, columns = np.indices(heights.shape)
    out = np.full(heights.shape, -np.inf)
    for row, column in np.ndindex(heights.shape):
        distance = cell * np.hypot(rows - row, columns - column)
        out[row, column] = (heights - profile(distance, flat_radius, corner_radius)).max()
    return out


def test_the_form_without_a_flat_is_the_ball() -> None:
    example = run_example("A cutter form")
    heights = np.random.default_rng(5).uniform(0, 3, (40, 30))
    tip = tip_surface(heights, 4.0, 0.5)
    assert np.array_equal(example["tip_of_flat_bottom"](heights, 0.0, 4.0, 0.5), tip)
    assert np.array_equal(example["surface_after_flat_bottom"](tip, 0.0, 4.0, 0.5), finished(closing_steps(tip, 4.0, 0.5)))


@pytest.mark.parametrize("flat_radius, corner_radius", [(3.0, 2.0), (1.0, 4.0), (5.0, 1.0)])
def test_the_form_is_a_disc_with_a_ball_round_it(flat_radius: float, corner_radius: float) -> None:
    # Against the profile itself. On cells the two rollings meet the profile's own cells to within one, which on these slopes of at most
    # 0.4 is at most 0.4 of a cell's diagonal; the ball's flank is no steeper where it touches.
    cell = 0.25
    x, y = np.meshgrid(cell * np.arange(60), cell * np.arange(50))
    heights = 2 + 0.4 * np.sin(0.6 * x) * np.cos(0.5 * y) + 0.1 * x
    found = run_example("A cutter form")["tip_of_flat_bottom"](heights, flat_radius, corner_radius, cell)
    assert np.abs(found - tip_plainly(heights, cell, flat_radius, corner_radius)).max() < 0.4 * cell * np.sqrt(2)


def test_the_form_on_a_slope() -> None:
    # Closed form: over z = m x the tip stands flat_radius m + corner_radius (sqrt(1 + m^2) - 1) above the ground below the axis.
    cell, slope, flat_radius, corner_radius = 0.1, 0.5, 3.0, 2.0
    x, _ = np.meshgrid(cell * np.arange(161), cell * np.arange(161))
    tip = run_example("A cutter form")["tip_of_flat_bottom"](slope * x, flat_radius, corner_radius, cell)
    expected = slope * x + flat_radius * slope + corner_radius * (np.hypot(1, slope) - 1)
    assert np.abs(tip - expected)[60:-60, 60:-60].max() < slope * cell


def test_the_form_leaves_its_corner_at_the_foot_of_a_wall() -> None:
    # Closed form: on a level floor what stays at a distance s from a wall is the corner's quarter circle, r - sqrt(r^2 - (r - s)^2).
    example = run_example("A cutter form")
    cell, flat_radius, corner_radius = 0.1, 2.0, 1.5
    x, _ = np.meshgrid(cell * np.arange(140), cell * np.arange(100))
    floor = np.where(x < 3.95, 20.0, 0.0)  # the axis comes within flat and corner of the last cell of the wall, so the corner's foot is at x = 4
    tip = example["tip_of_flat_bottom"](floor, flat_radius, corner_radius, cell)
    remains = example["surface_after_flat_bottom"](tip, flat_radius, corner_radius, cell)[50]
    away = x[50] - 4.0
    near = (away > -0.01) & (away < 5)
    corner = np.maximum(corner_radius - away[near], 0)
    np.testing.assert_allclose(remains[near], corner_radius - np.sqrt(np.maximum(corner_radius**2 - corner**2, 0)), atol=1e-5)
    # A ball of the same diameter leaves more: 3.5 - sqrt(3.5^2 - 2^2) at 1.5 mm, where the corner has ended.
    ball = finished(closing_steps(tip_surface(floor, flat_radius + corner_radius, cell), flat_radius + corner_radius, cell))[50]
    at = int(np.argmin(np.abs(away - corner_radius)))
    assert remains[at] == pytest.approx(0, abs=1e-5) and ball[at] == pytest.approx(3.5 - np.sqrt(3.5**2 - 2**2), abs=1e-5)


# ---- a file format


@pytest.mark.parametrize("unit, mm", [("mm", 1.0), ("in", 25.4)])
def test_a_file_format_is_written_for_every_path(unit: str, mm: float) -> None:
    added = run_example("A file format")["OBJ_FILE"]
    plans = two_sides()
    files = job_files(plans, JobFiles(unit=unit, pictures=False, path_files=(*PATH_FILES, added)))
    names = [name for name in files if name.endswith(".obj")]
    assert [name.split("-body-")[1] for name in names] == ["top-1-round-nose-12.obj", "back-2-round-nose-12.obj"]
    for plan, name in zip(plans, names, strict=True):
        rows = [row.split() for row in files[name].decode("ascii").splitlines()]
        corners = np.array([[float(v) for v in row[1:]] for row in rows if row[0] == "v"]) * mm
        lines = [corners[np.array(row[1:], int) - 1] for row in rows if row[0] == "l"]  # counted from 1 (Wavefront OBJ)
        assert len(lines) == plan.path.line_count
        for line, true in zip(lines, plan.path.lines(), strict=True):
            np.testing.assert_allclose(line, true, atol=6e-5 * mm)
        assert name in json.loads(next(v for k, v in files.items() if k.endswith(f"{plan.request.side}-plan.json")))["files"]
