"""Moves on the surface from the end of one pass line to the beginning of the next."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from ..core.array_types import FloatArray, Mask
from ..core.path import NO_LENGTH
from ..core.polyline import without_ends
from ..core.ragged import run_owners, run_places

ARM_SHARES = (1.0, 0.67, 0.37, 0.0)
"""Shares of the quickest turn's arms that are tried in this order where there is little room; 0 is the straight move."""

ARM = 0.7
"""Arms of the quickest turn back: the one at the shorter line is 0.7 of the span, the one at the longer line 0.7 of the distance d
between the lines times d / span. Between lines that end side by side that is close to a half circle; where they meet a border on the
slant, the cutter runs along it and turns sharply at the longer line's end. Found by trying arms of all lengths through the run time of a
machine with all axes alike; near the best it hardly changes."""

ARM_ONWARD = 0.667
"""Both arms, over the span, of a move that does not turn back."""

LONGEST_TURN = 12.0
"""mm; longer moves begin and end with turns for this distance only in their arms."""

SET_BACK = ((1.0, 1.0), (0.7, 1.0), (0.4, 1.0), (1.0, 0.67), (1.0, 0.37))
"""Shares of what both lines may lose, and of the arms, that are tried for a smooth turn in this order."""

CHECK_STEP = 0.1
"""mm between the places at which a move is checked: well below a cell, so that it cannot slip across a corner of one unseen."""

ROUGH_STEP = 2.0
"""mm between the places at which moves are checked that the order search only considers."""

NARROW_STEP = 0.5
"""The same where short moves are considered too: what bars them may be a foot of a wall a few cells wide."""

TURN_STEP = 0.3
"""mm of span between the points of a turn: chords of the half circle over 10 mm lie within 0.01 mm of it. A link shapes no surface, so its
plan need be no closer than that; its heights are found exactly."""

LEAST_TURN_POINTS = 9
"""Points of the shortest turn: a half circle in eight chords, which over 2 mm lie within 0.02 mm of it."""

NO_DIRECTION = 1e-12
"""mm; shorter moves in plan have no direction."""


def surface_link(
    start: FloatArray, start_direction: FloatArray, end: FloatArray, end_direction: FloatArray, allowed: Callable[[FloatArray], Mask]
) -> FloatArray | None:
    """A move (n, 2) in plan from one point to another that stays on allowed ground, or None when there is none.

    Directions are unit vectors (2,): how the cutter leaves the one line and enters the other. Smooth turns are tried first.
    """
    span = float(np.hypot(*(end - start)))
    if span <= NO_LENGTH:
        return np.stack([start, end])
    for share in ARM_SHARES:
        move = _turn(start, start_direction, end, end_direction, share) if share else np.stack([start, end])
        if stays_on(move, allowed):
            return move
    return None


def set_back_turn(
    before: FloatArray, after: FloatArray, trim: tuple[float, float], allowed: Callable[[FloatArray], Mask]
) -> tuple[FloatArray, FloatArray, FloatArray] | None:
    """A smooth turn (n, 2) from a little before the end of one open line to a little after the beginning of the next.

    before, after: (n, 3) lines in the direction they are run. trim: mm in plan that each of them may lose. Returns the first line as it
    remains, the turn, and the second line as it remains; None when no turn fits.
    """
    apart = after[0, :2] - before[-1, :2]
    span = float(np.hypot(*apart))
    if not NO_LENGTH < span <= LONGEST_TURN or max(trim) <= 0:
        return None
    along = heading(before[-1] - before[-2])
    across = abs(float(apart[0] * along[1] - apart[1] * along[0]))
    # So deep the turn is at the shorter and at the longer line's end.
    near, far = across / 2, across / 2 * across / span
    depths = (near, far) if float(apart @ along) >= 0 else (far, near)
    most = [min(t, d) * _steepness(chord) for t, d, chord in zip(trim, depths, (before[-1] - before[-2], after[1] - after[0]), strict=True)]
    for share, arms in SET_BACK:
        first, second = without_ends(before, 0.0, share * most[0]), without_ends(after, share * most[1], 0.0)
        if first is None or second is None:
            continue
        turn = _turn(first[-1, :2], heading(first[-1] - first[-2]), second[0, :2], heading(second[1] - second[0]), arms)
        if stays_on(turn, allowed):
            return first, turn, second
    return None


def stays_on(move: FloatArray, allowed: Callable[[FloatArray], Mask]) -> bool:
    """Whether a move (n, 2) in plan stays on allowed ground all along."""
    return not straying(np.stack([move[:-1], move[1:]], axis=1), allowed, CHECK_STEP).any()


def straying(moves: FloatArray, allowed: Callable[[FloatArray], Mask], step: float = ROUGH_STEP) -> Mask:
    """Which of some straight moves (n, 2, 2) in plan leave allowed ground, (n,), looked at every so many mm."""
    along = moves[:, 1] - moves[:, 0]
    count = np.maximum(np.ceil(np.hypot(along[:, 0], along[:, 1]) / step), 1).astype(int) + 1
    move = run_owners(count)
    share = run_places(count) / (count[move] - 1)
    off = ~allowed(moves[move, 0] + along[move] * share[:, None])
    return np.bincount(move[off], minlength=len(moves)) > 0


def heading(move: FloatArray) -> FloatArray:
    """Unit vector (2,) of a move (2 or 3,) in plan; zero for none."""
    length = float(np.hypot(move[0], move[1]))
    return move[:2] / length if length > NO_DIRECTION else np.zeros(2)


def _steepness(move: FloatArray) -> float:
    """Length of a move (3,) over its length in plan."""
    return float(np.linalg.norm(move) / max(np.hypot(move[0], move[1]), NO_LENGTH))


def _turn(start: FloatArray, leaving: FloatArray, end: FloatArray, entering: FloatArray, share: float) -> FloatArray:
    """Cubic Bezier curve as a polyline from a line that is left in one direction to one entered in another (unit vectors).

    share: of the arms of the quickest turn.
    """
    first, second = (share * arm for arm in _arms(end - start, leaving, entering))
    t = np.linspace(0, 1, max(LEAST_TURN_POINTS, int(np.hypot(*(end - start)) / TURN_STEP)))[:, None]
    s = 1 - t
    curve = s * s * s * start + 3 * s * s * t * (start + first * leaving) + 3 * s * t * t * (end - second * entering) + t * t * t * end
    curve[0], curve[-1] = start, end
    return curve


def _arms(apart: FloatArray, leaving: FloatArray, entering: FloatArray) -> tuple[float, float]:
    """Lengths in mm of both arms of the quickest turn over a span (2,) between two lines with these directions."""
    span = float(np.hypot(*apart))
    size = min(span, LONGEST_TURN)
    if leaving @ entering >= 0:
        return ARM_ONWARD * size, ARM_ONWARD * size
    across = abs(float(apart[0] * leaving[1] - apart[1] * leaving[0])) / span
    arms = ARM * size, ARM * size * across**2
    return arms if apart @ leaving >= 0 else arms[::-1]
