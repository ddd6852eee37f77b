"""Run time against a control simulated in small steps of time, and the simulation itself against closed forms and the axes' limits."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from program_frames import frame
from shapes import block
from simulated_control import TICK, Control, Motion, blocks_of, distance_from
from test_corners import winding_path

from addon.finishing.core.path import CUT, ENTRY, LINK, Path
from addon.finishing.files.path_program import path_program
from addon.finishing.job.body import make_body
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.machine import CORNER_KINDS, CORNER_SPEED, EXACT_STOP, OVERLAP, Machine
from addon.finishing.job.request import Request
from addon.finishing.motion.blocks import block_rows
from addon.finishing.motion.run_time import run_time
from addon.finishing.planning.plan import make_plan

CUTTER = Cutter("Round-nose 12", 12.0)
EVEN = Machine(speed_z=5000.0, acceleration_z=400.0)


def simulated(path: Path, machine: Machine, tick: float = TICK) -> Motion:
    """What a control makes of the program of a path, from the path's first row to its last. tick: s between two of its decisions."""
    program = path_program(path, CUTTER, frame(1000.0))
    places, speeds = blocks_of(program)
    return Control(machine, tick).run(places[:-1], speeds[:-1])  # without the lift at the program's end


def path_through(points: np.ndarray, feed: float) -> Path:
    """A pass line through points, begun at rest at its first one."""
    points = np.concatenate([points[:1], points])
    n = len(points)
    return Path(points, np.array([ENTRY] + [CUT] * (n - 1), np.uint8), np.ones(n, np.int32), np.full(n, round(feed, 1)))


def drawn_machine(rng: np.random.Generator, corners: str) -> Machine:
    """A machine of one kind with limits drawn at random round those of hobby routers."""
    return Machine(
        speed_x=rng.uniform(2000, 9000), speed_y=rng.uniform(2000, 9000), speed_z=rng.uniform(800, 4000),
        acceleration_x=rng.uniform(150, 1200), acceleration_y=rng.uniform(150, 1200), acceleration_z=rng.uniform(60, 600),
        corner_rounding=rng.choice([0.005, 0.02, 0.1]), corners=corners, blocks_ahead=int(rng.choice([4, 16, 32, 200])),
    )  # fmt: skip


@pytest.mark.parametrize("corners", CORNER_KINDS)
@settings(max_examples=15, deadline=None)
@given(seed=st.integers(0, 10**6))
def test_within_one_percent_of_the_control_on_random_polylines(corners: str, seed: int) -> None:
    rng = np.random.default_rng(seed)
    machine, path = drawn_machine(rng, corners), path_through(winding_path(rng), rng.uniform(500, 6000))
    assert run_time(path, machine).total_seconds == pytest.approx(simulated(path, machine).seconds, rel=0.01)


@pytest.fixture(scope="module")
def planned() -> Path:
    """Some lines of the path of a real plan: an arched plate with a hollow along its rim."""
    surface = lambda x, y: 12 + 3 * np.cos(np.pi * (x - 30) / 40) * np.cos(np.pi * (y - 20) / 30)  # noqa: E731
    body = make_body("arched", block(surface, 60, 40, 0.8))
    path = make_plan(Request(body, cutter=CUTTER, lines_from="edge", line_angle=0.0, rack_table=False, cell=0.5)).path
    rows = path.line <= 12
    return Path(path.points[rows], path.kind[rows], path.line[rows], path.feed[rows])


@pytest.mark.parametrize(
    "machine",
    [
        Machine(), EVEN, Machine(blocks_ahead=8), Machine(acceleration_x=900.0, acceleration_z=300.0),
        Machine(corners=CORNER_SPEED), Machine(corners=CORNER_SPEED, blocks_ahead=8), Machine(corners=EXACT_STOP),
    ],
    ids=lambda machine: f"{machine.corners}, {machine.blocks_ahead} blocks, {machine.acceleration_x:g} {machine.acceleration_z:g}",
)  # fmt: skip
def test_within_one_percent_of_the_control_on_a_real_plan(planned: Path, machine: Machine) -> None:
    estimate, motion = run_time(planned, machine), simulated(planned, machine)
    assert estimate.total_seconds == pytest.approx(motion.seconds, rel=0.01)
    # Every tenth of the path, not only its end.
    travelled = np.cumsum(planned.lengths())
    shares = np.linspace(0.1, 0.9, 9)
    estimated = np.interp(shares * travelled[-1], travelled, estimate.at)
    moved = np.cumsum(np.linalg.norm(np.diff(np.array(motion.places), axis=0), axis=1))
    assert estimated == pytest.approx(np.interp(shares * moved[-1], moved, motion.times[1:]), rel=0.01, abs=0.1)


@pytest.mark.parametrize("corners", CORNER_KINDS)
def test_no_kind_of_corner_is_estimated_long_or_short(corners: str, planned: Path) -> None:
    # Signed, over machines slow and quick, lines of a plan and winding polylines: in the mean within a twentieth of a percent. Steps of time of
    # 0.1 ms: with longer ones a control that stops at every block gains up to half of one at each.
    rng = np.random.default_rng(16)
    few = Path(planned.points[:400], planned.kind[:400], planned.line[:400], planned.feed[:400])
    tracks = [few, *(path_through(winding_path(rng), rng.uniform(1000, 6000)) for _ in range(4))]
    errors = []
    for path in tracks:
        machine = drawn_machine(rng, corners)
        errors.append(run_time(path, machine).total_seconds / simulated(path, machine, tick=0.0001).seconds - 1)
    assert abs(np.mean(errors)) <= 5e-4 and max(np.abs(errors)) <= 2e-3


@pytest.mark.parametrize("other", [(OVERLAP, 0.8, 16), (OVERLAP, 1.0, 16), (OVERLAP, 1.25, 1000), (CORNER_SPEED, 0.8, 16), (CORNER_SPEED, 1.25, 1000)])
def test_the_range_is_true_on_both_sides(planned: Path, other: tuple[str, float, int]) -> None:
    # Until a timing test has been made, the record may be off: another kind of rounding, other accelerations, fewer or more blocks ahead.
    corners, factor, blocks = other
    control = Machine(corners=corners, blocks_ahead=blocks, acceleration_x=factor * 400, acceleration_y=factor * 400, acceleration_z=factor * 150)
    seconds = simulated(planned, control).seconds
    for recorded in (Machine(), Machine(corners=CORNER_SPEED)):
        estimate = run_time(planned, recorded)
        assert estimate.low_seconds < estimate.total_seconds < estimate.high_seconds
        assert 0.999 * estimate.low_seconds < seconds < 1.001 * estimate.high_seconds


def test_a_timing_test_and_a_measured_run_narrow_the_range(planned: Path) -> None:
    bare, tested, measured = (run_time(planned, machine) for machine in (Machine(), Machine(timing_tested=True), Machine(time_factor=1.05)))
    assert bare.uncertainty > tested.uncertainty > measured.uncertainty > 0
    assert run_time(planned, Machine(timing_tested=True, time_factor=1.05)).uncertainty == pytest.approx(measured.uncertainty)
    assert bare.total_seconds == tested.total_seconds == pytest.approx(measured.total_seconds / 1.05)
    stop = run_time(planned, Machine(corners=EXACT_STOP))
    assert stop.low_seconds < stop.total_seconds < stop.high_seconds and stop.low_seconds > bare.high_seconds


@settings(max_examples=10, deadline=None)
@given(st.integers(0, 10**6))
def test_the_simulated_control_keeps_axes_and_tolerance(seed: int) -> None:
    # What the machine really does, from the places of its axes alone: no axis is asked for more than it has (2 % for the steps of time),
    # and where blocks overlap, the tolerance is kept.
    rng = np.random.default_rng(seed)
    points = winding_path(rng)
    machine = replace(drawn_machine(rng, OVERLAP), speed_x=5000.0, speed_y=5000.0, speed_z=3000.0)
    motion = Control(machine, tick=0.0001).run(points.tolist(), [60.0] * len(points))
    places, times = np.array(motion.places), np.array(motion.times)
    even = np.arange(0, times[-1], 0.002)
    sampled = np.column_stack([np.interp(even, times, places[:, axis]) for axis in range(3)])
    asked = np.abs(np.diff(sampled, 2, axis=0)).max(axis=0) / 0.002**2
    limits = np.array([machine.acceleration_x, machine.acceleration_y, machine.acceleration_z])
    assert (asked <= 1.02 * limits).all()
    assert places[-1] == pytest.approx(points[-1], abs=1e-6)
    track = points.tolist()
    assert max(distance_from(place, track, 0, len(track) - 1) for place in places[::50].tolist()) <= machine.corner_rounding + 1e-4


@pytest.mark.parametrize("corners", CORNER_KINDS)
def test_the_simulated_control_on_one_block(corners: str) -> None:
    # Closed form: 100 mm at 50 mm/s and 400 mm/s2, of which an overlapping control uses half for speed changes.
    motion = Control(Machine(corners=corners)).run([[0, 0, 0], [100, 0, 0]], [50.0, 50.0])
    assert motion.seconds == pytest.approx(2.0 + 50 / (200 if corners == OVERLAP else 400), rel=1e-3)


def test_overlap_on_a_right_angle() -> None:
    # Closed form: |w - u| is sqrt(2), so h = 4 d / sqrt(2); each axis has 400 - 200 mm/s2 left, and v^2 = 2 h 200 as one axis takes all of v
    # over the overlap while the other gives it up.
    machine = Machine(corner_rounding=0.05)
    half_width = 4 * 0.05 / np.sqrt(2)
    corner = np.sqrt(2 * half_width * 200)
    seconds = run_time(path_through(np.array([[0, 0, 0], [60, 0, 0], [60, 60, 0]], float), 3000), machine).total_seconds
    length = 60 - half_width
    up, down = 50 / 200, (50 - corner) / 200
    cruise = length - 50 * up / 2 - (50 + corner) / 2 * down
    assert seconds == pytest.approx(2 * (up + down + cruise / 50 + half_width / corner), rel=1e-6)


def test_overlap_on_a_circle_is_the_centripetal_limit() -> None:
    # Closed form: on equal chords of a circle v^2 = a R with what speed changes leave of the axes: 400 - 200 |u| / max(|u|) along the normal.
    # At multiples of 90 degrees that is 400, and at 45 degrees (400 - 200) sqrt(2); the time lies between those of these two.
    radius, count = 6.0, 240
    angle = np.linspace(0, 20 * np.pi, 10 * count + 1)
    points = np.column_stack([radius * np.cos(angle), radius * np.sin(angle), 0 * angle])
    at = run_time(path_through(points, 20000), replace(EVEN, speed_x=20000.0, speed_y=20000.0, blocks_ahead=10_000)).at
    turn = (at[7 * count] - at[3 * count]) / 4
    assert 2 * np.pi * np.sqrt(radius / 400) < turn < 2 * np.pi * np.sqrt(radius / (200 * np.sqrt(2)))


def test_few_blocks_ahead_hold_the_speed_down() -> None:
    # Closed form: on chords of 0.5 mm straight on (a little apart from a line, so that nothing is fused) a control that knows n blocks is never
    # faster at the end of one than it can stop from within n - 1: v^2 = 2 200 0.5 (n - 1), and within a block it gains v^2 = 200 0.5 at most.
    count, blocks = 400, 6
    points = np.column_stack([0.5 * np.arange(count + 1), 0.002 * (-1.0) ** np.arange(count + 1), np.zeros(count + 1)])
    machine = replace(EVEN, blocks_ahead=blocks, corner_rounding=1.0)
    at = run_time(path_through(points, 5000), machine).at
    mean = 0.5 * 100 / (at[250] - at[150])
    low, high = np.sqrt(2 * 200 * 0.5 * (blocks - 1)), np.sqrt(2 * 200 * 0.5 * (blocks - 1) + 200 * 0.5)
    assert low < mean < high


def test_a_program_gives_the_blocks_that_are_timed(planned: Path) -> None:
    # The blocks of the program's text, read by the simulated control, against the rows that the run time takes them from.
    places, speeds = blocks_of(path_program(planned, CUTTER, frame(1000.0)))
    rows = block_rows(planned)
    timed = planned.points[rows].round(4)
    assert np.array(places[:-1]) == pytest.approx(timed[np.r_[True, (np.diff(timed, axis=0) != 0).any(axis=1)]], abs=1e-9)
    assert len(rows) < 0.99 * len(planned)
    on_surface = (planned.kind[rows] == CUT) | (planned.kind[rows] == LINK)
    assert on_surface.sum() > 100 and np.isfinite(speeds).sum() >= on_surface.sum() - planned.line_count
