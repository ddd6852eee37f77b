"""The smallest of some numbers, with equal ones in a fixed order: numpy's own selection leaves that to its release and to the processor."""

from __future__ import annotations

import numpy as np

from .array_types import FloatArray, Indices


def smallest(values: FloatArray, count: int) -> Indices:
    """Places along the last axis of the `count` smallest values, (..., count): the smallest first, of equal ones the first first.

    values: (n,) or (rows, n) without nan; count: 1 to n.
    """
    rows = np.atleast_2d(values)
    limit = np.partition(rows, count - 1, axis=1)[:, count - 1]
    row, place = np.nonzero(rows <= limit[:, None])
    order = np.lexsort((rows[row, place], row))  # stable: equal ones stay in the order of their places
    begins = np.searchsorted(row, np.arange(len(rows)))
    found: Indices = place[order[begins[:, None] + np.arange(count)]]
    return found if values.ndim == 2 else found[0]
