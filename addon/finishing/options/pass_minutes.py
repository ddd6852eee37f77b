"""How fast a cutter may follow its tip surface, before a line is laid: what feed, the axes' speeds and their accelerations allow.

Passes are taken to run straight along x or along y, which are the directions that a plan tries. Along a direction of slope s the feed f gives Z the
speed f s / sqrt(1 + s^2); a surface that bends by k (second derivative along the direction) asks Z for the acceleration k v^2 at the speed v in
plan. From place to place the speed grows and falls no faster than the axes allow along the line, and at the ends of lines it is that of a turn.
"""

from __future__ import annotations

import numpy as np

from ..core.array_types import FloatArray, Mask
from ..job.machine import Machine

ACCELERATION_SHARE = 0.4
"""Share of the axes' accelerations that passes make use of. A control that overlaps blocks gives half to speed changes (`motion/overlap.py`), and
short chords leave a little less; fitted on plans together with TURN_SHARE (`cutter_sets.py`)."""

SMALLEST = 1e-9
"""Keeps level ground, which slows nothing down, from a division by zero."""


def slowness_along_x(tip: FloatArray, cutting: Mask, cell: float, machine: Machine, feed: float, turn_speed: float) -> FloatArray:
    """Seconds per mm of pass at every place, (rows, columns), of passes along x. For passes along y, give everything transposed.

    tip: (rows, columns) mm, -inf where the cutter meets nothing. cutting: where passes run. feed: mm/min. turn_speed: mm/s at the ends of lines.
    """
    known = tip > -np.inf
    level = np.where(known, tip, 0.0)
    slope, bend = np.zeros(tip.shape), np.zeros(tip.shape)
    inside = known[:, 2:] & known[:, :-2] & known[:, 1:-1]
    slope[:, 1:-1] = np.where(inside, np.abs(level[:, 2:] - level[:, :-2]) / (2 * cell), 0.0)
    bend[:, 1:-1] = np.where(inside, np.abs(level[:, 2:] - 2 * level[:, 1:-1] + level[:, :-2]) / cell**2, 0.0)
    along = np.sqrt(1 + slope * slope)
    greatest = np.minimum(min(feed, machine.speed_x) / 60, machine.speed_z / 60 * along / (slope + SMALLEST))
    np.minimum(greatest, np.sqrt(ACCELERATION_SHARE * machine.acceleration_z / (bend + SMALLEST)) * along, out=greatest)
    ends = cutting.copy()
    ends[:, 1:-1] &= ~(cutting[:, 2:] & cutting[:, :-2])
    greatest = np.where(ends, np.minimum(greatest, turn_speed), greatest)
    gained = 2 * ACCELERATION_SHARE * np.minimum(machine.acceleration_x, machine.acceleration_z / (slope + SMALLEST)) * along * along * cell
    squared = np.ascontiguousarray((greatest * greatest).T)
    gained = np.ascontiguousarray(gained.T)
    for k in range(1, len(squared)):
        np.minimum(squared[k], squared[k - 1] + gained[k], out=squared[k])
    for k in range(len(squared) - 2, -1, -1):
        np.minimum(squared[k], squared[k + 1] + gained[k], out=squared[k])
    return np.asarray(1 / np.sqrt(squared.T))
