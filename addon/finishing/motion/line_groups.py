"""Groups of neighbouring pass lines, which are run to and fro one after the other.

Openings and bays divide the lines of a body into regions. Within a region the next line is always the neighbour; what an order gains or
loses lies in the long moves between regions. So the lines of a region are taken together.
"""

from __future__ import annotations

import numpy as np

from ..core.array_types import FloatArray

FARTHEST_NEIGHBOUR = 12.0
"""mm between the ends of two lines, at both ends, up to which they belong to the same group: no more than a turn bridges
(links.LONGEST_TURN)."""


def line_groups(begins: FloatArray, finishes: FloatArray) -> list[list[int]]:
    """Line numbers in groups: in each, every line and the next are each other's nearest neighbours on the sides that face.

    begins, finishes: (n, 2) mm, the ends of n lines in plan, given in either direction.
    """
    mutual = _mutual_neighbours(begins, finishes)
    # A chain of neighbours is followed from one of its ends; rings of neighbours have none and come last.
    waiting = dict.fromkeys([*(k for k in range(len(mutual)) if len(mutual[k]) < 2), *range(len(mutual))])
    groups = []
    while waiting:
        group = [next(iter(waiting))]
        while True:
            del waiting[group[-1]]
            onward = [line for line in mutual[group[-1]] if line in waiting]
            if not onward:
                break
            group.append(onward[0])
        groups.append(group)
    return groups


def _mutual_neighbours(begins: FloatArray, finishes: FloatArray) -> list[set[int]]:
    """For every line the lines, at most one on each side, of which it is the nearest neighbour as they are its own."""
    n = len(begins)
    same_direction = np.maximum(_distances(begins, begins), _distances(finishes, finishes))
    opposite = np.maximum(_distances(begins, finishes), _distances(finishes, begins))
    apart = np.minimum(same_direction, opposite)
    np.fill_diagonal(apart, np.inf)
    along, middle = finishes - begins, (begins + finishes) / 2
    offset = middle[None] - middle[:, None]
    left = along[:, None, 0] * offset[..., 1] > along[:, None, 1] * offset[..., 0]
    near = apart <= FARTHEST_NEIGHBOUR
    neighbours: list[set[int]] = [set() for _ in range(n)]
    for side in (left, ~left):
        allowed = np.where(near & side, apart, np.inf)
        nearest = np.where(np.isfinite(allowed.min(axis=1)), allowed.argmin(axis=1), -1)
        for line in np.flatnonzero(nearest >= 0).tolist():
            neighbours[line].add(int(nearest[line]))
    return [{other for other in neighbours[line] if line in neighbours[other]} for line in range(n)]


def _distances(here: FloatArray, there: FloatArray) -> FloatArray:
    """Distances (n, n) between two lists of points (n, 2)."""
    return np.hypot(here[:, None, 0] - there[None, :, 0], here[:, None, 1] - there[None, :, 1])
