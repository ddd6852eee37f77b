"""Run time against closed forms, published corner speeds and an independent step-by-step integration."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path as FilePath

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from finishing.errors import BadRequest
from finishing.machine import Machine
from finishing.motion import calibrated, corner_speed, move_time, run_time
from finishing.path import CUT, Path

VALUES = json.loads((FilePath(__file__).parents[1] / "reference_values.json").read_text())
BRISK = Machine(
    speed_x=60000, speed_y=60000, speed_z=60000, acceleration_x=400, acceleration_y=400, acceleration_z=400,
    junction_deviation=0.01,
)  # fmt: skip


def path_through(points: list | np.ndarray, feed: float) -> Path:
    points = np.asarray(points, float)
    n = len(points)
    return Path(points, np.full(n, CUT, np.uint8), np.ones(n, np.int32), np.full(n, feed))


@pytest.mark.parametrize("case", VALUES["one_move_time"]["cases"], ids=str)
def test_one_move(case: dict) -> None:
    # Closed form (trapezoid or triangle of speed).
    assert move_time(case["L"], case["v"], case["a"], case["v0"], case["v1"]) == pytest.approx(case["T"], rel=1e-5)
    if case["v0"] == case["v1"] == 0:
        time = run_time(path_through([[0, 0, 0], [case["L"], 0, 0]], case["v"] * 60), BRISK)
        assert time.total_seconds == pytest.approx(case["T"], rel=1e-5)


def test_published_triangle_of_speed() -> None:
    # tech-champion.com, triangular velocity profile: speeding up at 2 and slowing at 4 over 100. Two moves of the closed form.
    case = VALUES["one_move_time"]["published_case"]
    peak = case["v_peak"]
    first = peak**2 / (2 * case["a"])
    time = move_time(first, 1e9, case["a"], 0, peak) + move_time(case["D"] - first, peak, case["b"], peak, 0)
    assert time == pytest.approx(case["T"], rel=1e-4)


@pytest.mark.parametrize("case", VALUES["corner_speed"]["cases"], ids=str)
def test_corner_speeds(case: dict) -> None:
    # S. K. Jeon 2011.
    between = np.pi - np.radians(case["turn_deg"])
    assert corner_speed(between, case["a"], case["delta"]) == pytest.approx(case["v"], rel=1e-6)


def test_a_corner_slows_as_its_speed_says() -> None:
    # Closed form: two long moves meet at 90 degrees; each is one move with the corner speed at one end.
    case = VALUES["corner_speed"]["cases"][2]
    time = run_time(path_through([[0, 0, 0], [50, 0, 0], [50, 50, 0]], 3000), BRISK)
    # The acceleration across this corner points along a diagonal, where two equal axes give sqrt(2) of one.
    corner = case["v"] * 2**0.25
    one = move_time(50, 50, 400, 0, corner)
    assert time.total_seconds == pytest.approx(2 * one, rel=1e-9)


def test_a_ramp_that_z_limits() -> None:
    # Closed form: on a ramp of 45 degrees Z at 1500 mm/min lets the feed be 1500 sqrt(2); its 150 mm/s2 likewise.
    machine = Machine()
    time = run_time(path_through([[0, 0, 0], [100, 0, 100]], 5000), machine)
    root = np.sqrt(2)
    expected = move_time(100 * root, 25 * root, 150 * root, 0, 0)
    assert time.total_seconds == pytest.approx(float(expected), rel=1e-9)
    level = run_time(path_through([[0, 0, 0], [100 * root, 0, 0]], 5000), machine)
    assert time.total_seconds > 1.9 * level.total_seconds


def test_a_circle_keeps_the_acceleration_across() -> None:
    # Closed form: v^2 = a r on a circle with the same acceleration on all axes, up to chords (0.02 mm here) and the axes'
    # box: along the diagonals two axes give sqrt(2) of one, so the speed lies between sqrt(a r) and 2^(1/4) of it.
    radius, count = 5.0, 3000
    angle = np.linspace(0, 40 * np.pi, 20 * count + 1)
    points = np.column_stack([radius * np.cos(angle), radius * np.sin(angle), 0 * angle])
    time = run_time(path_through(points, 60000), replace(BRISK, junction_deviation=0.05))
    length = 40 * np.pi * radius
    slowest = np.sqrt(400 * radius)
    assert length / (slowest * 2**0.25) * 0.98 < time.total_seconds < length / slowest * 1.05


def stepwise_seconds(path: Path, machine: Machine, step: float = 0.002) -> float:
    """Independent of the product: drive along the path in steps of `step` mm, speeding up and braking within the limits.

    The limits (axis speeds, axis accelerations, corners, bends) are worked out here again, from the path resampled; then one
    sweep back and one sweep forth in plain Python.
    """
    points = path.points
    limits: list[float] = []
    ways: list[float] = []
    brakes: list[float] = []
    axis_v = [machine.speed_x / 60, machine.speed_y / 60, machine.speed_z / 60]
    axis_a = [machine.acceleration_x, machine.acceleration_y, machine.acceleration_z]
    directions = []
    for a, b in zip(points[:-1], points[1:], strict=True):
        directions.append((b - a) / np.linalg.norm(b - a))
    corners = [0.0]
    for u, w in zip(directions[:-1], directions[1:], strict=True):
        turn = np.arccos(np.clip(u @ w, -1, 1))
        side = (w - u) / max(np.linalg.norm(w - u), 1e-15)
        a = min(axis_a[k] / max(abs(side[k]), 1e-15) for k in range(3))
        c = np.cos(turn / 2)
        corners.append(np.inf if c >= 1 - 1e-15 else np.sqrt(a * machine.junction_deviation * c / (1 - c)))
    corners.append(0.0)
    for i, (a, b) in enumerate(zip(points[:-1], points[1:], strict=True)):
        u = directions[i]
        length = float(np.linalg.norm(b - a))
        v = min([path.feed[i + 1] / 60] + [axis_v[k] / max(abs(u[k]), 1e-15) for k in range(3)])
        acc = min(axis_a[k] / max(abs(u[k]), 1e-15) for k in range(3))
        n = max(1, int(np.ceil(length / step)))
        for k in range(n):
            limits.append(min(v, corners[i]) if k == 0 else v)
            ways.append(length / n)
            brakes.append(acc)
    limits.append(0.0)
    # A point between two moves obeys both moves' speeds.
    speed = limits[:]
    at = 0
    for i in range(len(points) - 1):
        n = max(1, int(np.ceil(float(np.linalg.norm(points[i + 1] - points[i])) / step)))
        if at > 0:
            speed[at] = min(speed[at], limits[at - 1] if n else limits[at])
        at += n
    for k in range(len(ways) - 1, -1, -1):
        speed[k] = min(speed[k], (speed[k + 1] ** 2 + 2 * brakes[k] * ways[k]) ** 0.5)
    seconds = 0.0
    for k in range(len(ways)):
        speed[k + 1] = min(speed[k + 1], (speed[k] ** 2 + 2 * brakes[k] * ways[k]) ** 0.5)
        seconds += 2 * ways[k] / max(speed[k] + speed[k + 1], 1e-9)
    return seconds


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 10**6))
def test_within_one_percent_of_stepwise_integration(seed: int) -> None:
    # Independent integration above. Moves of 3 mm and more: there the bend limit (measured over 0.5 mm) never undercuts
    # the corner speed at this junction deviation, so both see the same limits.
    rng = np.random.default_rng(seed)
    points = np.cumsum(rng.normal(0, 1, (30, 3)) * [8, 8, 2] + rng.choice([-4, 4], (30, 3)) * [1, 1, 0], axis=0)
    feed = rng.uniform(500, 6000, 30)
    path = replace(path_through(points, 1), feed=feed)
    machine = Machine()
    estimate = run_time(path, machine).total_seconds
    assert estimate == pytest.approx(stepwise_seconds(path, machine), rel=0.01)


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 10**6), st.floats(200, 8000), st.floats(1.01, 3))
def test_time_is_at_least_length_over_feed_and_falls_with_feed(seed: int, feed: float, more: float) -> None:
    rng = np.random.default_rng(seed)
    points = np.cumsum(rng.normal(0, 3, (40, 3)), axis=0)
    slow = run_time(path_through(points, feed), Machine())
    fast = run_time(path_through(points, feed * more), Machine())
    length = np.linalg.norm(np.diff(points, axis=0), axis=1).sum()
    assert slow.total_seconds >= length / (feed / 60) * (1 - 1e-9)
    assert fast.total_seconds <= slow.total_seconds * (1 + 1e-9)
    assert (np.diff(slow.at) >= 0).all()
    assert sum(slow.seconds_by_kind.values()) == pytest.approx(slow.total_seconds)


def test_moves_of_no_length_change_nothing() -> None:
    points = np.array([[0, 0, 0], [10, 0, 0], [10, 0, 0], [20, 0, 0], [20, 10, 0]], float)
    with_stop, without = path_through(points, 3000), path_through(np.delete(points, 1, axis=0), 3000)
    assert run_time(with_stop, BRISK).total_seconds == pytest.approx(run_time(without, BRISK).total_seconds, rel=1e-12)
    assert run_time(path_through(points[:1], 3000), BRISK).total_seconds == 0


def test_calibration() -> None:
    path = path_through([[0, 0, 0], [100, 0, 0], [100, 50, 0]], 3000)
    machine = Machine()
    before = run_time(path, machine)
    better = calibrated(machine, before.total_seconds, 1.2 * before.total_seconds)
    after = run_time(path, better)
    assert after.total_seconds == pytest.approx(1.2 * before.total_seconds)
    assert after.uncertainty < before.uncertainty
    with pytest.raises(BadRequest):
        calibrated(machine, 10, 1000)
