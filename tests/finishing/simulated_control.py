"""A machine control simulated in small steps of time, block after block of a program's text, with the standard library alone.

It knows nothing of the product but the program it is given. Every half millisecond it decides on a speed from which it can still keep every limit
within the blocks that it knows, the one it is in among them, and stop at the end of the last of these; and it moves the axes accordingly.

Kinds of corner:
- exact stop: every block ends at rest;
- corner speed: the end of a block is passed at a speed given by the corner (plain_corners.py);
- overlap: near a corner two blocks move at once. Over the last h mm of one and the first h mm of the next the share of the speed
  that goes along the next block grows evenly from nothing to all. A block's own speed changes use half of what the axes allow, so
  that two blocks at once stay within the whole; while both move, the changes keep to what either allows. The control takes the
  widest h that keeps within the tolerance and within half of both blocks, and of the speeds the greatest that asks no axis for
  more than it has while the speed changes.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, field

import plain_corners
from plain_corners import Vector, allowed_along, minus, size, unit

from addon.finishing.job.machine import Machine

TICK = 0.0005
"""s between two decisions of the control, unless it is told otherwise."""


def blocks_of(program: bytes) -> tuple[list[list[float]], list[float]]:
    """Places (n, 3) in mm that a program in mm leads to, and the speed in mm/s asked for on the move to each; infinite for G0.

    The first place is the first one where all axes are known: where the machine stands.
    """
    at: list[float | None] = [None, None, None]
    feed, places, speeds = math.inf, [], []
    for line in program.decode("ascii").split("\r\n"):
        word = re.match(r"G([01]) ", line)
        if not word:
            continue
        for letter, number in re.findall(r"([XYZF])(-?[0-9.]+)", line):
            if letter == "F":
                feed = float(number) / 60
            else:
                at["XYZ".index(letter)] = float(number)
        if None not in at:
            places.append([float(value) for value in at])  # type: ignore[arg-type]
            speeds.append(math.inf if word[1] == "0" else feed)
    return places, speeds


@dataclass
class Motion:
    """What the machine did. seconds: in all. block_seconds: until the end of each block. places, times: at every tick."""

    seconds: float = 0.0
    block_seconds: list[float] = field(default_factory=list)
    places: list[list[float]] = field(default_factory=list)
    times: list[float] = field(default_factory=list)


@dataclass
class Corner:
    """Between two blocks. h: half width of the overlap, mm; speed: the greatest through it, mm/s; acceleration: for speed changes in it, mm/s2."""

    h: float
    speed: float
    acceleration: float = math.inf


REST = Corner(0.0, 0.0)


@dataclass
class Node:
    """Where something changes for the control. place: mm along the path; squared: speed that may be had there; limit, acceleration: until there."""

    place: float
    squared: float
    limit: float
    acceleration: float


class Control:
    """A control with a machine's limits."""

    def __init__(self, machine: Machine, tick: float = TICK) -> None:
        self.tick = tick
        self.axis_speeds = [machine.speed_x / 60, machine.speed_y / 60, machine.speed_z / 60]
        self.axis_accelerations = [machine.acceleration_x, machine.acceleration_y, machine.acceleration_z]
        self.corners, self.tolerance, self.blocks_known = machine.corners, machine.corner_rounding, machine.blocks_ahead

    def run(self, places: Sequence[Vector], speeds: Sequence[float]) -> Motion:
        """Drive through places at speeds in mm/s asked for on the move to each."""
        moved = [k for k in range(1, len(places)) if size(minus(places[k], places[k - 1])) > 1e-9]
        track = [places[0]] + [places[k] for k in moved]
        steps = [minus(b, a) for a, b in zip(track, track[1:], strict=False)]
        self.length = [size(step) for step in steps]
        self.direction = [unit(step) for step in steps]
        self.speed = [min(speeds[k], allowed_along(self.axis_speeds, u)) for k, u in zip(moved, self.direction, strict=True)]
        share = 0.5 if self.corners == "overlap" else 1.0
        self.acceleration = [share * allowed_along(self.axis_accelerations, u) for u in self.direction]
        self.corner = [self._corner(track, k) for k in range(1, len(steps))]
        self.starts = _running_sum(self.length)
        return self._drive(track[0])

    def _corner(self, track: Sequence[Vector], k: int) -> Corner:
        """The corner between blocks k - 1 and k."""
        if self.corners == "exact stop":
            return REST
        if self.corners == "corner speed":
            # The windows round a corner see a millimetre of path at most: some blocks on both sides are enough.
            near = track[max(k - 60, 0) : k + 61]
            here = min(k, 60)
            path = plain_corners.PlainPath(near)
            squared = plain_corners.single_corner(path, here, self.axis_accelerations, self.tolerance)
            if self.tolerance > 0:
                squared = min(squared, plain_corners.bend(path, here, self.axis_accelerations, self.tolerance))
            return Corner(0.0, math.sqrt(squared))
        u, w = self.direction[k - 1], self.direction[k]
        change = minus(w, u)
        if size(change) < 1e-9:
            return Corner(0.0, math.inf)
        h = min(self.length[k - 1] / 2, self.length[k] / 2, 4 * self.tolerance / size(change))
        fastest, changes = math.inf, min(self.acceleration[k - 1], self.acceleration[k])
        for axis in range(3):
            busy = changes * max(abs(u[axis]), abs(w[axis]))
            if change[axis]:
                fastest = min(fastest, math.sqrt((self.axis_accelerations[axis] - busy) * 2 * h / abs(change[axis])))
        return Corner(h, fastest, changes)

    def _known_nodes(self, block: int) -> list[Node]:
        """What a block asks of the control while it is in it, so that everything within the known blocks is kept."""
        last = min(block + self.blocks_known, len(self.length)) - 1
        allowed = 0.0  # at the end of the last known block the control must be able to stop
        nodes: list[Node] = []
        for k in range(last, block - 1, -1):
            enter = self.corner[k - 1] if k > 0 else REST
            leave = self.corner[k] if k < len(self.corner) else REST
            allowed = min(allowed, leave.speed**2)
            straight = max(self.length[k] - enter.h - leave.h, 0.0)
            for length, corner, end in (
                (leave.h, leave, self.starts[k + 1]), (straight, None, self.starts[k + 1] - leave.h), (enter.h, enter, self.starts[k] + enter.h)
            ):  # fmt: skip
                if length <= 0:
                    continue
                limit = min(self.speed[k], corner.speed) if corner else self.speed[k]
                acceleration = min(self.acceleration[k], corner.acceleration) if corner else self.acceleration[k]
                allowed = min(allowed, limit**2)
                if k == block:
                    nodes.append(Node(end, allowed, limit, acceleration))
                allowed = min(allowed + 2 * acceleration * length, limit**2)
        return nodes[::-1]

    def _drive(self, start: Vector) -> Motion:
        motion, place, s, v, tick = Motion(), list(start), 0.0, 0.0, self.tick
        motion.places.append(list(place))
        motion.times.append(0.0)
        for block in range(len(self.length)):
            nodes = self._known_nodes(block)
            while nodes:
                # The speed after this tick from which the node can still be met, braking in whole ticks.
                node, a = nodes[0], nodes[0].acceleration
                distance = node.place - s
                inner = (a * tick / 2) ** 2 + node.squared + 2 * a * distance - a * v * tick
                wanted = min(math.sqrt(max(inner, 0.0)) - a * tick / 2, node.limit, v + a * tick)
                wanted = max(wanted, v - a * tick, 0.0)
                mean = (v + wanted) / 2
                seconds, step = tick, mean * tick
                if step >= distance or mean == 0.0:
                    # The tick is split where the node is reached.
                    step = distance
                    seconds = distance / mean if mean > 0 else 0.0
                    wanted = v + (wanted - v) * seconds / tick
                    nodes.pop(0)
                self._move(place, s + step / 2, step, block)
                s, v = s + step, wanted
                motion.seconds += seconds
                motion.places.append(list(place))
                motion.times.append(motion.seconds)
            motion.block_seconds.append(motion.seconds)
        return motion

    def _move(self, place: list[float], middle: float, step: float, block: int) -> None:
        """Move the axes by one step along the path: along one block, or along two at once."""
        earlier, later, share = block, block, 0.0
        before = self.corner[block - 1] if block > 0 else REST
        after = self.corner[block] if block < len(self.corner) else REST
        into, remaining = middle - self.starts[block], self.starts[block + 1] - middle
        if into < before.h:
            earlier, later, share = block - 1, block, (before.h + into) / (2 * before.h)
        elif remaining < after.h:
            earlier, later, share = block, block + 1, (after.h - remaining) / (2 * after.h)
        for axis in range(3):
            place[axis] += step * ((1 - share) * self.direction[earlier][axis] + share * self.direction[later][axis])


def _running_sum(values: Sequence[float]) -> list[float]:
    out = [0.0]
    for value in values:
        out.append(out[-1] + value)
    return out


def distance_from(place: Vector, track: Sequence[Vector], first: int, last: int) -> float:
    """Distance of a place from the moves first to last of a polyline."""
    best = math.inf
    for a, b in zip(track[first:last], track[first + 1 : last + 1], strict=True):
        move = minus(b, a)
        squared = sum(x * x for x in move)
        share = min(max(sum(x * y for x, y in zip(minus(place, a), move, strict=True)) / squared, 0.0), 1.0) if squared else 0.0
        best = min(best, size(minus(place, [x + share * y for x, y in zip(a, move, strict=True)])))
    return best
