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

PLAUSIBLE_FACTORS = 0.2, 5.0
"""Least and greatest time factor of a machine: beyond them the measured time is that of another run. Common practice, no source."""


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


def run_time(path: Path, machine: Machine) -> RunTime:
    """Run time of a path on a machine, from standstill to standstill, without spindle start and tool change."""
    seconds = np.zeros(len(path))
    vectors = np.diff(path.points, axis=0)
    length = np.linalg.norm(vectors, axis=1)
    driven = np.flatnonzero(length > NO_MOVE)
    if len(driven):
        moves = Moves.limited_by(machine, vectors[driven], length[driven], path.feed[driven + 1])
        limits = corner_limits(moves, machine)
        limits[0] = limits[-1] = 0.0
        seconds[driven + 1] = machine.time_factor * _seconds(moves, limits)
    by_kind = np.bincount(path.kind, weights=seconds, minlength=len(KINDS))
    if machine.time_factor == 1.0:
        uncertainty, reason = UNCALIBRATED, "Not yet compared with a measured run on this machine."
    else:
        uncertainty, reason = CALIBRATED, f"Scaled by {machine.time_factor:.3f} after a measured run on this machine."
    return RunTime(
        at=np.cumsum(seconds),
        total_seconds=float(seconds.sum()),
        seconds_by_kind=dict(zip(KINDS, by_kind.tolist(), strict=True)),
        uncertainty=uncertainty,
        reason=reason,
    )


def calibrated(machine: Machine, estimated_seconds: float, measured_seconds: float) -> Machine:
    """The machine with its time factor set so that its estimate for a run becomes what was measured.

    estimated_seconds: what this machine record gave for that run, with the time factor it has now. Raises BadRequest for times that
    cannot belong to one run.
    """
    if not (estimated_seconds > 0 and measured_seconds > 0):
        raise BadRequest("Calibrating needs an estimated and a measured time above 0.")
    factor = machine.time_factor * measured_seconds / estimated_seconds
    least, greatest = PLAUSIBLE_FACTORS
    if not least <= factor <= greatest:
        raise BadRequest(f"The measured time is {factor:.2g} times the estimated one: check that both belong to the same run.")
    return replace(machine, time_factor=factor)


def move_time(length: ArrayLike, speed: ArrayLike, acceleration: ArrayLike, entry_speed: ArrayLike, exit_speed: ArrayLike) -> NDArray[np.float64]:
    """Seconds for moves of a length (mm) at up to a speed (mm/s) and an acceleration (mm/s2), entered and left at given speeds (mm/s).

    The speed climbs from v0 to its peak and falls to v1, each at the acceleration a: vp = min(v, sqrt(a L + (v0^2 + v1^2)/2));
    T = (vp - v0)/a + (vp - v1)/a + (L - (2 vp^2 - v0^2 - v1^2)/(2a))/vp.
    """
    distance, limit, a, v0, v1 = (np.asarray(v, float) for v in (length, speed, acceleration, entry_speed, exit_speed))
    peak = np.minimum(limit, np.sqrt(a * distance + (v0 * v0 + v1 * v1) / 2))
    ramps = (2 * peak * peak - v0 * v0 - v1 * v1) / (2 * a)
    return (peak - v0) / a + (peak - v1) / a + np.maximum(distance - ramps, 0) / peak


def _seconds(moves: Moves, limits: FloatArray) -> NDArray[np.float64]:
    """Seconds of every move, (n,). limits: (n + 1,) of the squared speed at the ends of the moves.

    Look-ahead: braking from every point must meet all limits that follow, and speeding up starts from all that came
    before. Over a move the squared speed changes by at most 2 a L. So with E the sum of 2 a L up to a point, the greatest squared
    speed there is the least of (limit + E) over all points from there on, less E; and of those, the least of (limit - E) over all
    points up to there, plus E.
    """
    own = moves.speed**2
    squared = limits.copy()
    squared[:-1] = np.minimum(squared[:-1], own)
    squared[1:] = np.minimum(squared[1:], own)
    gained = np.concatenate([[0.0], np.cumsum(2 * moves.acceleration * moves.length)])
    squared = np.minimum.accumulate((squared + gained)[::-1])[::-1] - gained
    squared = np.minimum.accumulate(squared - gained) + gained
    ends = np.sqrt(np.maximum(squared, 0))
    return move_time(moves.length, moves.speed, moves.acceleration, ends[:-1], ends[1:])
