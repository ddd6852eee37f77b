"""How fast a control drives that rounds corners by overlapping the end of one block with the start of the next.

From h before a corner to h after it both blocks move at once: the speed along the first falls evenly to nothing while that along the second
grows evenly from nothing (R. P. Paul 1979, IEEE Trans. SMC 9:702). With u and w the directions of the blocks and v the speed along the path,
the velocity goes evenly from v u to v w over a time of 2 h / v. So the cutter drives a parabola that touches both blocks, and

- passes the corner at a distance of h |w - u| / 4, which must be within the tolerance d: h <= 4 d / |w - u|;
- asks each axis for an acceleration of |w - u| v^2 / (2 h), along (w - u);
- uses h of each block, of which its other corner may use as much: h is at most half of the shorter block.

The widest overlap is the fastest. Between the ends of one overlap and the start of the next the drive is straight.

Both blocks of an overlap may change their speed too. A control keeps the axes within their limits by giving speed changes along a block half
of what the axes allow, so that two of them at once stay within the whole, and what both blocks allow while both move; what an axis then has
left is for the corner. With A the limit of an axis, b the acceleration along the path and |u| the part of a direction along the axis, that is
A - b |u| for the block that leaves less.

On a curve of radius R given by chords of one length L, |w - u| is L / R and h is L / 2, and all this is the centripetal limit v^2 = a R.
Where a short chord stands between long ones, the control must slow down, as real ones do.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..core.array_types import FloatArray
from ..job.machine import Machine
from .corners import NO_TURN
from .moves import Moves, along, axis_accelerations
from .speed_profile import Pieces

SHORTEST_PIECE = 1e-9
"""mm; what an overlap leaves of a block and is shorter has no length but rounding."""


@dataclass(frozen=True)
class AccelerationUse:
    """What a control makes of the accelerations of the axes. along: share that speed changes along a block may use. across: share that a
    corner may use; None for what speed changes leave.
    """

    along: float
    across: float | None


OVERLAPPING = AccelerationUse(along=0.5, across=None)
"""Half for speed changes, so that two blocks at once stay within the whole, and what they leave for corners."""

CAUTIOUS = AccelerationUse(along=0.5, across=0.5)
"""Half for everything, whatever is left: the slowest use of the axes by an overlap."""


def overlap_pieces(moves: Moves, machine: Machine, use: AccelerationUse = OVERLAPPING) -> Pieces:
    """Blocks as a control that overlaps them drives them: each in up to three pieces, the overlaps at its ends and what lies between."""
    acceleration = use.along * moves.acceleration
    corners = _corners(moves, machine, acceleration, use.across)
    before, after = np.append(0.0, corners.half_width), np.append(corners.half_width, 0.0)
    speed_in, speed_out = np.append(np.inf, corners.speed), np.append(corners.speed, np.inf)
    slower_in, slower_out = np.append(np.inf, corners.acceleration), np.append(corners.acceleration, np.inf)
    length = _in_threes(before, moves.length - before - after, after)
    speed = np.minimum(np.repeat(moves.speed, 3), _in_threes(speed_in, moves.speed, speed_out))
    changes = np.minimum(np.repeat(acceleration, 3), _in_threes(slower_in, acceleration, slower_out))
    real = np.flatnonzero(length > SHORTEST_PIECE)
    block = real // 3
    # Where nothing overlaps, the corner is a point with a speed of its own.
    limits = np.full(len(real) + 1, np.inf)
    ends = np.flatnonzero(np.diff(block)) + 1
    limits[ends] = corners.speed[block[ends - 1]] ** 2
    return Pieces(block=block, length=length[real], speed=speed[real], acceleration=changes[real], limits=limits)


def _in_threes(first: FloatArray, middle: FloatArray, last: FloatArray) -> FloatArray:
    """Values of the three pieces of n blocks, (3 n,), in running order."""
    out: FloatArray = np.column_stack([first, middle, last]).ravel()
    return out


@dataclass(frozen=True)
class _Corners:
    """The overlaps at the n - 1 corners between n blocks. half_width: (n - 1,) mm. speed: (n - 1,) mm/s, greatest through them; infinite where
    the path goes straight on. acceleration: (n - 1,) mm/s2 that speed changes may use in them.
    """

    half_width: FloatArray
    speed: FloatArray
    acceleration: FloatArray


def _corners(moves: Moves, machine: Machine, acceleration: FloatArray, across: float | None) -> _Corners:
    """The widest overlaps. acceleration: (n,) mm/s2 that speed changes may use along each block."""
    axes, direction = axis_accelerations(machine), moves.direction
    change = direction[1:] - direction[:-1]
    turn = np.linalg.norm(change, axis=1)
    turning = turn > NO_TURN
    turn = np.where(turning, turn, 1.0)
    half_width = np.minimum(np.minimum(moves.length[1:], moves.length[:-1]) / 2, 4 * machine.corner_rounding / turn)
    both = np.minimum(acceleration[1:], acceleration[:-1])
    if across is None:
        free = axes - both[:, None] * np.maximum(np.abs(direction[1:]), np.abs(direction[:-1]))
        with np.errstate(divide="ignore"):
            sideways = (free / np.abs(change / turn[:, None])).min(axis=1)
    else:
        sideways = across * along(axes, change / turn[:, None])
    speed = np.sqrt(2 * half_width * sideways / turn)
    return _Corners(half_width=np.where(turning, half_width, 0.0), speed=np.where(turning, speed, np.inf), acceleration=both)
