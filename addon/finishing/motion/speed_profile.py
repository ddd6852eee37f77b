"""The speed along a row of straight moves with limited speeds and accelerations, and a control that knows only some blocks ahead.

Braking from every point must meet all limits that follow, and speeding up starts from all that came before. Over a piece of length L the
squared speed changes by at most 2 a L. So with G the sum of 2 a L up to a point, the greatest squared speed there is the least of
(limit + G) over all points from there on, less G; and of those, the least of (limit - G) over all points up to there, plus G.

A control that knows n blocks, the one it is in among them, must be able to stop at the end of the last one it knows. So the squared speed at
the end of a block is at most what braking over the n - 1 blocks behind it takes away: G there less G here. Limits beyond those blocks need no
thought, since G only grows: whatever is added to it there already allows more than the stop does.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..core.array_types import FloatArray

AT_REST = 0.0
"""Squared speed at both ends of a path."""


@dataclass(frozen=True)
class Pieces:
    """Pieces of the blocks of a program in running order, each with one greatest speed and one acceleration.

    block: (n,) number of the block that each piece belongs to, from 0, never falling. length: (n,) mm, above 0. speed: (n,) mm/s.
    acceleration: (n,) mm/s2. limits: (n + 1,) of the squared speed at the ends of the pieces, infinite where there is none.
    """

    block: NDArray[np.intp]
    length: FloatArray
    speed: FloatArray
    acceleration: FloatArray
    limits: FloatArray


@dataclass(frozen=True)
class SpeedProfile:
    """How pieces are driven: up to a peak, along at it, and down. ends: (n + 1,) mm/s at their ends. peak: (n,) mm/s. seconds: (n,)."""

    pieces: Pieces
    ends: FloatArray
    peak: FloatArray
    seconds: FloatArray

    def time_at(self, travelled: FloatArray) -> NDArray[np.float64]:
        """Seconds from the start until some distances (m,) in mm along the pieces are reached, (m,)."""
        start = np.concatenate([[0.0], np.cumsum(self.pieces.length)])
        begun = np.concatenate([[0.0], np.cumsum(self.seconds)])
        piece = np.clip(np.searchsorted(start, travelled, side="right") - 1, 0, len(self.peak) - 1)
        length, a = self.pieces.length[piece], self.pieces.acceleration[piece]
        done = np.clip(travelled - start[piece], 0, length)
        v0, v1, peak = self.ends[piece], self.ends[piece + 1], self.peak[piece]
        climb, fall = (peak**2 - v0**2) / (2 * a), (peak**2 - v1**2) / (2 * a)
        climbing = (np.sqrt(v0**2 + 2 * a * np.minimum(done, climb)) - v0) / a
        falling = self.seconds[piece] - (np.sqrt(v1**2 + 2 * a * np.minimum(length - done, fall)) - v1) / a
        cruising = (peak - v0) / a + (done - climb) / peak
        within = np.where(done < climb, climbing, np.where(done > length - fall, falling, cruising))
        return begun[piece] + within


def speed_profile(pieces: Pieces, blocks_ahead: int | None) -> SpeedProfile:
    """The quickest drive over pieces, from rest to rest, that keeps all limits. blocks_ahead: None for a control that knows them all."""
    squared = pieces.limits.copy()
    squared[0] = squared[-1] = AT_REST
    own = pieces.speed**2
    squared[:-1] = np.minimum(squared[:-1], own)
    squared[1:] = np.minimum(squared[1:], own)
    gained = np.concatenate([[0.0], np.cumsum(2 * pieces.acceleration * pieces.length)])
    if blocks_ahead is not None:
        beyond = np.searchsorted(pieces.block, pieces.block + blocks_ahead)  # the first piece that is not known
        squared[1:] = np.minimum(squared[1:], gained[beyond] - gained[1:])
    squared = np.minimum.accumulate((squared + gained)[::-1])[::-1] - gained
    squared = np.minimum.accumulate(squared - gained) + gained
    ends = np.sqrt(np.maximum(squared, 0))
    peak = peak_speed(pieces.length, pieces.speed, pieces.acceleration, ends[:-1], ends[1:])
    seconds = move_time(pieces.length, pieces.speed, pieces.acceleration, ends[:-1], ends[1:])
    return SpeedProfile(pieces=pieces, ends=ends, peak=peak, seconds=seconds)


def peak_speed(length: ArrayLike, speed: ArrayLike, acceleration: ArrayLike, entry_speed: ArrayLike, exit_speed: ArrayLike) -> NDArray[np.float64]:
    """Greatest speed in mm/s within moves of a length (mm): vp = min(v, sqrt(a L + (v0^2 + v1^2)/2))."""
    distance, limit, a, v0, v1 = (np.asarray(v, float) for v in (length, speed, acceleration, entry_speed, exit_speed))
    return np.minimum(limit, np.sqrt(a * distance + (v0 * v0 + v1 * v1) / 2))


def move_time(length: ArrayLike, speed: ArrayLike, acceleration: ArrayLike, entry_speed: ArrayLike, exit_speed: ArrayLike) -> NDArray[np.float64]:
    """Seconds for moves of a length (mm) at up to a speed (mm/s) and an acceleration (mm/s2), entered and left at given speeds (mm/s).

    The speed climbs from v0 to its peak vp and falls to v1, each at the acceleration a:
    T = (vp - v0)/a + (vp - v1)/a + (L - (2 vp^2 - v0^2 - v1^2)/(2a))/vp.
    """
    distance, a, v0, v1 = (np.asarray(v, float) for v in (length, acceleration, entry_speed, exit_speed))
    peak = peak_speed(length, speed, acceleration, entry_speed, exit_speed)
    ramps = (2 * peak * peak - v0 * v0 - v1 * v1) / (2 * a)
    return (peak - v0) / a + (peak - v1) / a + np.maximum(distance - ramps, 0) / peak
