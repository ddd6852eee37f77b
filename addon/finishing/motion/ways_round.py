"""Ways round ground that links may not cross: the shortest way over a lattice of allowed places, pulled straight.

Where the border between the ends of two lines is notched, or a keep-out box stands between them, the cutter goes back along the ground it comes
from and round, as long as that is quicker than a hop.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from ..core.array_types import FloatArray, Indices, Mask
from .links import CHECK_STEP, stays_on, straying

FINEST_LATTICE = 0.5
"""mm between the places of the lattice; ground that is narrower is crossed by straight moves alone."""

MOST_STEPS = 120
"""Steps of the lattice along the longest way: the work grows with their third power."""

LONGEST_WAY = 240.0
"""mm; longer ways are not looked for: their lattice would be too coarse for a border's notches."""

JOINED = 3.0
"""mm from an end within which the way steps onto the lattice: lines end at the very border of the ground, up to two cells from a clear place."""

ASIDE, DIAGONAL = ((0, 1), (0, -1), (1, 0), (-1, 0)), ((1, 1), (1, -1), (-1, 1), (-1, -1))
"""Steps on the lattice. A front that takes them in turn, aside only and then diagonally too, is an octagon, close to a circle. Diagonal steps
need both places beside them free, so that none slips across a corner."""


def way_round(start: FloatArray, end: FloatArray, allowed: Callable[[FloatArray], Mask], longest: float) -> FloatArray | None:
    """A way (n, 2) in plan from one place (2,) to another on allowed ground, no longer than so many mm; None where there is none.

    allowed: whether places (k, 2) may be crossed, (k,).
    """
    longest = min(longest, LONGEST_WAY)
    spare = (longest - float(np.hypot(*(end - start)))) / 2
    if spare <= 0:
        return None
    step = max(FINEST_LATTICE, longest / MOST_STEPS)
    low = np.minimum(start, end) - spare
    columns, rows = np.ceil((np.maximum(start, end) + spare - low) / step).astype(int) + 1
    places = low + step * np.stack(np.meshgrid(np.arange(columns), np.arange(rows)), axis=-1)
    free = allowed(places.reshape(-1, 2)).reshape(rows, columns)
    fan_out, fan_in = (_seen(end_of_line, places, free, allowed) for end_of_line in (start, end))
    found = _shortest(free, fan_out, fan_in, int(longest / step))
    if found is None:
        return None
    way = _pulled(np.concatenate([start[None], places[found[:, 0], found[:, 1]], end[None]]), allowed)
    length = float(np.hypot(*np.diff(way, axis=0).T).sum())
    return way if length <= longest and stays_on(way, allowed) else None


def _seen(end: FloatArray, places: FloatArray, free: Mask, allowed: Callable[[FloatArray], Mask]) -> Mask:
    """Free places of the lattice near the end of a line that a straight move reaches from there."""
    near = free & (np.hypot(*np.moveaxis(places - end, -1, 0)) <= JOINED)
    to = places[near]
    out = np.zeros_like(near)
    out[near] = ~straying(np.stack([np.broadcast_to(end, to.shape), to], axis=1), allowed, CHECK_STEP) if len(to) else False
    return out


def _shortest(free: Mask, begins: Mask, ends: Mask, most: int) -> Indices | None:
    """Rows and columns (n, 2) of a shortest way over free places from some places to others, of at most so many steps."""
    if not begins.any() or not ends.any():
        return None
    wide = np.pad(free, 1)
    into = {step: np.roll(wide, (step[0], 0), (0, 1)) & np.roll(wide, (0, step[1]), (0, 1)) for step in DIAGONAL}
    front, goal = np.pad(begins, 1), np.pad(ends, 1)
    waiting, number_of = wide & ~front, np.where(front, 0, -1)
    reached = 0
    while not (front & goal).any():
        reached += 1
        if reached > most or not front.any():
            return None
        come = [np.roll(front, step, (0, 1)) for step in ASIDE]
        if reached % 2 == 0:
            come += [np.roll(front, step, (0, 1)) & through for step, through in into.items()]
        front = waiting & np.logical_or.reduce(come)
        waiting &= ~front
        number_of[front] = reached
    at = tuple(np.argwhere(front & goal)[0].tolist())
    way = [at]
    for number in range(reached - 1, -1, -1):
        steps = ASIDE if number % 2 == 0 else ASIDE + DIAGONAL
        at = next(
            (at[0] - step[0], at[1] - step[1])
            for step in steps
            if number_of[at[0] - step[0], at[1] - step[1]] == number and (step not in into or into[step][at])
        )
        way.append(at)
    return np.array(way[::-1]) - 1


def _pulled(way: FloatArray, allowed: Callable[[FloatArray], Mask]) -> FloatArray:
    """The same way (n, 2) with straight moves between places that see each other, each as far as a search by halves finds it."""
    kept, at = [0], 0
    while at < len(way) - 1:
        near, far = at + 1, len(way) - 1
        if stays_on(way[[at, far]], allowed):
            near = far
        while far - near > 1:
            middle = (near + far) // 2
            if stays_on(way[[at, middle]], allowed):
                near = middle
            else:
                far = middle
        at = near
        kept.append(at)
    return way[kept]
