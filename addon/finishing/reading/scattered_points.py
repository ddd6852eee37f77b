"""Groups of the points of a rough mesh that may become their mean: what scatters less than the points of the mesh do, and is no shape.

A scan's points scatter, so the points of a small patch never lie in one plane, and their heights alone tell nothing. A patch may be joined when its
heights scatter no more than those of the mesh do, by the test of a variance (chi square, by the approximation of Wilson and Hilferty 1931, The
distribution of chi-square, which holds far from the middle too), and its faces, once the scatter is taken down, look one way. Patches are columns
along the axis that the surface there looks along: boxes would part a level face that happens to lie between two of them into points of either.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from ..core.array_types import Mask
from ..core.open_points import TRIANGLES_AT_ONCE
from .point_groups import Groups, Keys, heights_within
from .point_net import PointNet, fixed_points, lengths, point_normals

SIZES = 2
"""Of columns: the one that is wanted, and half of it where the surface bends within that."""

CALMING_ROUNDS = 3
"""Means over neighbours before faces are asked where they look: they leave a sixth of the scatter of a point, and less of its slope."""

COHERENT = 0.97
"""Length of the sum of a column's normals over the sum of their lengths: below it, a sharp edge or two sheets of the surface lie in it."""

DOUBT = 4.0
"""Standard deviations of the cube root of a variance that a patch's may be above the mesh's: one level patch in 30,000 is left in smaller ones."""

WIDER, LEAST_GAIN = 1.1, 0.9
"""Factor by which columns are widened until few enough points are left, and the share of the points above which wider ones are not worth it: of
columns alone 0.83 would be left."""


def columns(net: PointNet, roughness: float, most_points: int) -> Groups:
    """Groups of a net that scatters by so many mm, wide enough that no more than so many points are left, where the form allows it."""
    calm = PointNet(_calmed(net), net.corners, net.marks)
    normals, fixed = point_normals(calm), fixed_points(net)
    del calm
    kind = _facing(normals) * 2 + net.marked_points()
    low = np.array([net.points[:, axis].min() for axis in range(3)])

    def one_patch(number: NDArray[np.int64]) -> Mask:
        height, alike = heights_within(net.points, normals, number)
        free = np.maximum(np.bincount(number) - 1, 1)
        variance = np.bincount(number, height**2) / free
        part = 2 / (9 * free)
        return np.asarray((variance <= (1 - part + DOUBT * np.sqrt(part)) ** 3 * roughness**2) & (alike >= COHERENT))

    edge = float(np.sqrt(lengths(normals).sum() / 6 / most_points))  # every face counts at three points, twice
    groups, count = None, len(net.points)
    while groups is None or count > most_points:
        wider = Groups(net.points, _column_keys(net.points - low, kind, edge), sizes=SIZES, passes=one_patch, fixed=fixed)
        if groups is not None and wider.count() > LEAST_GAIN * count:
            break
        groups, count, edge = wider, wider.count(), edge * WIDER
    return groups


def _column_keys(points: NDArray[np.float64], kind: NDArray[np.int64], edge: float) -> Keys:
    """What the points (p, 3) of one column have in common: the wide ones run through the whole body, the narrow ones are twice as high as wide.
    kind: (p,) 0 to 11, by the axis that they look along.
    """
    cell = (points / (edge / 2)).astype(np.int32)
    along = np.arange(3) == (kind // 2 % 3)[:, None]
    size = [int(cell[:, axis].max()) + 1 for axis in range(3)]

    def keys(level: int) -> NDArray[np.int64]:
        x, y, z = (np.where(along[:, axis], 0 if level else cell[:, axis] >> 1, cell[:, axis] >> level).astype(np.int64) for axis in range(3))
        return np.asarray(((x * size[1] + y) * size[2] + z) * 12 + kind)

    return keys


def _facing(normals: NDArray[np.float64]) -> NDArray[np.int64]:
    """Which axis the surface looks along most (p,): 0 to 2, and 3 to 5 against it."""
    size = np.abs(normals)
    axis = np.where(size[:, 2] >= np.maximum(size[:, 0], size[:, 1]), 2, np.where(size[:, 0] >= size[:, 1], 0, 1))
    along = np.take_along_axis(normals, axis[:, None], axis=1)[:, 0]
    return np.asarray(axis + 3 * (along < 0))


def _calmed(net: PointNet) -> NDArray[np.float64]:
    """The points (p, 3) with their scatter taken down."""
    points, count = net.points, len(net.points)
    weight = np.zeros(count)
    for corners in _pieces(net.corners):
        weight += 2 * np.bincount(corners.ravel(), minlength=count)
    weight = np.maximum(weight, 1)
    for _ in range(CALMING_ROUNDS):
        calmed = np.empty_like(points)
        for axis in range(3):
            value, total = points[:, axis], np.zeros(count)
            for corners in _pieces(net.corners):
                at = value[corners]
                total += np.bincount(corners.ravel(), (at.sum(axis=1)[:, None] - at).ravel(), minlength=count)  # the two other corners
            calmed[:, axis] = total / weight
        points = calmed
    return points


def _pieces(corners: NDArray[np.int32]) -> Iterator[NDArray[np.int32]]:
    """Triangles (n, 3), so many at a time that sums over all points are not made too often."""
    step = 4 * TRIANGLES_AT_ONCE
    return (corners[start : start + step] for start in range(0, len(corners), step))
