"""A running order made better by exchanging the moves between its lines.

Derivation (S. Lin and B. W. Kernighan 1973, Operations Research 21:498, for a row with two free ends). An order is a row of ends, two for
every line; moves lie between row[2k + 1] and row[2k + 2]. Take out the move from an end a to its partner f. The row is now open between a
and f, and what it costs less is saved = c(a, f). Put in a move from a to an end n nearby instead, which displaces the move from n to its
own partner d; turning round the part of the row between a and n makes it a row again, in which f now stands beside d:

    ... x a | f ... n | d y ...   ->   ... x a | n ... f | d y ...

so that row costs less than the first one by saved - c(a, n) + c(n, d) - c(f, d). Leave the last of these moves, the closing one, out of
account, go on from d in place of a, and the chain grows: f stays, and after every step there is a whole row whose gain is what has been
saved so far less its own closing move. Only chains whose saving stays above zero after each move put in need be followed: numbers with a
positive sum have a rotation all of whose partial sums are positive, so what gains can be begun at such a place. Hence only ends nearby are
tried as n: the move put in must cost less than what is saved. At each step the n that saves most is taken, no move that was put in is taken
out again (which ends every chain), and the best row of the whole chain is kept.

A chain turns parts of the row round; none that holds a line of one direction. Where no chain gains, up to MOVED_TOGETHER lines in a row are
relocated: cut out, the gap closed, and put in beside an end nearby. Where lines have one direction, two parts that follow each other change
places as they are besides, however long they are (S. Lin 1965, Bell System Technical Journal 44:2245, the one exchange of three moves that
turns nothing round):

    ... a | b ... c | d ... e | f ...   ->   ... a | d ... e | b ... c | f ...

Ends whose moves have changed are looked at again until none gains.
"""

from __future__ import annotations

from math import hypot

import numpy as np

from ..core.array_types import FloatArray, Mask
from ..core.smallest import smallest
from .move_costs import MoveCosts

NEAREST = 7
"""Ends near an end to which new moves are tried. Lin and Kernighan take 5; at the border of even passes 7 are the ends of the next three
lines on both sides and one more."""

LONGEST_CHAIN = 150
"""Exchanges in one chain at most. On the example bodies no chain that gains is longer than 5, and none that is tried reaches the limit: it
only keeps a chain from running over thousands of lines."""

MOVED_TOGETHER = 3
"""Lines in a row that are relocated at most (I. Or 1976 relocates one to three)."""

LEAST_GAIN = 1e-9
"""Seconds; less is rounding, and would let two rows of one cost be exchanged for ever."""

AT_ONCE = 512
"""Ends whose distances to all others are worked out in one piece of memory: 25 MB for 1500 lines."""

NONE = -1
"""In place of an end beyond the row's own ends."""


class OrderExchange:
    """Orders of n lines, each a row of 2n ends: two for every line, as it begins and as it finishes. Moves lie between row[2k + 1] and
    row[2k + 2]; the row's own ends are free.

    begins, finishes: (n, 2) mm; end k is where line k begins, end k + n where it finishes. may_reverse: (n,), which lines may run from
    their finish.
    """

    def __init__(self, begins: FloatArray, finishes: FloatArray, costs: MoveCosts, may_reverse: Mask) -> None:
        self._n, self._costs = len(begins), costs
        self._all_reverse, self._any_reverse = bool(may_reverse.all()), bool(may_reverse.any())
        self._reverse: list[bool] = may_reverse.tolist()
        self._places = places = np.concatenate([begins, finishes])
        self._x, self._y = places[:, 0].tolist(), places[:, 1].tolist()
        self._near = nearest_ends(places, may_reverse)
        self._long: dict[tuple[int, int], float] = {} if costs.short else self._near_costs()
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
            while touched := ((self._any_reverse and self._chain(end)) or self._relocate(end) or (not self._all_reverse and self._swap(end))):
                for other in touched:
                    if other not in queued:
                        queued.add(other)
                        waiting.append(other)
        return self._row

    def _cost(self, a: int, b: int) -> float:
        """Cost of the move between two ends; nothing at the row's own ends."""
        if a < 0 or b < 0:
            return 0.0
        distance = hypot(self._x[a] - self._x[b], self._y[a] - self._y[b])
        if distance <= self._costs.short:
            return self._costs.least(distance)
        pair = (a, b) if a < b else (b, a)
        if pair not in self._long:
            self._long[pair] = float(self._costs.of(self._places[[pair]])[0])
        return self._long[pair]

    def _near_costs(self) -> dict[tuple[int, int], float]:
        """Costs of all moves between ends nearby, found together: where short moves are looked at too, there are many of them."""
        pairs = sorted({(min(a, b), max(a, b)) for a, near in enumerate(self._near) for b in near})
        return dict(zip(pairs, self._costs.of(self._places[np.array(pairs, int).reshape(-1, 2)]).tolist(), strict=True))

    def _least(self, a: int, b: int) -> float:
        """What the move between two ends costs at least: whether it is barred is looked at only where that matters."""
        return self._costs.least(hypot(self._x[a] - self._x[b], self._y[a] - self._y[b])) if a >= 0 and b >= 0 else 0.0

    def _number(self, first: int, last: int) -> None:
        """Note the positions of the ends row[first:last]."""
        for place in range(first, last):
            self._position[self._row[place]] = place

    def _partner(self, end: int) -> int:
        """The end at the other side of the move from an end, or NONE at the row's own ends."""
        place = self._position[end] + (1 if self._position[end] & 1 else -1)
        return self._row[place] if 0 <= place < len(self._row) else NONE

    def _turn_round(self, first: int, last: int) -> None:
        """Reverse the part row[first:last]."""
        self._row[first:last] = self._row[first:last][::-1]
        self._number(first, last)

    def _chain(self, start: int) -> list[int]:
        """One chain of exchanges that begins by taking out the move from an end. Returns the ends whose moves have changed, none without gain."""
        fixed = self._partner(start)
        if fixed == NONE:
            return []
        saved, here = self._cost(start, fixed), start
        turns: list[tuple[int, int]] = []
        added: set[tuple[int, int]] = set()
        touched = [start, fixed]
        best, best_count = LEAST_GAIN, 0
        while len(turns) < LONGEST_CHAIN:
            saved, near, displaced = self._best_step(here, saved, added)
            if near == NONE:
                break
            side = self._position[here] & 1
            low, high = sorted((self._position[here], self._position[near]))
            turns.append((low + side, high + side))
            self._turn_round(*turns[-1])
            added |= {(here, near), (near, here)}
            touched += [near] if displaced == NONE else [near, displaced]
            if saved - self._least(fixed, displaced) > best and saved - self._cost(fixed, displaced) > best:
                best, best_count = saved - self._cost(fixed, displaced), len(turns)
            if displaced == NONE:
                break
            here = displaced
        for first, last in reversed(turns[best_count:]):
            self._turn_round(first, last)
        return touched if best_count else []

    def _best_step(self, here: int, saved: float, added: set[tuple[int, int]]) -> tuple[float, int, int]:
        """The step of a chain that saves most: what is saved after it, the end that a move is put in to, and the end that this displaces."""
        best_saved, found = -np.inf, (NONE, NONE)
        side = self._position[here] & 1
        for near in self._near[here]:
            rest = saved - self._cost(here, near)
            if rest <= LEAST_GAIN:
                break
            # Joined to an end of the other kind, a turn would leave a ring and a rest in place of a row.
            if self._position[near] & 1 != side:
                continue
            displaced = self._partner(near)
            if (near, displaced) in added or not self._may_turn(self._position[here] + side, self._position[near] + side):
                continue
            rest += self._cost(near, displaced)
            if rest > best_saved:
                best_saved, found = rest, (near, displaced)
        return best_saved, *found

    def _may_turn(self, first: int, last: int) -> bool:
        """Whether all lines of the part of the row between two places may be run the other way."""
        low, high = min(first, last), max(first, last)
        return self._all_reverse or all(self._reverse[end % self._n] for end in self._row[low:high:2])

    def _relocate(self, start: int) -> list[int]:
        """Put the lines in a row that end with an end where that gains most. Returns the ends whose moves have changed."""
        first, last, near = self._best_relocation(start)
        if near == NONE:
            return []
        row, position = self._row, self._position
        moved = row[first:last]
        touched = [moved[0], moved[-1], near, self._partner(start), self._partner(near), self._partner(moved[0]), self._partner(moved[-1])]
        del row[first:last]
        at = position[near] - (last - first if position[near] >= last else 0)
        if (moved[0] == start) != bool(at & 1):
            moved.reverse()
        at += at & 1
        row[at:at] = moved
        self._number(min(first, at), max(last, at + len(moved)))
        return [end for end in touched if end != NONE]

    def _best_relocation(self, start: int) -> tuple[int, int, int]:
        """Which part of the row, row[first:last] with an end at its border, is best put beside which end; NONE for that where none gains."""
        row, position = self._row, self._position
        place, behind = position[start], self._partner(start)
        lost = self._cost(start, behind)
        best, found = LEAST_GAIN, (0, 0, NONE)
        for near in self._near[start]:
            gain = lost - self._cost(start, near)
            if behind != NONE and gain <= LEAST_GAIN:
                break
            at, displaced = position[near], self._partner(near)
            turned = not (place ^ at) & 1
            gain += self._cost(near, displaced)
            for count in range(1, MOVED_TOGETHER + 1):
                first, last = (place - 2 * count + 1, place + 1) if place & 1 else (place, place + 2 * count)
                if first < 0 or last > len(row) or first <= at < last or (displaced != NONE and first <= position[displaced] < last):
                    break
                if turned and not self._may_turn(first, last):
                    break
                far = row[first] if place & 1 else row[last - 1]
                before = self._partner(far)
                change = self._saved(gain + self._cost(far, before), ((far, displaced), (behind, before)), best)
                if change > best:
                    best, found = change, (first, last, near)
        return found

    def _saved(self, freed: float, moves: tuple[tuple[int, int], tuple[int, int]], best: float) -> float:
        """What is saved of the seconds that are freed where two moves are put in; the best so far where it cannot be more than that, which is seen
        without looking whether the moves are barred.
        """
        if freed - sum(self._least(*move) for move in moves) <= best:
            return best
        return freed - sum(self._cost(*move) for move in moves)

    def _swap(self, start: int) -> list[int]:
        """Have two parts of the row that follow each other change places where that gains most. Returns the ends whose moves have changed."""
        before = start if self._position[start] & 1 else self._partner(start)
        if before == NONE:
            return []
        behind, row, position = self._partner(before), self._row, self._position
        lost = self._cost(before, behind)
        best, found = LEAST_GAIN, (NONE, NONE)
        for entered in self._near[before]:
            gain = lost - self._cost(before, entered)
            if behind != NONE and gain <= LEAST_GAIN:
                break
            if position[entered] & 1 or entered == behind:
                continue
            left = self._partner(entered)
            gain += self._cost(left, entered)
            for finish in self._third_moves(before, behind, entered, left):
                onward = self._partner(finish)
                change = self._saved(gain + self._cost(finish, onward), ((finish, behind), (left, onward)), best)
                if change > best:
                    best, found = change, (entered, finish)
        if found[0] == NONE:
            return []
        entered, finish = found
        touched = [before, behind, entered, self._partner(entered), finish, self._partner(finish)]
        first, middle, last = sorted((position[before] + 1, position[entered], position[finish] + 1))
        row[first:last] = row[middle:last] + row[first:middle]
        self._number(first, last)
        return [end for end in touched if end != NONE]

    def _third_moves(self, before: int, behind: int, entered: int, left: int) -> list[int]:
        """Finishes after which the third move of a swap may be taken out: near where either of the other two moves must be put in, and all of them
        where the two parts are the whole row.
        """
        position = self._position
        low = position[entered]
        high = len(self._row) if low > position[before] else position[before]
        ends = [] if behind == NONE else list(self._near[behind])
        ends += [] if left == NONE else [self._partner(end) for end in self._near[left] if not position[end] & 1]
        if behind == left == NONE:
            ends = self._row[1::2]
        return [end for end in ends if end != NONE and position[end] & 1 and low < position[end] < high]


def nearest_ends(places: FloatArray, may_reverse: Mask) -> list[list[int]]:
    """For every end of n lines, places (2n, 2), the NEAREST ends of other lines, the nearest first; end k + n belongs to the line of end k.

    may_reverse: (n,). Between two lines of one direction moves lead from a finish to a beginning alone, and only such ends count.
    """
    count = len(places)
    most = min(NEAREST, count - 2)
    number = np.arange(count)
    fixed, begins = np.concatenate([~may_reverse, ~may_reverse]), number < count // 2
    out: list[list[int]] = []
    for first in range(0, count, AT_ONCE):
        part = number[first : first + AT_ONCE]
        squared = ((places[part, None] - places[None]) ** 2).sum(axis=2)
        squared[part[:, None] % (count // 2) == number % (count // 2)] = np.inf
        squared[(fixed[part, None] & fixed) & (begins[part, None] == begins)] = np.inf
        # Both ends of a closed line lie at one place: which of the two comes first must not be left to chance.
        out += smallest(squared, most).tolist()
    return out
