"""Feeds eased where a program would hold more blocks in a second than its control can take.

Among blocks that end at t_1, t_2, ... no second holds more than n of them where every end lies a second or more behind the n-th end before it.
Where n blocks in a row take less, none of them may be driven faster than one speed v: as fast as lets them take that second together, with those
counted as they are that are slower already. Feeds only fall, so that nothing becomes quicker by it and one pass over all such rows of blocks is
enough, but for blocks that are fused otherwise once feeds differ: what is left of these a further round finds.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ..core.array_types import FloatArray, Mask
from ..core.path import EXIT, LIFT, Path
from ..job.machine import Machine
from ..job.run_log import Experience
from .moves import MM_PER_MIN
from .run_time import Blocks, time_factor

ROUNDS = 4
"""Most rounds; the second finds next to nothing."""

FULL_SECOND = 1.002
"""s that as many blocks as a second may hold are given: places and feeds are rounded in programs."""

FEED_STEP = 10.0
"""mm/min; eased feeds are whole steps, so that one feed holds for many blocks: at 1000 mm/min a step costs a part in a hundred at most."""

HALVINGS = 12
"""Of the interval that the speed lies in: to a part in four thousand."""

ROWS_AT_ONCE = 200_000
"""Blocks looked at together, so that a control with a very low rate needs no more memory than others."""


@dataclass(frozen=True)
class Eased:
    """A path with eased feeds. seconds: run time that the easing adds. length: mm of the path on which feeds are lower than before."""

    path: Path
    seconds: float
    length: float


def eased(path: Path, machine: Machine, fusing_tolerance: float, experience: Experience | None = None) -> Eased:
    """The path with feeds low enough that no second of its program holds more blocks than the machine's control takes.

    Moves in the air that are written without a feed keep theirs. fusing_tolerance: of the program, mm. experience: what logged runs say of the
    times. Where runs take longer than the record says, feeds are eased as if they did not, so that a measured run changes no program.
    """
    factor = time_factor(machine, experience)
    second = 1 / min(factor, 1.0)
    blocks = Blocks.of(path, machine, fusing_tolerance)
    before = now = blocks.times()
    feed = path.feed
    for _ in range(ROUNDS):
        limits = _limits(path, blocks.rows, now, (machine.blocks_per_second, second))
        lower = limits < feed
        if not lower.any():
            break
        feed = np.where(lower, limits, feed)
        blocks = Blocks.of(replace(path, feed=feed), machine, fusing_tolerance)
        now = blocks.times()
    if feed is path.feed:
        return Eased(path, 0.0, 0.0)
    return Eased(replace(path, feed=feed), factor * float(now[-1] - before[-1]), float(path.lengths()[feed < path.feed].sum()))


def _limits(path: Path, rows: NDArray[np.intp], at: FloatArray, allowed: tuple[int, float]) -> FloatArray:
    """The greatest feed (n,) of each row's motion, mm/min, infinite where it may stay. rows: where blocks end. at: (n,) seconds. allowed: how many
    blocks within how many seconds.
    """
    rate, second = allowed
    limits = np.full(len(path), np.inf)
    length = np.linalg.norm(np.diff(path.points[rows], axis=0), axis=1)
    moved = np.flatnonzero(length > 0)
    length, ends = length[moved], rows[moved + 1]
    when = at[ends]
    # The first of the blocks in a row that end within a second of one before them.
    first = 1 + np.flatnonzero(when[rate:] - when[:-rate] < second)
    if len(first) == 0:
        return limits
    seconds = np.diff(when, prepend=0.0)
    speeds = _greatest_speeds(first, rate, length, seconds / second, _may_be_eased(path)[ends]) / second
    of_block = np.full(len(ends), np.inf)
    for start, speed in zip(first.tolist(), speeds.tolist(), strict=True):
        np.minimum(of_block[start : start + rate], speed, out=of_block[start : start + rate])
    of_block = np.maximum(np.floor(of_block / MM_PER_MIN / FEED_STEP), 1.0) * FEED_STEP
    block_of_row = np.searchsorted(ends, np.arange(len(path)))
    known = block_of_row < len(ends)
    limits[known] = of_block[block_of_row[known]]
    return np.where(_may_be_eased(path), limits, np.inf)


def _may_be_eased(path: Path) -> Mask:
    """Rows (n,) whose motion is written with a feed: all but lifts and the way straight up from the work."""
    up = np.zeros(len(path), bool)
    up[1:] = (path.points[1:, :2] == path.points[:-1, :2]).all(axis=1)
    return (path.kind != LIFT) & ~((path.kind == EXIT) & up)


def _greatest_speeds(first: NDArray[np.intp], rate: int, length: FloatArray, seconds: FloatArray, eased_too: Mask) -> FloatArray:
    """For each row of `rate` blocks that begins with `first`: the greatest speed in mm/s at which it takes a full second, (k,).

    length, seconds, eased_too: (n,) of all blocks: mm, s as they are driven now, and whether their feed may fall.
    """
    out = np.empty(len(first))
    step = max(1, ROWS_AT_ONCE // rate)
    for begin in range(0, len(first), step):
        blocks = first[begin : begin + step, None] + np.arange(rate)
        own, now = np.where(eased_too[blocks], length[blocks], 0.0), seconds[blocks]
        # At the low end all blocks together take the second even if none is slower already; at the high end none is slowed down.
        low = own.sum(axis=1) / FULL_SECOND
        high = np.maximum((own / np.maximum(now, 1e-9)).max(axis=1), low)
        for _ in range(HALVINGS):
            middle = np.sqrt(low * high)
            enough = np.maximum(now, own / np.maximum(middle, 1e-9)[:, None]).sum(axis=1) >= FULL_SECOND
            low, high = np.where(enough, middle, low), np.where(enough, high, middle)
        out[begin : begin + step] = low
    return out
