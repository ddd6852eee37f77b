"""Straight moves of a path and what the axes of a machine let each of them do."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..core.array_types import FloatArray
from ..job.machine import Machine

MM_PER_MIN = 1 / 60
"""mm/s for one mm/min."""


@dataclass(frozen=True)
class Moves:
    """Straight moves, each of some length, that follow one another.

    direction: (n, 3) unit vectors. length: (n,) mm. speed: (n,) mm/s, greatest speed along each move.
    acceleration: (n,) mm/s2, greatest acceleration along each move.
    """

    direction: FloatArray
    length: FloatArray
    speed: FloatArray
    acceleration: FloatArray

    @staticmethod
    def limited_by(machine: Machine, vectors: FloatArray, length: FloatArray, feed: FloatArray) -> Moves:
        """Moves along vectors (n, 3) of some length (n,), both mm, with the feed (n,) mm/min asked for clipped to what the axes can do."""
        direction = vectors / length[:, None]
        axis_speeds = np.array([machine.speed_x, machine.speed_y, machine.speed_z])
        speed = np.minimum(feed, along(axis_speeds, direction)) * MM_PER_MIN
        return Moves(direction=direction, length=length, speed=speed, acceleration=along(axis_accelerations(machine), direction))


def axis_accelerations(machine: Machine) -> FloatArray:
    """Greatest accelerations of the axes x, y, z in mm/s2, (3,)."""
    return np.array([machine.acceleration_x, machine.acceleration_y, machine.acceleration_z])


def along(limits: FloatArray, direction: FloatArray) -> FloatArray:
    """What limits of the axes x, y, z (3,) allow along unit vectors (n, 3), (n,): the axis that reaches its limit first decides."""
    with np.errstate(divide="ignore"):
        x, y, z = limits[:, None] / np.abs(direction.T)
    return np.minimum(np.minimum(x, y), z)
