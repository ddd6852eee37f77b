"""How fast a machine may go through bends that are made of many short moves.

The formula for a single corner sees next to no turn between two short chords of a curve and would let the machine fly through a
bend however tight. So the rounding of a bend is worked out over a window of path on both sides of each point.

Let the path turn by t from h before a point to h after it. The arc that leaves the path h before the point and joins it again h after
has the radius r = h / tan(t/2) and passes the point at a distance of h tan(t/4), which is how far the machine leaves the path. The
widest arc that stays within the deviation d is the fastest; with h tan(t/4) = d and tan(t/2) = 2 tan(t/4) / (1 - tan(t/4)^2), its radius
is r = (h^2 - d^2) / (2 d), and v^2 = a r. At a single corner t does not depend on h, and this is the formula of corners.py. On a curve
of radius R far wider than d, t = 2 h / R and r is R: the centripetal limit v^2 = a R, however short the chords are.

The half width h at which h tan(t/4) reaches d is looked for between a few windows, each twice as wide as the one before. What a
window shows is held within two bounds. The side of the window that bends more counts for both, so that a bend counts from its very
beginning. And the turn is at most twice what half the window shows: the rest is a corner nearby, which has a limit of its own. Chords
of a curve turn at their ends only and the curve everywhere, so each turn is spread over half the shorter move on both sides of it.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ..core.array_types import FloatArray
from .moves import Moves, along

WINDOWS = 1.5 * 2.0 ** np.arange(6)
"""Half widths of the windows in deviations. The narrowest lies between that of a reversal, 1, and that of a right angle, 2.4: what turns
within less is a single corner. In the widest, a bend that leaves the path by one deviation has a radius of 1150 of them, 23 mm at the
common 0.02 mm; bends still wider take the radius that the widest window shows."""

NO_TURN_SQUARED = 1e-18
"""Squared change of a unit vector below which a window shows no direction to turn to."""

SHORTEST_SPREAD = 1e-12
"""mm; keeps the division by a turn's spread finite where nothing is spread."""

LEAST_SQUARED_LENGTH = 1e-24
"""Of a mean of unit vectors: opposite ones cancel out and keep no direction."""


def bend_limits(moves: Moves, axes: FloatArray, deviation: float) -> tuple[NDArray[np.intp], NDArray[np.float64]]:
    """Points between moves at which a bend could slow the machine down, (m,) from 1 on, and limits of the squared speed there, (m,) in (mm/s)^2.

    moves: at least two. axes: accelerations of the axes (3,), mm/s2. deviation: mm that a rounding may leave the path by, above 0.
    """
    windows = _Windows(moves, _points_that_could_matter(moves, axes, deviation))
    radius, sideways = _radius_of_rounding(windows, deviation)
    return windows.points, np.asarray(along(axes, sideways) * np.maximum(radius, 0), np.float64)


def _points_that_could_matter(moves: Moves, axes: FloatArray, deviation: float) -> NDArray[np.intp]:
    """Points where all turns within the widest window, added up, could slow the machine down at all."""
    width = WINDOWS[-1] * deviation
    swing = np.linalg.norm(moves.direction[1:] - moves.direction[:-1], axis=1)
    travelled = np.concatenate([[0.0], np.cumsum(moves.length)])
    turned = np.concatenate([[0.0], np.cumsum(swing)])
    inner = travelled[1:-1]
    low = np.searchsorted(travelled, inner - width)
    high = np.minimum(np.searchsorted(travelled, inner + width, side="right") - 1, len(turned) - 1)
    total = turned[high] - turned[np.maximum(low - 1, 0)]
    # The tightest radius that the greatest speed allows, and the half width at which its arc leaves the path by the deviation.
    radius = np.maximum(moves.speed[1:], moves.speed[:-1]) ** 2 / axes.min()
    half_width = np.sqrt(2 * deviation * radius + deviation**2)
    # Half of what a bend on both sides would need, because the side that bends more counts for both.
    harmless = np.minimum(2 * np.arctan(deviation / half_width), np.arctan(width / radius))
    return np.flatnonzero((total > harmless) & (swing > 0)) + 1


def _radius_of_rounding(windows: _Windows, deviation: float) -> tuple[FloatArray, FloatArray]:
    """Radius in mm of the widest rounding within the deviation at each point, (m,), and unit vectors of the turn there, (m, 3)."""
    count = len(windows.points)
    radius, sideways = np.full(count, np.inf), np.ones((count, 3))
    widths = WINDOWS * deviation
    searched = np.arange(count)  # points whose rounding is wider than all windows so far
    here = windows.directions(searched, 0.0)
    half_window_turn = windows.turns(searched, here, widths[0] / 2)[0]
    narrower, narrower_off = 0.0, np.zeros(count)
    for width in widths:
        seen_turn, change = windows.turns(searched, here, width)
        turn = np.minimum(np.minimum(seen_turn, 2 * half_window_turn), np.pi)
        off = width * np.tan(turn / 4)
        known = _squared_length(change) > NO_TURN_SQUARED
        sideways[searched[known]] = change[known]
        found = off > deviation
        half_width = _half_width_between((narrower, narrower_off[found]), (width, off[found]), deviation)
        radius[searched[found]] = (half_width**2 - deviation**2) / (2 * deviation)
        go_on = ~found
        if width == widths[-1]:
            with np.errstate(divide="ignore"):
                radius[searched[go_on]] = width / np.tan(turn[go_on] / 2)
        searched, here = searched[go_on], here[go_on]
        half_window_turn, narrower, narrower_off = seen_turn[go_on], width, off[go_on]
    sideways /= np.sqrt(_squared_length(sideways))[:, None]
    return radius, sideways


def _half_width_between(narrower: tuple[float, FloatArray], wider: tuple[float, FloatArray], deviation: float) -> FloatArray:
    """Half width at which a rounding leaves the path by the deviation, between a window too narrow and one too wide.

    narrower, wider: half width of the window and how far its rounding leaves the path, (k,). The distance off the path is taken
    to grow as a power of the width: as h at a single corner, as h^2 on a curve.
    """
    (narrow, narrow_off), (wide, wide_off) = narrower, wider
    if narrow == 0:
        return np.full(len(wide_off), np.inf)  # tighter than every window: a single corner, and limited as one
    begins_between = narrow + (wide - narrow) * deviation / wide_off
    with np.errstate(divide="ignore", invalid="ignore"):
        power = np.log(wide_off / narrow_off) / np.log(wide / narrow)
        half_width = narrow * (deviation / narrow_off) ** (1 / power)
    return np.where(narrow_off > 0, half_width, begins_between)


class _Windows:
    """Windows of path round some of the points between moves, and how the path turns in them."""

    def __init__(self, moves: Moves, points: NDArray[np.intp]) -> None:
        self.points = points
        self._direction = moves.direction
        self._travelled = np.concatenate([[0.0], np.cumsum(moves.length)])
        shorter = np.minimum(moves.length[1:], moves.length[:-1]) / 2
        self._spread = np.concatenate([[0.0], shorter, [0.0]])

    def turns(self, which: NDArray[np.intp], here: FloatArray, width: float) -> tuple[FloatArray, FloatArray]:
        """Turn in radians over windows of some half width, (k,), and the change of direction over them, (k, 3).

        which: numbers of points, (k,). here: directions at them, (k, 3). The side that bends more counts twice.
        """
        after, before = self.directions(which, width), self.directions(which, -width)
        side = np.sqrt(np.maximum(_squared_length(after - here), _squared_length(here - before)))
        return 4 * np.arcsin(np.minimum(side / 2, 1)), after - before

    def directions(self, which: NDArray[np.intp], ahead: float) -> FloatArray:
        """Directions of the path (k, 3) some mm ahead of points (behind them when negative), with the turns spread."""
        wanted = self._travelled[self.points[which]] + ahead
        if ahead < 0:
            move = np.maximum(np.searchsorted(self._travelled, wanted, side="right") - 1, 0)
        else:
            move = np.minimum(np.searchsorted(self._travelled, wanted, side="left") - 1, len(self._direction) - 1)
        passed, coming = wanted - self._travelled[move], self._travelled[move + 1] - wanted
        earlier = np.maximum(0.5 - passed / np.maximum(2 * self._spread[move], SHORTEST_SPREAD), 0)
        later = np.maximum(0.5 - coming / np.maximum(2 * self._spread[move + 1], SHORTEST_SPREAD), 0)
        # At the ends of the path nothing is spread, and a window may extend past them.
        earlier[(self._spread[move] == 0) | (passed < 0)] = 0
        later[(self._spread[move + 1] == 0) | (coming < 0)] = 0
        unit = self._direction
        mean = (1 - earlier - later)[:, None] * unit.take(move, axis=0)
        mean += earlier[:, None] * unit.take(np.maximum(move - 1, 0), axis=0)
        mean += later[:, None] * unit.take(np.minimum(move + 1, len(unit) - 1), axis=0)
        return mean / np.sqrt(np.maximum(_squared_length(mean), LEAST_SQUARED_LENGTH))[:, None]


def _squared_length(vectors: FloatArray) -> NDArray[np.float64]:
    """Squared lengths (n,) of vectors (n, 3)."""
    return np.einsum("ij,ij->i", vectors, vectors)
