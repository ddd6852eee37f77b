"""The smallest of some numbers against a plain stable sort."""

from __future__ import annotations

import numpy as np
import pytest

from addon.finishing.core.smallest import smallest


@pytest.mark.parametrize("seed", range(20))
def test_the_same_as_a_stable_sort(seed: int) -> None:
    rng = np.random.default_rng(seed)
    values = rng.integers(0, 6, (rng.integers(1, 9), rng.integers(1, 40))).astype(float)  # many are equal
    values[rng.random(values.shape) < 0.2] = np.inf
    for count in {1, values.shape[1], int(rng.integers(1, values.shape[1] + 1))}:
        assert (smallest(values, count) == np.argsort(values, axis=1, kind="stable")[:, :count]).all()
        assert (smallest(values[0], count) == np.argsort(values[0], kind="stable")[:count]).all()
