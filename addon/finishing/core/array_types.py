"""The kinds of arrays that the computation passes round, each under one name."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.floating]
"""Real numbers of either precision."""
Double = NDArray[np.float64]
Single = NDArray[np.float32]
Mask = NDArray[np.bool_]
Labels = NDArray[np.int32]
"""Numbers of connected parts, 0 for none."""
Indices = NDArray[np.intp]


def singles(*arrays: FloatArray) -> tuple[Single, ...]:
    """Arrays as contiguous single precision."""
    return tuple(np.ascontiguousarray(a, np.float32) for a in arrays)
