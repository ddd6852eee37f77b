"""A running order made better by exchanging the ways between its lines.

Chains of exchanges as by S. Lin and B. W. Kernighan 1973 (Operations Research 21:498): a way is taken out, a shorter one put in from
one of its ends, the way that this displaces taken out, and so on, as long as what was saved stays above what was added. One step
of a chain turns round a stretch of the order. Between passes that run to and fro, a long chain shifts a whole region by one line,
so that it is left at the other side. Where no chain gains, a few lines in a row are moved elsewhere.
"""

from __future__ import annotations

from math import hypot

import numpy as np

from ..core.grid import FloatArray
from .move_costs import SHORT, WayCosts

NEAREST = 7
"""Ends near an end to which new ways are tried."""

LONGEST_CHAIN = 150
"""Exchanges in one chain at most."""

MOVED_TOGETHER = 3
"""Lines in a row that are moved elsewhere at most."""

LEAST_GAIN = 1e-9
NONE = -1


class WayExchange:
    """Orders of n lines, each a row of 2n ends: two for every line, as it begins and as it finishes. Ways lie between row[2k + 1] and
    row[2k + 2]; the row's own ends are free.

    begins, finishes: (n, 2) mm; end k is where line k begins, end k + n where it finishes. may_reverse: whether lines may run from
    their finish.
    """

    def __init__(self, begins: FloatArray, finishes: FloatArray, costs: WayCosts, may_reverse: bool) -> None:
        self._n, self._costs, self._may_reverse = len(begins), costs, may_reverse
        self._places = places = np.concatenate([begins, finishes])
        self._x, self._y = places[:, 0].tolist(), places[:, 1].tolist()
        self._long: dict[tuple[int, int], float] = {}
        self._near = _nearest(places)
        self._row: list[int] = []
        self._position = [0] * (2 * self._n)

    def improved(self, row: list[int]) -> list[int]:
        """A row when no exchange that is looked for gains any more."""
        self._row = list(row)
        self._number(0, len(row))
        waiting = list(range(2 * self._n))
        queued = set(waiting)
        while waiting:
            end = waiting.pop()
            queued.discard(end)
            while touched := ((self._may_reverse and self._chain(end)) or self._move(end)):
                for other in touched:
                    if other not in queued:
                        queued.add(other)
                        waiting.append(other)
        return self._row

    def _way(self, a: int, b: int) -> float:
        """Cost of the way between two ends; nothing at the row's own ends."""
        if a < 0 or b < 0:
            return 0.0
        distance = hypot(self._x[a] - self._x[b], self._y[a] - self._y[b])
        if distance <= SHORT:
            return self._costs.least(distance)
        pair = (a, b) if a < b else (b, a)
        if pair not in self._long:
            self._long[pair] = float(self._costs.of(self._places[[pair]])[0])
        return self._long[pair]

    def _least(self, a: int, b: int) -> float:
        """What the way between two ends costs at least: whether it is barred is looked at only where that matters."""
        return self._costs.least(hypot(self._x[a] - self._x[b], self._y[a] - self._y[b])) if a >= 0 and b >= 0 else 0.0

    def _number(self, first: int, last: int) -> None:
        for place in range(first, last):
            self._position[self._row[place]] = place

    def _other(self, end: int) -> int:
        """The end at the other side of the way from an end, or NONE at the row's own ends."""
        place = self._position[end] + (1 if self._position[end] & 1 else -1)
        return self._row[place] if 0 <= place < len(self._row) else NONE

    def _turn(self, first: int, last: int) -> None:
        """Turn round the stretch row[first:last]."""
        self._row[first:last] = self._row[first:last][::-1]
        self._number(first, last)

    def _chain(self, start: int) -> list[int]:
        """One chain of exchanges that begins by taking out the way from an end. Returns the ends whose ways have changed, none without gain."""
        fixed = self._other(start)
        if fixed == NONE:
            return []
        saved, here = self._way(start, fixed), start
        turns: list[tuple[int, int]] = []
        added: set[tuple[int, int]] = set()
        touched = [start, fixed]
        best, best_count = LEAST_GAIN, 0
        while len(turns) < LONGEST_CHAIN:
            best_saved, found = -np.inf, (NONE, NONE)
            side = self._position[here] & 1
            for near in self._near[here]:
                rest = saved - self._way(here, near)
                if rest <= LEAST_GAIN:
                    break
                if near == fixed or self._position[near] & 1 != side:
                    continue
                displaced = self._other(near)
                if (near, displaced) in added:
                    continue
                rest += self._way(near, displaced)
                if rest > best_saved:
                    best_saved, found = rest, (near, displaced)
            near, displaced = found
            if near == NONE:
                break
            low, high = sorted((self._position[here], self._position[near]))
            turns.append((low + side, high + side))
            self._turn(*turns[-1])
            added |= {(here, near), (near, here)}
            touched += [near] if displaced == NONE else [near, displaced]
            saved = best_saved
            # Closing the row joins the displaced end with the one that lost its way at first.
            if saved - self._least(fixed, displaced) > best and saved - self._way(fixed, displaced) > best:
                best, best_count = saved - self._way(fixed, displaced), len(turns)
            if displaced == NONE:
                break
            here = displaced
        for first, last in reversed(turns[best_count:]):
            self._turn(first, last)
        return touched if best_count else []

    def _move(self, start: int) -> list[int]:
        """Move the lines in a row that end with an end to where that gains most. Returns the ends whose ways have changed."""
        row, position = self._row, self._position
        place, behind = position[start], self._other(start)
        lost = self._way(start, behind)
        best, found = LEAST_GAIN, (0, 0, NONE)
        for near in self._near[start]:
            gain = lost - self._way(start, near)
            if behind != NONE and gain <= LEAST_GAIN:
                break
            at, displaced = position[near], self._other(near)
            if displaced == start or not (self._may_reverse or (place ^ at) & 1):
                continue
            gain += self._way(near, displaced)
            for count in range(1, MOVED_TOGETHER + 1):
                first, last = (place - 2 * count + 1, place + 1) if place & 1 else (place, place + 2 * count)
                if first < 0 or last > len(row) or first <= at < last or (displaced != NONE and first <= position[displaced] < last):
                    break
                far = row[first] if place & 1 else row[last - 1]
                before = self._other(far)
                freed = gain + self._way(far, before)
                if freed - self._least(far, displaced) - self._least(behind, before) <= best:
                    continue
                change = freed - self._way(far, displaced) - self._way(behind, before)
                if change > best:
                    best, found = change, (first, last, near)
        first, last, near = found
        if near == NONE:
            return []
        moved = row[first:last]
        touched = [moved[0], moved[-1], near, behind, self._other(near), self._other(moved[0]), self._other(moved[-1])]
        del row[first:last]
        at = position[near] - (last - first if position[near] >= last else 0)
        if (moved[0] == start) != bool(at & 1):
            moved.reverse()
        at += at & 1
        row[at:at] = moved
        self._number(min(first, at), max(last, at + len(moved)))
        return [end for end in touched if end != NONE]


def _nearest(places: FloatArray, at_once: int = 512) -> list[list[int]]:
    """For every end the NEAREST ends of other lines, the nearest first."""
    count = len(places)
    most = min(NEAREST, count - 2)
    number = np.arange(count)
    out: list[list[int]] = []
    for first in range(0, count, at_once):
        part = number[first : first + at_once]
        squared = ((places[part, None] - places[None]) ** 2).sum(axis=2)
        squared[part[:, None] % (count // 2) == number % (count // 2)] = np.inf
        chosen = np.argpartition(squared, most - 1, axis=1)[:, :most]
        sorted_too = np.argsort(np.take_along_axis(squared, chosen, axis=1), axis=1)
        out += np.take_along_axis(chosen, sorted_too, axis=1).tolist()
    return out
