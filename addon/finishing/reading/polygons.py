"""Faces with any number of corners to triangles: a fan where the face is convex, ears cut off where it is not.

A face is judged in the plane square to its mean normal, twice its vector area by M. E. Newell's sum (in I. Sutherland, R. Sproull and
R. Schumacker, A characterization of ten hidden-surface algorithms, ACM Computing Surveys 6, 1974). A face that crosses itself there bounds
no surface that anyone could have meant, and is refused, unless it is too small to matter.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from ..core.message import Message
from .ear_clipping import MOST_CORNERS, crosses_itself, ears

NO_AREA = 1e-12
"""A face whose area is this share of its extent squared or less has none."""

STRAIGHT = 1e-12
"""A corner turns the wrong way only beyond this share of the face's own area: less is rounding."""

NEGLIGIBLE = 1e-5
"""A face that crosses itself is let pass when its extent is below this share of the whole mesh's: 0.005 mm of a body of half a metre."""

MOST_WORK = 400_000_000
"""Pairs of edges that are looked at in faces that are not convex: some twenty seconds. A file with more must be exported as triangles."""

WORK_OF_ONE = 4_000
"""What looking at one such face costs at least, in pairs of edges."""

RUN = 1 << 18
"""Corners that are judged at a time, which bounds the memory."""

Refusal = Callable[[int, Message, Message], Exception]
"""The error for a face, by its number from 0, what is wrong with it, and what to do."""


def triangulated(
    points: NDArray[np.floating], corners: NDArray[np.int64], sizes: NDArray[np.int64], refusal: Refusal
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Triangles (n, 3) of point numbers, in the order of the faces, and the face (n,) that each belongs to.

    points: (p, 3). corners: point numbers of all faces, one face after the other. sizes: (f,) corners of each face, 3 or more.
    Raises refusal(face, ...) for a face that crosses itself or takes too long.
    """
    if bool((sizes == 3).all()):
        return corners.reshape(-1, 3), np.arange(len(sizes))
    starts = np.cumsum(sizes) - sizes
    extent = float(np.ptp(points[corners].astype(np.float64), axis=0).max())
    pieces, owners = [], []
    concave: list[int] = []
    for size in np.unique(sizes).tolist():
        faces = np.flatnonzero(sizes == size)
        for run in np.array_split(faces, -(-len(faces) * size // RUN)):
            polygon = corners[starts[run][:, None] + np.arange(size)]
            first, convex = (np.zeros(len(run), np.int64), np.ones(len(run), bool)) if size == 3 else _fan_starts(points[polygon].astype(np.float64))
            turned = np.take_along_axis(polygon, (first[:, None] + np.arange(size)) % size, axis=1)[convex]
            pieces.append(turned[:, _fan(size)].reshape(-1, 3))
            owners.append(np.repeat(run[convex], size - 2))
            concave += run[~convex].tolist()
    _check_work(sizes, concave, refusal)
    for face in concave:
        polygon = corners[starts[face] : starts[face] + sizes[face]]
        cut = _clipped(points[polygon].astype(np.float64), face, extent, refusal)
        pieces.append(polygon[cut])
        owners.append(np.full(len(cut), face))
    owner = np.concatenate(owners)
    order = np.argsort(owner, kind="stable")
    return np.concatenate(pieces)[order], owner[order]


def _fan(size: int) -> NDArray[np.int64]:
    """Corner numbers (size - 2, 3) of the triangles of a fan that begins at the first of so many corners."""
    following = np.arange(1, size - 1)
    return np.stack([np.zeros_like(following), following, following + 1], axis=1)


def _fan_starts(places: NDArray[np.float64]) -> tuple[NDArray[np.int64], NDArray[np.bool_]]:
    """For faces (m, n, 3): the corner that a fan may begin at, and whether a fan is right at all.

    It is right for a convex face, and for a face of four corners one of which turns inward, where the fan begins at that one.
    """
    size = places.shape[1]
    edge = np.roll(places, -1, axis=1) - places
    normal = _vector_areas(places)
    area = (normal**2).sum(axis=1)
    turn = np.einsum("mnk,mk->mn", np.cross(np.roll(edge, 1, axis=1), edge), normal)
    inward = turn < -STRAIGHT * area[:, None]
    extent = np.ptp(places, axis=1).max(axis=1)
    has_area = np.sqrt(area) > NO_AREA * extent**2
    convex = has_area & ~inward.any(axis=1)
    first = np.zeros(len(places), np.int64)
    if size == 4:
        single = has_area & (inward.sum(axis=1) == 1)
        first[single] = inward[single].argmax(axis=1)
        return first, convex | single
    # A star turns the same way everywhere, but more than once round.
    along = np.roll(edge, 1, axis=1)
    with np.errstate(invalid="ignore", divide="ignore"):
        angle = np.arctan2(turn / np.sqrt(area)[:, None], np.einsum("mnk,mnk->mn", along, edge))
    return first, convex & (np.nan_to_num(angle).sum(axis=1) < 3 * np.pi)


def _vector_areas(places: NDArray[np.float64]) -> NDArray[np.float64]:
    """Newell's normals (m, 3) of faces (m, n, 3): twice the area in length, seen anticlockwise from their tips."""
    from_first = places - places[:, :1]
    return np.cross(from_first[:, 1:-1], from_first[:, 2:]).sum(axis=1)


def _check_work(sizes: NDArray[np.int64], concave: list[int], refusal: Refusal) -> None:
    """Refuse what would take too long."""
    work = 0
    for face in concave:
        work += int(sizes[face]) ** 2 + WORK_OF_ONE
        if sizes[face] > MOST_CORNERS or work > MOST_WORK:
            what = Message("a face with {count} corners that is not convex is too much work here", count=int(sizes[face]))
            raise refusal(face, what, Message("export the mesh as triangles"))


def _clipped(places: NDArray[np.float64], face: int, extent: float, refusal: Refusal) -> NDArray[np.int64]:
    """Triangles (n, 3) of one face's corner numbers. Raises refusal when the face crosses itself."""
    normal = _vector_areas(places[None])[0]
    length = float(np.linalg.norm(normal))
    own_extent = float(np.ptp(places, axis=0).max())
    fan = _fan(len(places))
    if own_extent <= NEGLIGIBLE * extent:
        return fan
    if length <= NO_AREA * own_extent**2:
        if np.linalg.matrix_rank(places - places[0], tol=1e-9 * own_extent) < 2:
            return fan  # all corners on one line: no area in any triangle
    else:
        flat = places @ _plane_axes(normal / length)
        cut = None if crosses_itself(flat) else ears(flat)
        if cut is not None:
            return cut
    what = Message("a face with {count} corners crosses itself", count=len(places))
    raise refusal(face, what, Message("repair the mesh, or export it again as triangles"))


def _plane_axes(normal: NDArray[np.float64]) -> NDArray[np.float64]:
    """Two unit directions (3, 2) square to a unit normal, such that the plane is seen from the normal's tip."""
    along = np.zeros(3)
    along[np.abs(normal).argmin()] = 1.0
    first = np.cross(along, normal)
    first /= np.linalg.norm(first)
    return np.stack([first, np.cross(normal, first)], axis=1)
