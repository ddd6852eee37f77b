"""Whether an OBJ file ends where its writer ended: nothing in it says how many faces there should be, so this is judged by what is left over."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ..core.message import Message
from .faults import bad_file
from .obj_groups import same_places

FEW_OPEN_EDGES = 12
"""A closed surface that lost the last face or two has about this many edges with one face only."""

MANY_FACES = 100
"""With fewer triangles than this, a few open edges say nothing."""


def check_whole(file: str, points: NDArray[np.float64], triangles: NDArray[np.int64], marked: set[int], line_ended: bool) -> None:
    """Refuse a file that seems cut short: its surface is open, and some points are left without a face, or the last line breaks off.

    marked: points that lines or single points use. line_ended: whether the last line has an end. A closed surface lacks nothing, whatever
    else is in the file. An open one is whole as long as nothing else speaks against it. Raises BadFile.
    """
    used = np.zeros(len(points), bool)
    used[triangles] = True
    used[list(marked)] = True
    unused = len(points) - int(used.sum())
    if not unused and (line_ended or len(triangles) < MANY_FACES):
        return
    count = open_edges(points, triangles)
    if count and unused:
        what = Message("has {edges} open edges, and {unused} of its {points} points belong to no face", edges=count, unused=unused, points=len(points))
        remedy = Message("the file was cut short, so copy or export it again; if it is whole, delete the loose points first")
        raise bad_file(file, what, remedy)
    if 0 < count <= FEW_OPEN_EDGES and not line_ended:
        what = Message("has {edges} open edges, and its last line has no end", edges=count)
        remedy = Message("the file was cut short, so copy or export it again; if it is whole, put an empty line at its end")
        raise bad_file(file, what, remedy)


def open_edges(points: NDArray[np.float64], triangles: NDArray[np.int64]) -> int:
    """How many edges belong to one triangle only; points in exactly one place count as one."""
    corner = same_places(points)[triangles]
    edges = np.sort(np.concatenate([corner[:, [0, 1]], corner[:, [1, 2]], corner[:, [2, 0]]]), axis=1)
    edges = edges[edges[:, 0] != edges[:, 1]]
    _edge, times = np.unique(edges[:, 0] * len(points) + edges[:, 1], return_counts=True)
    return int((times == 1).sum())
