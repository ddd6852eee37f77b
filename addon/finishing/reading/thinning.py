"""A mesh with more triangles than a plan can take, thinned to where its surface stays within a stated distance of the given one.

Points within a box that lie nearly in one plane become one of them, the nearest to their middle (vertex clustering: Rossignac and Borrel 1993,
Multi-resolution 3D approximations for rendering complex scenes). Boxes of several sizes lie within each other, and each point goes by the largest
that will do. Then the distance of every point and of the middle of every face of the given mesh from the thinned one is measured; boxes in which it
is too great are parted, until there is none. Open edges, edges of marked faces and sharp edges keep their points.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from ..core.array_types import Indices, Mask
from ..core.open_points import TRIANGLES_AT_ONCE
from ..core.stepping import Steps
from ..job.body import Body, make_body
from ..job.thinned import Thinned
from .distance_to_net import Stars, distances, stars_of, wider_distances
from .point_groups import Groups, heights_within, middles_of
from .point_net import PointNet, at_any_corner, dot, face_normals, fixed_points, lengths, middles, point_normals
from .roughness import ROUGH, roughness_of_net
from .scattered_points import columns

MOST_TRIANGLES = 850_000
"""Meshes of more triangles are thinned: what a plan on 2.7 million cells was measured to take within 1 GiB."""

WITHIN = 0.005
"""mm between the given and the thinned surface. The passes of a finishing cut stand ten times as high, and sanding takes more."""

BOX_EDGES, SIZES = 1.5, 4
"""Smallest box over the usual edge of the mesh, and how many sizes there are, each twice the one before."""

SLAB = 0.7
"""Share of WITHIN that a box's points may lie from one plane, all together: most boxes then pass when the distance is measured."""

COHERENT = 0.97
"""Length of the sum of a box's normals over the sum of their lengths: below it, a sharp edge or two sheets of the surface lie in the box."""

MEASURED = 0.9
"""Share of WITHIN that the measured distance may have: what lies between the places where it is measured."""

LEFT_OF_A_SCAN = 350_000
"""Triangles that a rough mesh is brought down to, but for outliers that get points of their own again when the distance is measured. Wider patches
scatter less, and a plan takes less memory."""

SCAN_DEVIATIONS = 5.5
"""Distance over the scatter of a rough mesh that its points may lie from the mean of their patch: MEASURED times it, one point in 1.3 million lies
farther (normal distribution). At less, many a large scan's points would be left where they scattered to, with all of their patches."""

GENTLE_ROUNDS = 5
"""Of measuring and parting boxes into the next smaller ones; after them boxes are given their own points again."""


def thinned_body_steps(name: str, net: PointNet, within: float = WITHIN, left_of_a_scan: int = LEFT_OF_A_SCAN) -> Steps[Body]:
    """The body of a net that has been thinned; yields the share done. within: the distance in mm that both surfaces may be apart; SCAN_DEVIATIONS
    times the scatter of a mesh that is rough, if that is more. left_of_a_scan: triangles that a rough mesh is brought down to where its form allows it.
    Raises BadBody.
    """
    roughness = roughness_of_net(net)
    if roughness >= ROUGH:
        within = max(within, SCAN_DEVIATIONS * roughness)
        groups = columns(net, roughness, left_of_a_scan // 2)
    else:
        roughness, groups = 0.0, _boxes(net, within)
    measured, share = _Measured(net, within), 0.1
    while True:
        yield share
        kept = groups.representatives()
        thin = _joined(net, kept, middles_of(net.points, kept) if roughness else net.points)
        far = measured.too_far(thin, kept) & groups.joined(net.corners)
        if not far.any():
            break
        groups.part(np.unique(net.corners[far]), wholly=measured.rounds > GENTLE_ROUNDS)
        share = (share + 1) / 2
    told = Thinned(len(net.corners), len(thin.corners), within=within, deviation=measured.greatest, roughness=roughness)
    thin = thin.packed()
    return replace(make_body(name, thin.triangles(), thin.marks), thinned=told)


def _boxes(net: PointNet, within: float) -> Groups:
    """Groups by boxes of several sizes, for the points of a mesh that does not scatter."""
    normals, marked = point_normals(net), net.marked_points()
    low = np.array([net.points[:, axis].min() for axis in range(3)])
    area = lengths(normals).sum() / 6  # every face counts at three points, twice
    edge = np.sqrt(4 / np.sqrt(3) * area / len(net.corners))  # of equal triangles
    box = ((net.points - low) / (BOX_EDGES * edge)).astype(np.int64)

    def keys(level: int) -> NDArray[np.int64]:
        x, y, z = (box >> level).T
        size = (int(y.max()) + 1, int(z.max()) + 1)
        return np.asarray(((x * size[0] + y) * size[1] + z) * 2 + marked)

    def nearly_flat(number: NDArray[np.int64]) -> Mask:
        height, alike = heights_within(net.points, normals, number)
        low, high = np.zeros(len(alike)), np.zeros(len(alike))
        np.minimum.at(low, number, height)
        np.maximum.at(high, number, height)
        return np.asarray((high - low <= SLAB * within) & (alike >= COHERENT))

    return Groups(net.points, keys, sizes=SIZES, passes=nearly_flat, fixed=fixed_points(net))


class _Measured:
    """Distances of a net from what it was thinned to, measured again only where that has changed. greatest: in mm; rounds: how often measured."""

    def __init__(self, net: PointNet, within: float) -> None:
        self._net, self._limit = net, MEASURED * within
        self._kept = np.full(len(net.points), -1, np.int32)
        self._of_points = np.zeros(len(net.points), np.float32)
        self._of_faces = np.zeros(len(net.corners), np.float32)
        self._over = np.zeros(len(net.corners), bool)
        self.rounds = 0

    @property
    def greatest(self) -> float:
        """The greatest distance in mm; points of faces without area alone, which went, are at none."""
        return max(float(found[np.isfinite(found)].max(initial=0.0)) for found in (self._of_points, self._of_faces))

    def too_far(self, thin: PointNet, kept: NDArray[np.int32]) -> Mask:
        """Triangles (n,) of the given net that lie too far from the thinned one, or are turned over in it. kept: what each point became."""
        net, corners = self._net, self._net.corners
        other = np.flatnonzero(at_any_corner(kept != self._kept, corners))
        self._over[other] = _turned_over(net, thin, kept, other)
        changed = np.zeros(len(kept), bool)
        changed[kept[corners[other]]] = True
        for _ring in range(2):
            changed[thin.corners[at_any_corner(changed, thin.corners)]] = True
        stars = stars_of(thin.points, thin.corners)
        moved = np.flatnonzero(changed[kept])
        for start in range(0, len(moved), TRIANGLES_AT_ONCE):
            some = moved[start : start + TRIANGLES_AT_ONCE]
            self._of_points[some] = _distances(stars, net.points[some], kept[some], self._limit)
        moved = np.flatnonzero(changed[kept[corners[:, 0]]])
        for start in range(0, len(moved), TRIANGLES_AT_ONCE):
            some = moved[start : start + TRIANGLES_AT_ONCE]
            self._of_faces[some] = _distances(stars, middles(net.points[corners[some]]), kept[corners[some, 0]], self._limit)
        self._kept, self.rounds = kept, self.rounds + 1
        far: Mask = at_any_corner(self._of_points > self._limit, corners) | (self._of_faces > self._limit)
        return far | self._over


def _distances(stars: Stars, places: NDArray[np.float64], at: NDArray[np.int32], limit: float) -> NDArray[np.float64]:
    """Distances (m,) in mm from the triangles round the points (m,) at, or round their neighbours where the former lie beyond the limit."""
    out = distances(stars, places, at)
    beyond = np.flatnonzero(out > limit)
    out[beyond] = wider_distances(stars, places[beyond], at[beyond])
    return out


def _turned_over(net: PointNet, thin: PointNet, kept: NDArray[np.int32], which: Indices) -> Mask:
    """Whether each of some triangles (m,) looks the other way, or has become a line, once its points are joined."""
    out = np.zeros(len(which), bool)
    for start in range(0, len(which), TRIANGLES_AT_ONCE):
        corners = net.corners[which[start : start + TRIANGLES_AT_ONCE]]
        a, b, c = kept[corners].T
        real = (a != b) & (b != c) & (c != a)
        before, after = face_normals(net.points[corners[real]]), face_normals(thin.points[kept[corners[real]]])
        out[np.flatnonzero(real) + start] = (dot(before, after) <= 0) & before.any(axis=1)
    return out


def _joined(net: PointNet, kept: NDArray[np.int32], places: NDArray[np.float64]) -> PointNet:
    """The net with its points joined, where they are to lie (p, 3), without the triangles that have become lines or points."""
    corners = kept[net.corners]
    a, b, c = corners.T
    real = (a != b) & (b != c) & (c != a)
    return PointNet(places, corners[real], net.marks[real])
