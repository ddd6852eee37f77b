"""The net of a mesh: which points are neighbours, for measuring and smoothing what scatters from point to point."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..core.array_types import FloatArray, Mask
from ..core.triangles import corner_numbers


@dataclass(frozen=True)
class MeshNet:
    """points: (p, 3) mm. corners: (n, 3) numbers of the points of each triangle. ends: (e, 2) numbers of the points of each edge, the smaller
    first. faces: (e, 2) the triangles on both sides of it, the second -1 where there is only one; open_edge: (e,) whether that is so.
    """

    points: FloatArray
    corners: NDArray[np.int64]
    ends: NDArray[np.int64]
    faces: NDArray[np.int64]
    open_edge: Mask

    @property
    def inner(self) -> Mask:
        """Points (p,) that no open edge ends at."""
        out = np.ones(len(self.points), bool)
        out[self.ends[self.open_edge]] = False
        return out


def mesh_net(triangles: FloatArray) -> MeshNet:
    """The net of triangles (n, 3, 3) in mm."""
    corners = corner_numbers(triangles)
    points = np.empty((int(corners.max()) + 1, 3))
    points[corners.ravel()] = triangles.reshape(-1, 3)
    start, end = corners.ravel(), np.roll(corners, -1, axis=1).ravel()
    key = np.minimum(start, end) * len(points) + np.maximum(start, end)
    order = np.argsort(key, kind="stable")
    key = key[order]
    first = np.flatnonzero(np.concatenate([[True], key[1:] != key[:-1]]))
    shared = np.diff(np.append(first, len(key))) > 1
    other = np.where(shared, order[np.minimum(first + 1, len(order) - 1)] // 3, -1)
    ends = np.stack(np.divmod(key[first], len(points)), axis=1)
    real = ends[:, 0] != ends[:, 1]  # a triangle thinner than the weld
    return MeshNet(points, corners, ends=ends[real], faces=np.stack([order[first] // 3, other], axis=1)[real], open_edge=~shared[real])


@dataclass(frozen=True)
class Neighbours:
    """Neighbours of every point, laid end to end: for means over them. near: numbers; first: where each point's begin, for those that have some;
    having: the numbers of these; count: how many each of these has."""

    near: NDArray[np.int64]
    first: NDArray[np.int64]
    having: NDArray[np.int64]
    count: NDArray[np.int64]

    def means(self, values: FloatArray) -> FloatArray:
        """Mean of values (p,) or (p, k) over the neighbours of each point; its own value where it has none."""
        out = values.copy()
        if len(self.having):
            total = np.add.reduceat(values[self.near], self.first, axis=0)
            out[self.having] = total / (self.count if values.ndim == 1 else self.count[:, None])
        return out


def neighbours(ends: NDArray[np.int64], point_count: int) -> Neighbours:
    """Neighbours along edges (e, 2)."""
    one, other = np.concatenate([ends, ends[:, ::-1]]).T
    return neighbours_seen(one, other, point_count)


def neighbours_seen(one: NDArray[np.int64], other: NDArray[np.int64], point_count: int) -> Neighbours:
    """Neighbours where points (s,) one have those of other, and not the other way round."""
    order = np.argsort(one, kind="stable")
    count = np.bincount(one, minlength=point_count)
    having = np.flatnonzero(count)
    return Neighbours(other[order], (np.cumsum(count) - count)[having], having=having, count=count[having])


def point_normals(net: MeshNet, face_normals: FloatArray, twice_area: FloatArray) -> FloatArray:
    """Unit normals (p, 3) at the points, of the faces round each by their areas. face_normals: (n, 3); twice_area: (n,)."""
    weighted = face_normals * twice_area[:, None]
    total = np.stack([np.bincount(net.corners.ravel(), np.repeat(weighted[:, axis], 3), minlength=len(net.points)) for axis in range(3)], axis=1)
    return total / np.maximum(np.linalg.norm(total, axis=1), np.finfo(float).tiny)[:, None]
