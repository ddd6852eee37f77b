"""The whole running order against exact optima and on lines as bodies give them."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from order_costs import even_lifts

from addon.finishing.motion.line_groups import line_groups
from addon.finishing.motion.move_costs import MoveCosts
from addon.finishing.motion.ring_directions import with_ring_directions
from addon.finishing.motion.running_order import as_run, ends_of, running_order
from addon.finishing.motion.visit import Visit

FREE = MoveCosts(50.0, even_lifts(1e6), 80.0, lambda moves: np.zeros(len(moves), bool))


def straight(*ends: tuple[float, float, float, float]) -> list[np.ndarray]:
    """Lines of two points from x, y to x, y."""
    return [np.array([[a, b], [c, d]], float) for a, b, c, d in ends]


def moves_of(lines: list[np.ndarray], visits: list) -> np.ndarray:
    begins, finishes = ends_of(lines, visits)
    return np.stack([finishes[:-1], begins[1:]], axis=1)


def least_length(lines: list[np.ndarray]) -> float:
    """Length of the moves in the best of all orders and directions, by dynamic programming over sets of lines (M. Held, R. Karp 1962)."""
    n = len(lines)
    ends = np.array([[line[0], line[-1]] for line in lines])
    best = {(1 << k, k, s): 0.0 for k in range(n) for s in (0, 1)}  # lines run, the last one, the end it was left at
    for done in range(1, 1 << n):
        for k in range(n):
            for s in (0, 1):
                spent = best.get((done, k, s))
                if spent is None:
                    continue
                for other in range(n):
                    if done >> other & 1:
                        continue
                    for left in (0, 1):
                        cost = spent + float(np.linalg.norm(ends[other, 1 - left] - ends[k, s]))
                        key = (done | 1 << other, other, left)
                        if cost < best.get(key, np.inf):
                            best[key] = cost
    return min(best[(1 << n) - 1, k, s] for k in range(n) for s in (0, 1))


def test_order_is_close_to_the_best_of_all() -> None:
    shares = []
    for seed in range(12):
        lines = list(np.random.default_rng(seed).uniform(0, 100, (7, 2, 2)))
        visits = running_order(lines, np.zeros(2), np.ones(len(lines), bool), FREE)
        assert sorted(visit.line for visit in visits) == list(range(7))
        moves = moves_of(lines, visits)
        shares.append(float(np.linalg.norm(moves[:, 1] - moves[:, 0], axis=1).sum()) / least_length(lines))
    assert min(shares) >= 1 - 1e-9
    assert np.mean(shares) < 1.01


def test_of_an_order_and_its_reverse_the_one_is_run_that_begins_with_the_first_line() -> None:
    lines = straight(*((0.0, y, 80.0, y) for y in np.arange(0.0, 20.0, 2.0)))
    for start in (np.zeros(2), np.array([80.0, 18.0])):
        assert [visit.line for visit in running_order(lines, start, np.ones(len(lines), bool), FREE)] == list(range(10))
        assert [visit.line for visit in running_order(lines[::-1], start, np.ones(len(lines), bool), FREE)] == list(range(10))


def round_a_pocket() -> list[np.ndarray]:
    """Lines 2 mm apart on 100 x 60 mm with a pocket between x 40 and 70, y 20 and 40."""
    lines = []
    for y in np.arange(1.0, 60.0, 2.0):
        lines += straight((0, y, 38, y), (72, y, 100, y)) if 20 < y < 40 else straight((0, y, 100, y))
    return lines


def test_groups_are_the_regions_round_a_pocket() -> None:
    lines = round_a_pocket()
    found = line_groups(np.array([line[0] for line in lines]), np.array([line[-1] for line in lines]))
    assert sorted(len(group) for group in found) == [10, 10, 10, 10]
    for group in found:
        heights = [lines[number][0, 1] for number in group]
        assert np.allclose(np.abs(np.diff(heights)), 2.0)
        assert len({(lines[number][0, 0], lines[number][-1, 0]) for number in group}) == 1


def test_regions_are_left_and_come_back_to_with_few_long_moves() -> None:
    lines = round_a_pocket()
    for turned in (False, True):  # in whichever direction they are given
        given = [line[::-1] if turned and k % 3 else line for k, line in enumerate(lines)]
        visits = running_order(given, np.zeros(2), np.ones(len(given), bool), FREE)
        assert sorted(visit.line for visit in visits) == list(range(len(lines)))
        moves = moves_of(given, visits)
        length = np.linalg.norm(moves[:, 1] - moves[:, 0], axis=1)
        # Four regions: between neighbours 2 mm, and three moves from one to the next.
        assert (length > 2.1).sum() <= 3
        assert length.sum() < 2 * (len(lines) - 1) + 70


def test_one_way_lines_keep_their_direction() -> None:
    lines = straight(*((0, y, 50, y) for y in range(12)))
    visits = running_order(lines, np.zeros(2), np.zeros(12, bool), FREE)
    assert sorted(visit.line for visit in visits) == list(range(12))
    assert not any(visit.reverse for visit in visits)


def test_lines_that_may_be_run_either_way_are_turned_among_one_way_lines() -> None:
    # Pieces of one crease, given in either direction, between two lines of one direction that run the same way.
    lines = straight((0, 0, 50, 0), (80, 1, 60, 1), (82, 1, 100, 1), (130, 1, 102, 1), (140, 0, 190, 0))
    visits = running_order(lines, np.zeros(2), np.array([False, True, True, True, False]), FREE)
    assert [(visit.line, visit.reverse) for visit in visits] == [(0, False), (1, True), (2, False), (3, True), (4, False)]


def test_a_barred_move_costs_a_lift() -> None:
    costs = MoveCosts(50.0, even_lifts(3.0), 80.0, lambda moves: moves[:, 0, 0] > 100)
    moves = np.array([[[0, 0], [40, 0]], [[200, 0], [240, 0]], [[0, 0], [0, 4000]], [[200, 0], [204, 0]]], float)
    assert costs.of(moves) == pytest.approx([0.8, 3.5, 53.0, 0.08])
    assert [costs.least(mm) for mm in (40.0, 4000.0, 4.0)] == pytest.approx([0.8, 53.0, 0.08])


def ring(radius: float, turns: float = 1.0) -> np.ndarray:
    """A circle round the origin, closed, run to the left (1) or to the right (-1)."""
    angle = np.linspace(0, 2 * np.pi * turns, 73)
    points = radius * np.column_stack([np.cos(angle), np.sin(angle)])
    points[-1] = points[0]
    return points


def directions(lines: list[np.ndarray], visits: list) -> list[bool]:
    """Whether each visit runs its ring to the left."""
    runs = [as_run(lines[visit.line], visit) for visit in visits]
    return [float(np.sum(run[:-1, 0] * run[1:, 1] - run[:-1, 1] * run[1:, 0])) > 0 for run in runs]


@pytest.mark.parametrize("turns", [[1, 1, 1, 1, 1], [1, -1, -1, 1, -1]])
def test_rings_side_by_side_are_run_to_and_fro(turns: list[int]) -> None:
    # From each to the next the cutter turns back, however they were laid; the first is run as it was laid.
    lines = [ring(20.0 - 2 * number, turn) for number, turn in enumerate(turns)]
    visits = running_order(lines, np.zeros(2), np.ones(len(lines), bool), FREE)
    assert [visit.line for visit in visits] == [0, 1, 2, 3, 4]
    assert directions(lines, visits) == [True, False, True, False, True]


def test_rings_cut_one_way_keep_their_direction() -> None:
    lines = [ring(20.0 - 2 * number) for number in range(4)]
    assert all(directions(lines, running_order(lines, np.zeros(2), np.zeros(len(lines), bool), FREE)))


def test_the_directions_of_rings_are_the_best_of_all() -> None:
    # Plain twin: every choice of directions, on rings and open lines in between.
    rng = np.random.default_rng(11)
    lines = [ring(6.0, rng.choice([-1, 1])) + rng.uniform(-20, 20, 2) if k % 3 else rng.uniform(-20, 20, (2, 2)) for k in range(9)]
    visits = [Visit(k, bool(rng.integers(2)), int(rng.integers(1, 70)) if k % 3 else 0) for k in range(9)]

    def swinging(chosen: list[Visit]) -> float:
        runs = [as_run(lines[visit.line], visit) for visit in chosen]
        leaving, entering = ([a / np.linalg.norm(a) for a in moves] for moves in ([r[-1] - r[-2] for r in runs[:-1]], [r[1] - r[0] for r in runs[1:]]))
        return float(sum(a @ b for a, b in zip(leaving, entering, strict=True)))

    rings = [k for k in range(9) if k % 3]
    every = [[replace(v, reverse=v.line in back) if v.line % 3 else v for v in visits] for n in range(7) for back in combinations(rings, n)]
    found = with_ring_directions(lines, visits, np.ones(9, bool))
    assert all(a.reverse == b.reverse for a, b in zip(found, visits, strict=True) if a.line % 3 == 0)
    assert swinging(found) == pytest.approx(min(swinging(one) for one in every), abs=1e-9)
