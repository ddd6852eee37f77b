"""Blur and differences of arrays on a grid."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from .array_types import Double, FloatArray, Mask, Single

ROWS_AT_ONCE = 32
"""Rows blurred at a time, so that what is in use stays in the processor's cache."""

STRIP = 128
"""Rows worked on at a time where each takes some rows round it: the rows that strips share are few against those they own."""

LEAST_DEVIATION = 0.3
"""Standard deviation in cells below which nothing is blurred: the neighbours would weigh less than half a per cent."""

WINDOW_DEVIATIONS = 3.5
"""Half width of a blur's window in standard deviations: what is cut off weighs less than 0.05 %."""

LEAST_WEIGHT = np.float32(1e-9)
"""Divisor where no known cell lies within a blur's window."""


def blur(values: FloatArray, deviation: float) -> FloatArray:
    """Gaussian blur of a (rows, columns) array with a standard deviation in cells; the border's values are repeated outwards.

    A deviation below LEAST_DEVIATION returns the values unchanged. The result is float32 where the values are, else float64; sums are taken in float64,
    so that it makes no difference whether rows or columns are blurred first, and an array turned by a quarter is blurred to the last digit alike.
    """
    out: FloatArray = np.asarray(values, np.float32 if values.dtype == np.float32 else np.float64)
    if deviation < LEAST_DEVIATION:
        return out.copy()
    half_width = blur_reach(deviation)
    weights = gaussian(np.arange(half_width + 1.0), deviation)
    weights = weights / (weights[0] + 2 * math.fsum(weights[1:]))
    blurred = np.empty_like(out)
    rows, columns = out.shape
    for first in range(0, rows, ROWS_AT_ONCE):
        last = min(first + ROWS_AT_ONCE, rows)
        low, high = max(first - half_width, 0), min(last + half_width, rows)
        beyond = (low - first + half_width, last + half_width - high)
        block = np.pad(out[low:high].astype(np.float64), (beyond, (half_width, half_width)), mode="edge")
        down = _weighted([block[k : k + last - first] for k in range(2 * half_width + 1)], weights)
        blurred[first:last] = _weighted([down[:, k : k + columns] for k in range(2 * half_width + 1)], weights)
    return blurred


def blur_reach(deviation: float) -> int:
    """Rows and columns to each side that a blur with a standard deviation in cells looks at."""
    return int(np.ceil(WINDOW_DEVIATIONS * deviation))


def strips(rows: int, rim: int = 0) -> Iterator[tuple[slice, slice, slice]]:
    """All rows in strips of STRIP: the rows of a strip with a rim of so many rows round it, its own among those, and its own among all.

    Worked on strip by strip, what a formula needs on its way takes no memory of the size of the whole.
    """
    for first in range(0, rows, STRIP):
        last, low = min(first + STRIP, rows), max(first - rim, 0)
        yield slice(low, min(last + rim, rows)), slice(first - low, last - low), slice(first, last)


def gaussian(offsets: Double, deviation: float) -> Double:
    """The Gaussian's values, 1 at its middle, at some offsets (n,), the same to the last digit with every release of numpy.

    numpy's own exp is worked out differently from release to release and from processor to processor.
    """
    return np.array([math.exp(-0.5 * (offset / deviation) ** 2) for offset in offsets.tolist()])


def _weighted(shifted: list[FloatArray], weights: FloatArray) -> FloatArray:
    """Sum of 2 n + 1 arrays with weights (n + 1,) that are the same on both sides of the middle one: weights[k] for those k away from it."""
    middle = len(weights) - 1
    out = shifted[middle] * weights[0]
    pair = np.empty_like(out)
    for k in range(1, middle + 1):
        np.add(shifted[middle - k], shifted[middle + k], out=pair)
        pair *= weights[k]
        out += pair
    return out


def gradient(values: FloatArray, cell: float) -> tuple[FloatArray, FloatArray]:
    """Central differences (d/dx, d/dy) of a (rows, columns) array, one-sided at the border."""
    return np.gradient(values, cell, axis=1), np.gradient(values, cell, axis=0)


def blurred_gradient(values: FloatArray, deviation: float, cell: float, known: Mask | None = None) -> tuple[Single, Single]:
    """`gradient` of the blurred array, (rows, columns) float32 each. deviation: in cells.

    known: cells that count; the others take no part in the blur (None: all). Strips of rows keep what is in use small.
    """
    along_x, along_y = np.empty(values.shape, np.float32), np.empty(values.shape, np.float32)
    for wide, own, strip in strips(len(values), blur_reach(deviation) + 1):
        if known is None:
            smooth = blur(values[wide], deviation)
        else:
            smooth = blur(np.where(known[wide], values[wide], np.float32(0)), deviation)
            smooth /= np.maximum(blur(known[wide].astype(np.float32), deviation), LEAST_WEIGHT)
        strip_x, strip_y = gradient(smooth, cell)
        along_x[strip], along_y[strip] = strip_x[own], strip_y[own]
    return along_x, along_y
