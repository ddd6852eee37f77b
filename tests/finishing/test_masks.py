"""Sets of cells against scipy and independent counts."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import ndimage

from addon.finishing.core.masks import centre_lines, chains, connected_parts, distance_to, grown, shrunk


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


def test_neighbours_may_be_kept_apart() -> None:
    heights = np.zeros((20, 20))
    heights[5:15, 5:15] = -3
    parts = connected_parts(np.ones((20, 20), bool), (np.diff(heights, axis=1) != 0, np.diff(heights, axis=0) != 0))
    assert parts.max() == 2
    assert (parts == parts[10, 10]).sum() == 100


def test_centre_lines_keep_what_hangs_together() -> None:
    # Independent count by scipy's labels: thinning neither cuts nor joins, and leaves lines one cell wide.
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
    assert len(lengths) == 4  # three arms of the T, and the bar by itself


@pytest.mark.parametrize("by", [0.2, 0.75, 1.0, 6.0, 21.0])
def test_growth_and_shrinkage_by_a_distance(by: float) -> None:
    # Reference library: scipy.ndimage.distance_transform_edt; distances of whole cells lie on the circle itself and count.
    mask = np.zeros((120, 90), bool)
    mask[50:70, 40:44] = True
    mask[5, 5] = True
    away = ndimage.distance_transform_edt(~mask) * 0.25
    np.testing.assert_array_equal(grown(mask, 0.25, by), away <= by + 1e-9)
    inside = ndimage.distance_transform_edt(mask) * 0.25
    np.testing.assert_array_equal(shrunk(mask, 0.25, by), inside > by + 1e-9)


def test_empty_and_full_masks() -> None:
    empty, full = np.zeros((6, 9), bool), np.ones((6, 9), bool)
    assert connected_parts(empty).max() == 0 and (connected_parts(full) == 1).all()
    assert not grown(empty, 0.5, 3.0).any() and shrunk(full, 0.5, 3.0).all()
    assert (distance_to(empty, 0.5, 2.0) == 2.0).all() and (distance_to(full, 0.5, 2.0) == 0).all()
    assert chains(empty) == [] and not centre_lines(empty).any()


def test_chains_follow_rings_and_branches() -> None:
    # By construction: a ring of 16 cells comes back to its first one; a cross gives four arms that meet in the middle.
    ring = np.zeros((9, 9), bool)
    ring[2, 2:7] = ring[6, 2:7] = ring[2:7, 2] = ring[2:7, 6] = True
    (chain,) = chains(ring)
    assert len(chain) == 17 and (chain[0] == chain[-1]).all()
    assert (np.abs(np.diff(chain, axis=0)).max(axis=1) == 1).all()
    cross = np.zeros((11, 11), bool)
    cross[5], cross[:, 5] = True, True
    arms = chains(cross)
    assert sorted(len(arm) for arm in arms) == [6, 6, 6, 6]
    assert {tuple(cell) for arm in arms for cell in arm} == {tuple(cell) for cell in np.argwhere(cross)}
