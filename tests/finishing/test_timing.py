"""The timing test: its program for the air, and machines found from times that a simulated control gives."""

from __future__ import annotations

import json
import re
from dataclasses import replace

import numpy as np
import pytest
from program_frames import frame
from shapes import block
from simulated_control import Control, blocks_of

from addon.finishing.core.errors import BadFile, BadRequest
from addon.finishing.core.path import Path
from addon.finishing.files.path_program import path_program
from addon.finishing.files.plan_record import machine_in, read_record, record_bytes
from addon.finishing.files.timing_program import fit_record, fit_text, instructions, timing_program
from addon.finishing.job.body import make_body
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.machine import CORNER_SPEED, EXACT_STOP, OVERLAP, Machine
from addon.finishing.job.request import Request
from addon.finishing.motion.run_time import run_time
from addon.finishing.motion.timing_fit import TimingFit, fitted_machine
from addon.finishing.motion.timing_test import pattern_seconds, room_needed, timing_patterns
from addon.finishing.planning.plan import make_plan

CUTTER = Cutter("Round-nose 12", 12.0)


def router(speeds: tuple, accelerations: tuple, corners: str = OVERLAP, blocks_ahead: int = 32) -> Machine:
    names = [f"{what}_{axis}" for what in ("speed", "acceleration") for axis in "xyz"]
    return replace(Machine(corners=corners, blocks_ahead=blocks_ahead), **dict(zip(names, (*speeds, *accelerations), strict=True)))


MACHINES = [
    router((4000, 4000, 1200), (250, 320, 100), blocks_ahead=16),
    router((9000, 9000, 3500), (900, 600, 350), blocks_ahead=64),
    router((2800, 2800, 700), (500, 500, 80), blocks_ahead=24),
    router((6000, 6000, 1500), (300, 200, 250), CORNER_SPEED),
    router((3000, 3000, 1100), (700, 800, 150), CORNER_SPEED, blocks_ahead=12),
    router((5500, 5500, 1800), (350, 450, 120), EXACT_STOP),
]
"""Machines other than the default one, as hobby routers are."""


def patterns_of(program: bytes) -> list[bytes]:
    """The program cut where it waits for start: each part with the place where the one before has ended."""
    before, *parts = program.split(b"M0\r\n")
    out, last = [], re.findall(rb"G0 X.*", before)[-1]
    for part in parts:
        moves = [line for line in part.split(b"\r\n") if line.startswith(b"G1")]
        out.append(b"\r\n".join([last.replace(b"G0", b"G1"), *moves]))
        last = moves[-1]
    return out


def stopwatch(machine: Machine) -> list[float]:
    """Seconds that a control with these limits takes for each pattern of the program's text, to the tenth that a hand can stop."""
    return [round(Control(machine, tick=0.001).run(*blocks_of(part)).seconds, 1) for part in patterns_of(timing_program())]


@pytest.fixture(scope="module")
def planned() -> Path:
    """Some lines of the path of a real plan."""
    surface = lambda x, y: 12 + 3 * np.cos(np.pi * (x - 30) / 40) * np.cos(np.pi * (y - 20) / 30)  # noqa: E731
    body = make_body("arched", block(surface, 60, 40, 0.8))
    path = make_plan(Request(body, cutter=CUTTER, lines_from="edge", line_angle=0.0, rack_table=False, cell=0.5)).path
    rows = path.line <= 12
    return Path(path.points[rows], path.kind[rows], path.line[rows], path.feed[rows])


@pytest.mark.parametrize("machine", MACHINES, ids=lambda machine: f"{machine.corners}, {machine.acceleration_x:g}")
def test_estimates_after_the_test_are_within_three_percent(planned: Path, machine: Machine) -> None:
    # Independent of the product: the simulated control runs the test's program and the plan's program; the record begins at the defaults.
    fit = fitted_machine(stopwatch(machine), Machine(speed_z=1500.0))
    assert fit.believed and fit.machine.timing_tested and fit.machine.corners == machine.corners
    places, speeds = blocks_of(path_program(planned, CUTTER, frame(1000.0)))
    seconds = Control(machine).run(places[:-1], speeds[:-1]).seconds
    estimate = run_time(planned, fit.machine)
    assert estimate.total_seconds == pytest.approx(seconds, rel=0.03)
    assert estimate.low_seconds <= seconds <= estimate.high_seconds
    # What the patterns settle by themselves.
    for name in ("acceleration_x", "acceleration_y"):
        assert getattr(fit.machine, name) == pytest.approx(getattr(machine, name), rel=0.06)


def test_before_the_test_the_estimate_is_farther_off(planned: Path) -> None:
    # The test is worth its minutes: the default record misses one of these machines by far more.
    machine = MACHINES[0]
    before, after = run_time(planned, Machine()).total_seconds, run_time(planned, machine).total_seconds
    assert abs(before / after - 1) > 0.08


def test_the_patterns_take_less_than_three_minutes_by_default() -> None:
    seconds = stopwatch(Machine())
    assert sum(seconds) < 175 and min(seconds) > 15
    assert seconds == pytest.approx(pattern_seconds(timing_patterns(), Machine()).tolist(), rel=0.01)


def test_a_hand_on_the_stopwatch_does_not_spoil_the_fit(planned: Path) -> None:
    rng = np.random.default_rng(7)
    machine = MACHINES[0]
    times = np.array(stopwatch(machine)) + rng.normal(0, 0.15, 5)
    estimate = run_time(planned, fitted_machine(times.tolist(), Machine()).machine).total_seconds
    assert estimate == pytest.approx(run_time(planned, machine).total_seconds, rel=0.03)


@pytest.mark.parametrize("unit", ["mm", "in"])
def test_the_program_stays_in_the_room_it_names(unit: str) -> None:
    text = timing_program(unit).decode("ascii")
    scale = {"mm": 1.0, "in": 25.4}[unit]
    places = np.array([[float(x) for x in found] for found in re.findall(r"X(-?[\d.]+) Y(-?[\d.]+) Z(-?[\d.]+)", text)]) * scale
    room = re.search(r"room of (\d+) mm along X, (\d+) mm along Y and (\d+) mm upwards", text.replace(")\r\n(", " "))
    assert room is not None
    assert (places >= 0).all() and (places.max(axis=0) <= [float(x) + 0.51 for x in room.groups()]).all()
    assert places.max(axis=0) == pytest.approx(room_needed(timing_patterns()), abs=0.001)


def test_the_program_leaves_the_spindle_off_and_waits_before_every_pattern() -> None:
    text = timing_program().decode("ascii")
    words = re.findall(r"(?m)^[A-Z].*", re.sub(r"\([^()]*\)\r\n", "", text))
    assert not any(re.match(r"M[34]\b", word) or "S" in word for word in words)
    assert [word.strip() for word in words if word.startswith("M")] == ["M5", *["M0"] * 5, "M5", "M30"]
    # Every line is a comment without brackets inside, or plain words; none is too long for a small control's display.
    for line in text.split("\r\n"):
        assert re.fullmatch(r"\([^()]*\)|(G17 G2[01] G90 G94)|M\d+|G[01] X[-\d.]+ Y[-\d.]+ Z[-\d.]+( F[\d.]+)?|", line), line
        assert len(line) <= 72
    with pytest.raises(BadFile):
        timing_program("ft")


def test_what_no_stopwatch_shows_is_refused() -> None:
    for times in ([30.0] * 4, [30.0] * 6, [30.0, 30.0, 0.0, 30.0, 30.0], [30.0, float("nan"), 30.0, 30.0, 30.0]):
        with pytest.raises(BadRequest):
            fitted_machine(times, Machine())


def test_times_that_fit_no_machine_are_not_believed() -> None:
    times = pattern_seconds(timing_patterns(), Machine())
    fit = fitted_machine([*times[:4].tolist(), 4 * float(times[4])], Machine())
    assert not fit.believed and "time the patterns again" in fit_text(fit)


def test_the_fit_is_written_as_settings_that_can_be_read() -> None:
    machine = replace(MACHINES[0], name="Shed router", timing_tested=True)
    fit = TimingFit(machine, (1.0, 2.0, 3.0, 4.0, 5.0), (1.0, 2.0, 3.0, 4.0, 5.1))
    record = read_record(record_bytes(fit_record(fit, {"schema": 1, "cusp": 0.03})))
    assert machine_in(record) == machine and record["settings"]["cusp"] == 0.03
    assert json.loads(record_bytes(record))["timing_test"]["measured_seconds"] == [1, 2, 3, 4, 5]
    text = fit_text(fit)
    assert "rounded by overlap" in text and "+2.0%" in text and "Blocks looked ahead: 16" in text
    assert "Blocks" not in fit_text(replace(fit, machine=replace(machine, corners=EXACT_STOP)))
    assert machine.corners == OVERLAP and "Shed router" in instructions(machine)
