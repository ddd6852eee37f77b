"""Exact tip heights of a ball over the true triangles: against facets, edges and corners.

A tree of buckets of triangles, each under a slanted plane, tells quickly which triangles cannot lift the ball above what
a lower bound already promises (branch and bound); the few that remain are measured exactly.
"""

from __future__ import annotations

from collections.abc import Generator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .contact import facet_normals, touching_heights
from .grid import FloatArray, Grid
from .stepping import finished

BUCKET = 1.0
"""Edge in mm of the smallest buckets; each level above doubles it."""

LEVELS = 5
LONGEST_EDGE = 4.0
"""Triangles with longer edges are cut up, in mm: the geometry stays, the buckets' boxes stay small."""

POINTS_AT_ONCE = 1024
THREADS = 2
NOWHERE = -1e6
"""Stands for minus infinity in bounds, where infinities would make nan."""

TANGENT_SHARE = 0.985
"""The ball's sag is bounded from below by its tangent plane; beyond this share of the radius by the tangent there."""


@dataclass(frozen=True)
class _Level:
    """Buckets of one level. Over its box a bucket lies under height + slope_x (x - middle_x) + slope_y (y - middle_y)."""

    height: FloatArray
    slope_x: FloatArray
    slope_y: FloatArray
    middle_x: FloatArray
    middle_y: FloatArray
    half_x: FloatArray
    half_y: FloatArray
    first: NDArray[np.intp]
    last: NDArray[np.intp]


class TipFinder:
    """Finds exact tip heights over triangles (n, 3, 3) in mm; made once, asked as often as needed, for any radius.

    upward_only: leave out faces that look down. Only right for a closed body whose faces all turn the same way.
    """

    def __init__(self, triangles: FloatArray, upward_only: bool = True) -> None:
        self._source, self._upward_only = triangles, upward_only
        twice_area = _twice_area(triangles)
        kept = triangles[twice_area > -1e-9] if upward_only else triangles
        kept = _with_short_edges(kept, LONGEST_EDGE)
        middle = kept[:, :, :2].mean(axis=1)
        self._origin = middle.min(axis=0) if len(kept) else np.zeros(2)
        code = _interleaved(((middle - self._origin) / BUCKET).astype(np.int64))
        order = np.argsort(code, kind="stable")
        self._triangles = np.ascontiguousarray(kept[order])
        self._normals = facet_normals(self._triangles)
        self._levels = _levels(self._triangles, self._normals, code[order])
        self._middle = self._triangles[:, :, :2].mean(axis=1)
        self._corners = self._triangles.copy()
        self._corners[:, :, :2] -= self._middle[:, None]

    def with_more(self, triangles: FloatArray) -> TipFinder:
        """A finder for these triangles and (k, 3, 3) more."""
        return TipFinder(np.concatenate([self._source, triangles]), self._upward_only)

    def tip_heights(self, points: FloatArray, radius: float, lower: FloatArray | None = None) -> NDArray[np.float64]:
        """Exact tip heights (m,) of a ball whose axis stands at points (m, 2), -inf where no triangle lies within reach.

        lower: (m,) certain lower bounds; the closer they are, the faster it goes.
        """
        return finished(self.tip_heights_steps(points, radius, lower))

    def tip_heights_steps(
        self, points: FloatArray, radius: float, lower: FloatArray | None = None
    ) -> Generator[float, None, NDArray[np.float64]]:
        """`tip_heights` in short steps: yields shares done, returns the heights."""
        out = np.full(len(points), NOWHERE) if lower is None else np.asarray(lower, float).copy()
        out[~np.isfinite(out)] = NOWHERE
        if len(points) == 0 or len(self._triangles) == 0:
            return np.where(out <= NOWHERE, -np.inf, out)
        # Square tiles keep the points of one job together, so that few top buckets concern them.
        tile = np.floor((points - points.min(axis=0)) / 24).astype(np.int64)
        order = np.lexsort((tile[:, 0], tile[:, 1]))
        jobs = np.array_split(order, max(1, len(points) // POINTS_AT_ONCE))
        with ThreadPoolExecutor(THREADS) as pool:
            for k in range(0, len(jobs), 2 * THREADS):
                some = jobs[k : k + 2 * THREADS]
                for numbers, heights in zip(some, pool.map(lambda n: self._job(points[n], radius, out[n]), some), strict=True):
                    out[numbers] = heights
                yield min(1.0, (k + 2 * THREADS) / len(jobs))
        out[out <= NOWHERE / 2] = -np.inf
        return out

    def _job(self, points: FloatArray, radius: float, known: FloatArray) -> FloatArray:
        """Tip heights of a few neighbouring points: narrow the candidates level by level, then measure."""
        x, y, bound = points[:, 0], points[:, 1], known - 1e-9
        top = self._levels[-1]
        near = np.flatnonzero(
            (top.middle_x + top.half_x > x.min() - radius)
            & (top.middle_x - top.half_x < x.max() + radius)
            & (top.middle_y + top.half_y > y.min() - radius)
            & (top.middle_y - top.half_y < y.max() + radius)
        )
        point = np.repeat(np.arange(len(points)), len(near))
        bucket = np.tile(near, len(points))
        for level in reversed(self._levels):
            away_x, away_y = level.middle_x[bucket] - x[point], level.middle_y[bucket] - y[point]
            half_x, half_y = level.half_x[bucket], level.half_y[bucket]
            gap_x, gap_y = np.maximum(np.abs(away_x) - half_x, 0), np.maximum(np.abs(away_y) - half_y, 0)
            reached = np.flatnonzero(gap_x * gap_x + gap_y * gap_y <= radius * radius)
            point, bucket, away_x, away_y = point[reached], bucket[reached], away_x[reached], away_y[reached]
            sag, slope_x, slope_y, bend = _sag_tangent(away_x, away_y, radius)
            most = level.height[bucket] - sag - bound[point]
            reach = 0.5 / np.maximum(bend, 1e-9)
            for plane, tangent, half in ((level.slope_x, slope_x, half_x), (level.slope_y, slope_y, half_y)):
                # Greatest value of |difference| e - bend e^2 for e from 0 to the box's half width.
                difference = np.abs(plane[bucket] - tangent)
                e = np.minimum(difference * reach, half[reached])
                most += e * (difference - bend * e)
            kept = np.flatnonzero(most > 0)
            owner, bucket = _expanded(level.first[bucket[kept]], level.last[bucket[kept]])
            point = point[kept][owner]
        away_x, away_y = self._middle[bucket, 0] - x[point], self._middle[bucket, 1] - y[point]
        sag, slope_x, slope_y, _ = _sag_tangent(away_x, away_y, radius)
        corners = self._corners[bucket]
        most = (corners[:, :, 2] - slope_x[:, None] * corners[:, :, 0] - slope_y[:, None] * corners[:, :, 1]).max(axis=1) - sag
        kept = np.flatnonzero(most > bound[point])
        point, triangle = point[kept], bucket[kept]
        out = known.copy()
        if len(point):
            z = touching_heights(self._triangles[triangle], self._normals[triangle], x[point], y[point], radius)
            first = np.flatnonzero(np.concatenate([[True], np.diff(point) != 0]))
            highest = np.maximum.reduceat(z, first)
            out[point[first]] = np.maximum(out[point[first]], highest)
        return out


def lower_bounds(heights: FloatArray, tip: FloatArray, grid: Grid, points: FloatArray, radius: float) -> FloatArray:
    """Certain lower bounds (m,) of exact tip heights at points (m, 2), from single cells of the height grid.

    The slope of the grid's tip surface tells about where the ball touches; from there the best cell is climbed to. Every
    cell's height is a point of the body, so the ball resting on it alone is never too high (but for float32 rounding).
    """
    rows, columns = heights.shape
    row_at, column_at = grid.position(points)
    flat = heights.ravel()
    column = np.clip(np.rint(column_at), 1, columns - 2).astype(np.int64)
    row = np.clip(np.rint(row_at), 1, rows - 2).astype(np.int64)
    with np.errstate(invalid="ignore"):
        slope_x = (tip[row, column + 1] - tip[row, column - 1]) / (2 * grid.cell)
        slope_y = (tip[row + 1, column] - tip[row - 1, column]) / (2 * grid.cell)
    unknown = ~(np.isfinite(slope_x) & np.isfinite(slope_y))
    slope_x[unknown] = 0
    slope_y[unknown] = 0
    reach = radius / grid.cell / np.sqrt(1 + slope_x * slope_x + slope_y * slope_y)
    square = radius * radius

    def resting(r: NDArray[np.int64], c: NDArray[np.int64]) -> FloatArray:
        rest = square - ((r - row_at) ** 2 + (c - column_at) ** 2) * grid.cell**2
        return np.where(rest >= 0, flat[r * columns + c] - radius + np.sqrt(np.maximum(rest, 0)), -np.inf)

    c = np.clip(np.rint(column_at + slope_x * reach), 0, columns - 1).astype(np.int64)
    r = np.clip(np.rint(row_at + slope_y * reach), 0, rows - 1).astype(np.int64)
    best = resting(r, c)
    for step in (max(1, int(1.5 / grid.cell)), max(1, int(0.5 / grid.cell)), 1, 1):
        for dr, dc in ((-1, 0), (1, 0), (0, -1), (0, 1), (-1, -1), (-1, 1), (1, -1), (1, 1)):
            r_try, c_try = np.clip(r + dr * step, 0, rows - 1), np.clip(c + dc * step, 0, columns - 1)
            value = resting(r_try, c_try)
            higher = value > best
            best = np.where(higher, value, best)
            r, c = np.where(higher, r_try, r), np.where(higher, c_try, c)
    return best - 1e-5


def _twice_area(triangles: FloatArray) -> FloatArray:
    """Twice the signed area of triangles (n, 3, 3) seen from above, (n,)."""
    a, b, c = triangles[:, 0], triangles[:, 1], triangles[:, 2]
    return (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (c[:, 0] - a[:, 0]) * (b[:, 1] - a[:, 1])


def _with_short_edges(triangles: FloatArray, longest: float) -> FloatArray:
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


def _interleaved(bucket: NDArray[np.int64]) -> NDArray[np.int64]:
    """Morton number of buckets (n, 2): their coordinates' bits by turns, so that numbers nearby lie nearby."""
    code = np.zeros(len(bucket), np.int64)
    for bit in range(14):
        code |= ((bucket[:, 0] >> bit) & 1) << (2 * bit) | ((bucket[:, 1] >> bit) & 1) << (2 * bit + 1)
    return code


def _levels(triangles: FloatArray, normals: FloatArray, code: NDArray[np.int64]) -> list[_Level]:
    """Buckets from the smallest up, over triangles in the order of their Morton numbers."""
    with np.errstate(divide="ignore", invalid="ignore"):
        slope = np.where((normals[:, 2] > 0.3)[:, None], -normals[:, :2] / normals[:, 2:], 0.0)
    lowest, highest = triangles.min(axis=1), triangles.max(axis=1)
    levels: list[_Level] = []
    below: NDArray[np.intp] | None = None
    if len(triangles) == 0:
        return levels
    for number in range(LEVELS):
        name = code >> (2 * number)
        start = np.flatnonzero(np.concatenate([[True], np.diff(name) != 0]))
        end = np.concatenate([start[1:], [len(name)]])
        owner = np.repeat(np.arange(len(start)), end - start)
        low, high = np.minimum.reduceat(lowest, start), np.maximum.reduceat(highest, start)
        mean = np.add.reduceat(slope, start) / (end - start)[:, None]
        middle, half = (low[:, :2] + high[:, :2]) / 2, (high[:, :2] - low[:, :2]) / 2
        away = triangles[:, :, :2] - middle[owner][:, None]
        rest = triangles[:, :, 2] - (away * mean[owner][:, None]).sum(axis=2)
        height = np.maximum.reduceat(rest.max(axis=1), start)
        # A slanted plane that stands out above the box's top is worse than a level one.
        worse = height + (np.abs(mean) * half).sum(axis=1) > high[:, 2] + 0.3 * BUCKET * 2**number
        mean[worse] = 0
        height[worse] = high[worse, 2]
        first, last = (start, end) if below is None else (np.searchsorted(below, start), np.searchsorted(below, end))
        parts = (a.copy() for a in (mean[:, 0], mean[:, 1], middle[:, 0], middle[:, 1], half[:, 0], half[:, 1]))
        levels.append(_Level(height, *parts, first, last))  # type: ignore[arg-type, call-arg]
        below = start
    return levels


def _sag_tangent(x: FloatArray, y: FloatArray, radius: float) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Tangent plane of the ball's sag R - sqrt(R^2 - d^2) at an offset: value there, slopes, and half its least bend.

    Beyond TANGENT_SHARE of the radius the tangent at that share is used, which stays below the sag, and no bend.
    """
    distance = np.hypot(x, y)
    share = np.minimum(1, TANGENT_SHARE * radius / np.maximum(distance, 1e-12))
    at_x, at_y = x * share, y * share
    height = np.sqrt(radius * radius - at_x * at_x - at_y * at_y)
    slope_x, slope_y = at_x / height, at_y / height
    value = radius - height + slope_x * (x - at_x) + slope_y * (y - at_y)
    return value, slope_x, slope_y, np.where(share < 1, 0, 0.5 / radius)


def _expanded(first: NDArray[np.intp], last: NDArray[np.intp]) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """All numbers of the ranges first..last (last excluded), and for each the number of its range."""
    count = last - first
    done = np.cumsum(count)
    owner = np.repeat(np.arange(len(count)), count)
    total = int(done[-1]) if len(count) else 0
    return owner, np.arange(total) - np.repeat(done - count, count) + first[owner]
