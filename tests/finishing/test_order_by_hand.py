"""The running order of a few lines against all orders there are, and what a visit means, written out by hand."""

from __future__ import annotations

import itertools
from math import dist

import numpy as np
import pytest
from order_costs import even_lifts

from addon.finishing.motion.group_order import MOST_GROUPS, order_by_groups
from addon.finishing.motion.move_costs import MoveCosts
from addon.finishing.motion.order_exchange import OrderExchange
from addon.finishing.motion.running_order import Visit, as_run, ends_of, nearest_entries, running_order

COSTS = MoveCosts(50.0, even_lifts(3.0), 80.0, lambda moves: (moves[:, 0, 0] < 50) != (moves[:, 1, 0] < 50))
"""Links at 50 mm/s, 3 s for a lift, 80 mm/s in the air; no link of more than 10 mm crosses x = 50."""


def seconds(a: np.ndarray, b: np.ndarray) -> float:
    """One move by hand."""
    away = dist(a[:2], b[:2])
    lifted = 3 + away / 80
    if away <= 10:
        return away / 50
    return lifted if (a[0] < 50) != (b[0] < 50) else min(away / 50, lifted)


def spent(runs: list[np.ndarray]) -> float:
    """All moves between lines as they are run."""
    return sum(seconds(before[-1], after[0]) for before, after in itertools.pairwise(runs))


def least(lines: list[np.ndarray], may_reverse: bool) -> float:
    """The best of all orders and, where they may be turned, all directions."""
    ways = [(line, line[::-1]) if may_reverse else (line,) for line in lines]
    return min(spent(list(runs)) for order in itertools.permutations(ways) for runs in itertools.product(*order))


def lines_at_random(seed: int, count: int) -> list[np.ndarray]:
    """Open lines of three points, with heights, all over the plane."""
    return list(np.random.default_rng(seed).uniform(0, 100, (count, 3, 3)))


RING = np.array([[0.0, 0, 1], [10, 0, 2], [10, 10, 3], [0, 10, 4], [0, 0, 1]])
OPEN = np.array([[20.0, 0, 5], [30, 0, 6], [30, 10, 7]])


def test_a_visit_says_how_a_line_is_run() -> None:
    assert as_run(OPEN, Visit(0, reverse=False, entry=0)).tolist() == OPEN.tolist()
    assert as_run(OPEN, Visit(0, reverse=True, entry=0)).tolist() == OPEN[[2, 1, 0]].tolist()
    # Round from the point of entry and back to it, with every point once between.
    assert as_run(RING, Visit(0, reverse=False, entry=0)).tolist() == RING.tolist()
    assert as_run(RING, Visit(0, reverse=False, entry=1)).tolist() == RING[[1, 2, 3, 0, 1]].tolist()
    assert as_run(RING, Visit(0, reverse=True, entry=3)).tolist() == RING[[3, 2, 1, 0, 3]].tolist()


def test_ends_of_visits() -> None:
    visits = [Visit(1, False, 0), Visit(0, False, 2), Visit(1, True, 0), Visit(0, True, 3)]
    begins, finishes = ends_of([RING, OPEN], visits)
    assert begins.tolist() == [[20, 0], [10, 10], [30, 10], [0, 10]]
    assert finishes.tolist() == [[30, 10], [10, 10], [20, 0], [0, 10]]


def test_nothing_is_in_no_order() -> None:
    assert running_order([], np.zeros(2), np.ones(0, bool), COSTS) == []


@pytest.mark.parametrize("count", [2, 3, 4])
def test_few_lines_are_run_in_the_best_of_all_orders(count: int) -> None:
    for seed in range(25):
        lines = lines_at_random(seed, count)
        visits = running_order(lines, np.array([seed, 0.0, 9.0]), np.ones(count, bool), COSTS)
        assert sorted(visit.line for visit in visits) == list(range(count))
        assert spent([as_run(lines[visit.line], visit) for visit in visits]) == pytest.approx(least(lines, True), rel=1e-9)


def test_few_lines_of_one_direction_are_run_in_almost_the_best_of_all_orders() -> None:
    # Where lines may not be turned they are only moved about, which may end in an order that no such move makes better.
    shares = []
    for seed in range(25):
        lines = lines_at_random(seed, 3)
        visits = running_order(lines, np.zeros(2), np.zeros(3, bool), COSTS)
        assert sorted(visit.line for visit in visits) == [0, 1, 2] and not any(visit.reverse for visit in visits)
        shares.append(spent([as_run(lines[visit.line], visit) for visit in visits]) / least(lines, False))
    assert min(shares) >= 1 - 1e-9
    assert np.mean(shares) < 1.02


def test_lines_that_are_begun_from_where_the_cutter_comes() -> None:
    # Entries by hand: from (0, 0) the nearest is the second line's finish, from its begin the third's begin, then the first's.
    lines = [np.array([[60.0, 0], [90, 0]]), np.array([[25.0, 0], [5, 0]]), np.array([[30.0, 0], [55, 0]])]
    assert nearest_entries(lines, np.zeros(2), np.ones(3, bool)) == [Visit(1, True, 0), Visit(2, False, 0), Visit(0, False, 0)]
    assert nearest_entries(lines, np.zeros(2), np.zeros(3, bool)) == [Visit(1, False, 0), Visit(2, False, 0), Visit(0, False, 0)]
    # A ring is left where it is entered, at the nearest of some places on it, and never backwards.
    turn = np.linspace(0, 2 * np.pi, 401)
    ring = 20 * np.column_stack([np.cos(turn), np.sin(turn)])
    ring[-1] = ring[0]
    for angle in (0.3, 2.0, 4.4):
        toward = np.array([np.cos(angle), np.sin(angle)])
        first, then = nearest_entries([ring, np.array([60 * toward, 90 * toward])], 25 * toward, np.ones(2, bool))
        assert (first.line, first.reverse, then) == (0, False, Visit(1, False, 0))
        # Places lie about 4 mm apart: the nearest of them is at most half of that away from where the cutter comes from, along the ring.
        assert dist(ring[first.entry], 20 * toward) <= 2.1
    # A small ring is entered at its one place.
    assert nearest_entries([ring / 100, lines[0]], np.array([-90.0, 0]), np.ones(2, bool))[0] == Visit(0, False, 0)


def test_rings_are_entered_where_the_cutter_first_came_to_them_however_they_are_ordered() -> None:
    turn = np.linspace(0, 2 * np.pi, 81)
    circle = np.column_stack([np.cos(turn), np.sin(turn)])
    circle[-1] = circle[0]
    for seed in range(5):
        rng = np.random.default_rng(seed)
        lines = [circle * rng.uniform(5, 15) + rng.uniform(0, 100, 2) for _ in range(4)] + [line[:, :2] for line in lines_at_random(seed, 3)]
        entries = {visit.line: visit.entry for visit in nearest_entries(lines, np.zeros(2), np.ones(7, bool))}
        visits = running_order(lines, np.zeros(2), np.ones(7, bool), COSTS)
        assert {visit.line: visit.entry for visit in visits} == entries and len(set(entries.values())) > 3
        # Turned round or not, a ring begins and ends there: what the moves cost is reckoned with that place.
        begins, finishes = ends_of(lines, visits)
        for visit, begin, finish in zip(visits, begins, finishes, strict=True):
            run = as_run(lines[visit.line], visit)
            assert (run[0] == begin).all() and (run[-1] == finish).all()


def to_and_fro(band: np.ndarray) -> list[np.ndarray]:
    """The ends (2m, 2) in the order of the run, of m lines side by side (m, 2, 2) that are begun at either end of the first or of the last one."""
    lines = np.arange(len(band)) % 2
    return [np.concatenate([line[:: -1 if turned else 1] for line, turned in zip(side, lines ^ turn, strict=True)])
            for side in (band, band[::-1]) for turn in (0, 1)]  # fmt: skip


@pytest.mark.parametrize(("regions", "lines", "seeds"), [(2, 2, 10), (2, 3, 10), (3, 3, 5)])
def test_regions_are_run_in_the_best_of_all_their_orders(regions: int, lines: int, seeds: int) -> None:
    # Bands at random places, whose lines are nearer to each other on one side than on the other: what lies within a band counts too.
    for seed in range(seeds):
        rng = np.random.default_rng(seed)
        corners = np.array([[0.0, 0], [0, 120], [120, 0]])[:regions] + rng.uniform(0, 40, (regions, 2))
        y = np.cumsum(rng.uniform(1, 9, (regions, lines, 2)), axis=1)
        x = np.broadcast_to(np.column_stack([np.zeros(regions), rng.uniform(20, 60, regions)])[:, None], y.shape)
        bands = corners[:, None, None] + np.stack([x, y], axis=-1)
        flat = bands.reshape(-1, 2, 2)
        row = order_by_groups(flat[:, 0], flat[:, 1], COSTS)
        assert row is not None and sorted(row) == list(range(2 * len(flat)))

        def whole(runs: list[np.ndarray]) -> float:
            return spent(runs) + sum(dist(*move) / 50 for run in runs for move in run[1:-1].reshape(-1, 2, 2))

        ways = [to_and_fro(band) for band in bands]
        best = min(whole(list(runs)) for order in itertools.permutations(ways) for runs in itertools.product(*order))
        ends = np.concatenate([flat[:, 0], flat[:, 1]])[row]
        assert whole(list(ends.reshape(regions, -1, 2))) == pytest.approx(best, rel=1e-9)


def test_of_more_groups_than_a_number_has_bits_for_no_order_is_looked_for() -> None:
    begins = np.column_stack([np.zeros(MOST_GROUPS + 1), 20.0 * np.arange(MOST_GROUPS + 1)])
    assert order_by_groups(begins, begins + [30.0, 0], COSTS) is None
    row = order_by_groups(begins[1:], begins[1:] + [30.0, 0], COSTS)
    assert row is not None and sorted(row) == list(range(2 * MOST_GROUPS))


def test_exchanges_by_hand() -> None:
    free = MoveCosts(1.0, even_lifts(1e6), 1.0, lambda moves: np.zeros(len(moves), bool))
    begins = np.array([[0.0, 0], [0, 2], [0, 4], [0, 6]])
    finishes = begins + [30.0, 0]

    def moves(row: list[int]) -> list[float]:
        ends = np.concatenate([begins, finishes])
        return [dist(ends[a], ends[b]) for a, b in zip(row[1:-1:2], row[2::2], strict=True)]

    # Four lines side by side, all begun on the left: to and fro they have three moves of 2 mm.
    found = OrderExchange(begins, finishes, free, np.ones(4, bool)).improved([0, 4, 1, 5, 2, 6, 3, 7])
    assert moves(found) == [2.0, 2.0, 2.0]
    # One way in any order: best from side to side, with three moves back.
    found = OrderExchange(begins, finishes, free, np.zeros(4, bool)).improved([2, 6, 0, 4, 3, 7, 1, 5])
    assert moves(found) == pytest.approx([float(np.hypot(30, 2))] * 3) and found[::2] in ([0, 1, 2, 3], [3, 2, 1, 0])
    # What is best already stays as it is.
    assert OrderExchange(begins, finishes, free, np.ones(4, bool)).improved([0, 4, 5, 1, 2, 6, 7, 3]) == [0, 4, 5, 1, 2, 6, 7, 3]
