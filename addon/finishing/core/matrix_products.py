"""Products of matrices that stay on the thread that asks for them."""

from __future__ import annotations

import numpy as np

from .array_types import FloatArray

MOST_AT_ONCE = 1 << 18
"""Multiplications in one call, above which a common linear algebra library (OpenBLAS) starts threads of its own. Those wait for more
work by spinning, and take the processor from the stages that run in the background.
"""


def product(left: FloatArray, right: FloatArray) -> FloatArray:
    """left @ right of a long matrix (n, k) and a small one (k, m), (n, m), as many products of a few rows."""
    rows = max(1, MOST_AT_ONCE // right.size)
    whole = len(left) // rows * rows
    out = np.empty((len(left), right.shape[1]), np.result_type(left, right))
    np.matmul(left[:whole].reshape(-1, rows, left.shape[1]), right, out=out[:whole].reshape(-1, rows, right.shape[1]))
    np.matmul(left[whole:], right, out=out[whole:])
    return out
