"""Stretches of neighbouring pass lines that are run to and fro, and the order in which the stretches are run.

Openings and bays part the lines of a body into regions. Within one the next line is always the neighbour; what an order gains or loses
lies in the long ways between regions. So the lines of a region are taken together: such a stretch can be begun at both ends of its
first and of its last line, which decides where it is left. Their order is looked for by a beam search: all
ways to have run one, two, three ... stretches, of which the cheapest are kept.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ..core.grid import FloatArray
from .move_costs import WayCosts

FARTHEST_NEIGHBOUR = 12.0
"""mm between the ends of two lines, on both sides, up to which they belong to the same stretch: no more than a turn bridges."""

MOST_STRETCHES = 60
"""Of more stretches no order is looked for: they are told apart by the bits of one number."""

BEAM = 200
"""Beginnings of an order that are kept."""


def row_by_stretches(begins: FloatArray, finishes: FloatArray, costs: WayCosts) -> list[int] | None:
    """Line ends in a good running order, two for every line; None where there are too many stretches.

    begins, finishes: (n, 2) mm; end k is where line k begins, end k + n where it finishes.
    """
    found = stretches(begins, finishes)
    if len(found) > MOST_STRETCHES:
        return None
    ends = np.concatenate([begins, finishes])
    n = len(begins)
    ways: list[list[int]] = []
    for lines in found:
        for first in (lines[0], lines[0] + n):
            row = _to_and_fro(lines, first, ends)
            ways += [row, row[::-1]]
    inner = np.array([_length(ends[row]) for row in ways]).reshape(-1, 4)
    # What one way to run a stretch is longer than its shortest.
    extra = (inner - inner.min(axis=1, keepdims=True)).ravel() / costs.link_speed
    begin, finish = (ends[[row[place] for row in ways]] for place in (0, -1))
    count = len(ways)
    stretch = np.repeat(np.arange(len(found)), 4)
    # Options follow each other in pairs of one row and its reverse: a way is the same as the one back between the reverses.
    here, there = np.nonzero(stretch[:, None] < stretch[None])
    between = np.full((count, count), np.inf)
    between[here, there] = costs.of(np.stack([finish[here], begin[there]], axis=1))
    between[there ^ 1, here ^ 1] = between[here, there]
    chosen = _beam_search(between + extra, extra, stretch)
    return [end for number in chosen for end in ways[number]]


def stretches(begins: FloatArray, finishes: FloatArray) -> list[list[int]]:
    """Line numbers in groups: in each every line is the nearest neighbour of the next on one side, and the other way round."""
    n = len(begins)
    alike = np.maximum(_distances(begins, begins), _distances(finishes, finishes))
    opposite = np.maximum(_distances(begins, finishes), _distances(finishes, begins))
    apart = np.minimum(alike, opposite)
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
    mutual = [{other for other in neighbours[line] if line in neighbours[other]} for line in range(n)]
    left_over = dict.fromkeys([*(k for k in range(n) if len(mutual[k]) < 2), *range(n)])
    found = []
    while left_over:
        group = [next(iter(left_over))]
        while True:
            del left_over[group[-1]]
            onward = [line for line in mutual[group[-1]] if line in left_over]
            if not onward:
                break
            group.append(onward[0])
        found.append(group)
    return found


def _distances(here: FloatArray, there: FloatArray) -> FloatArray:
    """Distances (n, n) between two lists of points (n, 2)."""
    return np.hypot(here[:, None, 0] - there[None, :, 0], here[:, None, 1] - there[None, :, 1])


def _to_and_fro(lines: list[int], first: int, ends: FloatArray) -> list[int]:
    """The ends of a stretch's lines when its first line is begun at one end and each next one at its nearer end."""
    n = len(ends) // 2
    row = [first, (first + n) % (2 * n)]
    for line in lines[1:]:
        here = ends[row[-1]]
        begin, finish = (float(np.hypot(*(ends[end] - here))) for end in (line, line + n))
        row += [line, line + n] if begin <= finish else [line + n, line]
    return row


def _length(row: FloatArray) -> float:
    """Length of the ways between the lines of a row of ends (2n, 2)."""
    return float(np.hypot(*(row[2::2] - row[1:-1:2]).T).sum())


def _beam_search(cost: FloatArray, first: FloatArray, stretch: NDArray[np.intp]) -> list[int]:
    """Options in the order that costs least, one for every stretch.

    cost: (k, k) of going on from one option to another. first: (k,) of beginning with one. stretch: (k,) that an option belongs to.
    """
    bit = np.left_shift(np.uint64(1), stretch.astype(np.uint64))
    done, last, spent = bit, np.arange(len(first)), first
    steps = [(np.zeros(len(first), np.intp), last)]
    for _ in range(int(stretch.max())):
        total = spent[:, None] + cost[last]
        total[(done[:, None] & bit[None]) != 0] = np.inf
        most = min(4 * BEAM, total.size)
        chosen = np.argpartition(total.ravel(), most - 1)[:most]
        chosen = chosen[np.isfinite(total.ravel()[chosen])]
        before, option = np.divmod(chosen, len(first))
        spent_then, done_then = total.ravel()[chosen], done[before] | bit[option]
        # Of beginnings with the same stretches run and the same end only the cheapest can matter.
        order = np.lexsort((spent_then, done_then, option))
        new = np.ones(len(order), bool)
        new[1:] = (done_then[order][1:] != done_then[order][:-1]) | (option[order][1:] != option[order][:-1])
        kept = order[new]
        kept = kept[np.argsort(spent_then[kept], kind="stable")[:BEAM]]
        done, last, spent = done_then[kept], option[kept], spent_then[kept]
        steps.append((before[kept], last))
    number = int(spent.argmin())
    found = []
    for before, option in reversed(steps):
        found.append(int(option[number]))
        number = int(before[number])
    return found[::-1]
