"""Exact tip heights of a ball over the true triangles: against facets, edges and corners.

A tree of buckets of triangles, each under a slanted plane, tells quickly which triangles cannot lift the ball above what
a lower bound already promises (branch and bound); the few that remain are measured exactly.
"""

from __future__ import annotations

from collections.abc import Generator
from copy import copy
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .contact import facet_normals, touching_heights
from .grid import FloatArray, Grid
from .stepping import finished
from .threads import THREADS, in_threads

BUCKET = 0.7
"""Edge in mm of the smallest buckets; each level above doubles it."""

LEVELS = 6
LONGEST_EDGE = 4.0
"""Triangles with longer edges are cut up, in mm: the geometry stays, the buckets' boxes stay small."""

LOOKING_UP, LOOKING_DOWN = 0.3, -0.3
"""Up parts of facet normals that tell tops, walls and undersides apart: a bucket that held two of them would have no good plane."""

ROUNDING = 30
"""Bounds are kept in single precision: they may be off by this many roundings of the farthest coordinate at most. Derived: a
coordinate is off by half a rounding, an offset by one, both ways by 1.4; the ball's sag rises 5.7 per mm where it is steepest,
a bucket's plane 3.2 each way, and products of both round too: that makes 23."""

GROUPS_AT_ONCE, FEW_GROUPS = 2600, 256
"""Groups of points looked at in one go, and how few are not worth a second thread."""

NOWHERE = -1e6
"""Stands for minus infinity in bounds, where infinities would make nan."""

TANGENT_SHARE = 0.985
"""The ball's sag is bounded from below by its tangent plane; beyond this share of the radius by the tangent there."""


Single = NDArray[np.float32]
Indices = NDArray[np.intp]


@dataclass(frozen=True)
class _Level:
    """Buckets of one level. Over its box a bucket lies under height + slope_x (x - middle_x) + slope_y (y - middle_y)."""

    height: Single
    slope_x: Single
    slope_y: Single
    middle_x: Single
    middle_y: Single
    half_x: Single
    half_y: Single
    first: Indices
    last: Indices


class TipFinder:
    """Finds exact tip heights over triangles (n, 3, 3) in mm; made once, asked as often as needed, for any radius.

    upward_only: leave out faces that look down. Only right for a closed body whose faces all turn the same way.
    """

    def __init__(self, triangles: FloatArray, upward_only: bool = True, more: TipFinder | None = None) -> None:
        self._more = more
        kept = triangles[_twice_area(triangles) > -1e-9] if upward_only else triangles
        kept = _with_short_edges(kept, LONGEST_EDGE)
        low, high = (kept.min(axis=(0, 1)), kept.max(axis=(0, 1))) if len(kept) else (np.zeros(3), np.zeros(3))
        self._origin = (low + high) / 2
        # The ball's own size counts too: it is not known yet, so 64 mm at least.
        self._slack = np.float32(ROUNDING * np.finfo(np.float32).eps * max(64.0, float((high - low).max()) / 2))
        up = _winding_normals(kept)[:, 2]
        facing = np.where(up > LOOKING_UP, 0, np.where(up > LOOKING_DOWN, 1, 2))
        code = _interleaved(((kept[:, :, :2].mean(axis=1) - low[:2]) / BUCKET).astype(np.int64)) | facing << 40
        order = np.argsort(code, kind="stable")
        self._triangles = np.ascontiguousarray(kept[order])
        self._normals = facet_normals(self._triangles)
        corners = [_singles(*(self._triangles[:, k] - self._origin).T) for k in range(3)]
        self._levels = _levels(corners, self._normals, code[order], self._slack)
        self._middle_x, self._middle_y = (sum(corner[axis] for corner in corners) / np.float32(3) for axis in (0, 1))
        self._corners = [(x - self._middle_x, y - self._middle_y, z) for x, y, z in corners]

    def with_more(self, triangles: FloatArray) -> TipFinder:
        """A finder for these triangles and (k, 3, 3) more; what is known of these is used again."""
        out = copy(self)
        out._more = TipFinder(triangles, upward_only=False, more=self._more)
        return out

    def tip_heights(self, points: FloatArray, radius: float, lower: FloatArray | None = None) -> NDArray[np.float64]:
        """Exact tip heights of a ball whose axis stands at points, -inf where no triangle lies within reach.

        points: (m, 2), or (n, k, 2) for groups of k points that lie close together, which is quicker. lower: certain lower
        bounds, (m,) or (n, k); the closer they are, the faster it goes. Returns an array of that shape.
        """
        return finished(self.tip_heights_steps(points, radius, lower))

    def tip_heights_steps(
        self, points: FloatArray, radius: float, lower: FloatArray | None = None
    ) -> Generator[float, None, NDArray[np.float64]]:
        """`tip_heights` in short steps: yields shares done, returns the heights."""
        out = np.full(points.shape[:-1], NOWHERE) if lower is None else np.array(lower, np.float64)
        out[~np.isfinite(out)] = NOWHERE
        if out.size == 0:
            return out
        groups = points.reshape(len(points), -1, 2)
        known = out.reshape(len(points), -1)
        # Square tiles keep the points of one job together, so that few top buckets concern them.
        tile = np.floor((groups[:, 0] - groups[:, 0].min(axis=0)) / 24).astype(np.int64)
        order = np.lexsort((tile[:, 0], tile[:, 1]))
        rounds = max(1, -(-len(groups) // (THREADS * GROUPS_AT_ONCE)))
        jobs = np.array_split(order, 1 if len(groups) < FEW_GROUPS else THREADS * rounds)
        found = yield from in_threads(lambda n: self._job(groups[n], radius, known[n]), jobs)
        known[order] = np.concatenate(found)
        out[out <= NOWHERE / 2] = -np.inf
        return out

    def _job(self, points: FloatArray, radius: float, known: FloatArray) -> FloatArray:
        """Tip heights (n, k) of a few neighbouring groups (n, k, 2): narrow the candidates level by level, then measure."""
        out = known if self._more is None else self._more._job(points, radius, known)
        if len(self._triangles) == 0:
            return out
        count = points.shape[1]
        x, y, bound = _singles(points[:, :, 0] - self._origin[0], points[:, :, 1] - self._origin[1], out - self._origin[2])
        bound = bound - self._slack
        group, triangle = self._within(_groups(x, y, bound), np.float32(radius))
        point = (group[:, None] * count + np.arange(count)).ravel() if count > 1 else group
        if count > 1:
            triangle = np.repeat(triangle, count)
            raising = np.flatnonzero(self._may_raise(x.ravel(), y.ravel(), bound.ravel(), point, triangle, np.float32(radius)))
            point, triangle = point.take(raising), triangle.take(raising)
            order = np.argsort(point, kind="stable")
            point, triangle = point.take(order), triangle.take(order)
        if len(point):
            z = touching_heights(
                self._triangles.take(triangle, axis=0), self._normals.take(triangle, axis=0),
                points[:, :, 0].take(point), points[:, :, 1].take(point), radius,
            )  # fmt: skip
            first = np.flatnonzero(np.concatenate([[True], np.diff(point) != 0]))
            flat = out.flatten()
            flat[point[first]] = np.maximum(flat[point[first]], np.maximum.reduceat(z, first))
            out = flat.reshape(out.shape)
        return out

    def _within(self, groups: _Groups, ball: np.float32) -> tuple[Indices, Indices]:
        """Pairs of group and triangle, groups rising, that leave out only triangles which lift the ball nowhere above the bound."""
        top, x, y = self._levels[-1], groups.x, groups.y
        near = np.flatnonzero(
            (top.middle_x + top.half_x > (x - groups.half_x).min() - ball)
            & (top.middle_x - top.half_x < (x + groups.half_x).max() + ball)
            & (top.middle_y + top.half_y > (y - groups.half_y).min() - ball)
            & (top.middle_y - top.half_y < (y + groups.half_y).max() + ball)
        )
        group = np.repeat(np.arange(len(x)), len(near))
        bucket = np.tile(near, len(x))
        for level in reversed(self._levels):
            away_x, away_y = level.middle_x.take(bucket) - x.take(group), level.middle_y.take(bucket) - y.take(group)
            half_x, half_y = level.half_x.take(bucket), level.half_y.take(bucket)
            gap_x, gap_y = np.abs(away_x) - half_x, np.abs(away_y) - half_y
            if groups.wide:
                gap_x -= groups.half_x.take(group)
                gap_y -= groups.half_y.take(group)
            np.maximum(gap_x, 0, out=gap_x)
            np.maximum(gap_y, 0, out=gap_y)
            gap_x *= gap_x
            gap_y *= gap_y
            gap_x += gap_y
            reached = np.flatnonzero(gap_x <= ball * ball)
            group, bucket, away_x, away_y = group.take(reached), bucket.take(reached), away_x.take(reached), away_y.take(reached)
            most, slope_x, slope_y, bend = _sag_tangent(away_x, away_y, ball)
            np.subtract(level.height.take(bucket), most, out=most)
            most -= groups.bound.take(group)
            if groups.wide:
                most += groups.turned(group, slope_x, slope_y)
            peak = np.where(bend > 0, ball, np.float32(1e9))
            for plane, tangent, half, own in (
                (level.slope_x, slope_x, half_x, groups.half_x), (level.slope_y, slope_y, half_y, groups.half_y)
            ):  # fmt: skip
                # Greatest value of |difference| e - bend max(e - own half width, 0)^2 for e from 0 to the box's half width.
                tangent -= plane.take(bucket)
                np.abs(tangent, out=tangent)
                e = tangent * peak
                if groups.wide:
                    width = own.take(group)
                    e += width
                    np.minimum(e, half.take(reached), out=e)
                    most += tangent * e
                    e -= width
                    np.maximum(e, 0, out=e)
                    most -= bend * (e * e)
                else:
                    np.minimum(e, half.take(reached), out=e)
                    tangent -= bend * e
                    tangent *= e
                    most += tangent
            kept = np.flatnonzero(most > 0)
            bucket = bucket.take(kept)
            owner, bucket = _expanded(level.first.take(bucket), level.last.take(bucket))
            group = group.take(kept).take(owner)
        kept = np.flatnonzero(self._may_raise(x, y, groups.bound, group, bucket, ball, groups))
        return group.take(kept), bucket.take(kept)

    def _may_raise(
        self, x: Single, y: Single, bound: Single, point: Indices, triangle: Indices, ball: np.float32, groups: _Groups | None = None
    ) -> NDArray[np.bool_]:
        """Whether triangles may lift a ball at points above their bounds: no corner stands above the tangent of the ball's sag."""
        sag, slope_x, slope_y, _ = _sag_tangent(
            self._middle_x.take(triangle) - x.take(point), self._middle_y.take(triangle) - y.take(point), ball
        )
        sag += bound.take(point)
        if groups is not None and groups.wide:
            sag -= groups.turned(point, slope_x, slope_y)
        above = np.zeros(len(point), bool)
        for corner_x, corner_y, corner_z in self._corners:
            high = corner_z.take(triangle)
            high -= slope_x * corner_x.take(triangle)
            high -= slope_y * corner_y.take(triangle)
            above |= high > sag
        return above


@dataclass(frozen=True)
class _Groups:
    """Points that lie close together, by their middles x, y (n,) and half widths. wide: whether any has more than one point.

    bound: at the middle of a plane under the bounds of all its points; slope_x, slope_y: of that plane.
    """

    x: Single
    y: Single
    bound: Single
    half_x: Single
    half_y: Single
    slope_x: Single
    slope_y: Single
    wide: bool

    def turned(self, group: Indices, slope_x: Single, slope_y: Single) -> Single:
        """How much more some slopes may rise from a group's middle to its points than the plane under their bounds does."""
        rise_x, rise_y = slope_x - self.slope_x.take(group), slope_y - self.slope_y.take(group)
        np.abs(rise_x, out=rise_x)
        np.abs(rise_y, out=rise_y)
        rise_x *= self.half_x.take(group)
        rise_y *= self.half_y.take(group)
        rise_x += rise_y
        return rise_x


def _groups(x: Single, y: Single, bound: Single) -> _Groups:
    """Groups of points x, y (n, k) with their lower bounds."""
    if x.shape[1] == 1:
        nothing = np.zeros(len(x), np.float32)
        return _Groups(x[:, 0], y[:, 0], bound[:, 0], nothing, nothing, nothing, nothing, False)
    low_x, high_x, low_y, high_y = x.min(axis=1), x.max(axis=1), y.min(axis=1), y.max(axis=1)
    middle_x, middle_y, half_x, half_y = _singles((low_x + high_x) / 2, (low_y + high_y) / 2, (high_x - low_x) / 2, (high_y - low_y) / 2)
    # The plane rises from the first point to the last as the bounds do; the lowest point decides how high it lies.
    run_x, run_y = x[:, -1] - x[:, 0], y[:, -1] - y[:, 0]
    pace = np.clip((bound[:, -1] - bound[:, 0]) / np.maximum(run_x * run_x + run_y * run_y, np.float32(1e-9)), -1e4, 1e4)
    slope_x, slope_y = (pace * run_x).clip(-9, 9), (pace * run_y).clip(-9, 9)
    under = bound - slope_x[:, None] * (x - middle_x[:, None]) - slope_y[:, None] * (y - middle_y[:, None])
    return _Groups(middle_x, middle_y, under.min(axis=1), half_x, half_y, slope_x, slope_y, True)


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


def _winding_normals(triangles: FloatArray) -> FloatArray:
    """Unit normals (n, 3) of triangles (n, 3, 3) by the order of their corners; zero for triangles without area."""
    normal = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    return normal / np.maximum(np.linalg.norm(normal, axis=1), 1e-300)[:, None]


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


def _levels(corners: list[tuple[Single, ...]], normals: FloatArray, code: NDArray[np.int64], slack: np.float32) -> list[_Level]:
    """Buckets from the smallest up, over triangles in the order of their Morton numbers.

    corners: three times x, y, z (n,). slack: by which boxes are widened, for what rounding takes from them.
    """
    levels: list[_Level] = []
    if len(code) == 0:
        return levels
    with np.errstate(divide="ignore", invalid="ignore"):
        slopes = np.where((normals[:, 2] > LOOKING_UP)[:, None], -normals[:, :2] / normals[:, 2:], 0.0)
    # What the level above is made from: of every triangle first, then of every bucket.
    slope_x, slope_y = slopes.T
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
        mean_x, mean_y = _singles(slope_x / count, slope_y / count)
        middle_x, middle_y, half_x, half_y = _singles(
            (low[0] + high[0]) / 2, (low[1] + high[1]) / 2, (high[0] - low[0]) / 2 + slack, (high[1] - low[1]) / 2 + slack
        )
        owner = np.repeat(np.arange(len(begins)), np.diff(np.append(first_of, len(code))))
        foot = (mean_x * middle_x + mean_y * middle_y).take(owner)
        plane_x, plane_y = mean_x.take(owner), mean_y.take(owner)
        rest = np.maximum.reduce([z - plane_x * x - plane_y * y for x, y, z in corners])
        rest += foot
        height = np.maximum.reduceat(rest, first_of)
        # A slanted plane that stands out above the box's top is worse than a level one.
        worse = height + np.abs(mean_x) * half_x + np.abs(mean_y) * half_y > high[2] + 0.3 * BUCKET * 2**number
        mean_x[worse] = 0
        mean_y[worse] = 0
        height[worse] = high[2][worse]
        levels.append(_Level(height, mean_x, mean_y, middle_x, middle_y, half_x, half_y, begins, ends))
    return levels


def _sag_tangent(x: Single, y: Single, radius: np.float32) -> tuple[Single, Single, Single, Single]:
    """Tangent plane of the ball's sag R - sqrt(R^2 - d^2) at an offset: value there, slopes, and half its least bend.

    Beyond TANGENT_SHARE of the radius the tangent at that share is used, which stays below the sag, and no bend.
    """
    squared = x * x
    squared += y * y
    widest = np.float32(TANGENT_SHARE) * radius
    far = squared > widest * widest
    height = np.sqrt(radius * radius - np.minimum(squared, widest * widest))
    slope_x, slope_y = x / height, y / height
    value = radius - height
    bend = np.full(len(x), 0.5 / radius, np.float32)
    if far.any():
        there = np.flatnonzero(far)
        bend[there] = 0
        distance = np.sqrt(squared[there])
        slope_x[there] *= widest / distance
        slope_y[there] *= widest / distance
        value[there] += widest / height[there] * (distance - widest)
    return value, slope_x, slope_y, bend


def _singles(*arrays: FloatArray) -> tuple[Single, ...]:
    """Arrays as contiguous single precision."""
    return tuple(np.ascontiguousarray(a, np.float32) for a in arrays)


def _expanded(first: NDArray[np.intp], last: NDArray[np.intp]) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """All numbers of the ranges first..last (last excluded), and for each the number of its range."""
    count = last - first
    done = np.cumsum(count)
    owner = np.repeat(np.arange(len(count)), count)
    total = int(done[-1]) if len(count) else 0
    return owner, np.arange(total) - np.repeat(done - count, count) + first[owner]
