"""Bounds over blocks against every cell of them."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import ndimage

from addon.finishing.ball.block_bounds import BlockGrid, PairBounds, Planes, merged_lower, upper_planes

CELL, SIZES = 0.25, (16, 8, 4)


def ground(seed: int) -> np.ndarray:
    """Heights (96, 128): smooth, with a wall and a rough patch."""
    rng = np.random.default_rng(seed)
    heights = ndimage.gaussian_filter(rng.normal(size=(96, 128)), 6) * 30
    heights[:, 70:] -= 6
    heights[40:60, 20:40] += rng.normal(0, 0.5, (20, 20))
    return heights.astype(np.float32)


def blocks_of(values: np.ndarray, size: int) -> np.ndarray:
    """(blocks, size, size), blocks numbered row by row."""
    rows, columns = values.shape
    return values.reshape(rows // size, size, columns // size, size).swapaxes(1, 2).reshape(-1, size, size)


def plane_cells(planes: Planes, size: int) -> np.ndarray:
    """Heights of planes over the cells of their blocks, (blocks, size, size)."""
    offset = (np.arange(size) - (size - 1) / 2) * CELL
    return planes.height[:, None, None] + planes.slope_y[:, None, None] * offset[:, None] + planes.slope_x[:, None, None] * offset


@pytest.mark.parametrize("seed", range(3))
def test_no_cell_stands_above_its_blocks_plane(seed: int) -> None:
    heights = ground(seed)
    planes, cells = upper_planes(heights, CELL, SIZES)
    np.testing.assert_array_equal(cells.T.reshape(-1, 4, 4), blocks_of(heights, 4))
    for size in SIZES:
        over = blocks_of(heights, size) - plane_cells(planes[size], size)
        assert over.max() <= 2e-5
        # And on smooth ground planes lie close: half of them within a tenth of the block's width.
        assert np.median(-over.max(axis=(1, 2))) <= 0.1 * size * CELL


def test_planes_of_slanted_ground_are_the_ground() -> None:
    # Closed form: a plane is its own upper plane, at every size.
    y, x = np.mgrid[0:96, 0:128] * CELL
    slanted = (0.7 * x - 0.4 * y).astype(np.float32)
    planes, _ = upper_planes(slanted, CELL, SIZES)
    for size in SIZES:
        np.testing.assert_allclose(planes[size].slope_x, 0.7, atol=1e-4)
        np.testing.assert_allclose(planes[size].slope_y, -0.4, atol=1e-4)
        np.testing.assert_allclose(plane_cells(planes[size], size), blocks_of(slanted, size), atol=1e-4)


def test_merged_planes_lie_below_their_quarters() -> None:
    rng = np.random.default_rng(7)
    inner = Planes(*rng.normal(0, 1, (3, 4 * 50)).astype(np.float32))
    merged = merged_lower(inner, CELL, 8)
    quarters = plane_cells(inner, 4).reshape(50, 2, 2, 4, 4).swapaxes(2, 3).reshape(50, 8, 8)
    over = plane_cells(merged, 8) - quarters
    assert over.max() <= 2e-6
    assert np.median(-over.min(axis=(1, 2))) < 10


@pytest.mark.parametrize("radius", [2.0, 6.0])
@pytest.mark.parametrize("quarter", [None, 0, 3])
def test_a_pair_that_can_raise_the_ball_is_never_dropped(radius: float, quarter: int | None) -> None:
    # Brute force: the ball on every cell of the source block, at every position of the target block (or one of its quarters), held
    # against the lower plane there.
    size = 8
    heights = ground(1)
    above = upper_planes(heights, CELL, (16, 8))[0][size]
    across = heights.shape[1] // size
    around = int(radius / CELL) // size + 1
    pairs = PairBounds(radius, BlockGrid(size, CELL, across, around), quarter)
    rng = np.random.default_rng(3)
    target_size = size if quarter is None else size // 2
    shift = np.zeros(2) if quarter is None else np.array([quarter // 2, quarter % 2]) * target_size
    inner = np.stack(np.meshgrid(np.arange(size), np.arange(size), indexing="ij"), axis=-1).reshape(-1, 2)
    positions = np.stack(np.meshgrid(np.arange(target_size), np.arange(target_size), indexing="ij"), axis=-1).reshape(-1, 2)
    kept = 0
    for _ in range(300):
        target = np.array([rng.integers(around, 12 - around), rng.integers(around, 16 - around)])
        apart = rng.integers(-around, around + 1, 2)
        source = target + apart
        at, cells = (target * size + shift + positions) * CELL, source * size + inner
        room = radius**2 - ((cells * CELL)[None] - at[:, None]) ** 2 @ [1, 1]
        tips = np.where(room >= 0, heights[tuple(cells.T)] - radius + np.sqrt(np.maximum(room, 0)), -np.inf).max(axis=1)
        if not np.isfinite(tips).any():
            continue
        # A plane of any slope that the ball just passes at one of the positions, or that it stays clear of.
        level = Planes(*(np.float32([v]) for v in (0.0, *rng.uniform(-1.5, 1.5, 2))))
        highest = float((tips - plane_cells(level, target_size)[0].ravel()).max())
        key = np.array([apart @ [across, 1] + pairs.base])

        def may(height: float, source: np.ndarray = source, level: Planes = level, key: np.ndarray = key) -> bool:
            known = Planes(np.float32([height]), level.slope_x, level.slope_y)
            return bool(pairs.may_raise(above, np.array([source @ [across, 1]]), key, known)[0])

        assert may(highest - 1e-3)
        kept += may(highest + 4.0)
    # The bound is worth something: 4 mm above what they can do most pairs are dropped, though walls and rough ground run through some
    # and planes slant far more than a ball rests.
    assert kept < 150


def test_blocks_in_range_are_those_that_the_ball_reaches() -> None:
    # Definition: the least distance between cells of the two blocks is not above the radius.
    radius, size, across, around = 3.0, 8, 50, 3
    pairs = PairBounds(radius, BlockGrid(size, CELL, across, around))
    expected = set()
    for down in range(-around, around + 1):
        for right in range(-around, around + 1):
            gap = [max(abs(n) * size - (size - 1), 0) * CELL for n in (down, right)]
            if np.hypot(*gap) <= radius:
                expected.add(down * across + right)
    assert set(pairs.in_range.tolist()) == expected
