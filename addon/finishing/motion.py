"""Run time of a path: what a machine with limited speeds, accelerations and corner speeds makes of it.

The model is that of common controls: straight moves in a row with look-ahead over the whole path; every move is clipped
by the speed and the acceleration of each axis along its direction; a corner is taken no faster than its rounding within
the junction deviation allows (S. K. Jeon 2011); on a curve the acceleration across the path holds as well.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from .errors import BadRequest
from .grid import FloatArray
from .machine import Machine
from .path import KINDS, Path

BEND_REACH = 0.5
"""mm before and after a point over which the bend of the path is measured: facets and short chords are no curve."""

UNCALIBRATED, CALIBRATED = 0.15, 0.05
"""Share by which the estimate may be off, without and with a measured run: common practice, no source."""

MM_PER_MIN = 1 / 60
"""mm/s for one mm/min."""


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
    moves = np.diff(path.points, axis=0)
    length = np.linalg.norm(moves, axis=1)
    real = np.flatnonzero(length > 1e-9)
    if len(real):
        seconds[real + 1] = machine.time_factor * _move_times(path.points, moves[real], length[real], path.feed[real + 1], machine)
    by_kind = np.bincount(path.kind, weights=seconds, minlength=len(KINDS))
    if machine.time_factor == 1.0:
        share, reason = UNCALIBRATED, "Not yet compared with a measured run on this machine."
    else:
        share, reason = CALIBRATED, f"Scaled by {machine.time_factor:.3f} after a measured run on this machine."
    return RunTime(np.cumsum(seconds), float(seconds.sum()), dict(zip(KINDS, by_kind.tolist(), strict=True)), share, reason)


def calibrated(machine: Machine, estimated_seconds: float, measured_seconds: float) -> Machine:
    """The machine with its time factor set so that its estimate for a run becomes what was measured.

    estimated_seconds: what this machine record gave for that run, with the time factor it has now.
    """
    if not (estimated_seconds > 0 and measured_seconds > 0):
        raise BadRequest("Calibrating needs an estimated and a measured time above 0.")
    factor = machine.time_factor * measured_seconds / estimated_seconds
    if not 0.2 <= factor <= 5:
        raise BadRequest(f"The measured time is {factor:.2g} times the estimated one: check that both belong to the same run.")
    return replace(machine, time_factor=factor)


def corner_speed(angle_between: ArrayLike, acceleration: ArrayLike, deviation: ArrayLike) -> NDArray[np.float64]:
    """Speed in mm/s through a corner: v^2 = a d sin(t/2) / (1 - sin(t/2)).

    angle_between: angle t between the two moves in radians, pi when they go straight on. acceleration in mm/s2,
    deviation d in mm. Source: S. K. Jeon 2011, cornering by junction deviation.
    """
    half_sine = np.sin(np.asarray(angle_between, float) / 2)
    with np.errstate(divide="ignore", invalid="ignore"):
        squared = np.asarray(acceleration, float) * deviation * half_sine / (1 - half_sine)
    return np.sqrt(np.where(half_sine >= 1, np.inf, squared))


def move_time(
    length: ArrayLike, speed: ArrayLike, acceleration: ArrayLike, entry: ArrayLike, leave: ArrayLike
) -> NDArray[np.float64]:
    """Seconds for moves of a length (mm) at up to a speed (mm/s), with given speeds at entry and at leaving.

    vp = min(v, sqrt(a L + (v0^2 + v1^2)/2)); T = (vp - v0)/a + (vp - v1)/a + (L - (2 vp^2 - v0^2 - v1^2)/(2a))/vp.
    """
    way, limit, a, v0, v1 = (np.asarray(v, float) for v in (length, speed, acceleration, entry, leave))
    peak = np.minimum(limit, np.sqrt(a * way + (v0 * v0 + v1 * v1) / 2))
    ramps = (2 * peak * peak - v0 * v0 - v1 * v1) / (2 * a)
    return (peak - v0) / a + (peak - v1) / a + np.maximum(way - ramps, 0) / peak


def _move_times(points: FloatArray, moves: FloatArray, length: FloatArray, feed: FloatArray, machine: Machine) -> FloatArray:
    """Seconds of every move (n, 3) of some length; look-ahead over all of them."""
    axis_speed = np.array([machine.speed_x, machine.speed_y, machine.speed_z]) * MM_PER_MIN
    axis_acceleration = np.array([machine.acceleration_x, machine.acceleration_y, machine.acceleration_z])
    direction = moves / length[:, None]
    speed = np.minimum(feed * MM_PER_MIN, _along(axis_speed, direction))
    acceleration = _along(axis_acceleration, direction)
    # Squared speed limits at the ends of the moves: standstill first and last, corners between.
    squared = np.zeros(len(length) + 1)
    if len(length) > 1:
        cosine = np.clip(-(direction[1:] * direction[:-1]).sum(axis=1), -1, 1)
        turn = direction[1:] - direction[:-1]
        swing = np.linalg.norm(turn, axis=1)
        sideways = np.where(swing[:, None] > 1e-12, turn / np.maximum(swing, 1e-12)[:, None], 0)
        corner = corner_speed(np.arccos(cosine), _along(axis_acceleration, sideways), machine.junction_deviation)
        limit = np.minimum(corner**2, _bend_limit(points, length, moves, axis_acceleration))
        squared[1:-1] = np.minimum(limit, np.minimum(speed[1:], speed[:-1]) ** 2)
    gain = np.concatenate([[0.0], np.cumsum(2 * acceleration * length)])
    squared = np.minimum.accumulate((squared + gain)[::-1])[::-1] - gain
    squared = np.minimum.accumulate(squared - gain) + gain
    ends = np.sqrt(np.maximum(squared, 0))
    return move_time(length, speed, acceleration, ends[:-1], ends[1:])


def _along(limits: FloatArray, direction: FloatArray) -> FloatArray:
    """What per-axis limits (3,) allow along directions (n, 3): the axis that is used up first decides; inf for no direction."""
    with np.errstate(divide="ignore"):
        return (limits / np.abs(direction)).min(axis=1)


def _bend_limit(points: FloatArray, length: FloatArray, moves: FloatArray, axis_acceleration: FloatArray) -> FloatArray:
    """Squared speed (n - 1,) at which the acceleration across the path is used up at the corners between n moves."""
    place = np.concatenate([[0.0], np.cumsum(length)])
    track = points[0] + np.concatenate([np.zeros((1, 3)), np.cumsum(moves, axis=0)])
    here = place[1:-1]
    # Near the ends of the path, and nowhere else, the reach is shortened.
    reach = np.minimum(BEND_REACH, np.minimum(here, place[-1] - here))
    ahead = np.stack([np.interp(here + reach, place, track[:, k]) for k in range(3)], axis=1)
    behind = np.stack([np.interp(here - reach, place, track[:, k]) for k in range(3)], axis=1)
    second = (ahead - 2 * track[1:-1] + behind) / np.maximum(reach, 1e-9)[:, None] ** 2
    with np.errstate(divide="ignore"):
        return (axis_acceleration / np.abs(second)).min(axis=1)
