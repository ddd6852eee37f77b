"""Running order of pass lines: which line comes next, from which end, with the least way between them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .grid import FloatArray
from .polyline import is_closed, travelled

RING_ENTRY_STEP = 4.0
"""mm between the places at which a closed line may be entered."""

MOST_LINES_IMPROVED = 1500
"""Above this many lines the order found by nearest ends is left as it is: the table of all ways would grow too large."""

ROUNDS = 6


@dataclass(frozen=True)
class Visit:
    """One line in running order. line: its number in the list given. reverse: run it from its end. entry: for a closed line,
    number of the point it is entered and left at.
    """

    line: int
    reverse: bool
    entry: int


def way_cost(distance: FloatArray, link_speed: float, lift_seconds: float, air_speed: float) -> FloatArray:
    """Seconds that a way of some mm between two lines is worth: along the surface, or lifted when that is quicker.

    Speeds in mm/s. lift_seconds: what going up and down takes.
    """
    return np.minimum(distance / link_speed, lift_seconds + distance / air_speed)


def running_order(
    lines: list[FloatArray],
    start: FloatArray,
    may_reverse: bool,
    link_speed: float,
    lift_seconds: float,
    air_speed: float,
) -> list[Visit]:
    """Order lines (n, 2 or 3) from nearest end to nearest end, then improve the order by turning and moving parts of it.

    start: x, y where the cutter comes from. may_reverse: whether open lines may run backwards.
    """
    if not lines:
        return []
    visits = _nearest_ends(lines, np.asarray(start, float)[:2], may_reverse)
    if 2 < len(visits) <= MOST_LINES_IMPROVED:
        visits = _improved(lines, visits, may_reverse, link_speed, lift_seconds, air_speed)
    return visits


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
    """The line's points in the sense of its visit."""
    if is_closed(line):
        line = np.concatenate([line[visit.entry : -1], line[: visit.entry + 1]])
    return line[::-1] if visit.reverse else line


def _nearest_ends(lines: list[FloatArray], start: FloatArray, may_reverse: bool) -> list[Visit]:
    """Always go to the nearest entry of the lines that are left."""
    places, owners, points, reversals = [], [], [], []
    for number, line in enumerate(lines):
        if is_closed(line):
            count = max(1, int(travelled(line)[-1] / RING_ENTRY_STEP))
            chosen = np.unique(np.linspace(0, len(line) - 2, count).astype(int))
            reverse = np.zeros(len(chosen), bool)
        else:
            chosen = np.array([0, len(line) - 1] if may_reverse else [0])
            reverse = chosen > 0
        places.append(line[chosen, :2])
        owners.append(np.full(len(chosen), number))
        points.append(chosen)
        reversals.append(reverse)
    place, owner, point, reverse = (np.concatenate(a) for a in (places, owners, points, reversals))
    left = np.ones(len(place), bool)
    at, visits = start, []
    first_of = np.searchsorted(owner, np.arange(len(lines) + 1))
    for _ in range(len(lines)):
        squared = (place[:, 0] - at[0]) ** 2 + (place[:, 1] - at[1]) ** 2
        squared[~left] = np.inf
        best = int(squared.argmin())
        number = int(owner[best])
        line = lines[number]
        closed = is_closed(line)
        visits.append(Visit(number, bool(reverse[best]), int(point[best]) if closed else 0))
        at = place[best] if closed else line[0 if reverse[best] else -1, :2]
        left[first_of[number] : first_of[number + 1]] = False
        if len(visits) % 64 == 0:  # forget lines that are done, so that long lists do not slow down
            place, owner, point, reverse, left = (a[left] for a in (place, owner, point, reverse, left))
            first_of = np.searchsorted(owner, np.arange(len(lines) + 1))
    return visits


def _improved(
    lines: list[FloatArray], visits: list[Visit], may_reverse: bool, link_speed: float, lift_seconds: float, air_speed: float
) -> list[Visit]:
    """Shorten the order: turn round stretches of it (2-opt) and move single lines elsewhere (or-opt), while that gains."""
    begins, finishes = ends_of(lines, visits)
    n = len(visits)
    # Terminals 0..n-1 are the beginnings, n..2n-1 the ends of the visits as first ordered.
    terminals = np.concatenate([begins, finishes])
    distance = np.linalg.norm(terminals[:, None] - terminals[None], axis=2)
    cost = way_cost(distance, link_speed, lift_seconds, air_speed)
    order = np.arange(n)
    turned = np.zeros(n, bool)
    for _ in range(ROUNDS):
        gain = 0.0
        if may_reverse:
            gain += _turn_stretches(order, turned, cost)
        gain += _move_lines(order, turned, cost, may_reverse)
        if gain < 1e-6:
            break
    return [Visit(visits[i].line, visits[i].reverse != bool(t), visits[i].entry) for i, t in zip(order, turned, strict=True)]


def _terminals(order: NDArray[np.intp], turned: NDArray[np.bool_], n: int) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Terminal numbers at which each place of the order begins and ends."""
    return np.where(turned, order + n, order), np.where(turned, order, order + n)


def _turn_stretches(order: NDArray[np.intp], turned: NDArray[np.bool_], cost: FloatArray) -> float:
    """One sweep of 2-opt: for every place turn round the stretch that begins there where that gains most. In place."""
    n = len(order)
    total = 0.0
    for i in range(n - 1):
        begin, finish = _terminals(order, turned, n)
        # Turn i..j round: the ways (i-1 -> i) and (j -> j+1) become (i-1 -> end of j) and (begin of i -> j+1).
        j = np.arange(i, n)
        before = cost[finish[i - 1], begin[i]] if i else 0.0
        change = np.zeros(len(j))
        if i:
            change += cost[finish[i - 1], finish[j]] - before
        inner = j < n - 1
        change[inner] += cost[begin[i], begin[j[inner] + 1]] - cost[finish[j[inner]], begin[j[inner] + 1]]
        best = int(change.argmin())
        if change[best] < -1e-9:
            last = int(j[best]) + 1
            order[i:last] = order[i:last][::-1].copy()
            turned[i:last] = ~turned[i:last][::-1]
            total -= float(change[best])
    return total


def _move_lines(order: NDArray[np.intp], turned: NDArray[np.bool_], cost: FloatArray, may_reverse: bool) -> float:
    """One sweep of or-opt: move every single line to where it costs least, turned or not. In place."""
    n = len(order)
    total = 0.0
    for line in range(n):
        at = int(np.flatnonzero(order == line)[0])
        begin, finish = _terminals(order, turned, n)
        saved = 0.0
        if at > 0:
            saved += cost[finish[at - 1], begin[at]]
        if at < n - 1:
            saved += cost[finish[at], begin[at + 1]]
        if 0 < at < n - 1:
            saved -= cost[finish[at - 1], begin[at + 1]]
        rest_begin, rest_finish = np.delete(begin, at), np.delete(finish, at)
        joint = np.zeros(n)
        joint[1:-1] = cost[rest_finish[:-1], rest_begin[1:]]
        best_change, best_place, best_turned = -1e-9, -1, False
        for flip in (False, True) if may_reverse else (False,):
            first, last = (finish[at], begin[at]) if flip else (begin[at], finish[at])
            added = -joint
            added[1:] += cost[rest_finish, first]
            added[:-1] += cost[last, rest_begin]
            place = int(added.argmin())
            if added[place] - saved < best_change:
                best_change, best_place, best_turned = float(added[place] - saved), place, flip
        if best_place >= 0:
            flag = turned[at] != best_turned
            order[:] = np.insert(np.delete(order, at), best_place, line)
            turned[:] = np.insert(np.delete(turned, at), best_place, flag)
            total -= best_change
    return total
