"""How high straight pieces hold the tip of a tapered cutter by its flank: edges of a body, or, turned upside down, the moves of a tip.

A point p at a distance r from the axis, foot <= r <= top, holds the tip at z(p) - c(r), with c(r) = c0 + k (r - foot) on the cone (`Flank`).
Along a straight piece that lies w aside from the axis and rises m per mm in plan, z - c is concave in the way s from the place nearest to the
axis: z0 + m s - k sqrt(w^2 + s^2), greatest where s = m w / sqrt(k^2 - m^2), or at an end where |m| >= k. Held within the piece and within the
top, that place gives the most of the whole piece, unless it lies inside the foot: there the ball holds the tip higher, which its own search finds,
and a level disc at the foot's height, which lies within the ball, stands for it here.

Pieces are kept short and sorted into square bins by their middles, the highest first. A bin that cannot reach above what is known of a point
is passed over; the highest piece of every other one is looked at first, so that few of the rest remain.
"""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass

import numpy as np

from ..core.array_types import Double, FloatArray, Indices, Mask
from ..core.ragged import run_owners, run_places, run_ranges
from ..core.threads import in_threads
from ..job.flank import Flank

LONGEST = 1.0
"""mm; longer pieces are cut into equal parts, so that a part lies near its middle."""

LEAST_BIN, BINS_ACROSS = 0.5, 3.0
"""mm; least edge of a bin, and how many of them go into the top's radius."""

POINTS_AT_ONCE, PAIRS_AT_ONCE = 20_000, 400_000
"""Points of one piece of work, and the most pairs of point and piece that are measured together."""

UPRIGHT = 1e-9
"""mm in plan below which a piece stands upright: its upper end is what counts."""

ROUNDING = 1e-9
"""mm that a place may lie off the flank's ends."""


@dataclass(frozen=True)
class Pieces:
    """Straight pieces. x, y, z: (n,) of their starts, mm. along_x, along_y: unit directions in plan. length: in plan, mm. rise: per mm in plan."""

    x: Double
    y: Double
    z: Double
    along_x: Double
    along_y: Double
    length: Double
    rise: Double

    def taken(self, which: Indices) -> Pieces:
        """Some of them."""
        return Pieces(*(values.take(which) for values in (self.x, self.y, self.z, self.along_x, self.along_y, self.length, self.rise)))


def pieces_of(starts: FloatArray, ends: FloatArray) -> Pieces:
    """Straight pieces between points (n, 3) each, long ones cut up. mm."""
    run = np.hypot(*(ends - starts)[:, :2].T)
    parts = np.maximum(np.ceil(run / LONGEST), 1).astype(np.intp)
    which, number = run_owners(parts), run_places(parts)
    step = (ends - starts)[which] / parts[which, None]
    first = starts[which] + number[:, None] * step
    length = np.hypot(step[:, 0], step[:, 1])
    upright = length < UPRIGHT
    safe = np.where(upright, 1.0, length)
    return Pieces(
        x=first[:, 0].astype(np.float64),
        y=first[:, 1].astype(np.float64),
        z=np.where(upright, np.maximum(first[:, 2], first[:, 2] + step[:, 2]), first[:, 2]),
        along_x=np.where(upright, 1.0, step[:, 0] / safe),
        along_y=np.where(upright, 0.0, step[:, 1] / safe),
        length=np.where(upright, 0.0, length),
        rise=np.where(upright, 0.0, step[:, 2] / safe),
    )


def held_heights(pieces: Pieces, x: FloatArray, y: FloatArray, flank: Flank) -> Double:
    """Tip height (n,) to which each piece holds a flank whose axis stands at x, y (n,), by the module's text; -inf where it does not. mm."""
    from_x, from_y = x - pieces.x, y - pieces.y
    foot_at = from_x * pieces.along_x + from_y * pieces.along_y
    aside = np.abs(from_x * pieces.along_y - from_y * pieces.along_x)
    half_chord = np.sqrt(np.maximum(flank.top_radius**2 - aside**2, 0.0))
    gentle = np.abs(pieces.rise) < flank.rise
    room = np.sqrt(np.where(gentle, flank.rise**2 - pieces.rise**2, 1.0))
    best = foot_at + np.where(gentle, pieces.rise * aside / room, np.copysign(np.inf, pieces.rise))
    low, high = np.maximum(foot_at - half_chord, 0.0), np.minimum(foot_at + half_chord, pieces.length)
    best = np.minimum(np.maximum(best, low), high)
    distance = np.hypot(aside, best - foot_at)
    there = (low <= high) & (distance <= flank.top_radius + ROUNDING)
    height = pieces.z + pieces.rise * best - flank.foot_height - flank.rise * np.maximum(distance - flank.foot, 0.0)
    return np.where(there, height, -np.inf)


class FlankSearch:
    """Straight pieces, sorted so that those which hold a flank at a place are found quickly."""

    def __init__(self, starts: FloatArray, ends: FloatArray, flank: Flank) -> None:
        self.flank = flank
        self._bin = max(LEAST_BIN, flank.top_radius / BINS_ACROSS)
        pieces = pieces_of(starts, ends)
        middle_x = pieces.x + pieces.along_x * pieces.length / 2
        middle_y = pieces.y + pieces.along_y * pieces.length / 2
        top = np.maximum(pieces.z, pieces.z + pieces.rise * pieces.length)
        self._low = np.array([middle_x.min(), middle_y.min()]) if len(top) else np.zeros(2)
        column, row = ((at - low) // self._bin for at, low in zip((middle_x, middle_y), self._low, strict=True))
        self._rows, self._columns = (int(number.max(initial=0)) + 1 for number in (row, column))
        number = (row * self._columns + column).astype(np.intp)
        order = np.lexsort((-top, number))
        self._pieces = pieces.taken(order)
        self._middle_x, self._middle_y, self._top = middle_x[order], middle_y[order], top[order]
        self._half = self._pieces.length / 2
        count = np.bincount(number, minlength=self._rows * self._columns)
        self._first = np.concatenate([[0], np.cumsum(count)]).astype(np.intp)
        self._bin_top = np.full(self._rows * self._columns, -np.inf)
        full = np.flatnonzero(count)
        self._bin_top[full] = self._top[self._first[full]]

    def raised_steps(self, points: FloatArray, known: FloatArray) -> Generator[float, None, Double]:
        """Tip heights (n,) at axes (n, 2 or more), mm: those that are known, or those at which the flank is held, if they are higher.

        Yields shares done.
        """
        out = np.array(known, np.float64)
        if len(self._top) == 0 or len(points) == 0:
            return out
        bins = np.floor((points[:, :2] - self._low) / self._bin).astype(np.int64)
        order = np.lexsort((bins[:, 0], bins[:, 1]))

        def work(piece: Indices) -> Double:
            return self._raised(points[piece, 0], points[piece, 1], out[piece])

        pieces = np.array_split(order, -(-len(order) // POINTS_AT_ONCE))
        raised = yield from in_threads(work, pieces)
        out[order] = np.concatenate(raised)
        return out

    def _raised(self, x: FloatArray, y: FloatArray, known: Double) -> Double:
        """As `raised_steps`, for a few points (n,)."""
        best = known.copy()
        point, bin_ = self._bins_near(x, y, best)
        # The highest piece of every bin first: what it does rules out most of the others.
        self._measure(point, self._first[bin_], x, y, best)
        still = np.flatnonzero(self._reach_of_bins(x.take(point), y.take(point), bin_) > best.take(point))
        point, bin_ = point.take(still), bin_.take(still)
        first: Indices = self._first[bin_] + 1
        count: Indices = self._first[bin_ + 1] - first
        total = np.cumsum(count)
        cuts = np.searchsorted(total, np.arange(PAIRS_AT_ONCE, int(total[-1]) if len(total) else 0, PAIRS_AT_ONCE))
        for part in np.split(np.arange(len(point)), cuts):
            firsts: Indices = first[part]
            counts: Indices = count[part]
            owner = point[part].take(run_owners(counts))
            piece = run_ranges(firsts, counts)
            away = np.hypot(self._middle_x.take(piece) - x.take(owner), self._middle_y.take(piece) - y.take(owner)) - self._half.take(piece)
            kept = np.flatnonzero(self._bound(self._top.take(piece), away) > best.take(owner))
            self._measure(owner.take(kept), piece.take(kept), x, y, best)
        return best

    def _measure(self, point: Indices, piece: Indices, x: FloatArray, y: FloatArray, best: Double) -> None:
        """Raise `best` by some pairs of point and piece."""
        if len(point):
            np.maximum.at(best, point, held_heights(self._pieces.taken(piece), x.take(point), y.take(point), self.flank))

    def _bound(self, top: FloatArray, away: FloatArray) -> FloatArray:
        """The most to which anything no higher than `top` and no nearer than `away` can hold the tip; -inf beyond the flank's top. (n,) mm."""
        flank = self.flank
        height = top - flank.foot_height - flank.rise * np.maximum(away - flank.foot, 0.0)
        return np.where(away <= flank.top_radius + ROUNDING, height + ROUNDING, -np.inf)

    def _reach_of_bins(self, x: FloatArray, y: FloatArray, bin_: Indices) -> FloatArray:
        """The same of bins; a piece may reach half its length out of its bin."""
        row, column = np.divmod(bin_, self._columns)
        reach = LONGEST / 2
        left, front = self._low[0] + column * self._bin - reach, self._low[1] + row * self._bin - reach
        wide = self._bin + 2 * reach
        aside = np.maximum(np.maximum(left - x, x - left - wide), 0.0)
        ahead = np.maximum(np.maximum(front - y, y - front - wide), 0.0)
        return self._bound(self._bin_top.take(bin_), np.hypot(aside, ahead))

    def _bins_near(self, x: FloatArray, y: FloatArray, best: FloatArray) -> tuple[Indices, Indices]:
        """Pairs of point and bin that may raise what is known of the point."""
        column = np.floor((x - self._low[0]) / self._bin).astype(np.intp)
        row = np.floor((y - self._low[1]) / self._bin).astype(np.intp)
        ring = int(np.ceil((self.flank.top_radius + LONGEST / 2) / self._bin))
        points, bins = [], []
        for down in range(-ring, ring + 1):
            for right in range(-ring, ring + 1):
                inside: Mask = (row + down >= 0) & (row + down < self._rows) & (column + right >= 0) & (column + right < self._columns)
                there = np.flatnonzero(inside)
                number = (row.take(there) + down) * self._columns + column.take(there) + right
                kept = np.flatnonzero(self._reach_of_bins(x.take(there), y.take(there), number) > best.take(there))
                points.append(there.take(kept))
                bins.append(number.take(kept))
        return np.concatenate(points), np.concatenate(bins)
