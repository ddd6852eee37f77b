"""Level lines against closed forms, scipy, scikit-image and a plain twin."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import ndimage
from skimage.measure import find_contours

from addon.finishing.core.grid import Grid
from addon.finishing.core.level_lines import LevelLine, level_lines


def test_level_lines_of_a_cone_are_circles() -> None:
    # Closed form: rings of radius 2k + 1 have lengths 2 pi (2k + 1).
    grid = Grid(-50, -50, 0.5, 201, 201)
    cone = np.hypot(grid.x()[None, :], grid.y()[:, None]) / 2
    rings = [line for line in level_lines(cone, grid, 0.5) if line.closed]
    assert len(rings) == 25
    for ring in rings:
        closed = np.concatenate([ring.points, ring.points[:1]])
        length = np.linalg.norm(np.diff(closed, axis=0), axis=1).sum()
        assert length == pytest.approx(2 * np.pi * (2 * ring.level + 1), rel=0.02)
        # Greater values lie left: the rings run clockwise round the cone's tip, with the outside on their left.
        move = np.diff(closed, axis=0)
        middle = (closed[1:] + closed[:-1]) / 2
        assert (move[:, 0] * middle[:, 1] - move[:, 1] * middle[:, 0] > -1e-9).all()


def test_level_lines_pass_every_crossing_once() -> None:
    # Independent count: every grid edge that a level crosses is one vertex of exactly one line.
    rng = np.random.default_rng(3)
    values = ndimage.gaussian_filter(rng.random((60, 70)), 1.5) * 40
    lines = level_lines(values, Grid(0, 0, 1, 60, 70), 0.3)
    floor = np.floor(values - 0.3)
    crossings = np.abs(np.diff(floor, axis=0)).sum() + np.abs(np.diff(floor, axis=1)).sum()
    assert sum(len(line.points) for line in lines) == crossings
    for line in lines:
        row, column = line.points[:, 1], line.points[:, 0]
        level = ndimage.map_coordinates(values, [row, column], order=1)
        np.testing.assert_allclose(level, 0.3 + line.level, atol=1e-6)


def pieces_of(line: LevelLine) -> np.ndarray:
    """The straight pieces (n, 2, 2) of a line."""
    return np.stack([line.whole[:-1], line.whole[1:]], axis=1)


def plain_pieces(values: np.ndarray, level: float) -> list[np.ndarray]:
    """Plain twin: the pieces of one level line, square by square, edge by edge. Saddles are cut by the mean of their corners."""
    found = []
    for r in range(values.shape[0] - 1):
        for c in range(values.shape[1] - 1):
            corners = [(r, c), (r, c + 1), (r + 1, c + 1), (r + 1, c)]
            crossed = []
            for k in range(4):
                (r0, c0), (r1, c1) = corners[k], corners[(k + 1) % 4]
                z0, z1 = values[r0, c0], values[r1, c1]
                if (z0 >= level) != (z1 >= level):
                    share = (level - z0) / (z1 - z0)
                    crossed.append((k, np.array([c0 + share * (c1 - c0), r0 + share * (r1 - r0)])))
            if len(crossed) == 2:
                found.append(np.stack([crossed[0][1], crossed[1][1]]))
            elif len(crossed) == 4:
                # Each corner that differs from the middle is cut off by a piece between its two edges (k - 1 and k for corner k).
                middle = np.mean([values[at] for at in corners]) >= level
                for k in range(4):
                    if (values[corners[k]] >= level) != middle:
                        found.append(np.stack([crossed[(k - 1) % 4][1], crossed[k][1]]))
    return found


@pytest.mark.parametrize("seed", range(4))
def test_pieces_equal_those_found_square_by_square(seed: int) -> None:
    # White noise: every pattern of corners and both kinds of saddle, with several levels through one square.
    rng = np.random.default_rng(seed)
    values = rng.random((14, 17)) * 3
    lines = level_lines(values, Grid(0, 0, 1, 14, 17), 0.4)
    for number in (0, 1, 2):
        ours = np.concatenate([np.zeros((0, 2, 2)), *[pieces_of(line) for line in lines if line.level == number]])
        expected = plain_pieces(values, 0.4 + number)
        assert len(ours) == len(expected) > 0
        key = lambda piece: tuple(np.round(sorted(map(tuple, piece)), 9).ravel())  # noqa: E731
        np.testing.assert_allclose(sorted(map(key, ours)), sorted(map(key, expected)), atol=1e-8)


def test_lengths_are_those_of_scikit_images_contours() -> None:
    # Reference library: skimage.measure.find_contours, marching squares with linear interpolation; a smooth field has few saddles.
    values = ndimage.gaussian_filter(np.random.default_rng(8).random((70, 90)), 5) * 60
    lines = level_lines(values, Grid(0, 0, 1, 70, 90), 0.25)
    for number in {line.level for line in lines}:
        ours = sum(np.linalg.norm(np.diff(line.whole, axis=0), axis=1).sum() for line in lines if line.level == number)
        theirs = sum(np.linalg.norm(np.diff(contour, axis=0), axis=1).sum() for contour in find_contours(values, 0.25 + number))
        assert ours == pytest.approx(theirs, rel=1e-6)


def test_the_field_is_greater_on_the_left() -> None:
    # By construction, on a field without symmetry: a step to the left of a piece's middle goes uphill.
    values = ndimage.gaussian_filter(np.random.default_rng(5).random((50, 60)), 2.5) * 40
    pieces = np.concatenate([pieces_of(line) for line in level_lines(values, Grid(0, 0, 1, 50, 60), 0.0)])
    move = pieces[:, 1] - pieces[:, 0]
    longer = np.linalg.norm(move, axis=1) > 0.1
    assert longer.sum() > 500
    middle, left = pieces.mean(axis=1)[longer], np.column_stack([-move[:, 1], move[:, 0]])[longer] * 0.05
    low, high = (ndimage.map_coordinates(values, [at[:, 1], at[:, 0]], order=1) for at in (middle - left, middle + left))
    assert (high > low).mean() > 0.999


def test_unknown_cells_hold_no_line() -> None:
    grid = Grid(0, 0, 0.5, 30, 40)
    slope = grid.x()[None, :] + np.zeros(grid.shape)
    known = np.ones(grid.shape, bool)
    known[10:20] = False
    lines = level_lines(slope, grid, 0.25, known)
    # Straight lines along y above and below the gap: squares with a corner in it hold none.
    assert {line.level for line in lines} == set(range(20)) and len(lines) == 40
    for line in lines:
        assert not line.closed and np.allclose(line.points[:, 0], 0.25 + line.level)
        assert line.points[:, 1].max() <= 9 * 0.5 or line.points[:, 1].min() >= 20 * 0.5
    assert level_lines(slope, grid, 0.25, np.zeros(grid.shape, bool)) == []
    assert level_lines(np.zeros(grid.shape), grid, 0.25) == []


def test_lines_of_turned_values_come_in_the_same_order() -> None:
    # Hills with rings round them, on a slope whose lines are open: 5.3 units high, so that there are some of both.
    y, x = np.mgrid[:60, :90] / 10.0
    values = 0.4 * x + 2.1 * np.exp(-((x - 2.7) ** 2) - (y - 2.2) ** 2) + 1.6 * np.exp(-((x - 6.4) ** 2) / 2 - (y - 3.9) ** 2)
    reference = level_lines(values, Grid(0.0, 0.0, 1.0, 60, 90), 0.05)
    assert any(line.closed for line in reference) and any(not line.closed for line in reference)
    for quarters in (1, 2, 3):
        turned = np.rot90(values, quarters)
        grid = Grid(0.0, 0.0, 1.0, *turned.shape)
        back = [np.rot90(part, -quarters) for part in np.meshgrid(grid.x(), grid.y())]  # x and y, in the turned grid, of each cell as it was
        for line, same in zip(level_lines(turned, grid, 0.05), reference, strict=True):
            assert (line.level, line.closed) == (same.level, same.closed)
            row, column = same.points[:, 1], same.points[:, 0]
            there = [ndimage.map_coordinates(part, [row, column], order=1) for part in back]
            np.testing.assert_allclose(line.points, np.stack(there, axis=1), atol=1e-9)
