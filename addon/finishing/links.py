"""Ways on the surface from the end of one pass line to the beginning of the next."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from .cells import Mask
from .grid import FloatArray
from .polyline import is_closed, without_ends

ARMS = (0.667, 0.45, 0.25, 0.0)
"""Lengths of the arms of a turn over the distance it bridges, tried in this order. With two thirds a turn between two
parallel lines is close to a half circle, the quickest; 0 is the straight way."""

LONGEST_TURN = 12.0
"""mm; longer ways begin and end with turns for this distance only in their arms."""

SETBACKS = (0.5, 0.35, 0.2)
"""How much earlier both lines may end so that a smooth turn finds room before a wall or a skip border, over the distance between
them: the deepest turn that fits is the quickest."""

CHECK_STEP = 0.1
"""mm between the places at which a way is checked: well below a cell, so that it cannot slip across a corner of one unseen."""


def surface_link(
    leave: FloatArray, leave_direction: FloatArray, reach: FloatArray, reach_direction: FloatArray, allowed: Callable[[FloatArray], Mask]
) -> FloatArray | None:
    """A way (n, 2) in plan from one point to another that stays on allowed ground, or None when there is none.

    Directions are unit vectors (2,): how the cutter leaves the one line and enters the other. Smooth turns are tried first.
    """
    span = float(np.hypot(*(reach - leave)))
    if span < 1e-9:
        return np.stack([leave, reach])
    for arm in ARMS:
        if arm:
            size = arm * min(span, LONGEST_TURN)
            way = _turn(leave, leave + size * leave_direction, reach - size * reach_direction, reach, span)
        else:
            way = np.stack([leave, reach])
        if allowed(_checked(way)).all():
            return way
    return None


def set_back_turn(before: FloatArray, after: FloatArray, allowed: Callable[[FloatArray], Mask]) -> tuple[float, FloatArray] | None:
    """A smooth turn (n, 2) from before the end of one open line to after the beginning of the next, with how much each line
    loses in mm; None when none fits.

    before, after: (n, 2 or 3) lines in the sense they are run.
    """
    span = float(np.hypot(*(after[0, :2] - before[-1, :2])))
    if span > LONGEST_TURN or is_closed(before) or is_closed(after):
        return None
    for share in SETBACKS:
        loss = share * span
        first, second = without_ends(before, 0.0, loss), without_ends(after, loss, 0.0)
        if first is None or second is None:
            continue
        leave, reach = first[-1, :2], second[0, :2]
        away, towards = heading(first[-1] - first[-2]), heading(second[1] - second[0])
        size = ARMS[0] * min(float(np.hypot(*(reach - leave))), LONGEST_TURN)
        way = _turn(leave, leave + size * away, reach - size * towards, reach, span)
        if allowed(_checked(way)).all():
            return loss, way
    return None


def heading(move: FloatArray) -> FloatArray:
    """Unit vector (2,) of a move in plan; zero for none."""
    length = float(np.hypot(move[0], move[1]))
    return move[:2] / length if length > 1e-12 else np.zeros(2)


def _turn(start: FloatArray, first: FloatArray, second: FloatArray, end: FloatArray, span: float) -> FloatArray:
    """Cubic Bezier curve through four control points as a polyline."""
    t = np.linspace(0, 1, max(9, int(span / 0.3)))[:, None]
    s = 1 - t
    curve = s**3 * start + 3 * s * s * t * first + 3 * s * t * t * second + t**3 * end
    curve[0], curve[-1] = start, end
    return curve


def _checked(way: FloatArray) -> FloatArray:
    """Points of a way close enough together to be checked cell by cell."""
    moves = np.diff(way, axis=0)
    count = np.maximum(1, np.ceil(np.hypot(moves[:, 0], moves[:, 1]) / CHECK_STEP)).astype(int)
    piece = np.repeat(np.arange(len(count)), count)
    share = (np.arange(len(piece)) - np.repeat(np.cumsum(count) - count, count)) / count[piece]
    return np.concatenate([way[:-1][piece] + moves[piece] * share[:, None], way[-1:]])
