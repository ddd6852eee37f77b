"""From pass lines to the whole path: running order, links on the surface, lifts in the air, entries and exits."""

from __future__ import annotations

from collections.abc import Callable, Generator
from dataclasses import dataclass

import numpy as np

from ..core.grid import FloatArray
from ..core.masks import Mask
from ..core.path import CUT, ENTRY, EXIT, LIFT, LINK, Path
from ..job.machine import Machine
from ..passes.lifting import lifted_lines
from .links import heading, set_back_turn, straying, surface_link
from .move_costs import WayCosts
from .running_order import as_run, running_order

CLEARANCE = 1.0
"""mm above the surface at which an entry changes from air speed to plunge feed."""


@dataclass(frozen=True)
class RouteSettings:
    """direction: "both", "climb" or "conventional". feed: mm/min on lines and links. safe_z: height of moves in the air, job mm.
    chord_tolerance: of links on the surface, mm. radius: of the ball, mm.
    """

    direction: str
    feed: float
    safe_z: float
    machine: Machine
    chord_tolerance: float
    radius: float


@dataclass(frozen=True)
class RunLine:
    """A pass line ready to be run. points: (n, 3); uncut_left: whether uncut ground lies to its left as given. spare: mm that it may
    lose at its beginning and its end.
    """

    points: FloatArray
    uncut_left: bool
    spare: tuple[float, float] = (0.0, 0.0)


def route_steps(
    lines: list[RunLine],
    surface: Callable[[FloatArray], Generator[float, None, FloatArray]],
    estimate: Callable[[FloatArray], FloatArray],
    allowed: Callable[[FloatArray], Mask],
    settings: RouteSettings,
) -> Generator[float, None, Path]:
    """Order the lines and join them into one path; yields shares done.

    surface: exact tip heights of points (k, 2), in steps. estimate: cheap ones. allowed: where links may go.

    One-way cutting: a spindle turning clockwise seen from above (M3) cuts in climb when the uncut ground lies right of the
    way, conventionally when it lies left.
    """
    if not lines:
        return Path(np.zeros((0, 3)), np.zeros(0, np.uint8), np.zeros(0, np.int32), np.zeros(0))
    machine = settings.machine
    one_way = settings.direction != "both"
    ready = [_in_direction(line, settings.direction) for line in lines]
    points = [line.points for line in ready]
    top = max(float(line[:, 2].max()) for line in points)
    depth = settings.safe_z - float(np.mean([line[0, 2] for line in points]))
    lift_seconds = 60 * (2 * max(depth, settings.safe_z - top) / min(machine.air_feed, machine.speed_z) + CLEARANCE / machine.plunge_feed)
    costs = WayCosts(settings.feed / 60, lift_seconds + 1.0, machine.air_feed / 60, lambda ways: straying(ways, allowed))
    visits = running_order(points, points[0][0], not one_way, costs)
    spares = [ready[visit.line].spare[:: -1 if visit.reverse else 1] for visit in visits]
    yield 0.3
    runs, ways = _ways([as_run(points[visit.line], visit) for visit in visits], spares, allowed, lift_seconds, settings)
    yield 0.6
    wanted = [k for k, way in enumerate(ways) if way is not None]
    exact = yield from lifted_lines([ways[k] for k in wanted], surface, estimate, settings.chord_tolerance, settings.radius)  # type: ignore[misc]
    links = dict(zip(wanted, exact, strict=True))
    return _joined(runs, links, settings)


def _in_direction(line: RunLine, direction: str) -> RunLine:
    """The line, turned round where one-way cutting asks for it."""
    wrong = (direction == "climb" and line.uncut_left) or (direction == "conventional" and not line.uncut_left)
    return RunLine(line.points[::-1], not line.uncut_left, line.spare[::-1]) if wrong else line


def _ways(
    runs: list[FloatArray], spares: list[tuple[float, ...]], allowed: Callable[[FloatArray], Mask], lift_seconds: float, settings: RouteSettings
) -> tuple[list[FloatArray], list[FloatArray | None]]:
    """For every run but the last: the way on the surface to the next one, or None where a lift is quicker or none is allowed.

    spares: mm that each run may lose at its beginning and its end. Returns the runs, shortened where that gives a turn room, and the ways.
    """
    runs = list(runs)
    ways: list[FloatArray | None] = []
    air = settings.machine.air_feed / 60
    for k in range(len(runs) - 1):
        before, after = runs[k], runs[k + 1]
        leave, reach = before[-1, :2], after[0, :2]
        span = float(np.hypot(*(reach - leave)))
        if span / (settings.feed / 60) > lift_seconds + span / air:
            ways.append(None)
            continue
        turn = set_back_turn(before, after, (spares[k][1], spares[k + 1][0]), allowed)
        if turn is not None:
            runs[k], way, runs[k + 1] = turn
        else:
            way = surface_link(leave, heading(before[-1] - before[-2]), reach, heading(after[1] - after[0]), allowed)  # type: ignore[assignment]
        ways.append(way)
    return runs, ways


def _joined(runs: list[FloatArray], links: dict[int, FloatArray], settings: RouteSettings) -> Path:
    """All rows in the order of the machine's motion."""
    machine = settings.machine
    points: list[FloatArray] = []
    kinds: list[int] = []
    numbers: list[int] = []
    feeds: list[float] = []
    counts: list[int] = []

    def add(rows: FloatArray, kind: int, number: int, feed: float) -> None:
        points.append(np.atleast_2d(rows))
        kinds.append(kind)
        numbers.append(number)
        feeds.append(feed)
        counts.append(len(points[-1]))

    def down_to(place: FloatArray, number: int) -> None:
        add(np.array([place[0], place[1], settings.safe_z]), LIFT, number, machine.air_feed)
        if place[2] + CLEARANCE < settings.safe_z:
            add(np.array([place[0], place[1], place[2] + CLEARANCE]), ENTRY, number, machine.air_feed)
        add(place, ENTRY, number, machine.plunge_feed)

    for k, run in enumerate(runs):
        number = k + 1
        if k == 0 or k - 1 not in links:
            if k:
                above = runs[k - 1][-1].copy()
                above[2] = settings.safe_z
                add(above, EXIT, k, machine.air_feed)
            down_to(run[0], number)
        else:
            # A run that was shortened begins on one of its chords, a hair off the surface that the link was laid on.
            add(np.concatenate([links[k - 1][1:-1], run[:1]]), LINK, number, settings.feed)
        add(run, CUT, number, settings.feed)
    above = runs[-1][-1].copy()
    above[2] = settings.safe_z
    add(above, EXIT, len(runs), machine.air_feed)
    return Path(
        np.concatenate(points),
        np.repeat(np.array(kinds, np.uint8), counts),
        np.repeat(np.array(numbers, np.int32), counts),
        np.repeat(np.array(feeds, float), counts),
    )
