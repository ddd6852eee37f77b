"""Run time against closed forms, published corner speeds and an independent step-by-step integration."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path as FilePath

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from addon.finishing.core.errors import BadRequest
from addon.finishing.core.path import CUT, Path
from addon.finishing.job.machine import CORNER_SPEED, Machine
from addon.finishing.motion.control import driven
from addon.finishing.motion.corners import corner_speed
from addon.finishing.motion.moves import Moves
from addon.finishing.motion.run_time import calibrated, run_time
from addon.finishing.motion.speed_profile import move_time

VALUES = json.loads((FilePath(__file__).parents[1] / "reference_values.json").read_text())
BRISK = Machine(
    speed_x=60000, speed_y=60000, speed_z=60000, acceleration_x=400, acceleration_y=400, acceleration_z=400,
    corner_rounding=0.01, corners=CORNER_SPEED,
)  # fmt: skip
SMALL_ROUTER = Machine(corners=CORNER_SPEED, blocks_ahead=10_000)
"""Knows the whole road ahead, as the drive of this file does; controls that look ahead a few blocks are tested in test_simulated_control.py."""

Turning = Callable[[float], Sequence[float]]
"""A vector at every length along a piece."""


def path_through(points: list | np.ndarray, feed: float) -> Path:
    points = np.asarray(points, float)
    n = len(points)
    return Path(points, np.full(n, CUT, np.uint8), np.ones(n, np.int32), np.full(n, feed))


def times_at(points: np.ndarray, feed: float, machine: Machine) -> np.ndarray:
    """Seconds when each of some points is reached, every move between them a block of its own: as `run_time` without fusing."""
    vectors = np.diff(points, axis=0)
    length = np.linalg.norm(vectors, axis=1)
    moves = Moves.limited_by(machine, vectors, length, np.full(len(length), feed))
    return driven(moves, machine).time_at(np.concatenate([[0.0], np.cumsum(length)]))


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
    machine = SMALL_ROUTER
    time = run_time(path_through([[0, 0, 0], [100, 0, 100]], 5000), machine)
    root = np.sqrt(2)
    expected = move_time(100 * root, 25 * root, 150 * root, 0, 0)
    assert time.total_seconds == pytest.approx(float(expected), rel=1e-9)
    level = run_time(path_through([[0, 0, 0], [100 * root, 0, 0]], 5000), machine)
    assert time.total_seconds > 1.9 * level.total_seconds


@pytest.mark.parametrize(("radius", "chord"), [(0.9, 0.01), (0.9, 0.1), (3, 0.01), (3, 0.1), (3, 0.3), (8, 0.01), (8, 0.3)])
def test_a_circle_keeps_the_acceleration_across(radius: float, chord: float) -> None:
    # Closed form: v^2 = a r / max(|cos|, |sin|) on a circle with two equal axes (along a diagonal they give sqrt(2) of one);
    # the time for an eighth is the integral of r / v. However short the chords are, the time must not fall.
    count = 8 * round(2 * np.pi * radius / chord / 8)
    angle = np.linspace(0, 20 * np.pi, 10 * count + 1)
    points = np.column_stack([radius * np.cos(angle), radius * np.sin(angle), 0 * angle])
    at = times_at(points, 60000, replace(BRISK, corner_rounding=0.02, blocks_ahead=10_000))
    fine = np.linspace(0, np.pi / 4, 4001)
    eighth = np.sqrt(radius * np.cos(fine) / 400)
    turn_seconds = 8 * ((eighth[1:] + eighth[:-1]) / 2).sum() * (fine[1] - fine[0])
    assert at[6 * count] - at[4 * count] == pytest.approx(2 * turn_seconds, rel=0.03)


def test_a_corner_made_of_many_small_ones_is_no_faster_than_one() -> None:
    # A corner of 90 degrees cut into 30 within 0.01 mm, less than it may be rounded by, is that corner still (S. K. Jeon 2011).
    angle = np.linspace(-np.pi / 2, 0, 31)
    bevel = np.column_stack([50 + 0.01 * np.cos(angle), 0.01 + 0.01 * np.sin(angle), 0 * angle])
    finely = path_through(np.concatenate([[[0, 0, 0]], bevel, [[50.01, 50, 0]]]), 3000)
    once = path_through([[0, 0, 0], [50.01, 0, 0], [50.01, 50, 0]], 3000)
    bevelled, sharp = run_time(finely, BRISK).total_seconds, run_time(once, BRISK).total_seconds
    assert sharp - 0.001 < bevelled < 1.01 * sharp


def test_a_bend_of_slight_chords_is_no_corner() -> None:
    # Closed form: chords of 3 mm turning by 0.5 degrees lie on a circle of 344 mm, where 100 mm/s ask for 29 mm/s2 only.
    angle = np.radians(0.5) * np.arange(80)
    points = np.cumsum(np.column_stack([3 * np.cos(angle), 3 * np.sin(angle), 0 * angle]), axis=0)
    time = run_time(path_through(points, 6000), BRISK).total_seconds
    # Speeding up and braking from and to standstill cost v / 2a each, along directions of 0 and 39.5 degrees.
    ends = 100 / 2 / 400 * (1 + np.cos(np.radians(39.5)))
    assert time == pytest.approx(3 * 79 / 100 + ends, rel=1e-3)


class Drive:
    """A drive along a path in small steps of time, written apart from the product: two passes over the speed diagram.

    A list of pieces, each given by its own closed form: (length, direction at a distance into it, radius or None).
    Corners between pieces are limited as S. K. Jeon 2011 says, arcs by v^2 = a r.
    """

    def __init__(self, machine: Machine, feed: float) -> None:
        self.v_axis = [machine.speed_x / 60, machine.speed_y / 60, machine.speed_z / 60]
        self.a_axis = [machine.acceleration_x, machine.acceleration_y, machine.acceleration_z]
        self.deviation, self.feed = machine.corner_rounding, feed / 60
        self.pieces: list = []
        self.corners: list[tuple[float, float]] = []
        self.end = 0.0

    def add(self, length: float, direction: Turning, normal: Turning | None = None, radius: float | None = None) -> None:
        if self.pieces:
            last = self.pieces[-1]
            u, w = last[2](last[1]), direction(0.0)
            side = [q - p for p, q in zip(u, w, strict=True)]
            size = sum(x * x for x in side) ** 0.5
            if size > 1e-6:
                a = min(self.a_axis[k] * size / abs(side[k]) if side[k] else np.inf for k in range(3))
                cosine = np.cos(np.arccos(max(-1.0, min(1.0, sum(p * q for p, q in zip(u, w, strict=True))))) / 2)
                self.corners.append((self.end, (a * self.deviation * cosine / (1 - cosine)) ** 0.5))
        self.pieces.append((self.end, length, direction, normal, radius))
        self.end += length

    def at(self, s: float) -> tuple[float, float]:
        """Greatest speed and acceleration along the path at a distance."""
        start, length, direction, normal, radius = next(x for x in self.pieces if s <= x[0] + x[1] + 1e-9)
        u = direction(s - start)
        v = min([self.feed] + [self.v_axis[k] / abs(u[k]) for k in range(3) if abs(u[k]) > 1e-12])
        a = min(self.a_axis[k] / abs(u[k]) for k in range(3) if abs(u[k]) > 1e-12)
        if radius:
            n = normal(s - start)
            v = min(v, (radius * min(self.a_axis[k] / abs(n[k]) for k in range(3) if abs(n[k]) > 1e-12)) ** 0.5)
        return v, a

    def seconds(self, step: float = 0.0005) -> float:
        def passed(reverse: bool, cap: Callable[[float], float]) -> tuple[list[float], list[float], float]:
            places, speeds, s, v, time = [0.0], [0.0], 0.0, 0.0, 0.0
            corners = sorted((self.end - c, w) if reverse else (c, w) for c, w in self.corners)
            while s < self.end - 1e-3:
                most, a = self.at(self.end - s if reverse else s)
                faster = min(v + a * step, most, cap(s + v * step))
                moved = max((v + faster) / 2 * step, 1e-7)
                if corners and s + moved >= corners[0][0]:
                    moved = corners[0][0] - s
                    faster = min(faster, corners.pop(0)[1])
                if s + moved > self.end:
                    moved = self.end - s
                time += 2 * moved / (v + faster) if v + faster else 0.0
                s, v = s + moved, faster
                places.append(s)
                speeds.append(v)
            return places, speeds, time + 2 * (self.end - s) / v

        places, speeds, _ = passed(True, lambda s: np.inf)
        xs, vs = self.end - np.array(places[::-1]), np.array(speeds[::-1])
        return passed(False, lambda s: float(np.interp(s, xs, vs)))[2]


def straight(drive: Drive, points: list, to: np.ndarray) -> None:
    step = to - points[-1]
    length = float(np.linalg.norm(step))
    unit = tuple(step / length)
    drive.add(length, lambda s: unit)
    points.append(to)


def arc(drive: Drive, points: list, radius: float, first: float, sweep: float, rise: tuple, chord: float, rng: np.random.Generator) -> None:
    """An arc in the plane of x and a second axis, unit vector `rise`, from angle `first` over `sweep` radians."""
    sign, across, other = np.sign(sweep), np.array([1.0, 0, 0]), np.array(rise)

    def place(t: float) -> np.ndarray:
        return radius * (np.cos(t) * across + np.sin(t) * other)

    def direction(s: float) -> tuple:
        t = first + sign * s / radius
        return tuple(sign * (-np.sin(t) * across + np.cos(t) * other))

    drive.add(radius * abs(sweep), direction, lambda s: tuple(place(first + sign * s / radius) / radius), radius)
    count = max(3, int(radius * abs(sweep) / chord))
    shares = np.concatenate([[0], np.cumsum(rng.uniform(0.6, 1.4, count))])
    begin = points[-1] - place(first)
    points += [begin + place(first + sweep * x) for x in shares[1:] / shares[-1]]


@settings(max_examples=12, deadline=None)
@given(st.integers(0, 10**6), st.booleans())
def test_within_one_percent_of_a_drive_in_small_steps_of_time(seed: int, gentle_z: bool) -> None:
    # Independent of the product: the drive above. Straight moves, corners, U-turns, humps and hollows in x and z.
    rng = np.random.default_rng(seed)
    machine = SMALL_ROUTER if gentle_z else replace(SMALL_ROUTER, speed_z=5000, acceleration_z=400)
    feed = float(rng.uniform(1500, 4800))
    drive, points = Drive(machine, feed), [np.zeros(3)]
    for k in range(3):
        straight(drive, points, points[-1] + [rng.uniform(8, 40), 0, 0])
        if rng.random() < 0.5:  # a hump or hollow: four arcs that lead back to level
            r, sweep = rng.uniform(4, 30), rng.uniform(0.2, 1.0)
            for first, turn in ((np.pi / 2, -sweep), (-np.pi / 2 - sweep, sweep), (-np.pi / 2, sweep), (np.pi / 2 + sweep, -sweep)):
                arc(drive, points, r, first, turn, (0, 0, 1), 0.004 * r + 0.1, rng)
        arc(drive, points, rng.uniform(0.8, 3), -np.pi / 2, np.pi, (0, 1, 0), 0.1, rng)
        straight(drive, points, points[-1] + [-rng.uniform(8, 40), 0, 0])
        straight(drive, points, points[-1] + [0, rng.uniform(1, 4), 0])
    straight(drive, points, points[-1] + [20, rng.uniform(-5, 5), rng.uniform(2, 20)])
    estimate = run_time(path_through(points, feed), machine).total_seconds
    assert estimate == pytest.approx(drive.seconds(), rel=0.01)


@settings(max_examples=12, deadline=None)
@given(st.integers(0, 10**6))
def test_within_one_percent_of_the_drive_on_straight_moves(seed: int) -> None:
    # Independent of the product: the drive above, on moves in all directions of space with sharp corners.
    rng = np.random.default_rng(seed)
    points = np.cumsum(rng.normal(0, 1, (25, 3)) * [8, 8, 2] + rng.choice([-4, 4], (25, 3)) * [1, 1, 0], axis=0)
    machine, feed = SMALL_ROUTER, float(rng.uniform(500, 6000))
    drive, track = Drive(machine, feed), [points[0]]
    for place in points[1:]:
        straight(drive, track, place)
    assert run_time(path_through(points, feed), machine).total_seconds == pytest.approx(drive.seconds(), rel=0.01)


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
    machine = SMALL_ROUTER
    before = run_time(path, machine)
    better = calibrated(machine, before.total_seconds, 1.2 * before.total_seconds)
    after = run_time(path, better)
    assert after.total_seconds == pytest.approx(1.2 * before.total_seconds)
    assert after.uncertainty < before.uncertainty
    with pytest.raises(BadRequest):
        calibrated(machine, 10, 1000)
