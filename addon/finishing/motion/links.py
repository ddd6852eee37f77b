"""Ways on the surface from the end of one pass line to the beginning of the next."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from ..core.grid import FloatArray
from ..core.masks import Mask
from ..core.polyline import without_ends
from ..core.ragged import run_owners, run_places

ARM_SHARES = (1.0, 0.67, 0.37, 0.0)
"""Shares of the quickest turn's arms that are tried in this order where there is little room; 0 is the straight way."""

ARM = 0.7
"""Arms of the quickest turn back: the one at the shorter line is 0.7 of the span, the one at the longer line 0.7 of the distance d
between the lines times d / span. Between lines that end side by side that is close to a half circle; where they meet a border on the
slant, the cutter runs along it and turns sharply at the longer line's end. Found by trying arms of all lengths through the run time of a
machine with all axes alike; near the best it hardly changes."""

ARM_ONWARD = 0.667
"""Both arms, over the span, of a way that does not turn back."""

NO_WAY = 1e-9
"""mm; the next line begins where the one before has ended."""

LONGEST_TURN = 12.0
"""mm; longer ways begin and end with turns for this distance only in their arms."""

SET_BACK = ((1.0, 1.0), (0.7, 1.0), (0.4, 1.0), (1.0, 0.67), (1.0, 0.37))
"""Shares of what both lines may lose, and of the arms, that are tried for a smooth turn in this order."""

CHECK_STEP = 0.1
"""mm between the places at which a way is checked: well below a cell, so that it cannot slip across a corner of one unseen."""

ROUGH_STEP = 2.0
"""mm between the places at which ways are looked at that may yet be taken."""


def surface_link(
    leave: FloatArray, leave_direction: FloatArray, reach: FloatArray, reach_direction: FloatArray, allowed: Callable[[FloatArray], Mask]
) -> FloatArray | None:
    """A way (n, 2) in plan from one point to another that stays on allowed ground, or None when there is none.

    Directions are unit vectors (2,): how the cutter leaves the one line and enters the other. Smooth turns are tried first.
    """
    span = float(np.hypot(*(reach - leave)))
    if span <= NO_WAY:
        return np.stack([leave, reach])
    for share in ARM_SHARES:
        way = _turn(leave, leave_direction, reach, reach_direction, share) if share else np.stack([leave, reach])
        if stays_on(way, allowed):
            return way
    return None


def set_back_turn(
    before: FloatArray, after: FloatArray, spare: tuple[float, float], allowed: Callable[[FloatArray], Mask]
) -> tuple[FloatArray, FloatArray, FloatArray] | None:
    """A smooth turn (n, 2) from a little before the end of one open line to a little after the beginning of the next, with both lines
    as they are left; None when none fits.

    before, after: (n, 3) lines in the sense they are run. spare: mm in plan that each of them may lose.
    """
    apart = after[0, :2] - before[-1, :2]
    span = float(np.hypot(*apart))
    if not NO_WAY < span <= LONGEST_TURN or max(spare) <= 0:
        return None
    along = heading(before[-1] - before[-2])
    across = abs(float(apart[0] * along[1] - apart[1] * along[0]))
    # So deep the turn is at the shorter and at the longer line's end.
    near, far = across / 2, across / 2 * across / span
    depths = (near, far) if float(apart @ along) >= 0 else (far, near)
    most = [min(s, d) * _steepness(move) for s, d, move in zip(spare, depths, (before[-1] - before[-2], after[1] - after[0]), strict=True)]
    for share, arms in SET_BACK:
        first, second = without_ends(before, 0.0, share * most[0]), without_ends(after, share * most[1], 0.0)
        if first is None or second is None:
            continue
        way = _turn(first[-1, :2], heading(first[-1] - first[-2]), second[0, :2], heading(second[1] - second[0]), arms)
        if stays_on(way, allowed):
            return first, way, second
    return None


def stays_on(way: FloatArray, allowed: Callable[[FloatArray], Mask]) -> bool:
    """Whether a way (n, 2) in plan stays on allowed ground all along."""
    return not straying(np.stack([way[:-1], way[1:]], axis=1), allowed, CHECK_STEP).any()


def straying(ways: FloatArray, allowed: Callable[[FloatArray], Mask], step: float = ROUGH_STEP) -> Mask:
    """Which of some straight ways (n, 2, 2) in plan leave allowed ground, (n,), looked at every so many mm."""
    moves = ways[:, 1] - ways[:, 0]
    count = np.maximum(np.ceil(np.hypot(moves[:, 0], moves[:, 1]) / step), 1).astype(int) + 1
    way = run_owners(count)
    share = run_places(count) / (count[way] - 1)
    off = ~allowed(ways[way, 0] + moves[way] * share[:, None])
    return np.bincount(way[off], minlength=len(ways)) > 0


def heading(move: FloatArray) -> FloatArray:
    """Unit vector (2,) of a move in plan; zero for none."""
    length = float(np.hypot(move[0], move[1]))
    return move[:2] / length if length > 1e-12 else np.zeros(2)


def _steepness(move: FloatArray) -> float:
    """Length of a move (3,) over its length in plan."""
    return float(np.linalg.norm(move) / max(np.hypot(move[0], move[1]), 1e-9))


def _turn(leave: FloatArray, away: FloatArray, reach: FloatArray, towards: FloatArray, share: float) -> FloatArray:
    """Cubic Bezier curve as a polyline from a line that is left in one direction to one entered in another (unit vectors).

    share: of the arms of the quickest turn.
    """
    first, second = (share * arm for arm in _arms(reach - leave, away, towards))
    t = np.linspace(0, 1, max(9, int(np.hypot(*(reach - leave)) / 0.3)))[:, None]
    s = 1 - t
    curve = s**3 * leave + 3 * s * s * t * (leave + first * away) + 3 * s * t * t * (reach - second * towards) + t**3 * reach
    curve[0], curve[-1] = leave, reach
    return curve


def _arms(apart: FloatArray, away: FloatArray, towards: FloatArray) -> tuple[float, float]:
    """Lengths in mm of both arms of the quickest turn over a way (2,) between two lines with these directions."""
    span = float(np.hypot(*apart))
    size = min(span, LONGEST_TURN)
    if away @ towards >= 0:
        return ARM_ONWARD * size, ARM_ONWARD * size
    across = abs(float(apart[0] * away[1] - apart[1] * away[0])) / span
    arms = ARM * size, ARM * size * across**2
    return arms if apart @ away >= 0 else arms[::-1]
