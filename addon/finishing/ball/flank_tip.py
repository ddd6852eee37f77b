"""Exact tip heights of a tapered cutter over the true triangles: what its flank adds to those of its ball (`exact_tip`).

What a convex cutter touches has its normal there. Ball and flank meet where the normal looks up by the half angle a, and the flank has no other
normals but those of its top rim, which are flatter. So the flank comes first

- on edges and corners of facets that are steeper than 90 - a degrees (facets seen edge on and undersides too), on edges that only one
  facet has, and on edges beyond which the surface turns back under itself: `flank_search`, in closed form. Where all facets round an edge or a
  corner are less steep and lie side by side in plan, all normals between theirs look up by more than a, since those that do form a cap of a
  sphere, which is convex; there the ball comes first;
- on facets that are steeper than that, with the rim at the flank's top: the touching place lies the top's radius uphill of the axis.

A facet exactly as steep as the flank touches it along a line that ends on the facet's own edges or on that rim.
"""

from __future__ import annotations

from collections.abc import Generator

import numpy as np

from ..core.array_types import Double, FloatArray, Indices, Mask
from ..core.ragged import run_owners, run_places, run_ranges
from ..core.stepping import within
from ..core.triangles import corner_numbers, unit_normals
from ..job.flank import Flank
from .flank_search import FlankSearch
from .triangle_tree import with_short_edges

AS_STEEP = 1e-6
"""Up part of a unit normal within which a facet counts as as steep as the flank."""

LEAST_UP = 1e-6
"""Up part of a unit normal from which a facet has ground that the rim of the flank's top can come down on: steeper ones are walls, whose upper edge
lies within a millionth of their height straight above the rest of them."""

ON_EDGE = 1e-9
"""mm2; how far outside a facet its contact may lie by rounding."""

LONGEST = 2.0
"""mm; facets with longer edges in plan are cut up. Cells in plan by which they are found are as wide."""


class FlankTip:
    """Finds what the flank of one tapered cutter adds to its ball's tip heights over triangles (n, 3, 3) in mm."""

    def __init__(self, triangles: FloatArray, flank: Flank) -> None:
        self.flank = flank
        normals, twice_area = unit_normals(triangles)
        real = twice_area > 0
        triangles, normals = np.asarray(triangles[real], np.float64), normals[real]
        steep = np.abs(normals[:, 2]) <= np.sin(np.radians(flank.half_angle)) + AS_STEEP
        ends = _edges_that_matter(triangles, steep)
        self._edges = FlankSearch(ends[:, 0], ends[:, 1], flank)
        climbing = steep & (np.abs(normals[:, 2]) > LEAST_UP)
        self._walls = _RimOnFacets(triangles[climbing], normals[climbing], flank)

    def raised_steps(self, points: FloatArray, known: FloatArray) -> Generator[float, None, Double]:
        """The ball's exact tip heights raised to the whole cutter's. points: (..., 2) axes; known: (...) the ball's; yields shares done."""
        axes = points.reshape(-1, 2)
        raised = yield from within(self._edges.raised_steps(axes, known.ravel()), 0.0, 0.8)
        return self._walls.raised(axes, raised).reshape(known.shape)


def _edges_that_matter(triangles: FloatArray, steep: Mask) -> FloatArray:
    """Edges (k, 2, 3) of triangles (n, 3, 3) that a flank may touch before the ball does, by the module's text. steep: (n,)."""
    if len(triangles) == 0:
        return np.zeros((0, 2, 3))
    corners = corner_numbers(triangles)
    start, end = corners.ravel(), np.roll(corners, -1, axis=1).ravel()
    key = np.minimum(start, end) * (int(corners.max()) + 1) + np.maximum(start, end)
    order = np.argsort(key, kind="stable")
    first = np.flatnonzero(np.concatenate([[True], np.diff(key[order]) != 0]))
    count = np.diff(np.append(first, len(order)))
    edge = np.empty(len(order), np.intp)
    edge[order] = run_owners(count)
    # The side of an edge, from its lower numbered end, on which a facet's third corner lies in plan.
    from_points, to_points = triangles.reshape(-1, 3), np.roll(triangles, -1, axis=1).reshape(-1, 3)
    third = np.roll(triangles, -2, axis=1).reshape(-1, 3)
    run, off = (to_points - from_points)[:, :2], (third - from_points)[:, :2]
    side = np.sign(run[:, 0] * off[:, 1] - run[:, 1] * off[:, 0]) * np.where(start < end, 1, -1)
    sides = np.bincount(edge, side, minlength=len(first))
    matters = (count != 2) | (sides != 0)
    matters |= np.bincount(edge, np.repeat(steep, 3), minlength=len(first)) > 0
    chosen = order[first[matters]]
    return np.stack([from_points[chosen], to_points[chosen]], axis=1)


class _RimOnFacets:
    """Facets that the rim of the flank's top can come down on. Moved by that rim's offset, each stands where the tip is held: they are looked up
    straight above or below a point, by the cells of their boxes in plan.
    """

    def __init__(self, triangles: FloatArray, normals: FloatArray, flank: Flank) -> None:
        """triangles: (n, 3, 3) mm, none of them upright or level; normals: (n, 3) unit."""
        self._triangles: FloatArray = np.zeros((0, 3, 3))
        self._highest = -np.inf
        if len(triangles) == 0:
            return
        upward = normals * np.copysign(1.0, normals[:, 2:])
        uphill = -upward[:, :2] / np.hypot(upward[:, 0], upward[:, 1])[:, None]
        offset = np.column_stack([flank.top_radius * uphill, np.full(len(uphill), flank.top_height)])
        moved = with_short_edges(triangles - offset[:, None], LONGEST)
        low, high = moved[:, :, :2].min(axis=1), moved[:, :, :2].max(axis=1)
        self._low = low.min(axis=0)
        first, last = (((corner - self._low) / LONGEST).astype(np.intp) for corner in (low, high))
        self._columns, self._rows = (int(number) + 1 for number in last.max(axis=0))
        wide, deep = (last - first + 1).T
        facet, place = run_owners(wide * deep), run_places(wide * deep)
        number = (first[facet, 1] + place // wide[facet]) * self._columns + first[facet, 0] + place % wide[facet]
        order = np.argsort(number, kind="stable")
        self._facet = facet[order]
        self._first = np.concatenate([[0], np.cumsum(np.bincount(number, minlength=self._rows * self._columns))]).astype(np.intp)
        self._triangles, self._highest = moved, float(moved[:, :, 2].max())
        self._normals = unit_normals(moved)[0]

    def raised(self, axes: FloatArray, known: Double) -> Double:
        """Known tip heights (n,) at axes (n, 2), raised to where the rim of the top comes down on a facet."""
        out = known.copy()
        asked = np.flatnonzero(self._highest > out)
        if len(self._triangles) == 0 or len(asked) == 0:
            return out
        column, row = np.floor((axes[asked] - self._low) / LONGEST).astype(np.intp).T
        inside = (row >= 0) & (row < self._rows) & (column >= 0) & (column < self._columns)
        asked, cell = asked[inside], (row * self._columns + column)[inside]
        count = self._first[cell + 1] - self._first[cell]
        point = asked[run_owners(count)]
        facet = self._facet[run_ranges(self._first[cell], count)]
        np.maximum.at(out, point, self._heights(facet, axes[point]))
        return out

    def _heights(self, facet: Indices, places: FloatArray) -> Double:
        """Heights (n,) of facets over places (n, 2), -inf beside them."""
        corners, normal = self._triangles[facet], self._normals[facet]
        off = places[:, None] - corners[:, :, :2]
        run = np.roll(corners, -1, axis=1)[:, :, :2] - corners[:, :, :2]
        turn = run[..., 0] * off[..., 1] - run[..., 1] * off[..., 0]
        over = (turn >= -ON_EDGE).all(axis=1) | (turn <= ON_EDGE).all(axis=1)
        height = corners[:, 0, 2] - (normal[:, 0] * off[:, 0, 0] + normal[:, 1] * off[:, 0, 1]) / normal[:, 2]
        held = np.minimum(np.maximum(height, corners[:, :, 2].min(axis=1)), corners[:, :, 2].max(axis=1))
        return np.where(over, held, -np.inf)
