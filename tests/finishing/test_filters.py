"""Blur, differences and block means against scipy and closed forms."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import ndimage

from addon.finishing.core.filters import blur, blurred_gradient, gradient


@pytest.mark.parametrize("deviation", [0.4, 1.0, 2.7, 6.0])
@pytest.mark.parametrize("kind", [np.float32, np.float64])
def test_blur_is_scipys_gaussian(deviation: float, kind: type) -> None:
    # Reference library: scipy.ndimage.gaussian_filter with the same cut and border. 75 rows are more than two strips of 32.
    values = np.random.default_rng(1).normal(size=(75, 43)).astype(kind)
    expected = ndimage.gaussian_filter(values.astype(float), deviation, mode="nearest", radius=int(np.ceil(3.5 * deviation)))
    found = blur(values, deviation)
    assert found.dtype == kind
    np.testing.assert_allclose(found, expected, atol=2e-6 if kind is np.float32 else 1e-12)


def test_a_blur_of_less_than_a_third_of_a_cell_changes_nothing_and_copies() -> None:
    values = np.random.default_rng(1).normal(size=(5, 4))
    found = blur(values, 0.29)
    np.testing.assert_array_equal(found, values)
    found[0, 0] = 99
    assert values[0, 0] != 99


def test_gradient_of_a_quadratic_is_exact_inside() -> None:
    # Closed form: central differences are exact on quadratics.
    y, x = np.mgrid[0:12, 0:15] * 0.3
    along_x, along_y = gradient(2 * x * x - x * y + 3 * y, 0.3)
    np.testing.assert_allclose(along_x[1:-1, 1:-1], (4 * x - y)[1:-1, 1:-1], atol=1e-12)
    np.testing.assert_allclose(along_y[1:-1, 1:-1], (-x + 3)[1:-1, 1:-1], atol=1e-12)


def test_blurred_gradient_is_the_gradient_of_the_blur_whatever_the_strips() -> None:
    # 300 rows are more than two strips of 128: nothing shows where they join.
    values = ndimage.gaussian_filter(np.random.default_rng(4).normal(size=(300, 40)), 3) * 20
    found = blurred_gradient(values, 2.0, 0.5)
    for ours, expected in zip(found, gradient(blur(values, 2.0), 0.5), strict=True):
        np.testing.assert_allclose(ours, expected, atol=1e-5)


def test_unknown_cells_take_no_part_in_a_blurred_gradient() -> None:
    # Closed form: a plane keeps its slope under a blur, whatever stands in the cells that do not count, away from where they are many.
    y, x = np.mgrid[0:60, 0:80] * 0.25
    plane = 0.3 * x - 0.7 * y
    known = np.random.default_rng(2).random(plane.shape) > 0.02
    garbage = np.where(known, plane, 1e6)
    along_x, along_y = blurred_gradient(garbage, 4.0, 0.25, known=known)
    inner = np.s_[16:-16, 16:-16]
    np.testing.assert_allclose(along_x[inner], 0.3, atol=0.03)
    np.testing.assert_allclose(along_y[inner], -0.7, atol=0.03)
    assert np.isfinite(along_x).all() and np.isfinite(along_y).all()
    # Cells far from all known ones have no slope.
    nothing = blurred_gradient(garbage, 1.0, 0.25, known=np.zeros_like(known))
    assert (nothing[0] == 0).all() and (nothing[1] == 0).all()
