"""How rough a mesh is: by how much its points scatter, as those of a scan do, apart from the form that they follow."""

from __future__ import annotations

import math

import numpy as np

from ..core.array_types import FloatArray, Mask
from ..core.triangles import unit_normals
from .mesh_net import mesh_net, neighbours, point_normals
from .point_net import PointNet

SAMPLE = 12_000
"""Triangles looked at: two slices across the body's longest extent. A scatter is known from ten thousand points to a few per cent."""

ALIKE = 2 / 6 - 2 / 36
"""Size of the covariance, over the scatter's variance, of two neighbours' distances from the mean of their own neighbours: each is one of the
other's six, and they share two. The scatter of both points alone gives -1/6 - 1/6, the shared ones + 2/36."""

OUTLIERS = 5.0
"""Times the median distance from the neighbours' mean beyond which a point lies on an edge."""

LEVEL = 1e-4
"""mm; points that lie nearer to their neighbours' mean are on level faces, such as the modelled back of a scanned top: nothing is learnt from them."""

ROUGH = 0.01
"""mm; a mesh whose points scatter by more is called rough: a tenth of a grit's scratch, and many times what modelled meshes show."""

DEVIATIONS = 4.0
"""Greatest deviation over the scatter where it is to be found by itself: one point in 16,000 scatters farther (normal distribution)."""


def roughness_of(triangles: FloatArray) -> float:
    """Standard deviation in mm by which the points of a mesh scatter along its normals, 0 where nothing scatters.

    triangles: (n, 3, 3) mm. How far a point lies from the mean of its neighbours is, for a smooth form, much the same at the next point; for
    scatter it is opposite there, since either point is in the other's mean. So the scatter shows as the negative covariance of neighbours.
    """
    return _scatter(triangles[_sample(triangles[:, 0])])


def roughness_of_net(net: PointNet) -> float:
    """As `roughness_of`, of a net, whose triangles are never put down all together."""
    return _scatter(net.points[net.corners[_sample(net.points[net.corners[:, 0]])]])


def _scatter(triangles: FloatArray) -> float:
    net = mesh_net(triangles)
    normal, twice_area = unit_normals(triangles)
    normals = point_normals(net, normal, twice_area)
    distance = ((net.points - neighbours(net.ends, len(net.points)).means(net.points)) * normals).sum(axis=1)
    inner = net.inner & (np.abs(distance) > LEVEL)
    if not inner.any():
        return 0.0
    inner &= np.abs(distance) <= OUTLIERS * np.median(np.abs(distance[inner]))
    both = inner[net.ends].all(axis=1)
    if both.sum() < 100:
        return 0.0
    return math.sqrt(max(0.0, -float(distance[net.ends[both]].prod(axis=1).mean()) / ALIKE))


def _sample(corner: FloatArray) -> Mask:
    """Triangles of two slices of the body: all where there are few. corner: (n, 3) one corner of each."""
    if len(corner) <= SAMPLE:
        return np.ones(len(corner), bool)
    axis = int(np.argmax([np.ptp(corner[:, k]) for k in range(3)]))
    along, half = corner[:, axis], SAMPLE / len(corner) / 4
    out = np.zeros(len(corner), bool)
    for middle in (1 / 3, 2 / 3):
        low, high = np.quantile(along, [middle - half, middle + half])
        out |= (along >= low) & (along <= high)
    return out
