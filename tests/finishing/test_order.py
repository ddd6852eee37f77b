"""Running order against exact optima, and turns and early ends of lines against closed forms and the run time."""

from __future__ import annotations

import numpy as np
import pytest

from addon.finishing.ball.axis_region import AxisRegion
from addon.finishing.core.cusp_formulas import spacing_on_flat
from addon.finishing.core.grid import Grid
from addon.finishing.core.path import CUT, Path
from addon.finishing.job.machine import Machine
from addon.finishing.motion.line_groups import stretches
from addon.finishing.motion.links import set_back_turn, surface_link
from addon.finishing.motion.move_costs import WayCosts
from addon.finishing.motion.run_time import run_time
from addon.finishing.motion.running_order import ends_of, running_order
from addon.finishing.motion.trims import spare_at_ends
from addon.finishing.passes.cusp_metric import cusp_metric

EVEN = Machine(speed_z=5000.0, acceleration_z=400.0)
FREE = WayCosts(50.0, 1e6, 80.0, lambda ways: np.zeros(len(ways), bool))


def anywhere(points: np.ndarray) -> np.ndarray:
    return np.ones(len(points), bool)


def straight(*ends: tuple[float, float, float, float]) -> list[np.ndarray]:
    """Lines of two points from x, y to x, y."""
    return [np.array([[a, b], [c, d]], float) for a, b, c, d in ends]


def ways_of(lines: list[np.ndarray], visits: list) -> np.ndarray:
    begins, finishes = ends_of(lines, visits)
    return np.stack([finishes[:-1], begins[1:]], axis=1)


def least_way(lines: list[np.ndarray]) -> float:
    """Length of the ways in the best of all orders and senses, by dynamic programming over sets of lines (M. Held, R. Karp 1962)."""
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
        visits = running_order(lines, np.zeros(2), True, FREE)
        assert sorted(visit.line for visit in visits) == list(range(7))
        ways = ways_of(lines, visits)
        shares.append(float(np.linalg.norm(ways[:, 1] - ways[:, 0], axis=1).sum()) / least_way(lines))
    assert min(shares) >= 1 - 1e-9
    assert np.mean(shares) < 1.01


def round_a_pocket() -> list[np.ndarray]:
    """Lines 2 mm apart on 100 x 60 mm, parted by a pocket between x 40 and 70, y 20 and 40."""
    lines = []
    for y in np.arange(1.0, 60.0, 2.0):
        lines += straight((0, y, 38, y), (72, y, 100, y)) if 20 < y < 40 else straight((0, y, 100, y))
    return lines


def test_stretches_are_the_regions_round_a_pocket() -> None:
    lines = round_a_pocket()
    found = stretches(np.array([line[0] for line in lines]), np.array([line[-1] for line in lines]))
    assert sorted(len(group) for group in found) == [10, 10, 10, 10]
    for group in found:
        heights = [lines[number][0, 1] for number in group]
        assert np.allclose(np.abs(np.diff(heights)), 2.0)
        assert len({(lines[number][0, 0], lines[number][-1, 0]) for number in group}) == 1


def test_regions_are_left_and_come_back_to_with_few_long_ways() -> None:
    lines = round_a_pocket()
    for turned in (False, True):  # whichever way they are given
        given = [line[::-1] if turned and k % 3 else line for k, line in enumerate(lines)]
        visits = running_order(given, np.zeros(2), True, FREE)
        assert sorted(visit.line for visit in visits) == list(range(len(lines)))
        ways = ways_of(given, visits)
        length = np.linalg.norm(ways[:, 1] - ways[:, 0], axis=1)
        # Four regions: between neighbours 2 mm, and three ways from one to the next.
        assert (length > 2.1).sum() <= 3
        assert length.sum() < 2 * (len(lines) - 1) + 70


def test_one_way_lines_keep_their_sense() -> None:
    lines = straight(*((0, y, 50, y) for y in range(12)))
    visits = running_order(lines, np.zeros(2), False, FREE)
    assert sorted(visit.line for visit in visits) == list(range(12))
    assert not any(visit.reverse for visit in visits)


def test_a_barred_way_costs_a_lift() -> None:
    costs = WayCosts(50.0, 3.0, 80.0, lambda ways: ways[:, 0, 0] > 100)
    ways = np.array([[[0, 0], [40, 0]], [[200, 0], [240, 0]], [[0, 0], [0, 4000]], [[200, 0], [204, 0]]], float)
    assert costs.of(ways) == pytest.approx([0.8, 3.5, 53.0, 0.08])
    assert [costs.least(mm) for mm in (40.0, 4000.0, 4.0)] == pytest.approx([0.8, 53.0, 0.08])


def region_between(grid: Grid, left: float, right: float) -> AxisRegion:
    """Axis positions from left to right may be cut; where contacts lie does not matter here."""
    cutting = np.zeros(grid.shape, bool)
    cutting[:, (grid.x() >= left) & (grid.x() <= right)] = True
    none = np.zeros(grid.shape, np.int32)
    return AxisRegion(grid, cutting, cutting, none, none, np.zeros(grid.shape))


RADIUS, CUSP, HOLLOW = 8.0, 0.05, 20.0


@pytest.mark.parametrize("form", ["flat", "slope", "hollow"])
def test_lines_may_end_half_a_spacing_early_at_the_border(form: str) -> None:
    # Closed forms. In a hollow of radius r the tip runs on r - R, the unit along it is s sqrt((r - R)/r) there, and the contact
    # moves r / (r - R) as far as the tip: on the ground no more than half of the flat spacing s may be left.
    grid = Grid(-15.0, -5.0, 0.25, 41, 121)
    x = np.broadcast_to(grid.x(), grid.shape)
    flat = float(spacing_on_flat(RADIUS, CUSP))
    within = HOLLOW - RADIUS
    tip, expected = {
        "flat": (np.zeros(grid.shape), flat / 2),
        "slope": (0.7 * x, flat / 2 / np.hypot(1, 0.7)),
        "hollow": (-np.sqrt(np.maximum(within**2 - x**2, 1.0)), flat / 2 * within / HOLLOW),
    }[form]
    metric = cusp_metric(tip, grid, RADIUS, CUSP, 0.25)
    region = region_between(grid, -20.0, 4.0)
    lines = [np.array([[-3.0, 0.0], [0.0, 0.0], [4.0, 0.0]]), np.array([[4.0, 1.0], [-4.0, 1.0]])]
    spare = spare_at_ends(lines, region, metric)
    assert spare[0, 0] == spare[1, 1] == 0  # they end amid ground that may be cut
    assert spare[0, 1] == pytest.approx(expected, rel=0.03)
    assert spare[1, 0] == pytest.approx(expected, rel=0.03)
    ring = np.array([[4.0, 0.0], [0.0, 2.0], [0.0, -2.0], [4.0, 0.0]])
    assert not spare_at_ends([ring], region, metric).any()


def seconds(*pieces: np.ndarray) -> float:
    """Run time of pieces in plan on a machine with all axes alike."""
    plan = np.concatenate([piece[:, :2] for piece in pieces])
    points = np.column_stack([plan, np.zeros(len(plan))])
    n = len(points)
    return run_time(Path(points, np.full(n, CUT, np.uint8), np.ones(n, np.int32), np.full(n, 3500.0)), EVEN).total_seconds


@pytest.mark.parametrize("slant", [0.0, 2.0, 4.0, 6.0, -6.0])
def test_a_turn_on_the_border_is_quick_and_stays_there(slant: float) -> None:
    apart = float(spacing_on_flat(RADIUS, CUSP))
    before = np.column_stack([np.linspace(-60, 0, 31), np.zeros(31), np.zeros(31)])
    after = np.column_stack([np.linspace(slant, slant - 60, 31), np.full(31, apart), np.zeros(31)])
    turn = set_back_turn(before, after, (apart / 2, apart / 2), anywhere)
    assert turn is not None
    first, way, second = turn
    assert np.allclose(way[0], first[-1, :2]) and np.allclose(way[-1], second[0, :2])
    for line, kept in ((before, first), (after, second)):
        lost = np.linalg.norm(np.diff(line, axis=0), axis=1).sum() - np.linalg.norm(np.diff(kept, axis=0), axis=1).sum()
        assert 0 <= lost <= apart / 2 + 1e-9
    # The border runs through both ends: the way passes it by no more than a quarter of the spacing, on the square by a tenth.
    across = np.array([apart, -slant]) / np.hypot(apart, slant)
    assert (way @ across).max() < (0.25 if slant else 0.1) * apart
    # Closed form: a half circle begun at the border, the ways to its ends in a straight line with the lines.
    angle = np.linspace(-np.pi / 2, np.pi / 2, 25)
    reach = max(slant, 0.0)
    circle = np.column_stack([reach + apart / 2 * np.cos(angle), apart / 2 + apart / 2 * np.sin(angle)])
    assert seconds(first, way, second) < seconds(before, circle, after) - 0.02


def test_lines_that_may_lose_nothing_are_left_whole() -> None:
    before, after = np.array([[-9.0, 0, 0], [0, 0, 0]]), np.array([[0.0, 2, 0], [-9, 2, 0]])
    assert set_back_turn(before, after, (0.0, 0.0), anywhere) is None
    way = surface_link(before[-1, :2], np.array([1.0, 0]), after[0, :2], np.array([-1.0, 0]), anywhere)
    assert way is not None and np.allclose(way[[0, -1]], [[0, 0], [0, 2]])
    # What is lost is told in plan: on a slope of 45 degrees the line itself loses more.
    steep = before * [1, 1, 0] + np.column_stack([np.zeros((2, 2)), before[:, 0]])
    turn = set_back_turn(steep, after, (0.5, 0.0), anywhere)
    assert turn is not None and turn[0][-1] == pytest.approx([-0.5, 0, -0.5])
    assert (turn[2] == after).all()


def test_a_line_that_begins_where_the_one_before_ends_needs_no_turn() -> None:
    before, after = np.array([[-9.0, 0, 0], [0, 0, 0]]), np.array([[0.0, 0, 0], [-9, 2, 0]])
    assert set_back_turn(before, after, (1.0, 1.0), anywhere) is None
    way = surface_link(before[-1, :2], np.array([1.0, 0]), after[0, :2], np.array([-1.0, 0.2]), anywhere)
    assert way is not None and not way.any()


def test_a_turn_that_finds_no_room_is_not_taken() -> None:
    before, after = np.array([[-9.0, 0, 0], [0, 0, 0]]), np.array([[0.0, 2, 0], [-9, 2, 0]])
    assert set_back_turn(before, after, (1.0, 1.0), lambda points: points[:, 0] < -5) is None
