"""The whole running order against exact optima and on lines as bodies give them."""

from __future__ import annotations

import numpy as np
import pytest
from order_costs import even_lifts

from addon.finishing.motion.line_groups import line_groups
from addon.finishing.motion.move_costs import MoveCosts
from addon.finishing.motion.running_order import ends_of, running_order

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
