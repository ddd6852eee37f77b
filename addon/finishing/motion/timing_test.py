"""A timing test: five patterns of moves in the air, each timed by a stopwatch.

The moves are loops of short blocks that turn a little from one to the next, since that is what finishing is made of, and since controls have
other rules for single long blocks, and for reversals on the spot. Every pattern answers one question, and depends on little else:

1. and 2. Flat ellipses along X, then along Y, slow at their tips and too short to reach the greatest speed between them: what acceleration the
   control spends on speed changes.
3. The same along Z, and some longer ones that reach its speed.
4. Small circles, where the bend alone decides the speed, and a large one of short blocks, where the number of blocks that the control can stop
   within decides. A control that rounds corners by overlap has about twice the acceleration for bends that its speed changes show, one with a
   corner speed has no more than that: the time of the small circles differs by more than any number of blocks makes on the large one.
5. Long ellipses along X and along Y at full speed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..core.array_types import FloatArray
from ..job.machine import Machine
from .control import driven
from .moves import Moves


@dataclass(frozen=True)
class Loops:
    """Ellipses that are run several times: how often, length and width in mm, and blocks in one of them, equal in angle."""

    turns: int
    length: float
    width: float
    blocks: int


SHORT_LOOPS = Loops(48, 6.0, 0.6, 32)
"""Along X and along Y. Common accelerations reach half of common speeds on them."""

SHORT_Z_LOOPS, LONG_Z_LOOPS = Loops(32, 2.5, 0.4, 32), Loops(4, 20.0, 2.0, 64)
"""Along Z. One time cannot tell its speed from its acceleration: the mixture is such that the minutes of a surface change much alike, whichever
of the two the time is put down to."""

SMALL_CIRCLES, LARGE_CIRCLE = Loops(90, 3.0, 3.0, 31), Loops(1, 70.0, 70.0, 880)
"""Bends slow small circles down at any feed; blocks of the large one, a quarter of a mm, are as short as the short ones of programs."""

LONG_LOOPS = Loops(4, 100.0, 5.0, 96)
"""Along X and along Y: common accelerations reach common speeds on a third of them."""

FULL_FEED, CUTTING_FEED = 12000.0, 3500.0
"""mm/min asked for on all loops but the large circle, above what the axes do; and on that, as when a surface is finished."""

START = LONG_LOOPS.width / 2, LARGE_CIRCLE.width / 2, 0.0
"""Where every pattern begins and ends, at the tip of its loops, mm: so no place lies below 0 on any axis."""


@dataclass(frozen=True)
class Pattern:
    """Moves that are timed together, from rest to rest. points: (n, 3) mm, first where it begins. feed: (n,) mm/min on the move to each."""

    title: str
    points: FloatArray
    feed: FloatArray


def timing_patterns() -> tuple[Pattern, ...]:
    """The five patterns, with no place below 0 on any axis: Z rises from where it is."""
    x, y, z = np.eye(3)
    small, large = _loops(SMALL_CIRCLES, x, y), _loops(LARGE_CIRCLE, x, y)
    return (
        _full_speed("Flat ellipses along X", _loops(SHORT_LOOPS, x, y)),
        _full_speed("Flat ellipses along Y", _loops(SHORT_LOOPS, y, x)),
        _full_speed("Flat ellipses along Z", _loops(SHORT_Z_LOOPS, z, x), _loops(LONG_Z_LOOPS, z, x)),
        Pattern("Circles", np.concatenate([small, large[1:]]), np.repeat([FULL_FEED, CUTTING_FEED], [len(small), len(large) - 1])),
        _full_speed("Long ellipses along X and Y", _loops(LONG_LOOPS, x, y), _loops(LONG_LOOPS, y, x)),
    )


def _full_speed(title: str, *parts: FloatArray) -> Pattern:
    """Parts that follow one another at full speed; each begins where the one before has ended."""
    points = np.concatenate([parts[0], *(part[1:] for part in parts[1:])])
    return Pattern(title, points, np.full(len(points), FULL_FEED))


def _loops(loops: Loops, along: FloatArray, across: FloatArray) -> FloatArray:
    """Places (n, 3) on loops from the start, their length along one axis and their width across it, both unit vectors."""
    angle = np.linspace(0, 2 * np.pi * loops.turns, loops.turns * loops.blocks + 1)[:, None]
    out: FloatArray = START + loops.length / 2 * (1 - np.cos(angle)) * along + loops.width / 2 * np.sin(angle) * across
    return out


def room_needed(patterns: Sequence[Pattern]) -> tuple[float, float, float]:
    """Free room in mm along X, Y and Z from zero on."""
    x, y, z = np.max([pattern.points.max(axis=0) for pattern in patterns], axis=0).tolist()
    return x, y, z


def pattern_seconds(patterns: Sequence[Pattern], machine: Machine) -> NDArray[np.float64]:
    """Seconds that each pattern takes on a machine, (n,)."""
    return np.array([driven(_moves(pattern, machine), machine).seconds.sum() for pattern in patterns])


def _moves(pattern: Pattern, machine: Machine) -> Moves:
    vectors = np.diff(pattern.points, axis=0)
    return Moves.limited_by(machine, vectors, np.linalg.norm(vectors, axis=1), pattern.feed[1:])
