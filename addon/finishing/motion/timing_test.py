"""A timing test: five patterns of moves in the air, each timed by a stopwatch.

Every pattern answers one question, and depends on little else:

1. and 2. Strokes of X, then of Y, too short to reach the greatest speed: a stroke of length L takes 2 sqrt(L / b), b being the acceleration that
   the control spends on speed changes.
3. Strokes of Z, short and long.
4. Small circles of short blocks, where the bend alone decides the speed, and a large one, where the number of blocks that the control can
   stop within decides. A control that rounds corners by overlap has twice the acceleration for bends that its strokes show, one with a corner
   speed has no more than that: the time of the small circles differs by more than any number of blocks makes on the large one.
5. Long strokes of X and of Y at full speed.
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

SHORT_STROKES = 110, 4.0
"""Number and length in mm of the strokes of X and of Y. Common accelerations reach half of common speeds on them."""

SHORT_Z_STROKES, LONG_Z_STROKES = (56, 2.0), (8, 20.0)
"""Number and length in mm of the strokes of Z. One time cannot tell its speed from its acceleration: the mixture is such that the minutes of a
surface change much alike, whichever of the two the time is put down to."""

LONG_STROKES = 8, 100.0
"""Number and length in mm of the strokes of X and of Y at full speed: common accelerations reach common speeds on a third of them."""

SMALL_CIRCLES, LARGE_CIRCLE = (90, 1.5, 0.3), (1, 35.0, 0.25)
"""How often, radius in mm, and length of the blocks in mm. Bends slow small circles down at any feed; blocks of the large one are as short as
the short ones of programs."""

FULL_FEED, CUTTING_FEED = 12000.0, 3500.0
"""mm/min asked for on strokes and small circles, above what the axes do; and on the large circle, as when a surface is finished."""

START = 0.0, LARGE_CIRCLE[1], 0.0
"""Where every pattern begins and ends, mm: so no place lies below 0 on any axis."""


@dataclass(frozen=True)
class Pattern:
    """Moves that are timed together, from rest to rest. points: (n, 3) mm, first where it begins. feed: (n,) mm/min on the move to each."""

    title: str
    points: FloatArray
    feed: FloatArray


def timing_patterns() -> tuple[Pattern, ...]:
    """The five patterns, with no place below 0 on any axis: Z rises from where it is."""
    x, y, z = np.eye(3)
    small, large = _circles(*SMALL_CIRCLES), _circles(*LARGE_CIRCLE)
    return (
        _full_speed("Short strokes of X", _strokes(x, *SHORT_STROKES)),
        _full_speed("Short strokes of Y", _strokes(y, *SHORT_STROKES)),
        _full_speed("Strokes of Z", _strokes(z, *SHORT_Z_STROKES), _strokes(z, *LONG_Z_STROKES)),
        Pattern("Circles", np.concatenate([small, large[1:]]), np.repeat([FULL_FEED, CUTTING_FEED], [len(small), len(large) - 1])),
        _full_speed("Long strokes of X and Y", _strokes(x, *LONG_STROKES), _strokes(y, *LONG_STROKES)),
    )


def _full_speed(title: str, *parts: FloatArray) -> Pattern:
    """Parts that follow one another at full speed; each begins where the one before has ended."""
    points = np.concatenate([parts[0], *(part[1:] for part in parts[1:])])
    return Pattern(title, points, np.full(len(points), FULL_FEED))


def _strokes(axis: FloatArray, count: int, length: float) -> FloatArray:
    """Places (count + 1, 3) of an even number of strokes to and fro along an axis."""
    out: FloatArray = START + (np.arange(count + 1) % 2)[:, None] * length * axis
    return out


def _circles(turns: int, radius: float, block: float) -> FloatArray:
    """Places (n, 3) along circles of some radius in blocks of about some length, mm, that touch one another at the start."""
    count = round(2 * np.pi * radius / block)
    angle = np.linspace(0, 2 * np.pi * turns, turns * count + 1)
    return START + radius * np.column_stack([1 - np.cos(angle), np.sin(angle), np.zeros(len(angle))])


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
