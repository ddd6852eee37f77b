"""The smooth form that the facets of a modelled body stand for, so that pass lines follow the form while their heights follow the facets.

Over every coarse triangle lies a curved one: a cubic patch through its corners that is square to the normals there (curved PN triangles,
Vlachos, Peters, Boyd and Mitchell 2001, Symposium on Interactive 3D Graphics). A corner's normal is the mean of the faces round it that
meet at less than SMOOTH_ANGLE, so that a crease stays a crease.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..core.array_types import FloatArray, Indices, Single
from ..core.grid import Grid
from ..core.ragged import run_owners, run_ranges
from ..core.triangles import corner_numbers, unit_normals
from .height_map import height_map

SMOOTH_ANGLE = 20.0
"""Degrees; two faces that meet at less stand for one smooth form. Facets of 9 mm on a radius of 26 mm meet at that, creases that are meant at more."""

LEAST_WIDTH, LEAST_WIDTH_OF_LARGE = 3.0, 2.0
"""mm; narrower facets are taken for what they are: for balls below LARGE_BALL and for larger ones. The smoothing that the cusp metric has anyway
leaves lines of the small ones over them within a tenth of a spacing, and the crests between lines, which over a form are measured on the form,
keep nearer to the cusp height. A large ball rolls farther over the edge between two facets and would draw it into its lines."""

LARGE_BALL = 10.0
"""mm; radius from which a ball is a large one: over facets of 4 mm taken for what they are, lines of 8 mm wave by 0.06 of a spacing (99 %), those of
11 mm by 0.14 and of 16 mm by 0.25."""

STEEPEST = 80.0
"""Degrees from horizontal beyond which a face is a wall and no ground."""

LEAST_RISE, GREATEST_RISE_SHARE = 1e-4, 0.25
"""mm; a form that leaves its facets by less than that changes no line. And a share of the facet's width: facets that meet at SMOOTH_ANGLE lie
less than a tenth of their width off the arc, so a form that goes farther is none."""

WORTH_A_FORM = 0.02
"""mm; a form that nowhere leaves its facets by more is left alone: the smoothing of the cusp metric has taken out as much, and every plan would pay
for a second tip surface, in time and in the memory that keeps earlier results."""

PIECE, MOST_PIECES = 1.0, 32
"""mm; edge of the flat pieces that a patch is drawn with, and most of them along one edge."""

SEEN = 1.0
"""mm; a facet whose middle lies farther below the heights is hidden by something above it."""


@dataclass(frozen=True)
class SmoothForm:
    """rise: (rows, columns) float32 mm on the side's grid, how far the form stands above the facets (below 0: under them); 0 where the mesh is
    fine, plane or sharp."""

    rise: Single

    @property
    def shows(self) -> bool:
        """Whether it differs from the facets anywhere."""
        return bool(self.rise.any())


def least_facet(radius: float) -> float:
    """Width in mm from which facets stand for a form, for a ball of some radius in mm."""
    return LEAST_WIDTH if radius < LARGE_BALL else LEAST_WIDTH_OF_LARGE


def smooth_form(triangles: FloatArray, heights: FloatArray, grid: Grid, least_width: float = LEAST_WIDTH) -> SmoothForm:
    """The form of one side. triangles: (n, 3, 3) in job mm; heights: (rows, columns), -inf outside; least_width: of its facets, mm."""
    normal, twice_area = unit_normals(triangles)
    chosen = _coarse(triangles, normal, twice_area, heights, grid, least_width)
    none = np.broadcast_to(np.float32(0), grid.shape)  # no grid of zeros: it would be kept for every plan
    if len(chosen) == 0:
        return SmoothForm(none)
    corners, normals = triangles[chosen], _corner_normals(triangles, normal, twice_area, chosen)
    surface = np.full(grid.shape, -np.inf)
    longest = np.linalg.norm(np.roll(corners, -1, axis=1) - corners, axis=2).max(axis=1)
    pieces = np.clip(np.ceil(longest / PIECE), 1, MOST_PIECES).astype(np.int64)
    for count in np.unique(pieces):
        some = pieces == count
        np.maximum(surface, height_map(_patches(corners[some], normals[some], int(count)), grid, upward_only=False), out=surface)
    flat = height_map(corners, grid, upward_only=False)
    # Only where the facets themselves are what is seen: beside a wall a patch may reach a cell that another face covers.
    seen = (surface > -np.inf) & (flat > -np.inf) & (flat >= heights - SEEN)
    rise = np.where(seen, surface - np.where(seen, flat, 0.0), 0.0)
    rise[(np.abs(rise) < LEAST_RISE) | (np.abs(rise) > GREATEST_RISE_SHARE * float(longest.max()))] = 0.0
    return SmoothForm(rise.astype(np.float32) if np.abs(rise).max() > WORTH_A_FORM else none)


def _coarse(triangles: FloatArray, normal: FloatArray, twice_area: FloatArray, heights: FloatArray, grid: Grid, least_width: float) -> Indices:
    """Numbers of the triangles that are wide, no walls, and seen from above."""
    side = np.linalg.norm(np.roll(triangles, -1, axis=1) - triangles, axis=2)
    wide = (twice_area > least_width * side.max(axis=1)) & (np.abs(normal[:, 2]) > np.cos(np.radians(STEEPEST)))
    chosen = np.flatnonzero(wide)
    middle = triangles[chosen].mean(axis=1)
    return chosen[middle[:, 2] > heights[grid.nearest(middle)] - SEEN]


def _corner_normals(triangles: FloatArray, normal: FloatArray, twice_area: FloatArray, chosen: Indices) -> FloatArray:
    """Normals (m, 3, 3) at the corners of the chosen triangles: of the faces round each that lie within SMOOTH_ANGLE of its own."""
    number = corner_numbers(triangles)
    order = np.argsort(number.ravel(), kind="stable")
    counts = np.bincount(number.ravel())
    first = np.cumsum(counts) - counts
    asked = number[chosen].ravel()
    owner = run_owners(counts[asked])
    around = order[run_ranges(first[asked], counts[asked])]
    face, own = around // 3, np.repeat(chosen, 3)[owner]
    close = (normal[face] * normal[own]).sum(axis=1) > np.cos(np.radians(SMOOTH_ANGLE))
    weight = np.where(close, _angles(triangles, face, around % 3), 0.0)
    total = np.stack([np.bincount(owner, weight * normal[face, axis], minlength=len(asked)) for axis in range(3)], axis=1)
    size = np.linalg.norm(total, axis=1)
    return (total / np.maximum(size, np.finfo(float).tiny)[:, None]).reshape(-1, 3, 3)


def _angles(triangles: FloatArray, face: Indices, corner: Indices) -> FloatArray:
    """Angles (k,) at corners of faces: as weights they make a corner's normal independent of how the faces round it are cut."""
    here = triangles[face, corner]
    one, other = triangles[face, (corner + 1) % 3] - here, triangles[face, (corner + 2) % 3] - here
    size = np.linalg.norm(one, axis=1) * np.linalg.norm(other, axis=1)
    return np.arccos(np.clip((one * other).sum(axis=1) / np.maximum(size, np.finfo(float).tiny), -1.0, 1.0))


def _patches(corners: FloatArray, normals: FloatArray, count: int) -> FloatArray:
    """The curved triangles over some corners (n, 3, 3) with their normals, as flat pieces, `count` along each edge: (n count^2, 3, 3)."""
    points, faces = _lattice(count)
    u, v, w = (points[:, k, None] for k in range(3))
    p = [corners[:, k, None] for k in range(3)]

    def towards(a: int, b: int) -> FloatArray:
        """The control point a third of the way from one corner to another, brought into the plane at the first."""
        along = corners[:, b] - corners[:, a]
        off = (along * normals[:, a]).sum(axis=1)[:, None] * normals[:, a]
        return (corners[:, a] + (along - off) / 3)[:, None]

    edge = {(a, b): towards(a, b) for a in range(3) for b in range(3) if a != b}
    middle = np.add.reduce(list(edge.values())) / 6
    centre = middle + (middle - (p[0] + p[1] + p[2]) / 3) / 2
    shares = (u, v, w)
    surface = sum(shares[k] ** 3 * p[k] for k in range(3)) + 6 * u * v * w * centre
    surface = surface + sum(3 * shares[a] ** 2 * shares[b] * edge[a, b] for a, b in edge)
    return np.asarray(surface)[:, faces].reshape(-1, 3, 3)


def _lattice(count: int) -> tuple[FloatArray, NDArray[np.int64]]:
    """Barycentric points (m, 3) of a triangle cut into count^2, and the corners (count^2, 3) of the pieces."""
    place: dict[tuple[int, int], int] = {}
    points: list[tuple[float, float, float]] = []
    for i in range(count + 1):
        for j in range(count + 1 - i):
            place[i, j] = len(points)
            points.append((i / count, j / count, (count - i - j) / count))
    faces = [(place[i, j], place[i + 1, j], place[i, j + 1]) for i in range(count) for j in range(count - i)]
    faces += [(place[i + 1, j], place[i + 1, j + 1], place[i, j + 1]) for i in range(count) for j in range(count - 1 - i)]
    return np.array(points), np.array(faces, np.int64)


def with_form(planned: FloatArray, heights: FloatArray, form: SmoothForm, rim: int) -> FloatArray:
    """A planned surface with the form instead of the facets, but for its bridges.

    planned: (rows, columns) on a grid with a rim of so many cells round the side's; heights: of the side, -inf outside.
    """
    own = np.pad(heights, rim, constant_values=-np.inf)
    return np.where(planned == own, own + np.pad(form.rise, rim), planned).astype(np.float32)
