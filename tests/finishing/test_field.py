"""Distance field, level lines and cells against closed forms and scipy."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import ndimage

from addon.finishing.core.grid import Grid
from addon.finishing.core.level_lines import level_lines
from addon.finishing.core.masks import centre_lines, chains, connected_parts, distance_to, grown
from addon.finishing.passes.cusp_metric import CuspMetric
from addon.finishing.passes.distance_field import FAR, distance_field


def constant_metric(grid: Grid, xx: float, xy: float, yy: float) -> CuspMetric:
    one = np.ones(grid.shape)
    return CuspMetric(grid, 0.05, 8.0, xx * one, xy * one, yy * one, 0 * one, 0 * one)


@pytest.mark.parametrize("xx, xy, yy", [(0.3, 0.0, 0.3), (0.4, 0.15, 0.2), (0.2, -0.15, 0.5)])
def test_distance_from_a_point_in_a_constant_metric(xx: float, xy: float, yy: float) -> None:
    # Closed form: sqrt(v^T g v). The scheme is of first order, so the error shrinks with the cell.
    errors = []
    for cell in (1.0, 0.5):
        grid = Grid(-30, -40, cell, int(90 / cell), int(70 / cell))
        x, y = grid.x()[None, :], grid.y()[:, None]
        exact = np.sqrt(xx * x * x + 2 * xy * x * y + yy * y * y)
        start = np.where(np.hypot(x, y) < 4, exact, FAR)
        found = distance_field(constant_metric(grid, xx, xy, yy), start)
        errors.append(float(np.abs(found - exact).max()))
    assert errors[1] < 0.3
    assert errors[1] < 0.75 * errors[0]


def test_distance_from_a_line_is_exact_in_a_constant_metric() -> None:
    # Closed form: across a straight front the distance is |t| / sqrt(n^T g^-1 n), whatever its direction.
    grid = Grid(0, 0, 0.5, 120, 160)
    metric = constant_metric(grid, 0.4, 0.15, 0.2)
    start = np.full(grid.shape, FAR)
    start[0] = 0
    found = distance_field(metric, start)
    determinant = 0.4 * 0.2 - 0.15**2
    exact = grid.y()[:, None] * np.sqrt(determinant / 0.4) + np.zeros(grid.shape)
    # Rays slant by 22 mm over the height: cells near the sides are fed from the corners of the start, not from its inside.
    np.testing.assert_allclose(found[:, 50:80], exact[:, 50:80], atol=1e-9)


def test_fronts_go_round_what_is_not_allowed() -> None:
    # Closed form: the way round a wall's end is two straight pieces.
    grid = Grid(0, 0, 0.5, 101, 101)
    allowed = np.ones(grid.shape, bool)
    allowed[50, :80] = False
    start = np.full(grid.shape, FAR)
    start[20, 20] = 0
    found = distance_field(constant_metric(grid, 1, 0, 1), start, allowed)
    exact = np.hypot(60, 30) * 0.5 + np.hypot(60, 30) * 0.5
    assert found[80, 20] == pytest.approx(exact, rel=0.03)
    assert (found[~allowed] == FAR).all()


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


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 10**6), st.floats(0.3, 0.7))
def test_connected_parts_and_distances_agree_with_scipy(seed: int, share: float) -> None:
    rng = np.random.default_rng(seed)
    mask = ndimage.gaussian_filter(rng.random((50, 40)), 1.0) > 0.5 + (share - 0.5) * 0.2
    parts = connected_parts(mask)
    reference, count = ndimage.label(mask)
    assert parts.max(initial=0) == count
    pairs = np.unique(np.stack([parts[mask], reference[mask]]), axis=1) if mask.any() else np.zeros((2, 0))
    assert pairs.shape[1] == count
    if mask.any():
        exact = np.minimum(ndimage.distance_transform_edt(~mask) * 0.25, 3.0)
        np.testing.assert_allclose(distance_to(mask, 0.25, 3.0), exact, atol=1e-5)
        np.testing.assert_array_equal(grown(mask, 0.25, 0.6), exact <= 0.6)


def test_steps_part_floors() -> None:
    heights = np.zeros((20, 20))
    heights[5:15, 5:15] = -3
    parts = connected_parts(np.ones((20, 20), bool), heights, step=1.0)
    assert parts.max() == 2
    assert (parts == parts[10, 10]).sum() == 100


def test_centre_lines_keep_what_hangs_together() -> None:
    # Independent count by scipy's labels: thinning neither parts nor joins, and leaves lines one cell wide.
    mask = np.zeros((60, 80), bool)
    mask[10:16, 5:70] = True
    mask[10:50, 30:36] = True
    mask[40:44, 50:75] = True
    thin = centre_lines(mask)
    eight = np.ones((3, 3))
    assert ndimage.label(thin, eight)[1] == ndimage.label(mask, eight)[1] == 2
    assert (thin & ~mask).sum() == 0
    assert not ndimage.binary_erosion(thin, np.ones((2, 2))).any()
    lengths = sorted(len(chain) for chain in chains(thin))
    assert sum(lengths) >= thin.sum()
    assert len(lengths) == 4  # three arms of the T and the bar apart
