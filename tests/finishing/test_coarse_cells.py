"""Blocks of cells, and means over them."""

from __future__ import annotations

import numpy as np
import pytest

from addon.finishing.core.coarse_cells import blocks_along, coarsened


@pytest.mark.parametrize("factor", [1, 2, 3, 4])
@pytest.mark.parametrize("shape", [(10, 7), (12, 8), (9, 11)])
def test_coarsened_values_are_means_over_blocks(factor: int, shape: tuple[int, int]) -> None:
    # Plain twin: every cell parted in halves along both axes, every block by itself; past the border the last cells repeat.
    values = np.random.default_rng(6).normal(size=shape)
    counts = [-(-cells // factor) for cells in shape]
    past = [count * factor - cells for count, cells in zip(counts, shape, strict=True)]  # in halves, at each end
    expected = np.empty(counts)
    for i in range(counts[0]):
        for j in range(counts[1]):
            halves = [
                values[min(max((2 * i * factor + a - past[0]) // 2, 0), shape[0] - 1), min(max((2 * j * factor + b - past[1]) // 2, 0), shape[1] - 1)]
                for a in range(2 * factor)
                for b in range(2 * factor)
            ]
            expected[i, j] = np.mean(halves)
    np.testing.assert_allclose(coarsened(values, factor), expected, atol=1e-12)


@pytest.mark.parametrize("factor", [2, 3, 4, 5])
def test_values_turned_by_quarters_have_the_same_means(factor: int) -> None:
    values = np.random.default_rng(7).normal(size=(23, 30))
    for quarters in (1, 2, 3):
        np.testing.assert_allclose(coarsened(np.rot90(values, quarters), factor), np.rot90(coarsened(values, factor), quarters), atol=1e-12)


def test_cells_lie_in_the_blocks_that_cover_their_centres() -> None:
    for cells, factor in ((9, 2), (10, 3), (11, 4), (12, 4)):
        blocks = blocks_along(cells, factor)
        middles = blocks.middle + factor * np.arange(blocks.count)
        away = np.abs(middles[blocks.of(np.arange(cells))] - np.arange(cells))
        assert away.max() <= factor / 2 and blocks.count == -(-cells // factor)
