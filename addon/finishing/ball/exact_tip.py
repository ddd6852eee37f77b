"""Exact tip heights of a ball over the true triangles: against facets, edges and corners.

Of all triangles only a few touch a ball at a place, and these are found by branch and bound in a tree of buckets of triangles
(`triangle_tree`), from the largest buckets down. Let the ball's axis stand at x, and let a lower bound b of its tip height be known. A
bucket's triangles lie under a plane over its box, z <= h + m . e with e = p - c, the offset from the box's middle c, |e| <= w along each
axis. The ball's sag at p - x is at least s + t . e + e . e k, with s, t and k = 1 / (2 R) from its tangent at c - x (`sag`). So no point of
the bucket lifts the tip above the bound by more than

    h - s - b + (m - t) . e - k e . e,   greatest along each axis at |e| = R |m - t|, or at w if that is less.

If this is not above zero, the bucket is dropped with all that lies in it. What remains are single triangles, for which the bound is
sharper: a tangent of the sag is linear, so one of the corners passes it farthest.

Groups of points that lie close together are treated as one. Let u be the offset of one of them from the group's middle, |u| <= g along each
axis, and let their bounds lie above a plane b + n . u. The sag is then taken at e - u, which is never nearer than |e| - g, and

    h - s - b + (m - t) . e - k max(|e| - g, 0)^2 + |t - n| g

with |e| up to R |m - t| + g, bounds what the bucket can do for any of them. Bounds are kept in single precision, and the slack of
the buckets covers what that loses; the heights themselves are double precision throughout.
"""

from __future__ import annotations

from collections.abc import Callable, Generator
from copy import copy
from dataclasses import dataclass

import numpy as np

from ..core.array_types import Double, FloatArray, Indices, Mask, Single, singles
from ..core.ragged import run_owners, run_ranges
from ..core.threads import THREADS, in_threads
from ..core.triangles import twice_plan_area
from .ball_on_triangle import touching_heights
from .sag import LEAST_DISTANCE, sag_tangent
from .triangle_tree import Buckets, Level, interleaved

GROUPS_AT_ONCE, FEW_GROUPS = 2600, 256
"""Groups of points looked at in one job, and how few are not worth a second thread: numpy's calls are then too short to share."""

TILE, RUN = 4.0, 64
"""Points are sorted by squares of so many mm; so many groups in a row are held against the top buckets together."""

NOWHERE = -1e6
"""Stands for minus infinity in bounds, where infinities would make nan."""

NO_LIMIT = np.float32(1e9)
"""mm; stands for the radius of the bound's parabola where the sag's tangent is taken without its second derivative."""

FACES_DOWN = -1e-9
"""mm2; twice the signed area in plan below which a facet looks down; walls, near zero, are kept."""

STEEPEST_PACE, STEEPEST_BOUND = 1e4, 9.0
"""Clips of the slopes of a plane under a group's bounds, per mm: points that coincide in plan have none, and the ball's own is 5.7."""

LEAST_SQUARED = np.float32(1e-9)
"""mm2; stands for the squared distance of points that coincide."""

LowerBounds = FloatArray | Callable[[FloatArray], FloatArray]


class TipFinder:
    """Finds exact tip heights over triangles (n, 3, 3) in mm; made once, asked as often as needed, for any radius.

    upward_only: leave out faces that look down. Only right for a closed body whose faces are all oriented alike.
    """

    def __init__(self, triangles: FloatArray, upward_only: bool = True, more: TipFinder | None = None) -> None:
        self._more = more
        if upward_only:
            triangles = triangles[twice_plan_area(triangles[:, :, 0], triangles[:, :, 1]) > FACES_DOWN]
        self._buckets = Buckets(triangles)

    def with_more(self, triangles: FloatArray) -> TipFinder:
        """A finder for these triangles and (k, 3, 3) more; what is known of these is used again."""
        out = copy(self)
        out._more = TipFinder(triangles, upward_only=False, more=self._more)
        return out

    def tip_heights_steps(self, points: FloatArray, radius: float, lower: LowerBounds | None = None) -> Generator[float, None, Double]:
        """Exact tip heights of a ball whose axis stands at points, -inf where no triangle lies within the radius.

        points: (m, 2), or (n, k, 2) for groups of k points that lie close together, which is quicker. lower: certain lower bounds,
        (m,) or (n, k), or what gives those (j,) of any points (j, 2); the closer they are, the faster it goes. Yields progress from 0
        to 1 in short steps, returns (m,) or (n, k).
        """
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
        ball = np.float32(radius)
        count = points.shape[1]
        origin = self._buckets.origin
        x, y, bound = singles(points[:, :, 0] - origin[0], points[:, :, 1] - origin[1], out - origin[2])
        bound = bound - self._buckets.slack
        point, triangle = self._candidates(_groups(x, y, bound), ball)
        if count > 1:
            # What may raise a group is held against each of its points.
            point, triangle = (point[:, None] * count + np.arange(count)).ravel(), np.repeat(triangle, count)
            raising = np.flatnonzero(self._may_raise(_single_points(x.ravel(), y.ravel(), bound.ravel()), point, triangle, ball))
            point, triangle = point.take(raising), triangle.take(raising)
            order = np.argsort(point, kind="stable")
            point, triangle = point.take(order), triangle.take(order)
        if len(point) == 0:
            return out
        flat = out.flatten()
        z = touching_heights(
            self._buckets.corners.take(triangle, axis=2),
            self._buckets.normals.take(triangle, axis=1),
            points[:, :, 0].take(point),
            points[:, :, 1].take(point),
            radius,
            known=flat.take(point),
        )
        first = np.flatnonzero(np.concatenate([[True], np.diff(point) != 0]))
        flat[point[first]] = np.maximum(flat[point[first]], np.maximum.reduceat(z, first))
        return flat.reshape(out.shape)

    def _candidates(self, groups: _Groups, ball: np.float32) -> tuple[Indices, Indices]:
        """Pairs of group and triangle, groups rising, that leave out only triangles which lift the ball nowhere above the bound."""
        group, bucket = self._top_buckets(groups, ball)
        for level in reversed(self._buckets.levels):
            kept = _raising_buckets(level, groups, group, bucket, ball)
            group, bucket = group.take(kept), bucket.take(kept)
            first = level.first.take(bucket)
            count = level.last.take(bucket) - first
            group, bucket = group.take(run_owners(count)), run_ranges(first, count)
        kept = np.flatnonzero(self._may_raise(groups, group, bucket, ball))
        return group.take(kept), bucket.take(kept)

    def _top_buckets(self, groups: _Groups, ball: np.float32) -> tuple[Indices, Indices]:
        """Pairs of group and top bucket, groups rising: the buckets within the ball's radius of the box round a run of groups."""
        top = self._buckets.levels[-1]
        run = np.arange(0, len(groups.x), RUN)
        near = np.ones((len(run), len(top.middle_x)), bool)
        for middle, half, at, own in ((top.middle_x, top.half_x, groups.x, groups.half_x), (top.middle_y, top.half_y, groups.y, groups.half_y)):
            near &= middle + half > np.minimum.reduceat(at - own, run)[:, None] - ball
            near &= middle - half < np.maximum.reduceat(at + own, run)[:, None] + ball
        of_run = run_owners(np.diff(np.append(run, len(groups.x))))
        count = near.sum(axis=1)
        first = np.cumsum(count) - count
        return run_owners(count[of_run]), np.nonzero(near)[1].take(run_ranges(first[of_run], count[of_run]))

    def _may_raise(self, groups: _Groups, group: Indices, triangle: Indices, ball: np.float32) -> Mask:
        """Whether triangles may lift a ball at groups above their bounds: a corner stands above a tangent of the ball's sag.

        Any tangent will do; the sharpest is that at the place of the triangle where the ball would come closest.
        """
        own = self._buckets.bounds
        middle_x, middle_y = own.middle_x.take(triangle) - groups.x.take(group), own.middle_y.take(triangle) - groups.y.take(group)
        at_x, at_y = ball * own.lean_x.take(triangle) - middle_x, ball * own.lean_y.take(triangle) - middle_y
        share = own.half.take(triangle) / np.maximum(np.sqrt(at_x * at_x + at_y * at_y), np.float32(LEAST_DISTANCE))
        np.minimum(share, 1, out=share)
        at_x *= share
        at_y *= share
        sag, slope_x, slope_y, _ = sag_tangent(middle_x + at_x, middle_y + at_y, ball)
        sag += groups.bound.take(group)
        if groups.wide:
            sag -= groups.turned(group, slope_x, slope_y)
        sag -= slope_x * at_x
        sag -= slope_y * at_y
        above = np.zeros(len(group), bool)
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


def _single_points(x: Single, y: Single, bound: Single) -> _Groups:
    """Every point (n,) a group of its own."""
    nothing = np.zeros(len(x), np.float32)
    return _Groups(x=x, y=y, bound=bound, half_x=nothing, half_y=nothing, slope_x=nothing, slope_y=nothing, wide=False)


def _groups(x: Single, y: Single, bound: Single) -> _Groups:
    """Groups of points x, y (n, k) with their lower bounds."""
    if x.shape[1] == 1:
        return _single_points(x[:, 0], y[:, 0], bound[:, 0])
    low_x, high_x, low_y, high_y = x.min(axis=1), x.max(axis=1), y.min(axis=1), y.max(axis=1)
    middle_x, middle_y, half_x, half_y = singles((low_x + high_x) / 2, (low_y + high_y) / 2, (high_x - low_x) / 2, (high_y - low_y) / 2)
    # The plane rises from the first point to the last as the bounds do; the lowest point decides how high it lies.
    run_x, run_y = x[:, -1] - x[:, 0], y[:, -1] - y[:, 0]
    pace = (bound[:, -1] - bound[:, 0]) / np.maximum(run_x * run_x + run_y * run_y, LEAST_SQUARED)
    pace = np.clip(pace, -STEEPEST_PACE, STEEPEST_PACE)
    slope_x, slope_y = ((pace * run).clip(-STEEPEST_BOUND, STEEPEST_BOUND) for run in (run_x, run_y))
    under = bound - slope_x[:, None] * (x - middle_x[:, None]) - slope_y[:, None] * (y - middle_y[:, None])
    return _Groups(
        x=middle_x,
        y=middle_y,
        bound=under.min(axis=1),
        half_x=half_x,
        half_y=half_y,
        slope_x=slope_x,
        slope_y=slope_y,
        wide=True,
    )


def _raising_buckets(level: Level, groups: _Groups, group: Indices, bucket: Indices, ball: np.float32) -> Indices:
    """Which of some pairs of group and bucket of one level may raise the ball above the group's bound.

    Derived at the head of the module: away is c - x, most gathers the bound, peak is R (or without limit where k is 0).
    """
    away_x, away_y = level.middle_x.take(bucket) - groups.x.take(group), level.middle_y.take(bucket) - groups.y.take(group)
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
    near = np.flatnonzero(gap_x <= ball * ball)
    group, bucket, away_x, away_y = group.take(near), bucket.take(near), away_x.take(near), away_y.take(near)
    most, slope_x, slope_y, half_curvature = sag_tangent(away_x, away_y, ball)
    np.subtract(level.height.take(bucket), most, out=most)
    most -= groups.bound.take(group)
    if groups.wide:
        most += groups.turned(group, slope_x, slope_y)
    peak = np.where(half_curvature > 0, ball, NO_LIMIT)
    for plane, tangent, half, own in ((level.slope_x, slope_x, half_x, groups.half_x), (level.slope_y, slope_y, half_y, groups.half_y)):
        # Greatest value of |difference| e - half_curvature max(e - own half width, 0)^2 for e from 0 to the box's half width.
        tangent -= plane.take(bucket)
        np.abs(tangent, out=tangent)
        e = tangent * peak
        if groups.wide:
            width = own.take(group)
            e += width
            np.minimum(e, half.take(near), out=e)
            most += tangent * e
            e -= width
            np.maximum(e, 0, out=e)
            most -= half_curvature * (e * e)
        else:
            np.minimum(e, half.take(near), out=e)
            tangent -= half_curvature * e
            tangent *= e
            most += tangent
    return near.take(np.flatnonzero(most > 0))
