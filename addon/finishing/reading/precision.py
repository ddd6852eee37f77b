"""Whether coordinates are written finely enough: far from the origin a number has no digits left for hundredths of a millimetre."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

COARSEST = 0.01
"""Greatest step in mm between neighbouring coordinates. Wood is sanded to about that; common practice, no source."""

SAMPLE = 200
"""Coordinates that are looked at to see how they were written: by chance, one in three or fewer looks as single precision would have it."""

DIGITS = 6
"""Significant digits that writers of text give by default ("%g" in C)."""

MANY_VALUES = 50
"""A box has few different coordinates, which may all be round numbers; a curved body has more than this."""

VALUES_AT_ONCE = 1 << 20
"""Coordinates looked at together: some tens of MiB."""


def coarse_step(values: NDArray[np.floating], mm_per_unit: float) -> float | None:
    """Step in mm in which the coordinates (n, 3) are written, where it is coarser than COARSEST; else None.

    Single precision keeps 24 bits: its step doubles with every power of two (IEEE 754). Double precision is looked at for numbers that have
    been single, or text of few digits, before.
    """
    step = max(_coarse_step_of_axis(values[..., axis].ravel(), mm_per_unit) for axis in range(values.shape[-1]))
    return step if step > COARSEST else None


def _coarse_step_of_axis(values: NDArray[np.floating], mm_per_unit: float) -> float:
    """The step in mm of one axis, 0 where it is no coarser than COARSEST."""
    farthest = float(max(-values.min(initial=0.0), values.max(initial=0.0)))
    if farthest == 0:
        return 0.0
    step = float(np.spacing(np.float32(farthest))) * mm_per_unit
    if values.dtype == np.float32:
        return step
    in_double = values.astype(np.float64, copy=False)
    decimal = float(10.0 ** (np.floor(np.log10(farthest)) + 1 - DIGITS))
    if decimal * mm_per_unit > COARSEST and _in_steps(in_double, decimal):
        return decimal * mm_per_unit
    return step if step > COARSEST and _was_single(in_double) else 0.0


def _was_single(values: NDArray[np.float64]) -> bool:
    """Whether a sample looks as if it had been single precision: exactly, or as the shortest text that stands for it."""
    sample = values[:: max(1, len(values) // SAMPLE)]
    return all(value == single or value == float(str(single)) for value, single in zip(sample, sample.astype(np.float32), strict=True))


def _in_steps(values: NDArray[np.float64], step: float) -> bool:
    """Whether all of many different values are multiples of a step."""
    for start in range(0, len(values), VALUES_AT_ONCE):
        share = values[start : start + VALUES_AT_ONCE] / step  # of six digits, so that a thousandth is far above rounding
        if not (np.abs(share - np.rint(share)) < 1e-3).all():
            return False
    return len(np.unique(values)) > MANY_VALUES
