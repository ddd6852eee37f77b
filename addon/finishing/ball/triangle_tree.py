"""Buckets of triangles, small ones inside ever larger ones, each under a slanted plane: what a ball can touch is narrowed down by them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..core.array_types import FloatArray, Indices, Single, singles
from ..core.ragged import run_owners
from ..core.triangles import unit_normals

BUCKET = 1.0
"""Edge in mm of the smallest buckets; each level above doubles it. A few triangles of a mesh as dense as the cells lie in one."""

LEVELS = 6
"""Levels of buckets: the largest are 32 mm wide, as wide as the largest balls."""

LONGEST_EDGE = 4.0
"""Triangles with longer edges are cut up, in mm: the geometry stays, the buckets' boxes stay small."""

LOOKING_UP, LOOKING_DOWN = 0.3, -0.3
"""Up parts of facet normals that separate tops, walls and undersides: a bucket that held two of them would have no good plane."""

STANDS_OUT = 0.3
"""A slanted plane that stands out above the top of its bucket's box by more than this share of the bucket's edge is made level: it bounds
worse than the box."""

ROUNDING = 30
"""Bounds are kept in single precision: they may be off by this many roundings of the farthest coordinate at most. Derived: a
coordinate is off by half a rounding, an offset by one, along both axes by 1.4; the ball's sag rises 5.7 per mm where it is steepest,
a bucket's plane 3.2 along each axis, and products of both round too: that makes 23."""

LEAST_EXTENT = 64.0
"""mm that count as the farthest coordinate at least: the ball's own size counts too, and it is not known yet."""

CODE_BITS = 14
"""Bits of a bucket's coordinates: bodies up to 16 m."""

FACING_BIT = 40
"""Bit of a bucket's number from which it tells tops, walls and undersides, above all coordinates."""


@dataclass(frozen=True)
class Level:
    """Buckets of one level. Over its box a bucket lies under height + slope_x (x - middle_x) + slope_y (y - middle_y).

    first, last: range (last excluded) of what lies in each bucket: buckets of the level below, or triangles.
    """

    height: Single
    slope_x: Single
    slope_y: Single
    middle_x: Single
    middle_y: Single
    half_x: Single
    half_y: Single
    first: Indices
    last: Indices


@dataclass(frozen=True)
class TriangleBounds:
    """Triangles (n,) in single precision: the middle in plan, the corners as three times x, y from that middle and z, how far the
    corners lie from it. lean_x, lean_y: where a ball of radius 1 at the origin touches the facet's plane, in plan; 0 for walls.
    """

    middle_x: Single
    middle_y: Single
    corners: tuple[tuple[Single, Single, Single], ...]
    half: Single
    lean_x: Single
    lean_y: Single


class Buckets:
    """Triangles (n, 3, 3) in mm in the order of their buckets, with the buckets of every level, from the smallest up.

    corners: (3, 3, n), corner by corner its x, y, z, in that order; normals: (3, n). origin: (3,), which everything below is measured
    from, in single precision. slack: mm by which bounds may be off for that. bounds: the triangles so.
    """

    def __init__(self, triangles: FloatArray) -> None:
        kept = with_short_edges(triangles, LONGEST_EDGE)
        low, high = (kept.min(axis=(0, 1)), kept.max(axis=(0, 1))) if len(kept) else (np.zeros(3), np.zeros(3))
        self.origin = (low + high) / 2
        self.slack = np.float32(ROUNDING * np.finfo(np.float32).eps * max(LEAST_EXTENT, float((high - low).max()) / 2))
        normals = unit_normals(kept)[0]
        facing = np.where(normals[:, 2] > LOOKING_UP, 0, np.where(normals[:, 2] > LOOKING_DOWN, 1, 2))
        code = interleaved(((kept[:, :, :2].mean(axis=1) - low[:2]) / BUCKET).astype(np.int64)) | facing << FACING_BIT
        order = np.argsort(code, kind="stable")
        kept, normals = kept[order], normals[order]
        normals[normals[:, 2] < 0] *= -1
        self.corners = np.ascontiguousarray(kept.transpose(1, 2, 0))
        self.normals = np.ascontiguousarray(normals.T)
        corners = [singles(*(corner - self.origin[:, None])) for corner in self.corners]
        self.levels = _levels(corners, self.normals, code[order], self.slack)
        self.bounds = _triangle_bounds(corners, self.normals)

    def __len__(self) -> int:
        return self.corners.shape[2]


def with_short_edges(triangles: FloatArray, longest: float) -> FloatArray:
    """The same surface with every triangle halved at its longest edge (in plan) until none is longer than `longest`."""
    done = []
    while len(triangles):
        moves = np.roll(triangles, -1, axis=1) - triangles
        length = np.hypot(moves[:, :, 0], moves[:, :, 1])
        long = length.max(axis=1) > longest
        done.append(triangles[~long])
        triangles, edge = triangles[long], length[long].argmax(axis=1)
        n = np.arange(len(triangles))
        a, b, c = triangles[n, edge], triangles[n, (edge + 1) % 3], triangles[n, (edge + 2) % 3]
        middle = (a + b) / 2
        triangles = np.concatenate([np.stack([a, middle, c], axis=1), np.stack([middle, b, c], axis=1)])
    return np.concatenate(done) if done else triangles


def interleaved(bucket: NDArray[np.int64]) -> NDArray[np.int64]:
    """Morton number of buckets (n, 2): the bits of their coordinates in turn, so that numbers nearby lie nearby."""
    code = np.zeros(len(bucket), np.int64)
    for bit in range(CODE_BITS):
        code |= ((bucket[:, 0] >> bit) & 1) << (2 * bit) | ((bucket[:, 1] >> bit) & 1) << (2 * bit + 1)
    return code


def _triangle_bounds(corners: list[tuple[Single, ...]], normals: FloatArray) -> TriangleBounds:
    """Triangles by three times x, y, z (n,) of their corners and their normals (3, n)."""
    (ax, ay, _), (bx, by, _), (cx, cy, _) = corners
    middle_x, middle_y = singles((ax + bx + cx) / 3, (ay + by + cy) / 3)
    from_middle = tuple((x - middle_x, y - middle_y, z) for x, y, z in corners)
    lean_x, lean_y = singles(*np.where(normals[2] > LOOKING_UP, -normals[:2], 0.0))
    return TriangleBounds(
        middle_x=middle_x,
        middle_y=middle_y,
        corners=from_middle,
        half=np.maximum.reduce([np.hypot(x, y) for x, y, _ in from_middle]),
        lean_x=lean_x,
        lean_y=lean_y,
    )


def _levels(corners: list[tuple[Single, ...]], normals: FloatArray, code: NDArray[np.int64], slack: np.float32) -> list[Level]:
    """Buckets from the smallest up, over triangles in the order of their Morton numbers.

    corners: three times x, y, z (n,). normals: (3, n). slack: by which boxes are widened, for what rounding takes from them.
    A bucket's plane has the mean slope of its triangles and just touches their highest corner above it.
    """
    levels: list[Level] = []
    if len(code) == 0:
        return levels
    with np.errstate(divide="ignore", invalid="ignore"):
        slopes = np.where(normals[2] > LOOKING_UP, -normals[:2] / normals[2], 0.0)
    # What the level above is made from: of every triangle first, then of every bucket.
    slope_x, slope_y = slopes
    count = np.ones(len(code))
    low = [np.minimum(np.minimum(a, b), c) for a, b, c in zip(*corners, strict=True)]
    high = [np.maximum(np.maximum(a, b), c) for a, b, c in zip(*corners, strict=True)]
    name, first_of = code, np.arange(len(code))
    for number in range(LEVELS):
        name = name >> 2 if number else name
        begins = np.flatnonzero(np.concatenate([[True], np.diff(name) != 0]))
        ends = np.concatenate([begins[1:], [len(name)]])
        name = name[begins]
        first_of = first_of[begins]
        low = [np.minimum.reduceat(values, begins) for values in low]
        high = [np.maximum.reduceat(values, begins) for values in high]
        slope_x, slope_y, count = (np.add.reduceat(values, begins) for values in (slope_x, slope_y, count))
        mean_x, mean_y = singles(slope_x / count, slope_y / count)
        middle_x, middle_y = singles((low[0] + high[0]) / 2, (low[1] + high[1]) / 2)
        half_x, half_y = singles((high[0] - low[0]) / 2 + slack, (high[1] - low[1]) / 2 + slack)
        owner = run_owners(np.diff(np.append(first_of, len(code))))
        foot = (mean_x * middle_x + mean_y * middle_y).take(owner)
        plane_x, plane_y = mean_x.take(owner), mean_y.take(owner)
        above = np.maximum.reduce([z - plane_x * x - plane_y * y for x, y, z in corners])
        above += foot
        height = np.maximum.reduceat(above, first_of)
        worse = height + np.abs(mean_x) * half_x + np.abs(mean_y) * half_y > high[2] + STANDS_OUT * BUCKET * 2**number
        mean_x[worse] = 0
        mean_y[worse] = 0
        height[worse] = high[2][worse]
        levels.append(
            Level(
                height=height,
                slope_x=mean_x,
                slope_y=mean_y,
                middle_x=middle_x,
                middle_y=middle_y,
                half_x=half_x,
                half_y=half_y,
                first=begins,
                last=ends,
            )
        )
    return levels
