"""The order in which groups of neighbouring lines are run, and at which end each is begun.

Derivation. A group can be run in four ways, its options: begun at either end of its first or of its last line. An order of k groups is
a sequence of k options, one of each group; it costs the moves from where one option finishes to where the next begins, and for every
option the moves within it, counted over the group's cheapest option. What follows a beginning of an order depends on two things only:
which groups it has run, and the option it ended with. So among all beginnings that agree in both, the cheapest alone can be part of
the best order (the dynamic programming of M. Held and R. Karp 1962, J. SIAM 10:196). There are C(k, j) * 4j such states after j groups,
too many for large k; of them only the BEAM cheapest are kept (a beam search), which is k steps of at most BEAM * 4k candidates. Up to
four groups no state is ever dropped and the order found is the best of all.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ..core.array_types import FloatArray
from ..core.smallest import smallest
from .line_groups import line_groups
from .move_costs import MoveCosts

MOST_GROUPS = 60
"""Of more groups no order is looked for: which of them are done is kept in the bits of one 64 bit number."""

OPTIONS = 4
"""Ways to run a group: from either end of its first or of its last line."""

BEAM = 200
"""Beginnings of an order that are kept. Measured on 18 orders of the example bodies, with the exchange that follows: all moves between lines
together take 293 s with 100 of them, 288 with 200, 283 with 400 and 275 with 1600, of some hours of run time."""

CANDIDATES = 4 * BEAM
"""The cheapest continuations of one step, which are then compared for the states they lead to. Several lead to one state; four to every
state that is kept leave enough different ones."""


def order_by_groups(begins: FloatArray, finishes: FloatArray, costs: MoveCosts) -> list[int] | None:
    """Line ends in a good running order, two for every line; None where there are too many groups.

    begins, finishes: (n, 2) mm; end k is where line k begins, end k + n where it finishes.
    """
    groups = line_groups(begins, finishes)
    if len(groups) > MOST_GROUPS:
        return None
    ends = np.concatenate([begins, finishes])
    n = len(begins)
    options: list[list[int]] = []
    for lines in groups:
        for first in (lines[0], lines[0] + n):
            row = _to_and_fro(lines, first, ends)
            options += [row, row[::-1]]
    inner = np.array([_length_between(ends[row]) for row in options]).reshape(-1, OPTIONS)
    extra = (inner - inner.min(axis=1, keepdims=True)).ravel() / costs.link_speed
    begin, finish = (ends[[row[place] for row in options]] for place in (0, -1))
    group = np.repeat(np.arange(len(groups)), OPTIONS)
    # Options follow each other in pairs of one row and its reverse: a move is the same as the one back between the reverses.
    here, there = np.nonzero(group[:, None] < group[None])
    between = np.full((len(options), len(options)), np.inf)
    between[here, there] = costs.of(np.stack([finish[here], begin[there]], axis=1))
    between[there ^ 1, here ^ 1] = between[here, there]
    return [end for number in cheapest_order(between + extra, extra, group) for end in options[number]]


def cheapest_order(cost: FloatArray, first: FloatArray, group: NDArray[np.intp]) -> list[int]:
    """Numbers of options in the order that costs least, one for every group, as far as a beam search finds it.

    cost: (k, k) of going on from one option to another. first: (k,) of beginning with one. group: (k,) that an option belongs to.
    """
    bit = np.left_shift(np.uint64(1), group.astype(np.uint64))
    done, last, spent = bit, np.arange(len(first)), first
    steps = [(np.zeros(len(first), np.intp), last)]
    for _ in range(int(group.max())):
        total = spent[:, None] + cost[last]
        total[(done[:, None] & bit[None]) != 0] = np.inf
        most = min(CANDIDATES, total.size)
        chosen = smallest(total.ravel(), most)
        chosen = chosen[np.isfinite(total.ravel()[chosen])]
        before, option = np.divmod(chosen, len(first))
        spent_then, done_then = total.ravel()[chosen], done[before] | bit[option]
        # The cheapest of every state: it comes first among those with the same groups done and the same option last.
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


def _to_and_fro(lines: list[int], first: int, ends: FloatArray) -> list[int]:
    """The ends of a group's lines when its first line is begun at one end and each next one at its nearer end."""
    n = len(ends) // 2
    row = [first, (first + n) % (2 * n)]
    for line in lines[1:]:
        here = ends[row[-1]]
        begin, finish = (float(np.hypot(*(ends[end] - here))) for end in (line, line + n))
        row += [line, line + n] if begin <= finish else [line + n, line]
    return row


def _length_between(row: FloatArray) -> float:
    """Length of the moves between the lines of a row of ends (2n, 2)."""
    return float(np.hypot(*(row[2::2] - row[1:-1:2]).T).sum())
