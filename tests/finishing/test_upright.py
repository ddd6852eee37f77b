"""Arrays turned by quarters so that what they show lies the same."""

from __future__ import annotations

import numpy as np
import pytest

from addon.finishing.core.upright import Upright


def leaf(rows: int, columns: int) -> np.ndarray:
    """A mask with more of it on one side along both axes."""
    y, x = np.mgrid[:rows, :columns]
    return (x - 0.4 * columns) ** 2 / columns + (y - 0.55 * rows) ** 2 / rows < 0.12 * (rows + columns) / 2


@pytest.mark.parametrize("shape", [(30, 50), (50, 30), (41, 41)])
def test_turned_masks_are_seen_alike(shape: tuple[int, int]) -> None:
    mask, values = leaf(*shape), np.random.default_rng(3).random(shape)
    seen = Upright.of(mask).turned(values)
    cells = np.argwhere(seen > 0.5)
    ranks = Upright.of(mask).rank(Upright.of(mask).given(cells).astype(float))
    for quarters in range(4):
        upright, turned = Upright.of(np.rot90(mask, quarters)), np.rot90(values, quarters)
        np.testing.assert_array_equal(upright.turned(turned), seen)
        # Cells of what is seen are found again in what was given, and rank there as before but for one constant.
        row, column = upright.given(cells).T
        np.testing.assert_array_equal(turned[row, column], seen[cells[:, 0], cells[:, 1]])
        here = upright.rank(upright.given(cells).astype(float))
        np.testing.assert_allclose(here - here[0], ranks - ranks[0], atol=1e-9)


def test_places_that_mirror_each_other_differ_in_rank() -> None:
    corners = np.array([(1.0, 2.0), (1.0, 17.0), (8.0, 2.0), (8.0, 17.0)])
    ranks = Upright.of(np.ones((10, 20), bool)).rank(corners)
    assert len(set(ranks.tolist())) == 4
