"""How far points lie from a surface of triangles near them: never less than the true distance, since only triangles near a known point are tried."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..core.array_types import Indices
from ..core.ragged import run_owners, run_ranges
from .point_net import dot, face_normals, lengths

PAIRS_AT_ONCE = 1 << 15
"""Points and triangles that are held against each other at a time: few enough to stay near the processor."""


@dataclass(frozen=True)
class Stars:
    """The triangles round every point. triangles: (n, 3, 3) mm. planes: (n, 4, 4) unit normals and offsets in mm, of each triangle's own plane and of
    those through its edges, which look inward. corners: (n, 3) numbers of points. owner: triangles end to end, point by point; first, count: (p,)
    where each point's begin, and how many it has.
    """

    triangles: NDArray[np.float64]
    planes: NDArray[np.float64]
    corners: NDArray[np.int32]
    owner: Indices
    first: Indices
    count: Indices


def stars_of(points: NDArray[np.float64], corners: NDArray[np.int32]) -> Stars:
    """The triangles (n, 3) of numbers of points (p, 3), in mm, round every point."""
    order = np.argsort(corners.ravel(), kind="stable")
    count = np.bincount(corners.ravel(), minlength=len(points))
    triangles = points[corners]
    return Stars(triangles, _planes(triangles), corners, owner=order // 3, first=np.cumsum(count) - count, count=count)


def _planes(triangles: NDArray[np.float64]) -> NDArray[np.float64]:
    """Planes (n, 4, 4) of triangles (n, 3, 3) and of their edges."""
    out = np.zeros((len(triangles), 4, 4))
    normal = face_normals(triangles)
    out[:, 0, :3] = normal
    for corner in range(3):
        edge = triangles[:, (corner + 1) % 3] - triangles[:, corner]
        for axis in range(3):
            one, other = (axis + 1) % 3, (axis + 2) % 3
            out[:, corner + 1, axis] = normal[:, one] * edge[:, other] - normal[:, other] * edge[:, one]
    for plane in range(4):
        out[:, plane] /= np.maximum(lengths(out[:, plane, :3]), np.finfo(float).tiny)[:, None]
        out[:, plane, 3] = -dot(out[:, plane, :3], triangles[:, max(plane - 1, 0)])
    return out


def distances(stars: Stars, places: NDArray[np.float64], at: NDArray[np.integer]) -> NDArray[np.float64]:
    """Distance (m,) in mm of places (m, 3) from the triangles round the points (m,) at; infinite where a point has none."""
    out = np.full(len(places), np.inf)
    counts = stars.count[at]
    ends = np.cumsum(counts)
    start = 0
    while start < len(places):
        before = int(ends[start - 1]) if start else 0
        end = max(start + 1, int(np.searchsorted(ends, before + PAIRS_AT_ONCE, "right")))
        _nearest(out[start:end], stars, places[start:end], at[start:end])
        start = end
    return out


def _nearest(out: NDArray[np.float64], stars: Stars, places: NDArray[np.float64], at: NDArray[np.integer]) -> None:
    """Fill in the distance (m,) of some places: from the planes of the triangles that they lie above or below, else from the nearest edge."""
    count = stars.count[at]
    triangle, owner = stars.owner[run_ranges(stars.first[at], count)], run_owners(count)
    if not len(triangle):
        return
    place, planes = places[owner], stars.planes[triangle]
    height, *inward = (dot(planes[:, plane, :3], place) + planes[:, plane, 3] for plane in range(4))
    above = (inward[0] >= 0) & (inward[1] >= 0) & (inward[2] >= 0)
    np.minimum.at(out, owner[above], np.abs(height[above]))
    left = np.flatnonzero(np.isinf(out)[owner])
    if len(left):
        np.minimum.at(out, owner[left], _edge_distances(place[left], stars.triangles[triangle[left]]))


def _edge_distances(place: NDArray[np.float64], triangles: NDArray[np.float64]) -> NDArray[np.float64]:
    """Distance (m,) in mm of every place (m, 3) from the nearest edge of its triangle (m, 3, 3)."""
    out = np.full(len(place), np.inf)
    for corner in range(3):
        start, edge = triangles[:, corner], triangles[:, (corner + 1) % 3] - triangles[:, corner]
        to = place - start
        along = dot(to, edge) / np.maximum(dot(edge, edge), np.finfo(float).tiny)
        off = to - np.clip(along, 0.0, 1.0)[:, None] * edge
        np.minimum(out, dot(off, off), out=out)
    return np.sqrt(out)


def wider_distances(stars: Stars, places: NDArray[np.float64], at: NDArray[np.integer]) -> NDArray[np.float64]:
    """As `distances`, from the triangles round all neighbours of the points too."""
    count = stars.count[at]
    near = stars.corners[stars.owner[run_ranges(stars.first[at], count)]].ravel()
    owner = np.repeat(run_owners(count), 3)
    key = np.unique(owner * len(stars.count) + near)
    owner, near = np.divmod(key, len(stars.count))
    out = np.full(len(places), np.inf)
    np.minimum.at(out, owner, distances(stars, places[owner], near))
    return out
