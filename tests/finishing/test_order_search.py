"""The search for a running order: each part against a slow plain twin, written from the derivation at the head of its module."""

from __future__ import annotations

import itertools
import sys
from math import dist

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from order_costs import even_lifts
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from addon.finishing.core.polyline import is_closed, travelled
from addon.finishing.motion import group_order as group_module
from addon.finishing.motion import order_exchange as exchange_module
from addon.finishing.motion import running_order as order_module
from addon.finishing.motion.group_order import BEAM, CANDIDATES, OPTIONS, cheapest_order, order_by_groups
from addon.finishing.motion.line_groups import FARTHEST_NEIGHBOUR, line_groups
from addon.finishing.motion.move_costs import SHORT_MOVE, MoveCosts
from addon.finishing.motion.order_exchange import LEAST_GAIN, LONGEST_CHAIN, MOVED_TOGETHER, NEAREST, OrderExchange, nearest_ends
from addon.finishing.motion.running_order import RING_ENTRY_STEP, nearest_entries, running_order

SEEDS = st.integers(0, 10**6)


def walled(moves: np.ndarray) -> np.ndarray:
    """Moves that cross x = 50 between y = 20 and 80, where nothing may run."""
    (ax, ay), (bx, by) = moves[:, 0].T, moves[:, 1].T
    with np.errstate(divide="ignore", invalid="ignore"):
        y = ay + (50 - ax) / (bx - ax) * (by - ay)
    return ((ax - 50) * (bx - 50) < 0) & (np.abs(y - 50) < 30)


COSTS = MoveCosts(50.0, even_lifts(3.0), 80.0, walled)


def lines_at_random(seed: int, count: int) -> tuple[np.ndarray, np.ndarray]:
    begins, finishes = np.random.default_rng(seed).uniform(0, 100, (2, count, 2))
    return begins, finishes


def cost(a: np.ndarray, b: np.ndarray) -> float:
    """Seconds of one move, by the meaning of MoveCosts and without it."""
    distance = dist(a, b)
    linked, lifted = distance / 50.0, 3.0 + distance / 80.0
    if distance <= SHORT_MOVE:
        return linked
    return lifted if walled(np.array([[a, b]]))[0] else min(linked, lifted)


# ---- what a move costs


@given(SEEDS)
def test_costs_of_moves_one_by_one(seed: int) -> None:
    moves = np.random.default_rng(seed).uniform(0, 100, (40, 2, 2))
    assert COSTS.of(moves) == pytest.approx([cost(a, b) for a, b in moves], rel=1e-12)
    least = [COSTS.least(dist(a, b)) for a, b in moves]
    assert (COSTS.of(moves) >= np.array(least) - 1e-12).all()
    free = ~walled(moves)
    assert COSTS.of(moves)[free] == pytest.approx(np.array(least)[free], rel=1e-12)


def test_only_long_moves_that_might_run_on_the_surface_are_looked_at() -> None:
    # Looking at the ground is dear: a move beside or one that is lifted in any case must not be asked for.
    asked = []

    def barred(moves: np.ndarray) -> np.ndarray:
        asked.append(moves)
        return np.zeros(len(moves), bool)

    moves = np.array([[[0, 0], [9, 0]], [[0, 0], [100, 0]], [[0, 0], [400, 0]], [[0, 0], [399, 0]]], float)
    MoveCosts(50.0, even_lifts(3.0), 80.0, barred).of(moves)  # 400 mm take 8 s on the surface and in the air
    assert [move.tolist() for move in np.concatenate(asked)] == [moves[1].tolist(), moves[3].tolist()]


# ---- groups of neighbours


def plain_neighbours(begins: np.ndarray, finishes: np.ndarray) -> list[set[int]]:
    """Lines that are each other's nearest on the sides that face, by loops over all pairs."""
    n = len(begins)

    def apart(a: int, b: int) -> float:
        same = max(dist(begins[a], begins[b]), dist(finishes[a], finishes[b]))
        opposite = max(dist(begins[a], finishes[b]), dist(finishes[a], begins[b]))
        return min(same, opposite)

    def on_left(a: int, b: int) -> bool:
        along = finishes[a] - begins[a]
        offset = (begins[b] + finishes[b]) / 2 - (begins[a] + finishes[a]) / 2
        return bool(along[0] * offset[1] - along[1] * offset[0] > 0)

    chosen = []
    for a in range(n):
        mine = set()
        for side in (True, False):
            others = [b for b in range(n) if b != a and apart(a, b) <= FARTHEST_NEIGHBOUR and on_left(a, b) == side]
            if others:
                mine.add(min(others, key=lambda b: apart(a, b)))
        chosen.append(mine)
    return [{b for b in chosen[a] if a in chosen[b]} for a in range(n)]


@settings(max_examples=40, deadline=None)
@given(SEEDS)
def test_groups_are_the_chains_of_mutual_neighbours(seed: int) -> None:
    # No line has more than two neighbours, so what hangs together (scipy) is a chain from end to end, or a ring.
    rng = np.random.default_rng(seed)
    y = rng.uniform(0, 60, 25)
    begins = np.column_stack([rng.choice([0.0, 5.0, 40.0], 25), y]) + rng.normal(0, 0.3, (25, 2))
    finishes = begins + np.column_stack([rng.uniform(20, 45, 25), rng.normal(0, 1, 25)])
    turned = rng.random(25) < 0.5
    begins[turned], finishes[turned] = finishes[turned], begins[turned]
    neighbours = plain_neighbours(begins, finishes)
    pairs = np.array([(a, b) for a in range(25) for b in neighbours[a]], int).reshape(-1, 2)
    _, part = connected_components(coo_array((np.ones(len(pairs)), pairs.T), (25, 25)), directed=False)
    groups = line_groups(begins, finishes)
    assert sorted(map(sorted, groups)) == sorted(np.flatnonzero(part == k).tolist() for k in range(part.max() + 1))
    for group in groups:
        assert all(after in neighbours[before] for before, after in itertools.pairwise(group))


def test_lines_too_far_apart_are_groups_of_their_own() -> None:
    begins = np.array([[0.0, 0], [0, FARTHEST_NEIGHBOUR - 0.1], [0, 2 * FARTHEST_NEIGHBOUR + 0.1]])
    assert sorted(map(sorted, line_groups(begins, begins + [30.0, 0]))) == [[0, 1], [2]]


# ---- the order of groups


def options_at_random(seed: int, groups: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    rng = np.random.default_rng(seed)
    count = OPTIONS * groups
    group = np.repeat(np.arange(groups), OPTIONS)
    between = rng.uniform(0, 10, (count, count))
    between[group[:, None] == group[None]] = np.inf
    return between, rng.uniform(0, 5, count), group


def price(order: list[int], between: np.ndarray, first: np.ndarray) -> float:
    return float(first[order[0]] + sum(between[a, b] for a, b in itertools.pairwise(order)))


def best_of_all(between: np.ndarray, first: np.ndarray, group: np.ndarray) -> float:
    """Cost of the best order, by dynamic programming over all sets of groups (M. Held, R. Karp 1962)."""
    groups = int(group.max()) + 1
    best = {(1 << int(group[k]), k): float(first[k]) for k in range(len(first))}
    for _ in range(groups - 1):
        new: dict[tuple[int, int], float] = {}
        for (done, last), spent in best.items():
            for option in range(len(first)):
                if not done >> int(group[option]) & 1:
                    key = (done | 1 << int(group[option]), option)
                    new[key] = min(new.get(key, np.inf), spent + float(between[last, option]))
        best = new
    return min(best.values())


@settings(max_examples=30, deadline=None)
@given(SEEDS, st.integers(1, 4))
def test_up_to_four_groups_the_order_is_the_best_of_all(seed: int, groups: int) -> None:
    between, first, group = options_at_random(seed, groups)
    order = cheapest_order(between, first, group)
    assert sorted(group[order]) == list(range(groups))
    assert price(order, between, first) == pytest.approx(best_of_all(between, first, group), rel=1e-12)


def plain_beam_search(between: np.ndarray, first: np.ndarray, group: np.ndarray) -> list[int]:
    """Whole orders in a list, all continuations of all of them, sorted, the best of every state, the BEAM best of those."""
    kept = [(float(first[k]), [k]) for k in range(len(first))]
    for _ in range(int(group.max())):
        longer = [
            (spent + float(between[order[-1], option]), [*order, option])
            for spent, order in kept
            for option in range(len(first))
            if group[option] not in group[order]
        ]
        states: dict[tuple[frozenset[int], int], tuple[float, list[int]]] = {}
        for spent, order in sorted(longer)[:CANDIDATES]:
            states.setdefault((frozenset(group[order].tolist()), order[-1]), (spent, order))
        kept = sorted(states.values())[:BEAM]
    return min(kept)[1]


@pytest.mark.parametrize(("seed", "groups"), [(0, 2), (1, 5), (2, 7), (3, 9), (4, 12)])
def test_the_search_is_its_plain_twin(seed: int, groups: int) -> None:
    between, first, group = options_at_random(seed, groups)
    assert cheapest_order(between, first, group) == plain_beam_search(between, first, group)


def test_a_narrow_beam_keeps_the_best_way_to_every_state(monkeypatch: pytest.MonkeyPatch) -> None:
    # So narrow that ways to one state would take the places of other states; and there are many, since all options of a group cost nearly the same.
    for module in (group_module, sys.modules[__name__]):
        monkeypatch.setattr(module, "BEAM", 4)
        monkeypatch.setattr(module, "CANDIDATES", 16)
    for seed in range(20):
        between, first, group = options_at_random(seed, 5)
        alike = OPTIONS * group
        between, first = between[alike] + between / 1000, first[alike] + first / 1000
        assert cheapest_order(between, first, group) == plain_beam_search(between, first, group)


def test_many_groups_are_ordered_close_to_the_best_of_all() -> None:
    # Places in the plane, as lines have: among costs at random the best order is not to be found by any beginning.
    shares = []
    for seed in range(5):
        groups = 7
        begin, finish = np.random.default_rng(seed).uniform(0, 100, (2, OPTIONS * groups, 2))
        group = np.repeat(np.arange(groups), OPTIONS)
        between = np.linalg.norm(finish[:, None] - begin[None], axis=2)
        between[group[:, None] == group[None]] = np.inf
        first = np.zeros(len(begin))
        shares.append(price(cheapest_order(between, first, group), between, first) / best_of_all(between, first, group))
    assert min(shares) >= 1 - 1e-12
    assert np.mean(shares) < 1.05


def groups_at_random(seed: int) -> tuple[np.ndarray, np.ndarray]:
    """Lines of three or four regions far apart, 1 to 5 in each, side by side."""
    rng = np.random.default_rng(seed)
    begins, finishes = [], []
    for region in range(int(rng.integers(3, 5))):
        corner, angle = 150.0 * np.array([region % 2, region // 2]) + rng.uniform(0, 40, 2), rng.uniform(0, 2 * np.pi)
        along, across = np.array([np.cos(angle), np.sin(angle)]), np.array([-np.sin(angle), np.cos(angle)])
        for k in range(int(rng.integers(1, 6))):
            ends = corner + 3.0 * k * across + np.outer([0.0, 40.0], along) + rng.normal(0, 0.4, (2, 2))
            begins.append(ends[0])
            finishes.append(ends[1])
    return np.array(begins), np.array(finishes)


@settings(max_examples=8, deadline=None)
@given(SEEDS)
def test_the_order_of_regions_is_the_best_of_all_their_orders(seed: int) -> None:
    # All permutations of the regions, each begun at either end of its first or its last line and run to and fro.
    begins, finishes = groups_at_random(seed)
    ends, n = np.concatenate([begins, finishes]), len(begins)

    def seconds(row: list[int]) -> float:
        return sum(cost(ends[a], ends[b]) for a, b in zip(row[1:-1:2], row[2::2], strict=True))

    options = []
    for lines in line_groups(begins, finishes):
        rows = []
        for first in (lines[0], lines[0] + n):
            row = [first, (first + n) % (2 * n)]
            for line in lines[1:]:
                near = min((line, line + n), key=lambda end: dist(ends[end], ends[row[-1]]))
                row += [near, (near + n) % (2 * n)]
            rows += [row, row[::-1]]
        options.append(rows)
    orders = itertools.chain.from_iterable(itertools.product(*order) for order in itertools.permutations(options))
    best = min(seconds(list(itertools.chain(*rows))) for rows in orders)
    row = order_by_groups(begins, finishes, COSTS)
    assert row is not None and sorted(row) == list(range(2 * n))
    assert seconds(row) == pytest.approx(best, rel=1e-9)


def test_a_group_may_be_begun_at_all_four_ends() -> None:
    # Three groups of two lines each, one above the other; the order must lead through them to and fro without a long move.
    begins = np.array([[0.0, 0], [0, 2], [0, 40], [0, 42], [0, 80], [0, 82]])
    finishes = begins + [60.0, 0]
    row = order_by_groups(begins, finishes, MoveCosts(50.0, even_lifts(1e6), 80.0, lambda moves: np.zeros(len(moves), bool)))
    assert row is not None and sorted(row) == list(range(12))
    ends = np.concatenate([begins, finishes])
    moves = [dist(ends[a], ends[b]) for a, b in zip(row[1:-1:2], row[2::2], strict=True)]
    assert sorted(moves) == pytest.approx([2, 2, 2, 38, 38])


def test_too_many_groups_are_left_to_the_exchange() -> None:
    begins = np.column_stack([np.zeros(70), 20.0 * np.arange(70)])
    assert order_by_groups(begins, begins + [30.0, 0], COSTS) is None
    lines = [np.stack([a, a + [30.0, 0]]) for a in begins]
    visits = running_order(lines, np.zeros(2), np.ones(len(lines), bool), COSTS)
    assert sorted(visit.line for visit in visits) == list(range(70))


# ---- the exchange


@pytest.mark.parametrize("count", [3, 5, 8, 300, 700])
def test_nearest_ends_by_a_tree(count: int) -> None:
    places = np.random.default_rng(count).uniform(0, 100, (2 * count, 2))
    found = nearest_ends(places, np.ones(count, bool))
    tree = cKDTree(places)
    for end in range(2 * count):
        _, order = tree.query(places[end], k=min(2 * count, NEAREST + 2))
        others = [int(k) for k in order if k % count != end % count]
        assert found[end] == others[: min(NEAREST, 2 * count - 2)]


class PlainExchange:
    """The exchange by the derivation at the head of its module: whole rows, made anew and added up at every step."""

    def __init__(self, places: np.ndarray, may_reverse: np.ndarray) -> None:
        self.places, self.may_reverse, self.n = places, may_reverse, len(places) // 2
        self.known: dict[tuple[int, int], float] = {}

    def cost(self, a: int | None, b: int | None) -> float:
        if a is None or b is None:
            return 0.0
        key = (min(a, b), max(a, b))
        if key not in self.known:
            self.known[key] = cost(self.places[key[0]], self.places[key[1]])
        return self.known[key]

    def total(self, row: list[int]) -> float:
        return sum(self.cost(row[k], row[k + 1]) for k in range(1, len(row) - 1, 2))

    @staticmethod
    def partner(row: list[int], end: int) -> int | None:
        place = row.index(end)
        other = place + (1 if place % 2 else -1)
        return row[other] if 0 <= other < len(row) else None

    def nearest(self, end: int) -> list[int]:
        others = [k for k in range(2 * self.n) if k % self.n != end % self.n and self.may_meet(k, end)]
        return sorted(others, key=lambda k: dist(self.places[k], self.places[end]))[: min(NEAREST, 2 * self.n - 2)]

    def may_meet(self, one: int, other: int) -> bool:
        """Whether a move may lead from one end to the other: not between two beginnings or two finishes of lines of one direction."""
        free = self.may_reverse[one % self.n] or self.may_reverse[other % self.n]
        return bool(free or (one < self.n) != (other < self.n))

    def may_turn(self, part: list[int]) -> bool:
        return all(self.may_reverse[end % self.n] for end in part)

    def chain(self, row: list[int], start: int) -> tuple[list[int], list[int]]:
        """The best row of a chain, and the ends whose moves may have changed; the row itself and nothing where none gains."""
        fixed = self.partner(row, start)
        if fixed is None:
            return row, []
        before, best, best_gain, touched = self.total(row), row, LEAST_GAIN, [start, fixed]
        here, put_in, saved = start, set(), self.cost(start, fixed)
        now = row
        for _ in range(LONGEST_CHAIN):
            steps = []
            for near in self.nearest(here):
                if saved - self.cost(here, near) <= LEAST_GAIN:
                    break
                displaced = self.partner(now, near)
                if now.index(near) % 2 != now.index(here) % 2 or (near, displaced) in put_in:
                    continue
                side = now.index(here) % 2
                low, high = sorted((now.index(here), now.index(near)))
                if not self.may_turn(now[low + side : high + side]):
                    continue
                after = now[: low + side] + now[low + side : high + side][::-1] + now[high + side :]
                # What is saved when the closing move is left out of account.
                steps.append((before - (self.total(after) - self.cost(fixed, displaced)), after, near, displaced))
            if not steps:
                break
            saved, now, near, displaced = max(steps, key=lambda step: step[0])
            put_in |= {(here, near), (near, here)}
            touched += [end for end in (near, displaced) if end is not None]
            if before - self.total(now) > best_gain:
                best, best_gain = now, before - self.total(now)
            if displaced is None:
                break
            here = displaced
        return best, touched if best is not row else []

    def relocate(self, row: list[int], start: int) -> tuple[list[int], list[int]]:
        """The best row with up to three lines in a row, which end with an end, beside one of its nearest ends."""
        place, behind = row.index(start), self.partner(row, start)
        before, best, best_gain, touched = self.total(row), row, LEAST_GAIN, []
        for near in self.nearest(start):
            if behind is not None and self.cost(start, behind) - self.cost(start, near) <= LEAST_GAIN:
                break
            displaced = self.partner(row, near)
            for count in range(1, MOVED_TOGETHER + 1):
                first, last = (place - 2 * count + 1, place + 1) if place % 2 else (place, place + 2 * count)
                moved = row[max(first, 0) : last]
                if first < 0 or last > len(row) or near in moved or displaced in moved:
                    break
                if (place + row.index(near)) % 2 == 0 and not self.may_turn(moved):
                    break
                rest = row[:first] + row[last:]
                at = rest.index(near)
                # `start` must come to stand beside `near`: behind it when that is the finish of a line, else before it.
                part = moved if (moved[0] == start) == bool(at % 2) else moved[::-1]
                at += at % 2
                after = rest[:at] + part + rest[at:]
                gain = before - self.total(after)
                if gain > best_gain:
                    best, best_gain = after, gain
                    touched = [moved[0], moved[-1], near, behind, displaced, self.partner(row, moved[0]), self.partner(row, moved[-1])]
        return best, [end for end in touched if end is not None]

    def swap(self, row: list[int], start: int) -> tuple[list[int], list[int]]:
        """The best row with two parts that follow each other in each other's place: row[i:j] + row[j:k] as row[j:k] + row[i:j]."""
        before = start if row.index(start) % 2 else self.partner(row, start)
        if before is None:
            return row, []
        behind = self.partner(row, before)
        cost_now, best, best_gain, touched = self.total(row), row, LEAST_GAIN, []
        for entered in self.nearest(before):
            if behind is not None and self.cost(before, behind) - self.cost(before, entered) <= LEAST_GAIN:
                break
            if row.index(entered) % 2 or entered == behind:
                continue
            left = self.partner(row, entered)
            finishes = [] if behind is None else list(self.nearest(behind))
            finishes += [] if left is None else [self.partner(row, end) for end in self.nearest(left) if row.index(end) % 2 == 0]
            if behind is None and left is None:
                finishes = row[1::2]
            for finish in finishes:
                if finish is None or row.index(finish) % 2 == 0:
                    continue
                i, j, k = row.index(before) + 1, row.index(entered), row.index(finish) + 1
                if j < i:  # the part that is entered comes first now
                    i, j, k = j, k, i
                if not i < j < k:
                    continue
                after = row[:i] + row[j:k] + row[i:j] + row[k:]
                gain = cost_now - self.total(after)
                if gain > best_gain:
                    best, best_gain = after, gain
                    touched = [before, behind, entered, left, finish, self.partner(row, finish)]
        return best, [end for end in touched if end is not None]

    def improved(self, row: list[int]) -> list[int]:
        waiting = list(range(2 * self.n))
        while waiting:
            end = waiting.pop()
            while True:
                touched: list[int] = []
                if self.may_reverse.any():
                    row, touched = self.chain(row, end)
                if not touched:
                    row, touched = self.relocate(row, end)
                if not touched and not self.may_reverse.all():
                    row, touched = self.swap(row, end)
                if not touched:
                    break
                for other in touched:
                    if other not in waiting:
                        waiting.append(other)
        return row


REVERSIBLE = st.sampled_from([0.0, 0.4, 1.0])
"""Share of the lines that may be run from their finish."""


def reversible(seed: int, count: int, share: float) -> np.ndarray:
    return np.random.default_rng(seed + 2).uniform(0, 1, count) < share


# Rows that come out otherwise where a part of the exchange is left out or an end whose move has changed is not looked at again.
@example(0, 26, 0.4)
@example(3, 25, 0.0)
@example(4, 23, 1.0)
@example(18, 28, 0.4)
@example(22, 24, 0.4)
@example(25, 17, 0.0)
@example(26, 27, 0.4)
@example(27, 3, 1.0)
@settings(max_examples=30, deadline=None)
@given(SEEDS, st.integers(3, 30), REVERSIBLE)
def test_the_exchange_is_its_plain_twin(seed: int, count: int, share: float) -> None:
    begins, finishes = lines_at_random(seed, count)
    may_reverse = reversible(seed, count, share)
    row = [end for k in np.random.default_rng(seed + 1).permutation(count).tolist() for end in (k, k + count)]
    twin = PlainExchange(np.concatenate([begins, finishes]), may_reverse)
    found = OrderExchange(begins, finishes, COSTS, may_reverse).improved(row)
    assert found == twin.improved(row)
    assert twin.total(found) <= twin.total(row) + 1e-9


@settings(max_examples=35, deadline=None)
@given(SEEDS, st.integers(3, 60), REVERSIBLE)
def test_an_exchanged_row_holds_every_line_once_and_never_costs_more(seed: int, count: int, share: float) -> None:
    begins, finishes = lines_at_random(seed, count)
    may_reverse = reversible(seed, count, share)
    row = [end for k in range(count) for end in (k, k + count)]
    found = OrderExchange(begins, finishes, COSTS, may_reverse).improved(row)
    assert sorted(found) == list(range(2 * count))
    assert all(a % count == b % count for a, b in zip(found[::2], found[1::2], strict=True))
    assert all(end < count or may_reverse[end % count] for end in found[::2])
    plain = PlainExchange(np.concatenate([begins, finishes]), may_reverse)
    assert plain.total(found) <= plain.total(row) + 1e-9


def test_chains_gain_more_than_single_exchanges(monkeypatch: pytest.MonkeyPatch) -> None:
    def spent() -> float:
        total = 0.0
        for seed in range(20):
            begins, finishes = lines_at_random(seed, 25)
            row = [end for k in range(25) for end in (k, k + 25)]
            found = OrderExchange(begins, finishes, COSTS, np.ones(25, bool)).improved(row)
            total += PlainExchange(np.concatenate([begins, finishes]), np.ones(25, bool)).total(found)
        return total

    chains = spent()
    monkeypatch.setattr(exchange_module, "LONGEST_CHAIN", 1)
    assert chains < 0.98 * spent()


def test_parts_of_one_way_lines_change_places_however_long_they_are() -> None:
    # Eight lines of one direction, each beginning where another finishes; the two halves of the row stand in the wrong order, and no three lines
    # that are relocated together mend that.
    along = 100.0 * np.arange(8)
    begins, finishes = np.column_stack([along, np.zeros(8)]), np.column_stack([along + 99.0, np.zeros(8)])
    row = [end for k in (4, 5, 6, 7, 0, 1, 2, 3) for end in (k, k + 8)]
    free = MoveCosts(50.0, even_lifts(1e6), 80.0, lambda moves: np.zeros(len(moves), bool), short=0.0)
    found = OrderExchange(begins, finishes, free, np.zeros(8, bool)).improved(row)
    assert found == [end for k in range(8) for end in (k, k + 8)]


def test_short_moves_that_are_barred_count_as_lifts_where_they_are_looked_at() -> None:
    barred = MoveCosts(50.0, even_lifts(3.0), 80.0, lambda moves: np.ones(len(moves), bool), short=0.0)
    moves = np.array([[[0, 0], [4, 0]], [[3, 3], [3, 3]]], float)
    assert barred.of(moves) == pytest.approx([3.05, 0.0])
    assert [barred.least(mm) for mm in (4.0, 0.0)] == pytest.approx([0.08, 0.0])


# ---- the nearest entry


def plain_nearest(lines: list[np.ndarray], start: np.ndarray, may_reverse: np.ndarray) -> list[tuple[int, bool, int]]:
    """Look at every entry of every line that is left, each time."""
    at, waiting, found = np.asarray(start, float), list(range(len(lines))), []
    while waiting:
        best = None
        for number in waiting:
            line = lines[number]
            if is_closed(line):
                count = max(1, int(travelled(line)[-1] / RING_ENTRY_STEP))
                entries = [(k, False) for k in sorted(set(np.linspace(0, len(line) - 2, count).astype(int).tolist()))]
            else:
                entries = [(0, False), (len(line) - 1, True)] if may_reverse[number] else [(0, False)]
            for point, reverse in entries:
                away = dist(line[point, :2], at)
                if best is None or away < best[0]:
                    best = (away, number, point, reverse)
        assert best is not None
        _, number, point, reverse = best
        line = lines[number]
        found.append((number, reverse, point if is_closed(line) else 0))
        at = line[point, :2] if is_closed(line) else line[0 if reverse else -1, :2]
        waiting.remove(number)
    return found


@pytest.mark.parametrize("share", [1.0, 0.4, 0.0])
@pytest.mark.parametrize("count", [1, 2, 40, 150])
def test_nearest_entries_are_those_of_the_plain_twin(count: int, share: float) -> None:
    # More lines than FORGET_EVERY, some of them rings, some with heights.
    rng = np.random.default_rng(count)
    lines: list[np.ndarray] = []
    for k in range(count):
        middle = rng.uniform(0, 200, 2)
        if k % 5 == 0:
            angle = np.linspace(0, 2 * np.pi, 20)
            ring = middle + rng.uniform(2, 9) * np.column_stack([np.cos(angle), np.sin(angle)])
            ring[-1] = ring[0]
            lines.append(np.column_stack([ring, np.zeros(20)]))
        else:
            lines.append(np.column_stack([np.linspace(middle, rng.uniform(0, 200, 2), 6), np.zeros(6)]))
    may_reverse = reversible(7, count, share)
    found = nearest_entries(lines, np.zeros(2), may_reverse)
    assert [(visit.line, visit.reverse, visit.entry) for visit in found] == plain_nearest(lines, np.zeros(2), may_reverse)


def test_above_a_limit_of_lines_the_nearest_entries_decide(monkeypatch: pytest.MonkeyPatch) -> None:
    begins, finishes = lines_at_random(5, 30)
    lines = [np.stack(pair) for pair in zip(begins, finishes, strict=True)]
    either = np.ones(30, bool)
    near = nearest_entries(lines, np.zeros(2), either)
    assert running_order(lines, np.zeros(2), either, COSTS) != near
    monkeypatch.setattr(order_module, "MOST_LINES_IMPROVED", 29)
    assert running_order(lines, np.zeros(2), either, COSTS) == near
