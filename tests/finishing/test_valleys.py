"""Valley lines: kinks of tip surfaces that are known in closed form, and the lines on them."""

from __future__ import annotations

import numpy as np
import pytest

from addon.finishing.core.array_types import FloatArray
from addon.finishing.core.grid import Grid
from addon.finishing.core.polyline import travelled
from addon.finishing.passes.valleys import WIDE, kinks, valley_lines

CELL = 0.25
GRID = Grid(left=-20.0, front=-15.0, cell=CELL, rows=121, columns=161)
X, Y = np.meshgrid(GRID.x(), GRID.y())
ALL = np.ones(GRID.shape, bool)


def aside(degrees: float) -> FloatArray:
    """Signed distance from a straight line through (0.07, 0.03), which no cell's centre lies on."""
    turn = np.radians(degrees)
    return (Y - 0.03) * np.cos(turn) - (X - 0.07) * np.sin(turn)


@pytest.mark.parametrize("degrees", [0.0, 20.0, 45.0, 70.0, 90.0, 135.0])
@pytest.mark.parametrize("flanks", [(0.4, 0.4), (0.1, 0.6)])
def test_a_line_runs_along_a_straight_crease(degrees: float, flanks: tuple[float, float]) -> None:
    # Closed form: in a crease between two planes the ball's tip runs on two planes that meet in one straight line.
    t = aside(degrees)
    tip = np.where(t > 0, flanks[0] * t, -flanks[1] * t)
    kinked = kinks(tip, GRID, 0.3)
    assert np.abs(t[kinked]).max() <= 2 * CELL
    lines = valley_lines(tip, GRID, kinked, ALL, 2.0)
    across = np.array([-np.sin(np.radians(degrees)), np.cos(np.radians(degrees))])
    points = np.concatenate(lines)
    inner = (np.abs(points[:, 0]) < 17) & (np.abs(points[:, 1]) < 12)  # at the ends of the grid one flank is cut off
    assert np.abs((points - [0.07, 0.03]) @ across)[inner].max() < 0.05 * CELL
    straight = min(40 / max(abs(across[1]), 1e-9), 30 / max(abs(across[0]), 1e-9))
    assert sum(float(travelled(line)[-1]) for line in lines) == pytest.approx(straight, abs=3)
    assert len(lines) == 1


def test_a_line_runs_round_a_ring_crease() -> None:
    # Closed form: a crease along a circle of 9 mm.
    away = np.hypot(X, Y)
    tip = 0.5 * np.abs(away - 9)
    lines = valley_lines(tip, GRID, kinks(tip, GRID, 0.3), ALL, 2.0)
    points = np.concatenate(lines)
    np.testing.assert_allclose(np.hypot(*points.T), 9, atol=0.5 * CELL)
    assert sum(float(travelled(line)[-1]) for line in lines) == pytest.approx(2 * np.pi * 9, rel=0.02)


@pytest.mark.parametrize("degrees", [10.0, 55.0])
def test_a_line_lies_on_the_crease_between_flanks_that_are_curved(degrees: float) -> None:
    # A tip surface that is known in closed form: flanks that ease off towards the crease, as where a ball of 16 mm bridges a recurve. Drawn
    # on straight from farther up they would meet a third of a cell beside it, where the ball stands some 0.05 mm above the other flank.
    t = aside(degrees)
    tip = np.where(t > 0, 0.05 * t + t * t / 60, -0.65 * t + 0.1 * np.minimum(t, 0) ** 2)
    line = max(valley_lines(tip, GRID, kinks(tip, GRID, 0.3), ALL, 2.0), key=len)
    inner = (np.abs(line[:, 0]) < 16) & (np.abs(line[:, 1]) < 11)
    across = np.array([-np.sin(np.radians(degrees)), np.cos(np.radians(degrees))])
    assert np.abs((line - [0.07, 0.03]) @ across)[inner].max() < 0.2 * CELL


def test_neither_smooth_hollows_nor_ridges_nor_slopes_are_kinks() -> None:
    t = aside(30.0)
    # A hollow of 3 mm radius turns by 0.17 within NARROW cells to both sides, more than is asked, but twice as much within WIDE ones.
    hollow = np.where(np.abs(t) < 2, 3 - np.sqrt(9 - np.minimum(np.abs(t), 2) ** 2), 3 - np.sqrt(5) + 2 / np.sqrt(5) * (np.abs(t) - 2))
    inside = np.zeros(GRID.shape, bool)
    inside[WIDE:-WIDE, WIDE:-WIDE] = np.abs(t[WIDE:-WIDE, WIDE:-WIDE]) < 0.5  # where the arc ends its curvature jumps
    found = kinks(hollow, GRID, 0.12)
    assert not (found & inside).any()
    # A sharp turn at its bottom is found all the same.
    sharp = kinks(hollow + 0.3 * np.abs(t), GRID, 0.12)
    assert sharp[inside & (np.abs(t) < CELL / 4)].all()
    assert not kinks(-0.5 * np.abs(t), GRID, 0.1).any()
    assert not kinks(0.7 * t, GRID, 0.1).any()


def test_a_turn_below_the_asked_one_is_no_kink() -> None:
    tip = 0.1 * np.abs(Y)  # the crease runs through cells' centres
    assert kinks(tip, GRID, 0.199).any()
    assert not kinks(tip, GRID, 0.201).any()


def test_nothing_is_found_where_the_ball_meets_no_body() -> None:
    tip = np.where(X > 3, -np.inf, 0.4 * np.abs(aside(0.0)))
    found = kinks(tip, GRID, 0.3)
    assert not found[X > 3].any() and found[X < 1].any()


def test_lines_keep_to_ground_that_is_cut_and_short_ones_are_left_out() -> None:
    tip = 0.4 * np.abs(aside(0.0))
    kinked = kinks(tip, GRID, 0.3)
    cutting = (X > -10) & (X < 0)
    (line,) = valley_lines(tip, GRID, kinked, cutting, 2.0)
    assert line[:, 0].min() >= -10 - CELL and line[:, 0].max() <= CELL
    assert valley_lines(tip, GRID, kinked, cutting, 12.0) == []
    assert valley_lines(tip, GRID, kinked, np.zeros_like(cutting), 2.0) == []
