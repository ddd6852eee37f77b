"""Whether an OBJ file ends where its writer ended: nothing in it says how many faces there should be, so this is judged by what is left over."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ..core.message import Message
from ..core.open_points import open_edges
from .faults import bad_file
from .obj_groups import same_places

FEW_OPEN_EDGES = 12
"""A closed surface that lost the last face or two has about this many edges with one face only."""

MANY_FACES = 100
"""With fewer triangles than this, a few open edges say nothing."""


PART_OF_SURFACE = 0.75
"""Share of the surface's extent, along one of its two longer axes, below which its open edges do not go all round it."""


def check_whole(file: str, points: NDArray[np.float64], triangles: NDArray[np.int64], marked: set[int], line_ended: bool) -> None:
    """Refuse a file that seems cut short: its surface is open, and some points are left without a face, or the last line breaks off.

    marked: points that lines or single points use. line_ended: whether the last line has an end. A closed surface lacks nothing, whatever
    else is in the file. An open one is whole as long as nothing else speaks against it: a surface that is open all round, as the top of a body
    alone is, and one with a hole somewhere. A hole right behind the last face of the file is where its next faces were. Raises BadFile.
    """
    used = np.zeros(len(points), bool)
    used[triangles] = True
    used[list(marked)] = True
    unused = len(points) - int(used.sum())
    if not unused and len(triangles) < MANY_FACES:
        return
    edges = _open_edges(points, triangles)
    count = len(edges)
    if count and unused:
        what = Message("has {edges} open edges, and {unused} of its {points} points belong to no face", edges=count, unused=unused, points=len(points))
        remedy = Message("the file was cut short, so copy or export it again; if it is whole, delete the loose points first")
        raise bad_file(file, what, remedy)
    if 0 < count <= FEW_OPEN_EDGES and not line_ended:
        what = Message("has {edges} open edges, and its last line has no end", edges=count)
        remedy = Message("the file was cut short, so copy or export it again; if it is whole, put an empty line at its end")
        raise bad_file(file, what, remedy)
    if count and _is_hole_at_the_end(points, triangles, edges):
        what = Message("has a hole with {edges} open edges right behind its last face", edges=count)
        remedy = Message("the file was cut short, so copy or export it again; if the hole is meant, export it as PLY or STL")
        raise bad_file(file, what, remedy)


def _is_hole_at_the_end(points: NDArray[np.float64], triangles: NDArray[np.int64], edges: NDArray[np.int64]) -> bool:
    """Whether a corner of the last triangle lies at open edges (e, 2) of point numbers, and all of these within a part of the surface."""
    last = points[triangles[-1]]
    ends = points[edges]
    if not (ends[:, :, None] == last).all(axis=3).any():
        return False
    size = np.ptp(points[triangles].reshape(-1, 3), axis=0)
    share = np.ptp(ends.reshape(-1, 3), axis=0) / np.maximum(size, np.finfo(float).tiny)
    return bool((share[np.argsort(size, kind="stable")[1:]] < PART_OF_SURFACE).any())


def _open_edges(points: NDArray[np.float64], triangles: NDArray[np.int64]) -> NDArray[np.int64]:
    """The edges (e, 2), by the numbers of their points, that belong to one triangle only; points in exactly one place count as one."""
    place = same_places(points)
    point = np.empty(len(points), np.int64)
    point[place] = np.arange(len(points))
    return np.asarray(point[open_edges(place.astype(np.int32)[triangles], len(points))])
