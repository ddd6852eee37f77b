"""Gaps between lines: the distance to the nearest line against a search through all, and the lines along the gaps' middles."""

from __future__ import annotations

import numpy as np
import pytest

from addon.finishing.core.array_types import FloatArray, Mask
from addon.finishing.core.grid import Grid
from addon.finishing.core.polyline import travelled
from addon.finishing.passes.cusp_metric import CuspMetric
from addon.finishing.passes.gaps import COVERED, FARTHEST, JOINED, distance_to_lines, gap_lines

CELL = 0.5
GRID = Grid(left=-3.0, front=2.0, cell=CELL, rows=60, columns=80)
X, Y = np.meshgrid(GRID.x(), GRID.y())


def metric_of(xx: FloatArray | float, xy: FloatArray | float, yy: FloatArray | float) -> CuspMetric:
    parts = {name: np.broadcast_to(np.asarray(value, float), GRID.shape).copy() for name, value in (("xx", xx), ("xy", xy), ("yy", yy))}
    none = np.zeros(GRID.shape)
    return CuspMetric(grid=GRID, cusp=0.05, radius=6.0, slope_x=none, slope_y=none, **parts)


def searched(metric: CuspMetric, lines: list[FloatArray], wanted: Mask) -> FloatArray:
    """g-distance of the wanted cells to every point of densely sampled lines, in the metric of the cell, (number of wanted cells,)."""
    dense = np.concatenate([np.column_stack([np.interp(np.linspace(0, len(p) - 1, 4000), np.arange(len(p)), p[:, k]) for k in (0, 1)]) for p in lines])
    found = []
    for r, c in zip(*np.nonzero(wanted), strict=True):
        x, y = (dense - [X[r, c], Y[r, c]]).T
        found.append(np.sqrt((metric.xx[r, c] * x * x + 2 * metric.xy[r, c] * x * y + metric.yy[r, c] * y * y).min()))
    return np.array(found)


@pytest.mark.parametrize("even", [True, False])
def test_distances_equal_a_search_through_all(even: bool) -> None:
    # Where the metric changes from cell to cell, so does what is nearest; by the jumps a cell learns it from its neighbours.
    change = 0.0 if even else 0.08 * np.sin(X / 7) * np.cos(Y / 5)
    metric = metric_of(0.30 + change, 0.08, 0.22 - change)
    x = np.linspace(0, 36, 25)
    lines: list[FloatArray] = [np.column_stack([x, y + 1.5 * np.sin(x / 6 + y)]) for y in (6.0, 12.5, 19.0, 25.0)]
    wanted = np.random.default_rng(3).random(GRID.shape) < 0.3
    wanted &= (X > 1) & (X < 35)  # beside the lines, not beyond their ends, which count as half a cell longer
    found, exact = distance_to_lines(metric, lines, wanted)[wanted], searched(metric, lines, wanted)
    near = exact < 1.2
    # A cell keeps one point of the lines, whose straight piece stands for them: a turn within it is off by a fraction of a cell (0.25 units).
    np.testing.assert_allclose(found[near], exact[near], atol=0.04)
    assert (found[exact > 1.3] > 1.2).all()


def test_without_lines_every_cell_is_far() -> None:
    for lines in ([], [np.array([[3.0, 8.0], [3.0, 8.0]])]):  # a line of no length is none
        assert (distance_to_lines(metric_of(0.3, 0, 0.3), lines) == FARTHEST).all()


def ridge(y: float, first: float, last: float, height: float) -> FloatArray:
    """g-distances that fall by 0.2 a millimetre from a ridge along x between first and last."""
    beyond = np.maximum(0, np.maximum(first - X, X - last))
    return height - 0.2 * np.hypot(beyond, Y - y)


EVERYWHERE = np.ones(GRID.shape, bool)


def test_a_line_runs_along_the_middle_of_a_gap() -> None:
    (line,) = gap_lines(GRID, ridge(14.0, 5.0, 25.0, 0.7), EVERYWHERE, 1.06, 2.0)
    inner = line[(line[:, 0] > 6) & (line[:, 0] < 24)]
    assert len(inner) > 30 and np.abs(inner[:, 1] - 14.0).max() <= CELL
    # It covers the gap: all that is above the limit lies within the gap's half width of it.
    assert travelled(line)[-1] == pytest.approx(20, abs=4)


def test_covered_ground_and_ground_that_is_not_asked_about_need_no_line() -> None:
    high = ridge(14.0, 5.0, 25.0, COVERED * np.sqrt(1.05))
    assert gap_lines(GRID, high, EVERYWHERE, 1.06, 2.0) == []
    assert gap_lines(GRID, ridge(14.0, 5.0, 25.0, 0.7), Y > 18, 1.06, 2.0) == []


@pytest.mark.parametrize("between, lines", [(JOINED + 0.05, 1), (JOINED - 0.05, 2)])
def test_gaps_one_after_the_other_are_joined_through_ground_that_is_nearly_uncovered(between: float, lines: int) -> None:
    both = np.maximum(ridge(14.0, 5.0, 12.0, 0.6), ridge(14.0, 15.5, 25.0, 0.6))
    joined = np.maximum(both, np.where(np.abs(Y - 14) < 0.6, np.where((X > 5) & (X < 25), between, 0), 0))
    assert len(gap_lines(GRID, joined, EVERYWHERE, 1.06, 2.0)) == lines


def test_gaps_of_turned_ground_get_the_same_lines() -> None:
    # Two arms that meet on the slant, two cells wide, on ground that fills one half of the grid more than the other.
    slanting = 0.7 - 0.25 * np.abs(Y - 8.0 - 0.6 * (X - 5.0) - 0.1)
    distance = np.maximum(ridge(14.1, 5.0, 25.0, 0.7), np.where((X > 8) & (X < 22), slanting, 0.0))
    doubtful = Y > 0.3 * X
    reference = gap_lines(GRID, distance, doubtful, 1.06, 2.0)
    assert len(reference) > 1
    for quarters in (1, 2, 3):
        turned = np.rot90(distance, quarters)
        grid = Grid(0.0, 0.0, CELL, *turned.shape)
        x, y = (np.rot90(part, -quarters) for part in np.meshgrid(grid.x(), grid.y()))
        for line, same in zip(gap_lines(grid, turned, np.rot90(doubtful, quarters), 1.06, 2.0), reference, strict=True):
            np.testing.assert_allclose(line, np.column_stack([GRID.sample(x, same), GRID.sample(y, same)]), atol=1e-9)


def test_every_gap_gets_a_line_however_small() -> None:
    # One cell, two cells on the slant, and a block of 2 x 2: too small for a chain, but no cusp may stay in them.
    distance = np.zeros(GRID.shape)
    cells = [[(10, 10)], [(30, 20), (31, 21)], [(45, 60), (45, 61), (46, 60), (46, 61)]]
    for row, column in sum(cells, []):
        distance[row, column] = 0.7
    lines = gap_lines(GRID, distance, EVERYWHERE, 1.06, 2.0)
    points = np.concatenate(lines)
    for group in cells:
        middles = GRID.middles(*np.array(group).T)
        for middle in middles:
            assert np.hypot(*(points - middle).T).min() <= CELL
    assert all(0 < travelled(line)[-1] < 3 * CELL for line in lines)


def test_a_line_follows_nearly_uncovered_ground_only_so_far() -> None:
    tail = np.where((np.abs(Y - 14) < 0.6) & (X > 5) & (X < 30), JOINED + 0.05, 0)
    (line,) = gap_lines(GRID, np.maximum(ridge(14.0, 5.0, 12.0, 0.6), tail), EVERYWHERE, 1.06, 3.0)
    assert 13 < line[:, 0].max() < 17
