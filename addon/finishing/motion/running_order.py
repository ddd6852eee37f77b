"""Running order of pass lines: which line comes next, from which end, with the least time for the moves between them."""

from __future__ import annotations

import numpy as np

from ..core.array_types import FloatArray, Mask
from ..core.polyline import is_closed, travelled
from .group_order import order_by_groups
from .move_costs import MoveCosts
from .order_exchange import OrderExchange
from .ring_directions import with_ring_directions
from .visit import Visit

RING_ENTRY_STEP = 4.0
"""mm between the places at which a closed line may be entered."""

MOST_LINES_IMPROVED = 1500
"""Above this many lines the order found by nearest entries stays as it is: groups are found by comparing every line with every other, which
takes some 150 MB for 1500 lines."""

FORGET_EVERY = 64
"""Visits after which lines that are done are dropped from the arrays that are searched, so that long lists do not slow the search down."""


def running_order(lines: list[FloatArray], start: FloatArray, may_reverse: Mask, costs: MoveCosts) -> list[Visit]:
    """Order lines (n, 2 or 3) by groups of neighbours, or from nearest end to nearest end where there are too many of them or where they have one
    direction, and improve the order by exchanging the moves between them. Run backwards an order takes as long: it begins with the line that was
    laid first, where all lines may be turned.

    start: x, y where the cutter comes from. may_reverse: (n,), which lines may run backwards.
    """
    if not lines:
        return []
    visits = _ordered(lines, np.asarray(start, float)[:2], may_reverse, costs)
    return with_ring_directions(lines, visits, may_reverse)


def _ordered(lines: list[FloatArray], start: FloatArray, may_reverse: Mask, costs: MoveCosts) -> list[Visit]:
    """As `running_order`, with closed lines that may be turned run in any direction."""
    visits = nearest_entries(lines, start, may_reverse)
    n = len(visits)
    if not 1 < n <= MOST_LINES_IMPROVED:
        return visits
    begins, finishes = ends_of(lines, visits)
    # Two lines are no groups: they stay in the order in which they were found unless an exchange gains.
    row = order_by_groups(begins, finishes, costs) if may_reverse.all() and n > 2 else None
    if row is None:
        row = [end for k in range(n) for end in (k, k + n)]
    turnable = may_reverse[[visit.line for visit in visits]]
    best = OrderExchange(begins, finishes, costs, turnable).improved(row)
    if may_reverse.all() and visits[best[0] % n].line > visits[best[-1] % n].line:
        best = best[::-1]
    return [Visit(visits[end % n].line, visits[end % n].reverse != (end >= n), visits[end % n].entry) for end in best[::2]]


def ends_of(lines: list[FloatArray], visits: list[Visit]) -> tuple[FloatArray, FloatArray]:
    """Where each visit begins and ends in plan, two arrays (n, 2)."""
    begins, finishes = [], []
    for visit in visits:
        line = lines[visit.line]
        first, last = (line[visit.entry], line[visit.entry]) if is_closed(line) else (line[0], line[-1])
        if visit.reverse:
            first, last = last, first
        begins.append(first[:2])
        finishes.append(last[:2])
    return np.array(begins), np.array(finishes)


def as_run(line: FloatArray, visit: Visit) -> FloatArray:
    """The line's points in the direction of its visit."""
    if is_closed(line):
        line = np.concatenate([line[visit.entry : -1], line[: visit.entry + 1]])
    return line[::-1] if visit.reverse else line


def nearest_entries(lines: list[FloatArray], start: FloatArray, may_reverse: Mask) -> list[Visit]:
    """The order in which the cutter always goes on to the nearest entry of the lines that are not yet run.

    Open lines are entered at their first point, and at their last one where they may run backwards; closed lines at places
    RING_ENTRY_STEP apart. may_reverse: (n,).
    """
    places, owners, points, reversals = [], [], [], []
    for number, line in enumerate(lines):
        if is_closed(line):
            count = max(1, int(travelled(line)[-1] / RING_ENTRY_STEP))
            chosen = np.unique(np.linspace(0, len(line) - 2, count).astype(int))
            reverse = np.zeros(len(chosen), bool)
        else:
            chosen = np.array([0, len(line) - 1] if may_reverse[number] else [0])
            reverse = chosen > 0
        places.append(line[chosen, :2])
        owners.append(np.full(len(chosen), number))
        points.append(chosen)
        reversals.append(reverse)
    place, owner, point, reverse = (np.concatenate(a) for a in (places, owners, points, reversals))
    waiting = np.ones(len(place), bool)
    at, visits = start, []
    first_of = np.searchsorted(owner, np.arange(len(lines) + 1))
    for _ in range(len(lines)):
        squared = (place[:, 0] - at[0]) ** 2 + (place[:, 1] - at[1]) ** 2
        squared[~waiting] = np.inf
        best = int(squared.argmin())
        number = int(owner[best])
        line = lines[number]
        closed = is_closed(line)
        visits.append(Visit(number, bool(reverse[best]), int(point[best]) if closed else 0))
        at = place[best] if closed else line[0 if reverse[best] else -1, :2]
        waiting[first_of[number] : first_of[number + 1]] = False
        if len(visits) % FORGET_EVERY == 0:
            place, owner, point, reverse, waiting = (a[waiting] for a in (place, owner, point, reverse, waiting))
            first_of = np.searchsorted(owner, np.arange(len(lines) + 1))
    return visits
