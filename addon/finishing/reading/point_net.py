"""Triangles by the numbers of their points: a third of the memory that all their corners take."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..core.array_types import Mask
from ..core.open_points import TRIANGLES_AT_ONCE, open_points

BOXES = 1 << 20
"""Along the longest extent of the mesh; corners in one box are one point. Half a thousandth of a millimetre on the largest bodies, and less than
twenty steps of single precision; three such numbers go into one of 64 bits."""


@dataclass(frozen=True)
class PointNet:
    """points: (p, 3) mm. corners: (n, 3) numbers of points. marks: (n,) faces that are marked to be left out."""

    points: NDArray[np.float64]
    corners: NDArray[np.int32]
    marks: Mask

    def triangles(self) -> NDArray[np.float64]:
        """Corner points (n, 3, 3) in mm."""
        return self.points[self.corners]

    def packed(self) -> PointNet:
        """The net without points that no triangle uses."""
        used = np.zeros(len(self.points), bool)
        used[self.corners] = True
        return PointNet(self.points[used], (np.cumsum(used, dtype=np.int32) - 1)[self.corners], self.marks)

    def marked_points(self) -> Mask:
        """Points (p,) of marked faces."""
        out = np.zeros(len(self.points), bool)
        out[self.corners[self.marks]] = True
        return out

    def some(self, start: int) -> NDArray[np.float64]:
        """Corner points (m, 3, 3) of TRIANGLES_AT_ONCE triangles from this one on."""
        return self.points[self.corners[start : start + TRIANGLES_AT_ONCE]]


def net_of_triangles(triangles: NDArray[np.floating], scale: float) -> PointNet:
    """The net of triangles (n, 3, 3) in units of so many mm, none of them marked; corners at one place become one point."""
    corners = triangles.reshape(-1, 3)
    one, number = _welded(corners)
    return PointNet(corners[one].astype(np.float64) * scale, number.reshape(-1, 3), np.zeros(len(triangles), bool))


def net_of_points(points: NDArray[np.float64], corners: NDArray[np.integer], marks: Mask) -> PointNet:
    """The net of triangles (n, 3) of numbers of points (p, 3) in mm; points at one place become one. marks: (n,)."""
    one, number = _welded(points)
    return PointNet(points[one], number[corners], marks).packed()


def _welded(points: NDArray[np.floating]) -> tuple[NDArray[np.int64], NDArray[np.int32]]:
    """One of the points (p, 3) at each place, by number, and the number (p,) of the place of each."""
    low = [float(points[:, axis].min()) for axis in range(3)]
    box = max(float(points[:, axis].max()) - low[axis] for axis in range(3)) / BOXES or 1.0
    place = np.empty(len(points), np.int64)
    for start in range(0, len(points), TRIANGLES_AT_ONCE):
        some = points[start : start + TRIANGLES_AT_ONCE].astype(np.float64)
        x, y, z = (np.rint((some[:, axis] - low[axis]) / box).astype(np.int64) for axis in range(3))
        place[start : start + TRIANGLES_AT_ONCE] = (x * (BOXES + 1) + y) * (BOXES + 1) + z
    order = np.argsort(place, kind="stable")
    place = place[order]
    new = np.concatenate([[True], place[1:] != place[:-1]])
    del place
    number = np.empty(len(order), np.int32)
    number[order] = np.cumsum(new, dtype=np.int32) - 1
    return order[new], number


def fixed_points(net: PointNet) -> Mask:
    """Points (p,) at open edges, where faces are turned against each other, or where marked faces begin."""
    count = len(net.points)
    marked, faces = np.zeros(count), np.zeros(count)
    for start in range(0, len(net.corners), TRIANGLES_AT_ONCE):
        some = net.corners[start : start + TRIANGLES_AT_ONCE].ravel()
        marked += np.bincount(some, np.repeat(net.marks[start : start + TRIANGLES_AT_ONCE], 3), minlength=count)
        faces += np.bincount(some, minlength=count)
    return np.asarray(open_points(net.corners, count) | (marked != 0) & (marked != faces))


def point_normals(net: PointNet) -> NDArray[np.float64]:
    """Normals (p, 3) of the faces round every point, by twice their areas, mm2."""
    total = np.zeros((len(net.points), 3))
    for start in range(0, len(net.corners), TRIANGLES_AT_ONCE):
        some, corners = net.some(start), net.corners[start : start + TRIANGLES_AT_ONCE].ravel()
        normal = np.repeat(face_normals(some), 3, axis=0)
        for axis in range(3):
            total[:, axis] += np.bincount(corners, normal[:, axis], minlength=len(net.points))
    return total


def face_normals(triangles: NDArray[np.float64]) -> NDArray[np.float64]:
    """Normals (n, 3) of triangles (n, 3, 3), twice their areas long, mm2."""
    ax, ay, az = (triangles[:, 1, axis] - triangles[:, 0, axis] for axis in range(3))
    bx, by, bz = (triangles[:, 2, axis] - triangles[:, 0, axis] for axis in range(3))
    return np.stack([ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx], axis=1)


def at_any_corner(points: Mask, corners: NDArray[np.int32]) -> Mask:
    """Triangles (n, 3) of numbers of points that have one of these (p,) at a corner. Corner by corner: numpy takes far longer over a short axis."""
    return np.asarray(points[corners[:, 0]] | points[corners[:, 1]] | points[corners[:, 2]])


def middles(triangles: NDArray[np.float64]) -> NDArray[np.float64]:
    """Middle (n, 3) of triangles (n, 3, 3)."""
    return np.asarray((triangles[:, 0] + triangles[:, 1] + triangles[:, 2]) / 3)


def dot(one: NDArray[np.float64], other: NDArray[np.float64]) -> NDArray[np.float64]:
    """Product (n,) of vectors (n, 3)."""
    return np.asarray(one[:, 0] * other[:, 0] + one[:, 1] * other[:, 1] + one[:, 2] * other[:, 2])


def lengths(vectors: NDArray[np.float64]) -> NDArray[np.float64]:
    """Length (n,) of vectors (n, 3)."""
    return np.sqrt(dot(vectors, vectors))
