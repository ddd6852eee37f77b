"""A scanned mesh made smooth, no point of it moved farther than is stated.

Every point is moved along its normal to where the net of points, taken as a signal, has lost what repeats over less than KEPT_LENGTH: a filter
1 / (1 + (k / c)^2) in the eigenvalues k of "how far from the mean of its neighbours", worked out as a polynomial by Chebyshev's series, so that
each degree is one mean over neighbours (Taubin, Zhang and Golub 1996, Optimal surface smoothing as filter design). Edges are kept: points on a
sharp edge look along it only.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..core.array_types import FloatArray, Mask
from ..core.triangles import unit_normals
from ..reading.mesh_net import MeshNet, Neighbours, mesh_net, neighbours, neighbours_seen, point_normals
from ..reading.roughness import DEVIATIONS, ROUGH

KEPT_LENGTH = 10.0
"""mm; what repeats over this length is halved, longer forms are kept and shorter ones lost. Scatter left over so many points is a tenth of what
it was at 0.65 mm between points; the passes are laid on curvature, in which what repeats over 5 mm would still stand out."""

SHARP_ANGLE, SCATTERED_ANGLES = 20.0, 4.0
"""Degrees between faces, once the scatter is taken down, from which an edge is meant: one of 36 degrees keeps so much. And the same in standard
deviations of the angle that the scatter still makes, where that is more."""

CORNER_TURN = 50.0
"""Degrees between two sharp edges from which they meet in a corner. The scatter of a scan, 0.05 mm on edges of 0.65 mm, makes up to 15."""

CALMED = 0.54
"""What half a step to the mean of six neighbours leaves of the scatter: sqrt(1 + 1/6) / 2."""

LONG_EDGE = 3.0
"""Times the usual edge from which an edge of the mesh is left out: its ends are no neighbours."""

GREATEST_EIGENVALUE = 2.0
"""Of "how far from the mean of its neighbours": at most 2 on any net."""

LEAST_COEFFICIENT, MOST_DEGREES = 1e-3, 80
"""Share of the signal below which the rest of Chebyshev's series is left off, and its most terms."""


@dataclass(frozen=True)
class SmoothedMesh:
    """triangles: (n, 3, 3) mm. roughness: standard deviation of the scatter that was found, mm. allowed: greatest deviation, 0 where nothing was
    to be smoothed. moved: greatest distance that a point was moved, and usual: half of them less than that, mm."""

    triangles: FloatArray
    roughness: float
    allowed: float
    moved: float
    usual: float


def smoothed_mesh(triangles: FloatArray, roughness: float, greatest: float | None) -> SmoothedMesh:
    """A mesh (n, 3, 3) mm with its scatter taken out. greatest: deviation in mm, None for DEVIATIONS times the scatter, 0 for no smoothing.

    A mesh that is not rough stays as it is.
    """
    allowed = DEVIATIONS * roughness if greatest is None else greatest
    if allowed <= 0 or roughness < ROUGH:
        return SmoothedMesh(triangles, roughness, allowed=0.0, moved=0.0, usual=0.0)
    net = mesh_net(triangles)
    length = np.linalg.norm(net.points[net.ends[:, 0]] - net.points[net.ends[:, 1]], axis=1)
    usual = float(np.median(length))
    around = _neighbours_along(net, length <= LONG_EDGE * usual, roughness / usual)
    normals = point_normals(net, *unit_normals(around.means(net.points)[net.corners]))
    cut = min(1.0, (np.pi * usual / KEPT_LENGTH) ** 2)  # the eigenvalue of waves of that length on a net of equal triangles
    shift = ((_low_pass(net.points, around, cut) - net.points) * normals).sum(axis=1)
    shift = np.clip(shift, -allowed, allowed)
    points = net.points + shift[:, None] * normals
    size = np.abs(shift)
    return SmoothedMesh(points[net.corners], roughness, allowed=allowed, moved=float(size.max()), usual=float(np.median(size)))


def _neighbours_along(net: MeshNet, short: Mask, scatter: float) -> Neighbours:
    """Neighbours of every point; of those on a sharp or an open edge the ones along it alone.

    short: (e,) edges whose ends are neighbours. scatter: over the usual edge.
    """
    every = neighbours(net.ends[short], len(net.points))
    calm = (net.points + every.means(net.points)) / 2  # takes the scatter down by half, and leaves an edge an edge
    normal, _ = unit_normals(calm[net.corners])
    turn = (normal[net.faces[:, 0]] * normal[net.faces[:, 1]]).sum(axis=1)
    # Of four points at 0.87 of an edge from it, twice the scatter of one.
    scattered = np.degrees(np.arctan(2 * CALMED * scatter / 0.87))
    sharp = net.open_edge | (turn < np.cos(np.radians(max(SHARP_ANGLE, SCATTERED_ANGLES * scattered))))
    count = np.bincount(net.ends[sharp].ravel(), minlength=len(net.points))
    sharp &= (count[net.ends] > 1).any(axis=1)  # a single one is scatter
    on_edge: Mask = np.zeros(len(net.points), bool)
    on_edge[net.ends[sharp]] = True
    corner = _corners(net.ends[sharp], calm)
    # Who sees whom: on an edge along it alone, off the edges all around, at a corner nobody.
    one, other = np.concatenate([net.ends[short], net.ends[short][:, ::-1]]).T
    sees = ~corner[one] & (np.tile(sharp[short], 2) | ~on_edge[one])
    return neighbours_seen(one[sees], other[sees], len(net.points))


def _corners(ends: NDArray[np.int64], points: FloatArray) -> Mask:
    """Points (p,) where sharp edges (e, 2) meet, other than two that run on into each other within CORNER_TURN: what such a point would see along
    its edges lies to one side of it."""
    away = points[ends[:, 1]] - points[ends[:, 0]]
    away /= np.maximum(np.linalg.norm(away, axis=1), np.finfo(float).tiny)[:, None]
    one, other = ends.T
    number = np.concatenate([one, other])
    count = np.bincount(number, minlength=len(points))
    both = np.concatenate([away, -away])
    total = np.stack([np.bincount(number, both[:, axis], minlength=len(points)) for axis in range(3)], axis=1)
    bent = np.linalg.norm(total, axis=1) > 2 * np.sin(np.radians(CORNER_TURN) / 2)
    return (count > 2) | (count == 2) & bent


def _low_pass(points: FloatArray, around: Neighbours, cut: float) -> FloatArray:
    """The filtered points (p, 3)."""
    half = GREATEST_EIGENVALUE / 2
    middle = points.mean(axis=0)  # so that the series works on small numbers
    series = _series(cut)

    def scaled(values: FloatArray) -> FloatArray:
        """(K / half - 1) of the values, with K "how far from the mean of the neighbours"."""
        return (values - around.means(values)) / half - values

    before: FloatArray = points - middle
    now = scaled(before)
    total: FloatArray = series[0] * before + (series[1] * now if len(series) > 1 else 0.0)
    for coefficient in series[2:]:
        before, now = now, 2 * scaled(now) - before
        total = total + coefficient * now
    return total + middle


def _series(cut: float) -> FloatArray:
    """Coefficients (n,) of the filter in Chebyshev's polynomials of k / half - 1, from its values at their nodes."""
    half = GREATEST_EIGENVALUE / 2
    angle = (np.arange(MOST_DEGREES) + 0.5) * np.pi / MOST_DEGREES
    wanted = 1 / (1 + (half * (np.cos(angle) + 1) / cut) ** 2)
    degree = np.arange(MOST_DEGREES)
    series = (2 / MOST_DEGREES) * (np.cos(degree[:, None] * angle) * wanted).sum(axis=1)
    series[0] /= 2
    kept = series[: int(np.flatnonzero(np.abs(series) > LEAST_COEFFICIENT)[-1]) + 1]
    # At -1, where k is 0, it must be 1: what does not scatter stays where it is.
    return np.concatenate([[kept[0] + 1 - (kept * (-1.0) ** degree[: len(kept)]).sum()], kept[1:]])
