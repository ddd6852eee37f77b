"""How fast a machine may go through the corners and bends of a path made of straight moves.

A corner is rounded within the junction deviation (S. K. Jeon 2011), and the acceleration into the bend must not ask more
of an axis than it has. Curves given by many short chords need care: the formula for one corner sees next to no turn
between two of them and would let the machine fly through a bend however tight. So the rounding is worked out over a
window of path on both sides of each point, as wide as its deviation from the path allows. For a single corner this is
the published formula; for a curve of radius r it is the centripetal limit v^2 = a r, however short the chords are.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..core.grid import FloatArray
from ..job.machine import Machine
from .moves import Moves, along, axis_accelerations

WINDOWS = 1.5 * 2.0 ** np.arange(6)
"""Half widths of path, in junction deviations, between which the width of a bend's rounding is looked for."""


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
    squared = np.full(len(moves.length) + 1, np.inf)
    if len(moves.length) < 2:
        return squared
    change = moves.direction[1:] - moves.direction[:-1]
    swing = np.linalg.norm(change, axis=1)
    swing[moves.jump[1:] | moves.jump[:-1]] = 0
    turning = np.flatnonzero(swing > 1e-9)
    acceleration = along(axis_accelerations(machine), change[turning] / swing[turning, None])
    # swing = 2 sin(turn / 2): exact for small turns, where the cosine of the turn has no digits left.
    between = np.pi - 2 * np.arcsin(np.minimum(swing[turning] / 2, 1))
    squared[turning + 1] = corner_speed(between, acceleration, machine.junction_deviation) ** 2
    if machine.junction_deviation > 0:
        bends = _Bends(moves, swing, axis_accelerations(machine), machine.junction_deviation)
        squared[bends.points] = np.minimum(squared[bends.points], bends.limits())
    return squared


class _Bends:
    """The points of a path at which it may bend over several moves. swing: (n - 1,) change of direction between n moves."""

    def __init__(self, moves: Moves, swing: FloatArray, axes: FloatArray, deviation: float) -> None:
        self.moves, self.axes, self.deviation = moves, axes, deviation
        self.widths = WINDOWS * deviation
        self.place = np.concatenate([[0.0], np.cumsum(moves.length)])
        self.points = self._that_could_matter(swing)
        number = np.arange(len(moves.length))
        # Windows end where the piece of path ends.
        first = np.maximum.accumulate(np.where(moves.jump, number + 1, 0))
        last = np.minimum.accumulate(np.where(moves.jump, number - 1, number[-1])[::-1])[::-1]
        self.first, self.last = first[self.points], last[self.points - 1]
        # Chords of a curve turn at their ends only, the curve everywhere: a turn is spread over half the shorter move on
        # both sides.
        shorter = np.minimum(moves.length[1:], moves.length[:-1]) / 2
        self.spread = np.concatenate([[0.0], np.where(moves.jump[1:] | moves.jump[:-1], 0.0, shorter), [0.0]])

    def _that_could_matter(self, swing: FloatArray) -> NDArray[np.intp]:
        """Points where all turns within the widest window, added up, could slow the machine down at all."""
        width = self.widths[-1]
        turned = np.concatenate([[0.0], np.cumsum(swing)])
        inner = self.place[1:-1]
        low = np.searchsorted(self.place, inner - width)
        high = np.minimum(np.searchsorted(self.place, inner + width, side="right") - 1, len(turned) - 1)
        total = turned[high] - turned[np.maximum(low - 1, 0)]
        radius = np.maximum(self.moves.speed[1:], self.moves.speed[:-1]) ** 2 / self.axes.min()
        narrow = np.sqrt(2 * self.deviation * radius + self.deviation**2)
        # Half of what a bend on both sides would need, because the side that bends more counts for both.
        free = np.minimum(2 * np.arctan(self.deviation / narrow), np.arctan(width / radius))
        return np.flatnonzero((total > free) & (swing > 0)) + 1

    def limits(self) -> NDArray[np.float64]:
        """Limits of the squared speed at the points.

        A rounding that begins h before a point and ends h after it, where the direction has turned by t, leaves the path
        by h tan(t/4) and has the radius h / tan(t/2). The widest one within the deviation d decides; its radius is
        (h^2 - d^2) / (2 d).
        """
        d = self.deviation
        radius = np.full(len(self.points), np.inf)
        sideways = np.ones((len(self.points), 3))
        left = np.arange(len(self.points))
        here = self._directions(left, 0.0)
        inner_turn = self._turns(left, here, self.widths[0] / 2)[0]
        narrow, narrow_leave = 0.0, np.zeros(len(left))
        for width in self.widths:
            outer_turn, change = self._turns(left, here, width)
            # Twice what half the window shows is all that a bend here can have; the rest is a corner nearby.
            turn = np.minimum(np.minimum(outer_turn, 2 * inner_turn), np.pi)
            leave = width * np.tan(turn / 4)
            known = _squared_length(change) > 1e-18
            sideways[left[known]] = change[known]
            found = leave > d
            reach = _half_width(narrow, narrow_leave[found], width, leave[found], d)
            radius[left[found]] = (reach**2 - d**2) / (2 * d)
            if width == self.widths[-1]:
                # Too slight a bend to leave the path by the deviation: the widest window shows its radius.
                with np.errstate(divide="ignore"):
                    radius[left[~found]] = width / np.tan(turn[~found] / 2)
            go_on = ~found
            left, here = left[go_on], here[go_on]
            inner_turn, narrow, narrow_leave = outer_turn[go_on], width, leave[go_on]
        sideways /= np.sqrt(_squared_length(sideways))[:, None]
        return along(self.axes, sideways) * np.maximum(radius, 0)

    def _turns(self, which: NDArray[np.intp], here: FloatArray, width: float) -> tuple[FloatArray, FloatArray]:
        """Turn in radians over a window, (m,), and the change of direction over it, (m, 3).

        The side that bends more counts twice, so that a bend counts from its very beginning.
        """
        after, before = self._directions(which, width), self._directions(which, -width)
        side = np.sqrt(np.maximum(_squared_length(after - here), _squared_length(here - before)))
        return 4 * np.arcsin(np.minimum(side / 2, 1)), after - before

    def _directions(self, which: NDArray[np.intp], ahead: float) -> FloatArray:
        """Directions of the path (m, 3) some mm ahead of the points (behind them when negative), with the turns spread."""
        wanted = self.place[self.points[which]] + ahead
        if ahead < 0:
            move = np.maximum(np.searchsorted(self.place, wanted, side="right") - 1, self.first[which])
        else:
            move = np.minimum(np.searchsorted(self.place, wanted, side="left") - 1, self.last[which])
        passed, coming = wanted - self.place[move], self.place[move + 1] - wanted
        earlier = np.maximum(0.5 - passed / np.maximum(2 * self.spread[move], 1e-12), 0)
        later = np.maximum(0.5 - coming / np.maximum(2 * self.spread[move + 1], 1e-12), 0)
        # At the ends of a piece nothing is spread, and a window may reach past them.
        earlier[(self.spread[move] == 0) | (passed < 0)] = 0
        later[(self.spread[move + 1] == 0) | (coming < 0)] = 0
        unit = self.moves.direction
        mixed = (1 - earlier - later)[:, None] * unit.take(move, axis=0)
        mixed += earlier[:, None] * unit.take(np.maximum(move - 1, 0), axis=0)
        mixed += later[:, None] * unit.take(np.minimum(move + 1, len(unit) - 1), axis=0)
        return mixed / np.sqrt(np.maximum(_squared_length(mixed), 1e-24))[:, None]


def _squared_length(vectors: FloatArray) -> NDArray[np.float64]:
    """Squared lengths (n,) of vectors (n, 3)."""
    return np.einsum("ij,ij->i", vectors, vectors)


def _half_width(narrow: float, narrow_leave: FloatArray, wide: float, wide_leave: FloatArray, deviation: float) -> FloatArray:
    """Half width at which a rounding leaves the path by the deviation, between one too narrow and one too wide.

    The deviation is taken to grow as a power of the width: as h at a single corner, as h^2 on a curve.
    """
    if narrow == 0:
        return np.full(len(wide_leave), np.inf)  # tighter than every window: a single corner, and limited as one
    nearby = narrow + (wide - narrow) * deviation / wide_leave  # the turn begins between the two windows
    with np.errstate(divide="ignore", invalid="ignore"):
        power = np.log(wide_leave / narrow_leave) / np.log(wide / narrow)
        reach = narrow * (deviation / narrow_leave) ** (1 / power)
    return np.where(narrow_leave > 0, reach, nearby)
