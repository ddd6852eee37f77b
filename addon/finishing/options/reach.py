"""What one cutter reaches of a side and how long its passes take, in so few numbers that every set of cutters can be weighed from them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..ball.axis_region import AxisRegion
from ..ball.cutter_view import CutterView
from ..core.array_types import Mask
from ..core.masks import connected_parts, grown
from ..job.cutter import Cutter
from ..job.machine import Machine
from ..motion.hops import PLUNGE_HEIGHT
from ..motion.leads import LEAD_LENGTH
from ..passes.pass_ground import PassGround
from ..surface.ground import Ground
from .pass_minutes import ACCELERATION_SHARE, slowness_along_x

SAMPLE = 1.0
"""mm between the axis positions that are looked at: a share of ground that is worth a cutter is wider."""

ONE_PIECE = 2.0
"""mm; pieces of ground that lie closer than twice this are run without a lift between them."""

TURN_RADIUS = 0.5
"""Radius of the turn between two lines over their spacing."""


@dataclass(frozen=True)
class Reach:
    """One cutter over one side. Of n sampled axis positions at which it cuts: contact, cell of the side's grid that it touches there, flat;
    place, the same position on the samples' own grid of `shape`; seconds of passes and density of lines in 1/mm, (n, 2), along x and along y.

    left: (rows, columns) on the side's grid, planned ground that stands higher than tolerated after it. sample: mm between positions.
    turn_seconds: of one turn between two lines. hop_seconds: of one way up and down over ground that is left out.
    """

    cutter: Cutter
    contact: NDArray[np.int32]
    place: NDArray[np.int32]
    shape: tuple[int, int]
    seconds: NDArray[np.float32]
    density: NDArray[np.float32]
    left: Mask
    sample: float
    turn_seconds: float
    hop_seconds: float


@dataclass(frozen=True)
class Run:
    """What the run of a cutter over its share of a side is made of, of passes along x and of passes along y. seconds: of passes, none of them
    held up by others; least_seconds: of the quicker passes at every place. turns: how many there are between lines. parts: separate pieces of
    ground.
    """

    seconds: tuple[float, float]
    turns: tuple[float, float]
    parts: int
    least_seconds: float


def reach_of(
    cutter: Cutter, view: CutterView, ground: Ground, region: AxisRegion, passes: PassGround | None, machine: Machine, feed: float, tolerance: float
) -> Reach:
    """The reach of a cutter from its maps. feed: mm/min. tolerance: uncut height in mm that does not count."""
    inner = slice(view.rim, -view.rim), slice(view.rim, -view.rim)
    left = ground.planned[inner] & (view.uncut[inner] > tolerance)
    step = max(1, round(SAMPLE / view.grid.cell))
    sample = step * view.grid.cell
    cutting = region.cutting[::step, ::step] if passes is not None else np.zeros((1, 1), bool)
    row, column = np.nonzero(cutting)
    rows, columns = left.shape
    contact_row = np.clip(region.contact_row[row * step, column * step] - view.rim, 0, rows - 1)
    contact_column = np.clip(region.contact_column[row * step, column * step] - view.rim, 0, columns - 1)
    density, seconds = np.zeros((len(row), 2)), np.zeros((len(row), 2))
    acceleration = ACCELERATION_SHARE * min(machine.acceleration_x, machine.acceleration_y)
    turn, deep = 0.0, 0.0
    if passes is not None and len(row):
        metric, factor = passes.metric, round(passes.metric.grid.cell / view.grid.cell)
        at = row * step // factor, column * step // factor
        along = np.stack([np.sqrt(1 + slope[at] ** 2) for slope in (metric.slope_x, metric.slope_y)], axis=1)
        density = np.stack([1 / np.sqrt(metric.inverse_squared(*normal)[at]) for normal in ((0.0, 1.0), (1.0, 0.0))], axis=1)
        turn = TURN_RADIUS / float(density.mean())
        speed = min(float(np.sqrt(acceleration * turn)), feed / 60)
        tip = view.tip[::step, ::step]
        slowness = (
            slowness_along_x(tip, cutting, sample, machine, feed, speed)[row, column],
            slowness_along_x(tip.T, cutting.T, sample, machine, feed, speed)[column, row],
        )
        seconds = np.stack(slowness, axis=1) * along * density * sample**2
        deep = float(np.ptp(tip[row, column]))
        turn = np.pi * turn / speed
    return Reach(
        cutter=cutter,
        contact=(contact_row * columns + contact_column).astype(np.int32),
        place=(row * cutting.shape[1] + column).astype(np.int32),
        shape=(cutting.shape[0], cutting.shape[1]),
        seconds=seconds.astype(np.float32),
        density=density.astype(np.float32),
        left=left,
        sample=sample,
        turn_seconds=turn,
        hop_seconds=_hop_seconds(machine.safe_height + deep / 2, machine, feed),
    )


def _hop_seconds(height: float, machine: Machine, feed: float) -> float:
    """One way up and down by a height in mm: twice through the air, once slowly through the last of it, with a ramp in and one out."""
    acceleration = ACCELERATION_SHARE * machine.acceleration_z
    air = 2 * _seconds_from_rest_to_rest(height, min(machine.air_feed, machine.speed_z) / 60, acceleration)
    slow = _seconds_from_rest_to_rest(PLUNGE_HEIGHT, machine.plunge_feed / 60, acceleration)
    return air + slow + 2 * 60 * LEAD_LENGTH / feed


def _seconds_from_rest_to_rest(distance: float, speed: float, acceleration: float) -> float:
    """Seconds of a straight move of `distance` mm that begins and ends at rest; speed in mm/s, acceleration in mm/s2.

    Constant acceleration up to the speed, or to half-way where that comes first.
    """
    if distance * acceleration < speed**2:
        return 2 * float(np.sqrt(distance / acceleration))
    return distance / speed + speed / acceleration


def wanted_of(left: Mask, cell: float, overlap: float) -> Mask:
    """Ground that a smaller cutter gets: what is left, with an overlap in mm round it."""
    return grown(left, cell, overlap) if left.any() else left


def run_over(reach: Reach, wanted: Mask | None) -> Run | None:
    """The run of a cutter over wanted ground on the side's grid (None: all of it); None where it reaches nothing of it."""
    chosen = slice(None) if wanted is None else np.flatnonzero(wanted.ravel()[reach.contact])
    place, seconds, density = reach.place[chosen], reach.seconds[chosen], reach.density[chosen]
    if not len(place):
        return None
    there = np.zeros(reach.shape, bool)
    there.ravel()[place] = True
    turns = tuple(_ends(reach, place, density[:, way], axis) * reach.sample / 2 for way, axis in enumerate((1, 0)))
    total = seconds.sum(axis=0, dtype=np.float64)
    return Run(
        (float(total[0]), float(total[1])),
        (turns[0], turns[1]),
        parts=int(connected_parts(grown(there, reach.sample, ONE_PIECE)).max()),
        least_seconds=float(seconds.min(axis=1).sum(dtype=np.float64)),
    )


def _ends(reach: Reach, place: NDArray[np.int32], density: NDArray[np.float32], axis: int) -> float:
    """Ends of passes along an axis of the samples' grid, times the edge of a sample: where the density of lines jumps to nothing."""
    lines = np.zeros(reach.shape, np.float32)
    lines.ravel()[place] = density
    wide = np.pad(lines, 1)
    return float(np.abs(np.diff(wide, axis=axis))[np.diff(wide > 0, axis=axis)].sum(dtype=np.float64))
