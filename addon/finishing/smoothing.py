"""Blur and differences of arrays on a grid."""

from __future__ import annotations

import numpy as np

from .grid import FloatArray


def blur(values: FloatArray, deviation: float) -> FloatArray:
    """Gaussian blur of a (rows, columns) array with a standard deviation in cells; the border's values are repeated outwards.

    A deviation below 0.3 cells returns the values as float64 unchanged.
    """
    out = np.asarray(values, np.float64)
    if deviation < 0.3:
        return out.copy()
    reach = int(np.ceil(3.5 * deviation))
    weights = np.exp(-0.5 * (np.arange(reach + 1) / deviation) ** 2)
    weights /= weights[0] + 2 * weights[1:].sum()
    for axis in (0, 1):
        out = _convolve(out, weights, axis)  # type: ignore[assignment]
    return out


def _convolve(values: FloatArray, weights: FloatArray, axis: int) -> FloatArray:
    """Symmetric convolution along one axis; weights[k] belongs to the cells k to either side."""
    reach = len(weights) - 1
    width = [(0, 0), (0, 0)]
    width[axis] = (reach, reach)
    wide = np.pad(values, width, mode="edge")
    length = values.shape[axis]

    def shifted(k: int) -> FloatArray:
        cut = [slice(None), slice(None)]
        cut[axis] = slice(reach + k, reach + k + length)
        return wide[tuple(cut)]

    out = shifted(0) * weights[0]
    pair = np.empty_like(out)
    for k in range(1, reach + 1):
        np.add(shifted(k), shifted(-k), out=pair)
        pair *= weights[k]
        out += pair
    return out


def gradient(values: FloatArray, cell: float) -> tuple[FloatArray, FloatArray]:
    """Central differences (d/dx, d/dy) of a (rows, columns) array, one-sided at the border."""
    along_y, along_x = np.gradient(values, cell)
    return along_x, along_y  # type: ignore[return-value]


def coarsened(values: FloatArray, factor: int) -> FloatArray:
    """Means over blocks of factor x factor cells; rows and columns that do not fill a block repeat the last ones."""
    if factor == 1:
        return np.asarray(values, np.float64)
    rows, columns = values.shape
    wide = np.pad(values, ((0, -rows % factor), (0, -columns % factor)), mode="edge")
    blocks = wide.reshape(wide.shape[0] // factor, factor, wide.shape[1] // factor, factor)
    return blocks.mean(axis=(1, 3), dtype=np.float64)
