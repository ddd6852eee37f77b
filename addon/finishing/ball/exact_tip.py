"""Exact tip heights of a ball over the true triangles: against facets, edges and corners.

A tree of buckets of triangles, each under a slanted plane, tells quickly which triangles cannot lift the ball above what
a lower bound already promises (branch and bound); the few that remain are measured exactly.
"""

from __future__ import annotations

from collections.abc import Callable, Generator
from copy import copy
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..core.array_types import FloatArray, Single, singles
from ..core.stepping import finished
from ..core.threads import THREADS, in_threads
from .ball_on_triangle import touching_heights
from .triangle_tree import Buckets, Indices, interleaved

GROUPS_AT_ONCE, FEW_GROUPS = 2600, 256
"""Groups of points looked at in one go, and how few are not worth a second thread."""

TILE, RUN = 4.0, 64
"""Points are sorted by squares of so many mm; so many groups in a row are held against the top buckets together."""

LowerBounds = FloatArray | Callable[[FloatArray], FloatArray]

NOWHERE = -1e6
"""Stands for minus infinity in bounds, where infinities would make nan."""

TANGENT_SHARE = 0.985
"""The ball's sag is bounded from below by its tangent plane; beyond this share of the radius by the tangent there."""


class TipFinder:
    """Finds exact tip heights over triangles (n, 3, 3) in mm; made once, asked as often as needed, for any radius.

    upward_only: leave out faces that look down. Only right for a closed body whose faces all turn the same way.
    """

    def __init__(self, triangles: FloatArray, upward_only: bool = True, more: TipFinder | None = None) -> None:
        self._more = more
        self._buckets = Buckets(triangles[_twice_area(triangles) > -1e-9] if upward_only else triangles)

    def with_more(self, triangles: FloatArray) -> TipFinder:
        """A finder for these triangles and (k, 3, 3) more; what is known of these is used again."""
        out = copy(self)
        out._more = TipFinder(triangles, upward_only=False, more=self._more)
        return out

    def tip_heights(self, points: FloatArray, radius: float, lower: LowerBounds | None = None) -> NDArray[np.float64]:
        """Exact tip heights of a ball whose axis stands at points, -inf where no triangle lies within reach.

        points: (m, 2), or (n, k, 2) for groups of k points that lie close together, which is quicker. lower: certain lower bounds,
        (m,) or (n, k), or what gives those (j,) of any points (j, 2); the closer they are, the faster it goes. Returns (m,) or (n, k).
        """
        return finished(self.tip_heights_steps(points, radius, lower))

    def tip_heights_steps(self, points: FloatArray, radius: float, lower: LowerBounds | None = None) -> Generator[float, None, NDArray[np.float64]]:
        """`tip_heights` in short steps: yields shares done, returns the heights."""
        if points.size == 0:
            return np.zeros(points.shape[:-1])
        groups = points.reshape(len(points), -1, 2)
        # Neighbours follow one another, so that few top buckets concern the points of one job, and fewer those of one run.
        order = np.argsort(interleaved(((groups[:, 0] - groups[:, 0].min(axis=0)) / TILE).astype(np.int64)), kind="stable")
        rounds = max(1, -(-len(groups) // (THREADS * GROUPS_AT_ONCE)))
        jobs = np.array_split(order, 1 if len(groups) < FEW_GROUPS else THREADS * rounds)

        def work(numbers: Indices) -> FloatArray:
            some = groups[numbers]
            known = np.full(some.shape[:-1], NOWHERE)
            if lower is not None:
                bound = lower(some.reshape(-1, 2)).reshape(known.shape) if callable(lower) else lower.reshape(len(groups), -1)[numbers]
                np.copyto(known, bound, where=np.isfinite(bound))
            return self._job(some, radius, known)

        heights = np.empty(groups.shape[:-1])
        heights[order] = np.concatenate((yield from in_threads(work, jobs)))
        heights[heights <= NOWHERE / 2] = -np.inf
        return heights.reshape(points.shape[:-1])

    def _job(self, points: FloatArray, radius: float, known: FloatArray) -> FloatArray:
        """Tip heights (n, k) of a few neighbouring groups (n, k, 2): narrow the candidates level by level, then measure."""
        out = known if self._more is None else self._more._job(points, radius, known)
        if len(self._buckets) == 0:
            return out
        count = points.shape[1]
        x, y, bound = singles(points[:, :, 0] - self._buckets.origin[0], points[:, :, 1] - self._buckets.origin[1], out - self._buckets.origin[2])
        bound = bound - self._buckets.slack
        group, triangle = self._candidates(_groups(x, y, bound), np.float32(radius))
        point = (group[:, None] * count + np.arange(count)).ravel() if count > 1 else group
        if count > 1:
            triangle = np.repeat(triangle, count)
            raising = np.flatnonzero(self._may_raise(x.ravel(), y.ravel(), bound.ravel(), point, triangle, np.float32(radius)))
            point, triangle = point.take(raising), triangle.take(raising)
            order = np.argsort(point, kind="stable")
            point, triangle = point.take(order), triangle.take(order)
        if len(point):
            flat = out.flatten()
            z = touching_heights(
                self._buckets.corners.take(triangle, axis=2), self._buckets.normals.take(triangle, axis=1),
                points[:, :, 0].take(point), points[:, :, 1].take(point), radius, flat.take(point),
            )  # fmt: skip
            first = np.flatnonzero(np.concatenate([[True], np.diff(point) != 0]))
            flat[point[first]] = np.maximum(flat[point[first]], np.maximum.reduceat(z, first))
            out = flat.reshape(out.shape)
        return out

    def _candidates(self, groups: _Groups, ball: np.float32) -> tuple[Indices, Indices]:
        """Pairs of group and triangle, groups rising, that leave out only triangles which lift the ball nowhere above the bound."""
        top, x, y = self._buckets.levels[-1], groups.x, groups.y
        run = np.arange(0, len(x), RUN)
        near = np.ones((len(run), len(top.middle_x)), bool)
        for middle, half, at, own in ((top.middle_x, top.half_x, x, groups.half_x), (top.middle_y, top.half_y, y, groups.half_y)):
            near &= middle + half > np.minimum.reduceat(at - own, run)[:, None] - ball
            near &= middle - half < np.maximum.reduceat(at + own, run)[:, None] + ball
        last = np.cumsum(near.sum(axis=1))
        of_run = np.repeat(np.arange(len(run)), np.diff(np.append(run, len(x))))
        group, place = _expanded(np.append(0, last[:-1])[of_run], last[of_run])
        bucket = np.nonzero(near)[1].take(place)
        for level in reversed(self._buckets.levels):
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
        """Whether triangles may lift a ball at points above their bounds: a corner stands above a tangent of the ball's sag.

        Any tangent will do; the sharpest is that at the place of the triangle where the ball would come closest.
        """
        own = self._buckets.bounds
        middle_x, middle_y = own.middle_x.take(triangle) - x.take(point), own.middle_y.take(triangle) - y.take(point)
        at_x, at_y = ball * own.lean_x.take(triangle) - middle_x, ball * own.lean_y.take(triangle) - middle_y
        share = own.half.take(triangle) / np.maximum(np.sqrt(at_x * at_x + at_y * at_y), np.float32(1e-9))
        np.minimum(share, 1, out=share)
        at_x *= share
        at_y *= share
        sag, slope_x, slope_y, _ = _sag_tangent(middle_x + at_x, middle_y + at_y, ball)
        sag += bound.take(point)
        if groups is not None and groups.wide:
            sag -= groups.turned(point, slope_x, slope_y)
        sag -= slope_x * at_x
        sag -= slope_y * at_y
        above = np.zeros(len(point), bool)
        for corner_x, corner_y, corner_z in own.corners:
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
    middle_x, middle_y, half_x, half_y = singles((low_x + high_x) / 2, (low_y + high_y) / 2, (high_x - low_x) / 2, (high_y - low_y) / 2)
    # The plane rises from the first point to the last as the bounds do; the lowest point decides how high it lies.
    run_x, run_y = x[:, -1] - x[:, 0], y[:, -1] - y[:, 0]
    pace = np.clip((bound[:, -1] - bound[:, 0]) / np.maximum(run_x * run_x + run_y * run_y, np.float32(1e-9)), -1e4, 1e4)
    slope_x, slope_y = (pace * run_x).clip(-9, 9), (pace * run_y).clip(-9, 9)
    under = bound - slope_x[:, None] * (x - middle_x[:, None]) - slope_y[:, None] * (y - middle_y[:, None])
    return _Groups(middle_x, middle_y, under.min(axis=1), half_x, half_y, slope_x, slope_y, True)


def _twice_area(triangles: FloatArray) -> FloatArray:
    """Twice the signed area of triangles (n, 3, 3) seen from above, (n,)."""
    a, b, c = triangles[:, 0], triangles[:, 1], triangles[:, 2]
    return (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (c[:, 0] - a[:, 0]) * (b[:, 1] - a[:, 1])


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


def _expanded(first: NDArray[np.intp], last: NDArray[np.intp]) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """All numbers of the ranges first..last (last excluded), and for each the number of its range."""
    count = last - first
    done = np.cumsum(count)
    owner = np.repeat(np.arange(len(count)), count)
    return owner, np.arange(len(owner)) + (first - done + count).take(owner)
