"""Straight moves of a path and what the axes of a machine let each of them do."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..core.grid import FloatArray
from ..job.machine import Machine

MM_PER_MIN = 1 / 60
"""mm/s for one mm/min."""


@dataclass(frozen=True)
class Moves:
    """Moves behind one another, each of some length, with their limits.

    direction: (n, 3) unit vectors. length, speed, acceleration: (n,) in mm, mm/s and mm/s2. jump: (n,) bool, moves that
    only lead from one piece of path to the next and are not driven.
    """

    direction: FloatArray
    length: FloatArray
    speed: FloatArray
    acceleration: FloatArray
    jump: NDArray[np.bool_]

    @staticmethod
    def limited_by(machine: Machine, ways: FloatArray, length: FloatArray, feed: FloatArray, jump: NDArray[np.bool_]) -> Moves:
        """Moves along vectors (n, 3) of some length (n,), clipped to the machine's axes; feed: (n,) mm/min asked for."""
        direction = ways / length[:, None]
        axis_speeds = np.array([machine.speed_x, machine.speed_y, machine.speed_z])
        speed = np.minimum(feed, along(axis_speeds, direction)) * MM_PER_MIN
        return Moves(direction, length, speed, along(axis_accelerations(machine), direction), jump)


def axis_accelerations(machine: Machine) -> FloatArray:
    """Greatest accelerations of the axes x, y, z in mm/s2, (3,)."""
    return np.array([machine.acceleration_x, machine.acceleration_y, machine.acceleration_z])


def along(limits: FloatArray, direction: FloatArray) -> FloatArray:
    """What per-axis limits (3,) allow along directions (n, 3): the axis that is used up first decides; (n,)."""
    with np.errstate(divide="ignore"):
        x, y, z = limits[:, None] / np.abs(direction.T)
    return np.minimum(np.minimum(x, y), z)
