"""Which faces of an OBJ file are one part: those of one object; without objects those of one group, unless all groups touch."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .obj_faces import Owner
from .part import MeshPart

DEFAULT = "default"
"""The name that the format gives to what has none."""


def parts_of(points: NDArray[np.float64], triangles: NDArray[np.int64], owners: NDArray[np.int64], names: list[Owner]) -> list[MeshPart]:
    """The parts in the order of their first faces. triangles: (n, 3) point numbers. owners: (n,) number of each one's name.

    A part is called by its object or group; the only one of a file without names has none. Many writers put the faces of one body into a
    group for each material or patch: groups whose surfaces meet in common points, directly or through others, are one body. Objects are
    bodies of their own even so.
    """
    if any(name[0] is not None for name in names):
        labels = [name[0] or DEFAULT for name in names]
    else:
        labels = [name[1] for name in names]
        if len(labels) > 1 and _all_touch(points, triangles, owners, len(names)):
            labels = [labels[0]] * len(labels)
    if set(labels) == {DEFAULT}:
        return [MeshPart("", points[triangles])]
    own = {label: number for number, label in enumerate(dict.fromkeys(labels))}
    part = np.array([own[label] for label in labels])[owners]
    order = np.argsort(part, kind="stable")
    pieces = np.split(triangles[order], np.cumsum(np.bincount(part))[:-1])
    return [MeshPart(label, points[piece]) for label, piece in zip(own, pieces, strict=True)]


def _all_touch(points: NDArray[np.float64], triangles: NDArray[np.int64], owners: NDArray[np.int64], count: int) -> bool:
    """Whether the surfaces of all owners hang together by points in exactly one place."""
    place = same_places(points)[triangles].ravel()
    owner = np.repeat(owners, 3)
    order = np.lexsort((owner, place))
    place, owner = place[order], owner[order]
    meets = (place[1:] == place[:-1]) & (owner[1:] != owner[:-1])
    pairs = np.unique(np.stack([owner[:-1][meets], owner[1:][meets]], axis=1), axis=0).tolist()
    leader = list(range(count))

    def leader_of(number: int) -> int:
        while leader[number] != number:
            leader[number] = number = leader[leader[number]]
        return number

    for one, other in pairs:
        leader[leader_of(one)] = leader_of(other)
    return len({leader_of(number) for number in range(count)}) == 1


def same_places(points: NDArray[np.float64]) -> NDArray[np.int64]:
    """A number (p,) for each point (p, 3), the same for points whose coordinates are exactly equal."""
    order = np.lexsort(points.T)
    ordered = points[order]
    new = np.append(True, (ordered[1:] != ordered[:-1]).any(axis=1)) if len(points) else np.zeros(0, bool)
    number = np.empty(len(points), np.int64)
    number[order] = np.cumsum(new) - 1
    return number
