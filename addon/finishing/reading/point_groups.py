"""Points of a net by groups that may become one point each: the largest that will do, parted again where they turn out to be too large.

Groups of several sizes lie within each other, and each point goes by the largest that passes a test of its own.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from ..core.array_types import Mask
from .point_net import at_any_corner, dot, lengths

Keys = Callable[[int], NDArray[np.int64]]
"""What the points (p,) of one group of a size have in common, by the number of the size, from the smallest, 0."""


class Groups:
    """Which points are joined. level: (p,) the size of the group that each goes by, -1 for a point that is left alone."""

    def __init__(self, points: NDArray[np.float64], keys: Keys, sizes: int, passes: Callable[[NDArray[np.int64]], Mask], fixed: Mask) -> None:
        """passes: whether each group (m,) may be joined, by the number (p,) of the group of each point. fixed: (p,) points that stay as they are."""
        self._points, self._keys, self._sizes = points, keys, sizes
        self.level = np.full(len(points), -1, np.int8)
        for level in range(sizes):
            number = numbers(keys(level))
            self.level[passes(number)[number]] = level
        self.level[fixed] = -1

    def _numbers(self) -> NDArray[np.int64]:
        """The number (p,) of the group of each point as it stands."""
        key = -1 - np.arange(len(self.level))
        for level in range(self._sizes):
            here = self.level == level
            key[here] = self._keys(level)[here] * self._sizes + level
        return numbers(key)

    def representatives(self) -> NDArray[np.int32]:
        """The number of the point that each point (p,) becomes: of those joined the one nearest to their middle."""
        number = self._numbers()
        off = lengths(self._points - means(self._points, number)[number])
        order = np.lexsort((off, number))
        first = np.flatnonzero(np.concatenate([[True], np.diff(number[order]) > 0]))
        return order[first].astype(np.int32)[number]

    def count(self) -> int:
        """How many points are left."""
        return int(self._numbers().max()) + 1

    def joined(self, corners: NDArray[np.int32]) -> Mask:
        """Triangles (n,) of numbers of points that have a point which may be joined with others."""
        return at_any_corner(self.level >= 0, corners)

    def part(self, points: NDArray[np.integer], wholly: bool) -> None:
        """Part the groups of these points into the next smaller ones, or wholly into points."""
        for level in range(self._sizes):  # the smaller first, so that none is parted twice
            own = points[self.level[points] == level]
            if len(own):
                key = self._keys(level)
                same = (self.level == level) & np.isin(key, key[own])
                self.level[same] = -1 if wholly else level - 1


def middles_of(points: NDArray[np.float64], kept: NDArray[np.int32]) -> NDArray[np.float64]:
    """The points (p, 3), those that others become (kept, (p,)) moved to the mean of all that they stand for."""
    out = points.copy()
    count = np.bincount(kept, minlength=len(points))
    stands = count > 0
    for axis in range(3):
        out[stands, axis] = np.bincount(kept, points[:, axis], minlength=len(points))[stands] / count[stands]
    return out


def numbers(keys: NDArray[np.int64]) -> NDArray[np.int64]:
    """Numbers from 0 (p,), the same for equal keys."""
    return np.unique(keys, return_inverse=True)[1].reshape(-1)


def means(values: NDArray[np.float64], number: NDArray[np.int64]) -> NDArray[np.float64]:
    """Mean (m, 3) of the values (p, 3) of each number."""
    return sums(values, number) / np.bincount(number)[:, None]


def sums(values: NDArray[np.float64], number: NDArray[np.int64]) -> NDArray[np.float64]:
    """Sum (m, 3) of the values (p, 3) of each number."""
    return np.asarray(np.stack([np.bincount(number, values[:, axis]) for axis in range(3)], axis=1), np.float64)


def heights_within(
    points: NDArray[np.float64], normals: NDArray[np.float64], number: NDArray[np.int64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """How high each point (p,) lies over the middle of its group, along the normal that its group has as a whole, in mm; and how alike the normals
    of each group (m,) are, 1 where they are one. normals: (p, 3) as long as they weigh.
    """
    total = sums(normals, number)
    size = lengths(total)
    unit = total / np.maximum(size, np.finfo(float).tiny)[:, None]
    height = dot(points - means(points, number)[number], unit[number])
    return height, size / np.maximum(np.bincount(number, lengths(normals)), np.finfo(float).tiny)
