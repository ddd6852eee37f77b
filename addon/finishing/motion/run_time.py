"""Run time of a path: what a machine with limited speeds, accelerations and corner speeds makes of it.

The model is that of common controls: straight moves in a row with look-ahead over the whole path. Every move is
clipped by the speed and by the acceleration of each axis along its direction; corners and bends as corners.py says.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..core.errors import BadRequest
from ..core.grid import FloatArray
from ..core.path import KINDS, Path
from ..job.machine import Machine
from .corners import corner_limits
from .moves import Moves

NO_MOVE = 1e-9
"""mm; shorter moves take no time and have no direction."""

UNCALIBRATED, CALIBRATED = 0.15, 0.05
"""Share by which the estimate may be off, without and with a measured run: common practice, no source."""


@dataclass(frozen=True)
class RunTime:
    """Time of a path. at: (n,) seconds when each row is reached. seconds_by_kind: by the names in path.KINDS.

    uncertainty: share by which the true time may differ; reason: why, as a sentence.
    """

    at: NDArray[np.float64]
    total_seconds: float
    seconds_by_kind: dict[str, float]
    uncertainty: float
    reason: str

    @property
    def minutes(self) -> float:
        """Total run time in minutes."""
        return self.total_seconds / 60


def factor_from_run(estimate: RunTime, machine: Machine, measured_minutes: float) -> float:
    """The machine's time factor after a measured run: what the estimate must be multiplied by, on top of the factor it was made with."""
    return machine.time_factor * measured_minutes / estimate.minutes


def run_time(path: Path, machine: Machine) -> RunTime:
    """Run time of a path on a machine, from standstill to standstill, without spindle start and tool change."""
    seconds = np.zeros(len(path))
    ways = np.diff(path.points, axis=0)
    length = np.linalg.norm(ways, axis=1)
    real = np.flatnonzero(length > NO_MOVE)
    if len(real):
        driven = np.zeros(len(real), bool)
        moves = Moves.limited_by(machine, ways[real], length[real], path.feed[real + 1], driven)
        squared = corner_limits(moves, machine)
        squared[0] = squared[-1] = 0.0
        seconds[real + 1] = machine.time_factor * _seconds(moves, squared)
    by_kind = np.bincount(path.kind, weights=seconds, minlength=len(KINDS))
    if machine.time_factor == 1.0:
        share, reason = UNCALIBRATED, "Not yet compared with a measured run on this machine."
    else:
        share, reason = CALIBRATED, f"Scaled by {machine.time_factor:.3f} after a measured run on this machine."
    shares = dict(zip(KINDS, by_kind.tolist(), strict=True))
    return RunTime(np.cumsum(seconds), float(seconds.sum()), shares, share, reason)


def piece_times(pieces: FloatArray, count: NDArray[np.intp], feed: FloatArray, machine: Machine) -> NDArray[np.float64]:
    """Seconds for each of many pieces of path that are entered and left at speed, to compare ways with each other.

    pieces: (n, 3) points of all pieces behind one another. count: points of each piece, (k,). feed: (n,) mm/min on the
    move that ends at a point; the first one of a piece is not used. Not calibrated. Returns (k,).
    """
    ways = np.diff(pieces, axis=0)
    length = np.linalg.norm(ways, axis=1)
    first = np.cumsum(count) - count
    between = np.zeros(len(ways), bool)
    between[first[1:] - 1] = True
    real = np.flatnonzero((length > NO_MOVE) | between)
    between = between[real]
    # The jump from piece to piece joins nothing: it may gain any speed, and no corner counts at its ends.
    moves = Moves.limited_by(machine, ways[real], np.maximum(length[real], NO_MOVE), feed[real + 1], between)
    seconds = _seconds(moves, corner_limits(moves, machine))
    owner = np.repeat(np.arange(len(count)), count)[real + 1]
    return np.bincount(owner, weights=np.where(between, 0.0, seconds), minlength=len(count))  # type: ignore[return-value]


def calibrated(machine: Machine, estimated_seconds: float, measured_seconds: float) -> Machine:
    """The machine with its time factor set so that its estimate for a run becomes what was measured.

    estimated_seconds: what this machine record gave for that run, with the time factor it has now.
    """
    if not (estimated_seconds > 0 and measured_seconds > 0):
        raise BadRequest("Calibrating needs an estimated and a measured time above 0.")
    factor = machine.time_factor * measured_seconds / estimated_seconds
    if not 0.2 <= factor <= 5:
        raise BadRequest("The measured time is {factor:.2g} times the estimated one: check that both belong to the same run.", factor=factor)
    return replace(machine, time_factor=factor)


def move_time(length: ArrayLike, speed: ArrayLike, acceleration: ArrayLike, entry: ArrayLike, leave: ArrayLike) -> NDArray[np.float64]:
    """Seconds for moves of a length (mm) at up to a speed (mm/s), with given speeds at entry and at leaving.

    vp = min(v, sqrt(a L + (v0^2 + v1^2)/2)); T = (vp - v0)/a + (vp - v1)/a + (L - (2 vp^2 - v0^2 - v1^2)/(2a))/vp.
    """
    way, limit, a, v0, v1 = (np.asarray(v, float) for v in (length, speed, acceleration, entry, leave))
    peak = np.minimum(limit, np.sqrt(a * way + (v0 * v0 + v1 * v1) / 2))
    ramps = (2 * peak * peak - v0 * v0 - v1 * v1) / (2 * a)
    return (peak - v0) / a + (peak - v1) / a + np.maximum(way - ramps, 0) / peak


FREE = 1e6
"""Gain in squared speed, (mm/s)^2, over a jump between pieces: above any speed, small enough to keep the digits."""


def _seconds(moves: Moves, squared: FloatArray) -> NDArray[np.float64]:
    """Seconds of every move; squared: (n + 1,) limits of the squared speed at the ends of the moves.

    Look-ahead: braking from every point must meet all limits that follow, and speeding up starts from all that came
    before. Speeds squared change by at most 2 a L over a move, so both are running minima over sums of that.
    """
    own = np.where(moves.jump, np.inf, moves.speed**2)
    squared = squared.copy()
    squared[:-1] = np.minimum(squared[:-1], own)
    squared[1:] = np.minimum(squared[1:], own)
    gain = np.concatenate([[0.0], np.cumsum(np.where(moves.jump, FREE, 2 * moves.acceleration * moves.length))])
    squared = np.minimum.accumulate((squared + gain)[::-1])[::-1] - gain
    squared = np.minimum.accumulate(squared - gain) + gain
    ends = np.sqrt(np.maximum(squared, 0))
    return move_time(moves.length, moves.speed, moves.acceleration, ends[:-1], ends[1:])
