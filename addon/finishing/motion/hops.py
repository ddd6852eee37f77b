"""Hops: how high the cutter rises between lines that no link joins, and how long that takes.

A hop rises just above what it crosses: the exact tip surface, stock that may still stand and keep-out boxes, and never above the safe height,
at which every way is free.
"""

from __future__ import annotations

from collections.abc import Callable, Generator
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from ..core.array_types import FloatArray
from ..core.ragged import run_owners, run_places
from ..job.machine import Machine

PLUNGE_HEIGHT = 1.0
"""mm above the surface at which an entry changes from air speed to plunge feed."""

LIFT_SURCHARGE = 1.0
"""Seconds that a lift counts for over its way up and down: what stopping and starting at its four corners takes (by the run time model 0.5 s
where corners are passed at a speed, 1.2 s where blocks overlap), and as a reason to keep lifts rare, since the cutter may mark the surface where
it comes down: common practice, no source."""

HOP_ROOM = 1.0
"""mm between the tip of a hop and the highest of what it crosses: common practice, no source."""

CHECK_STEP = 1.0
"""mm between the places of a hop at which the exact tip surface is asked for. What stands is looked at without steps; this only makes sure that
nothing of the true triangles is higher than the cells show."""


@dataclass(frozen=True)
class RouteSettings:
    """cutting_way: one of job.request.CUTTING_WAYS. feed: mm/min on lines and links. safe_z: height of moves in the air, job mm.
    chord_tolerance: of links on the surface, mm. radius: of the ball, mm. ramp_angle: degrees between the surface and ramps down to it.
    """

    cutting_way: str
    feed: float
    safe_z: float
    machine: Machine
    chord_tolerance: float
    radius: float
    ramp_angle: float = 3.0


class Air(Protocol):
    """What stands under hops."""

    def over(self, moves: FloatArray) -> FloatArray:
        """Least tip heights (n,) at which the tool runs free all along straight moves (n, 2, 2) in plan, -inf over nothing."""

    def roughly(self, moves: FloatArray) -> FloatArray:
        """About how high the highest ground along the moves is, (n,)."""


@dataclass(frozen=True)
class Hops:
    """Hops of one route. air: what stands under them; None where that is not known: then they go at the safe height."""

    settings: RouteSettings
    air: Air | None

    @property
    def least_seconds(self) -> float:
        """Seconds that every hop takes besides its way across."""
        return self._seconds(np.zeros(1), np.zeros(1), np.full(1, HOP_ROOM))[0]

    def rough_seconds(self, estimate: Callable[[FloatArray], FloatArray]) -> Callable[[FloatArray], FloatArray]:
        """A function from moves (n, 2, 2) in plan to the seconds (n,) that hops take up and down, for the search for an order.

        estimate: cheap tip heights of points (k, 2).
        """

        def seconds(moves: FloatArray) -> FloatArray:
            start, end = estimate(moves[:, 0]), estimate(moves[:, 1])
            height = np.full(len(moves), np.inf) if self.air is None else self.air.roughly(moves) + HOP_ROOM
            return self._seconds(start, end, height)

        return seconds

    def quicker_than_link(self, start: FloatArray, end: FloatArray) -> bool:
        """Whether a hop from one place (3,) to another takes less time than a straight link on the surface."""
        span = float(np.hypot(*(end - start)[:2]))
        linked = span / (self.settings.feed / 60) - span / (self.settings.machine.air_feed / 60)
        if linked <= self.least_seconds:
            return False
        return linked > self._seconds_between(start, end)

    def as_long_as(self, start: FloatArray, end: FloatArray) -> float:
        """Length in mm of a link on the surface that takes as long as a hop from one place (3,) to another."""
        span = float(np.hypot(*(end - start)[:2]))
        return (self._seconds_between(start, end) + 60 * span / self.settings.machine.air_feed) * self.settings.feed / 60

    def _seconds_between(self, start: FloatArray, end: FloatArray) -> float:
        """Seconds that a hop takes up and down, with all that a lift counts for."""
        move = np.stack([start, end])[None]
        return float(self._seconds(move[:, 0, 2], move[:, 1, 2], self._free(move))[0])

    def heights_steps(
        self, moves: FloatArray, surface: Callable[[FloatArray], Generator[float, None, FloatArray]]
    ) -> Generator[float, None, FloatArray]:
        """Heights (n,) of hops between places (n, 2, 3), mm; yields shares done. surface: exact tip heights of points (k, 2), in steps."""
        height = self._free(moves)
        if self.air is None or len(moves) == 0:
            return np.minimum(height, self.settings.safe_z)
        along = moves[:, 1, :2] - moves[:, 0, :2]
        count = np.ceil(np.hypot(along[:, 0], along[:, 1]) / CHECK_STEP).astype(int) + 1
        hop = run_owners(count)
        share = run_places(count) / np.maximum(count[hop] - 1, 1)
        exact = yield from surface(moves[hop, 0, :2] + share[:, None] * along[hop])
        np.maximum.at(height, hop, exact + HOP_ROOM)
        return np.minimum(height, self.settings.safe_z)

    def _free(self, moves: FloatArray) -> FloatArray:
        """Heights (n,) by what stands, above both ends of moves (n, 2, 3); infinite where it is not known."""
        if self.air is None:
            return np.full(len(moves), np.inf)
        return np.maximum(self.air.over(moves[..., :2]), moves[..., 2].max(axis=1)) + HOP_ROOM

    def _seconds(self, start: FloatArray, end: FloatArray, height: FloatArray) -> FloatArray:
        """Seconds (n,) up from heights and down to others, no higher than the safe height, with all that a lift counts for."""
        machine = self.settings.machine
        ways = 2 * np.maximum(np.minimum(height, self.settings.safe_z), np.maximum(start, end)) - start - end
        return 60 * (ways / min(machine.air_feed, machine.speed_z) + PLUNGE_HEIGHT / machine.plunge_feed) + LIFT_SURCHARGE
