"""Borders of a mesh that is not closed: the rim of a top that is meant to stand alone, or holes where faces are missing."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..core.array_types import FloatArray
from ..core.masks import joined_numbers
from ..core.open_points import open_edges
from ..core.triangles import corner_numbers

CRACK = 0.05
"""mm; a border that is no wider than this is no hole but a seam, whose two sides have different points or a thread's gap between them."""

STEEP_SLOPE = 60.0
"""Degrees from which a piece of a border runs up or down: the side of a wall that ends there."""

STEEP_LENGTH = 2.0
"""mm of a border that may be as steep where nothing is missing: a step in the rim of a top."""

ALL_ROUND = 0.98
"""Share of the mesh's extent, along either axis of the plan, that the rim of a top has."""


@dataclass(frozen=True)
class OpenBorder:
    """One border. length: mm. middle: x, y, z of the middle of its extent. is_rim: whether it goes round the whole mesh, seen from above, on its way
    neither up nor down a wall.
    """

    length: float
    middle: tuple[float, float, float]
    is_rim: bool


def open_borders(triangles: FloatArray) -> tuple[OpenBorder, ...]:
    """The open borders of triangles (n, 3, 3) in job mm, the longest first; none where the mesh is closed, seams aside.

    A border's width is twice the area that it encloses over its length; the area is the sum of the vector products of its edges' ends.
    """
    corners = corner_numbers(triangles)
    edges = open_edges(corners, int(corners.max()) + 1)
    if not len(edges):
        return ()
    used, place = np.unique(edges, return_inverse=True)
    first, second = place.reshape(-1, 2).T
    at = np.full(int(corners.max()) + 1, -1)
    at[used] = np.arange(len(used))
    own = at[corners.ravel()]
    points = np.empty((len(used), 3))
    points[own[own >= 0]] = triangles.reshape(-1, 3)[own >= 0]
    number = joined_numbers(len(used), first, second)[first]
    size = np.ptp(np.array([(triangles[..., axis].min(), triangles[..., axis].max()) for axis in range(2)]), axis=1)
    found = [_border(points[first[number == each]], points[second[number == each]], size) for each in np.unique(number)]
    return tuple(sorted((border for border in found if border is not None), key=lambda border: -border.length))


def _border(start: NDArray[np.float64], end: NDArray[np.float64], size: FloatArray) -> OpenBorder | None:
    """The border of edges from points (e, 3) to others, None for a seam. size: (2,) extent of the mesh in plan."""
    low, high = start.min(axis=0), start.max(axis=0)
    middle = (low + high) / 2
    run, a, b = end - start, start - middle, end - middle
    length = np.sqrt((run**2).sum(axis=1))
    area = np.array([(a[:, k - 2] * b[:, k - 1] - a[:, k - 1] * b[:, k - 2]).sum() for k in range(3)]) / 2
    if 2 * np.sqrt((area**2).sum()) < CRACK * length.sum():
        return None
    steep = np.abs(run[:, 2]) > np.sin(np.radians(STEEP_SLOPE)) * length
    is_rim = bool(((high - low)[:2] >= ALL_ROUND * size).all()) and float(length[steep].sum()) <= STEEP_LENGTH
    x, y, z = middle.tolist()
    return OpenBorder(float(length.sum()), (x, y, z), is_rim)
