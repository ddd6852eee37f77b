"""How fast a machine may go through the corners of a path made of straight moves, rounding each within a distance.

The control rounds a corner within the junction deviation (S. K. Jeon 2011), and the acceleration into the rounding must not ask
more of an axis than it has. That formula looks at two moves only; bends that are made of many short moves are the subject of bends.py.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..job.machine import Machine
from .bends import bend_limits
from .moves import Moves, along, axis_accelerations

NO_TURN = 1e-9
"""Change of a unit vector below which a path goes straight on: the noise of directions in double precision is a tenth of it."""


def corner_speed(angle_between: ArrayLike, acceleration: ArrayLike, deviation: ArrayLike) -> NDArray[np.float64]:
    """Speed in mm/s through a corner: v^2 = a d sin(t/2) / (1 - sin(t/2)).

    angle_between: angle t between the two moves in radians, pi when they go straight on. acceleration in mm/s2,
    deviation d in mm. Source: S. K. Jeon 2011, cornering by junction deviation.
    """
    half_sine = np.sin(np.asarray(angle_between, float) / 2)
    with np.errstate(divide="ignore", invalid="ignore"):
        squared = np.asarray(acceleration, float) * deviation * half_sine / (1 - half_sine)
    return np.sqrt(np.where(half_sine >= 1, np.inf, squared))


def corner_limits(moves: Moves, machine: Machine) -> NDArray[np.float64]:
    """Limits of the squared speed, (n + 1,) in (mm/s)^2, at the ends of n moves; infinite where the path goes straight on."""
    squared = single_corner_limits(moves, machine)
    if len(moves.length) > 1 and machine.corner_rounding > 0:
        points, limits = bend_limits(moves, axis_accelerations(machine), machine.corner_rounding)
        squared[points] = np.minimum(squared[points], limits)
    return squared


def single_corner_limits(moves: Moves, machine: Machine) -> NDArray[np.float64]:
    """As `corner_limits`, on a control that looks at single corners only: it drives through bends of many short moves however tight."""
    squared = np.full(len(moves.length) + 1, np.inf)
    change = moves.direction[1:] - moves.direction[:-1]
    swing = np.linalg.norm(change, axis=1)
    turning = np.flatnonzero(swing > NO_TURN)
    acceleration = along(axis_accelerations(machine), change[turning] / swing[turning, None])
    # swing = 2 sin(turn / 2): exact for small turns, where the cosine of the turn has no digits left.
    between = np.pi - 2 * np.arcsin(np.minimum(swing[turning] / 2, 1))
    squared[turning + 1] = corner_speed(between, acceleration, machine.corner_rounding) ** 2
    return squared
