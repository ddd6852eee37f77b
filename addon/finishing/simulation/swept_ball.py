"""The volume that a ball sweeps along straight moves, and how far above a surface that volume begins.

What is measured. From a foot p on the surface, with unit normal n, a ray runs outwards; what still stands there after all moves is the
height t at which it enters the swept volume. A ball of radius R that touches p has its centre at p + R n. A ball with its centre at
p + R n + e meets the ray where |(t - R) n - e| = R, first at
    t(e) = n.e + R - sqrt(R^2 - X) = n.e + X / (R + sqrt(R^2 - X)),    X = e.e - (n.e)^2, the square of the part of e across n,
written without the difference of R and a root close to it, so that single precision will do; the ray misses the ball where X > R^2.

One move. Its ball stands at e + s d, 0 <= s <= 1 (d: the move), and the entry is the least t over s. Across n the offset has the square
    X(s) = E + 2 s W + s^2 D,    E, W, D: e.e, e.d and d.d without their parts along n,
so that R^2 - X(s) = rho^2 - D (s + W/D)^2 with rho^2 = R^2 - E + W^2/D: along the move the ray crosses a circle of radius rho, stretched by
sqrt(D). With d.n the rise of the move, t(s) = n.e + s d.n + R - sqrt(R^2 - X(s)) is convex, a line minus half of an ellipse, and its
derivative vanishes at s = -W/D - d.n rho / sqrt(D d.d) (d.d = D + (d.n)^2). Held within 0..1 that s gives the least height exactly, for
every straight move; ball and move make a capsule, and this is where the ray enters it.

Which moves are looked at. Bins in plan hold the moves by their middles; a ray looks at the bins round its touching ball's centre, in rings of
growing size. A ball at the distance a from there, tangent to the surface, enters at no less than a^2/2 (1/R - 1/(R + rho)) where the surface
holds a ball of radius rho under the foot, since both balls may touch but not overlap (`_least_entry` has it without the approximation). So a
ray is done once its height lies below that bound for everything not looked at; the others look again twice as far, up to 2 R, where nothing
can be missed.
"""

from __future__ import annotations

from collections.abc import Generator

import numpy as np
from numpy.typing import NDArray

from ..core.array_types import Double, FloatArray, Mask, Single
from ..core.ragged import run_owners, run_places, short_run_ranges
from ..core.stepping import finished, within
from ..core.threads import in_threads

Indices = NDArray[np.intp]

CHUNK = 48_000
"""Rays looked at in one go: enough that two threads seldom wait for each other between calls, few enough for the cache."""

CHUNK_MOVES, LEAST_CHUNK = 100, 200
"""Moves that a ray may see before chunks get smaller, since memory goes with rays times moves; and the fewest rays of a chunk."""

FIRST_RING = 2
"""Bins on each side that the first search looks at; later searches double it."""

CUT_INTO = 5e-4
"""mm; a ray that is entered this far below its foot says that the ball cuts into the surface."""

LEAST_CROWN = 1e-6
"""1/mm; least curvature taken for the bound's radius rho: flat ground and hollows hold a ball of any size."""

CROWN_SAFETY = 2.0
"""The ball under the foot is taken so many times smaller than the curvature says, since that is measured on a grid."""

BIN_SPACINGS, LEAST_BIN, GREATEST_BIN = 0.42, 0.02, 0.25
"""Edge of a bin in distances between neighbouring lines, and its limits in radii. FIRST_RING sees every move within 1.5 bins for sure: 0.63 of
that distance, a little more than the half where the nearest line is at its farthest, so that few rays look twice. The limits keep the bins
few where lines lie very close, and the rings few where there are hardly any lines."""

MOVES_AT_ONCE = 1 << 15
"""Moves cut short in one go."""

BAND_ROWS = 32
"""Rows of bins worked through together, column by column, so that the moves in use stay in the cache."""


LEAST_ACROSS, LEAST_ACROSS_SQUARED, NO_SQUARE = np.float32(1e-6), np.float32(1e-12), np.float32(1e-20)
"""Floors that keep divisions by D away from 0: over d.d, in mm2, and of the product D d.d in mm4. A move along the ray itself then has its
least height at an end, as it should; and a move of no length stays where it is."""


def suitable_bin_size(spacing: float, radius: float) -> float:
    """Edge of a bin in mm that suits lines so far apart (mm), for a ball of this radius."""
    return float(np.clip(BIN_SPACINGS * spacing, LEAST_BIN * radius, GREATEST_BIN * radius))


class SweptBall:
    """Straight moves of a ball's centre, sorted into square bins in plan.

    starts, ends: (m, 3) mm, centres. radius: of the ball. bin_size: edge of a bin in mm (`suitable_bin_size`). Moves longer than a bin
    are cut into shorter ones, which changes nothing in the volume.
    """

    def __init__(self, starts: FloatArray, ends: FloatArray, radius: float, bin_size: float) -> None:
        self.radius = float(radius)
        self.bin_size = float(bin_size)
        self._starts, self._moves, middle = _cut_short(np.asarray(starts, np.float64), np.asarray(ends, np.float64), bin_size)
        self._low = middle.min(axis=0) if len(middle) else np.zeros(2)
        # The same place of the moves if they are turned: so are offsets from it then, to the last digit.
        self._middle = (self._starts.min(axis=0) + self._starts.max(axis=0)) / 2 if len(self._starts) else np.zeros(3)
        middle -= self._low
        middle /= bin_size
        bins = middle.astype(np.int32)
        self._columns, self._rows = (int(most) + 1 for most in bins.max(axis=0)) if len(bins) else (1, 1)
        number = bins[:, 1].astype(np.intp) * self._columns + bins[:, 0]
        del middle, bins
        order = np.argsort(number, kind="stable")
        count = np.bincount(number, minlength=self._rows * self._columns)
        self._first = np.concatenate([[0], np.cumsum(count)])
        self._starts = self._starts[order]
        self._moves = self._moves[order]

    def __len__(self) -> int:
        return len(self._starts)

    def entry_heights(self, feet: FloatArray, normals: FloatArray, crown: FloatArray) -> FloatArray:
        """As `entry_heights_steps`, run to its end."""
        return finished(self.entry_heights_steps(feet, normals, crown))

    def entry_heights_steps(self, feet: FloatArray, normals: FloatArray, crown: FloatArray) -> Generator[float, None, FloatArray]:
        """Height along each normal at which the ray from its foot enters the swept volume, (n,) float64; inf: never. Yields shares done.

        feet: (n, 3) points of a surface that the ball does not cut into by more than a little. normals: (n, 3) unit, outwards.
        crown: (n,) greatest curvature of the surface there, 1/mm, positive on crowns.
        """
        count = len(feet)
        found = np.full(count, np.inf)
        if count == 0 or len(self) == 0:
            return found
        rays = np.arange(count)
        ring = FIRST_RING
        most = int(np.ceil((2 * self.radius + self.bin_size) / self.bin_size)) + 1
        share = 0.0
        while len(rays):
            x, y = (feet[rays, axis] + self.radius * normals[rays, axis] for axis in (0, 1))
            order, bins = self._sorted_by_bin(x, y, ring)
            del x, y
            rays = rays[order]

            def look(piece: slice, rays: Indices = rays, bins: NDArray[np.int32] = bins, ring: int = ring) -> Indices:
                """Find the entry heights of one piece of the rays that are left; returns those that have to look again."""
                some = rays[piece]
                outwards = normals[some]
                entry = self._look(feet[some] + self.radius * outwards, outwards, bins[piece], ring)
                found[some] = entry
                return some[self._in_doubt(entry, crown[some], ring)]

            looked = in_threads(look, self._pieces(len(rays), ring))
            rays = np.concatenate((yield from within(looked, share, 0.8 + 0.2 * share)))
            share = 0.8 + 0.2 * share
            if ring >= most:
                break
            ring = min(2 * ring, most)
        return found

    def _in_doubt(self, entry: FloatArray, crown: FloatArray, ring: int) -> Mask:
        """Whether moves beyond a ring of bins may enter rays (n,) lower than what was found within it."""
        # A centre may stand at the edge of its bin, and a move's middle half a bin from its nearest place.
        sure = (ring - 0.5) * self.bin_size
        under = 1 / np.maximum(CROWN_SAFETY * crown, LEAST_CROWN)
        bound = _least_entry(min(sure, self.radius), self.radius, under)
        # Where the ball has cut into the surface the bound says nothing: look once more for a deeper cut.
        return (entry > bound) | ((entry < -CUT_INTO) & (ring == FIRST_RING))

    def undersides_steps(self, points: FloatArray) -> Generator[float, None, FloatArray]:
        """z (n,) of the swept volume's underside straight above or below points (n, 3), inf where it passes over none. Yields shares done.

        Every move within a radius is looked at. The points' own z should be near the underside: single precision holds what is between them.
        """
        count = len(points)
        found = np.full(count, np.inf)
        if count == 0 or len(self) == 0:
            return found
        lift, upwards = np.array([0.0, 0.0, self.radius]), np.array([0.0, 0.0, 1.0])
        # A ray may stand at the edge of its bin, and a move's middle half a bin from its nearest place.
        ring = int(np.ceil(self.radius / self.bin_size + 0.5))
        order, bins = self._sorted_by_bin(points[:, 0], points[:, 1], ring)

        def look(piece: slice) -> FloatArray:
            some = order[piece]
            return self._look(points[some] + lift, np.broadcast_to(upwards, (len(some), 3)), bins[piece], ring)

        looked = yield from in_threads(look, self._pieces(count, ring))
        found[order] = points[order, 2] + np.concatenate(looked)
        return found

    def _sorted_by_bin(self, x: FloatArray, y: FloatArray, ring: int) -> tuple[Indices, NDArray[np.int32]]:
        """Order of rays by the bins of their centres x, y (n,), bands of bins first, so that neighbours stay together; and their (row, column) bins."""
        column, row = self._bins_along(x, 0, self._columns + ring, ring), self._bins_along(y, 1, self._rows + ring, ring)
        width = self._columns + 2 * ring + 2
        key = ((row + ring + 1) // BAND_ROWS).astype(np.int64)
        key *= width
        key += column + (ring + 1)
        key *= BAND_ROWS
        key += (row + ring + 1) % BAND_ROWS
        order = np.argsort(key, kind="stable")
        return order, np.stack([row[order], column[order]], axis=1)

    def _bins_along(self, places: FloatArray, axis: int, last: int, ring: int) -> NDArray[np.int32]:
        """Bins (n,) of places (n,) along an axis. Rays far outside see no move; their bins are taken to just outside so that numbers stay small."""
        bins = places - self._low[axis]
        bins /= self.bin_size
        np.floor(bins, out=bins)
        np.clip(bins, -ring - 1, last, out=bins)
        return bins.astype(np.int32)

    def _pieces(self, rays: int, ring: int) -> list[slice]:
        """Cut so many sorted rays into pieces of CHUNK rays, fewer where each sees many moves."""
        per_ray = max(1.0, len(self) / max(1, self._rows * self._columns) * (2 * ring + 1) ** 2)
        size = int(np.clip(CHUNK_MOVES * CHUNK / per_ray, LEAST_CHUNK, CHUNK))
        return [slice(k, min(k + size, rays)) for k in range(0, rays, size)]

    def _look(self, centres: FloatArray, normals: FloatArray, bins: NDArray[np.int32], ring: int) -> FloatArray:
        """Least entry height of each ray over the moves in the bins within `ring`, (n,). bins: (n, 2), rays of one bin together."""
        fresh = np.ones(len(bins), bool)
        fresh[1:] = (bins[1:] != bins[:-1]).any(axis=1)
        bin_of_ray = np.cumsum(fresh) - 1
        begins, lengths = self._runs_near(bins[fresh].astype(np.intp), ring)
        used, begins = _joined_runs(begins, lengths)
        if len(used) == 0:
            return np.full(len(centres), np.inf)
        moves, total = short_run_ranges(begins.ravel(), lengths.ravel()), lengths.sum(axis=1)
        # Single precision holds offsets from the middle of the moves, not the places themselves.
        origin = self._middle
        table = _Moves(self._starts[used] - origin, self._moves[used])
        # Rays that see the most moves first: after k moves those that have any left are the first of them.
        order = np.argsort(-total[bin_of_ray], kind="stable")
        centre = (centres[order] - origin).astype(np.float32).T.copy()
        normal = normals[order].astype(np.float32).T.copy()
        first, count = (np.cumsum(total) - total)[bin_of_ray[order]], total[bin_of_ray[order]]
        best = np.full(len(order), np.inf, np.float32)
        still = np.searchsorted(-count, -np.arange(int(count[0])), side="left")
        for k, rays in enumerate(still.tolist()):
            entry = _entry(centre[:, :rays], normal[:, :rays], table, moves.take(first[:rays] + k).astype(np.intp), self.radius)
            np.fmin(best[:rays], entry, out=best[:rays])
        out = np.empty(len(order))
        out[order] = best
        return out

    def _runs_near(self, bins: Indices, ring: int) -> tuple[Indices, Indices]:
        """First numbers and lengths of the runs of moves in the bins round each of some bins (m, 2), a run for every row of bins: (m, rows)."""
        row, column = bins.T
        rows = row[:, None] + np.arange(-ring, ring + 1)
        low = np.clip(column - ring, 0, self._columns)
        high = np.clip(column + ring + 1, 0, self._columns)
        good = (rows >= 0) & (rows < self._rows)
        base = np.where(good, rows, 0) * self._columns
        first = self._first[base + low[:, None]]
        count = np.where(good, self._first[base + high[:, None]] - first, 0)
        return first, count


def _joined_runs(first: Indices, count: Indices) -> tuple[Indices, Indices]:
    """Which moves some runs hold, rising; and where the runs begin when these alone are numbered. first, count: of every run, any shape.

    What stands in the runs is never listed, since their moves are many times the moves there are.
    """
    filled = count > 0
    begins, ends = first[filled], (first + count)[filled]
    if len(begins) == 0:
        return begins, first
    low = int(begins.min())
    change = np.bincount(begins - low, minlength=int(ends.max()) - low + 1)
    change -= np.bincount(ends - low, minlength=len(change))
    held = np.cumsum(change, out=change)[:-1] > 0
    before = np.concatenate([[0], np.cumsum(held)])
    return low + np.flatnonzero(held), before.take(first - low, mode="clip")


def _least_entry(distance: float, radius: float, under: FloatArray) -> FloatArray:
    """Least entry height of a ball whose centre is this far aside, over a surface that holds a ball of radius `under`.

    Rolling over that ball, the cutting ball's centre comes down by no more than `drop`; on the ray its surface stands `rise` above its tip.
    """
    outer = radius + under
    rise = distance**2 / (radius + np.sqrt(radius**2 - distance**2))
    drop = distance**2 / (outer + np.sqrt(outer**2 - distance**2))
    return rise - drop


class _Moves:
    """A table of moves in single precision. start, along: (3, m) mm. squared: (m,) squares of their lengths, rounded only once."""

    def __init__(self, starts: FloatArray, moves: FloatArray) -> None:
        self.start: Single = starts.astype(np.float32).T.copy()
        self.along: Single = moves.astype(np.float32).T.copy()
        self.squared: Single = (moves**2).sum(axis=1).astype(np.float32)


def _entry(centre: Single, normal: Single, table: _Moves, move: Indices, radius: float) -> Single:
    """Entry heights (n,) of rays into the capsules of one move each, nan where the ray misses; the module's text derives it.

    centre, normal: (3, n), of the balls that touch the rays' feet and of the rays. Everything is done in place: a call works through
    some ten thousand rays, and new arrays would leave the cache.
    """
    up, rise, dot, offset_squared = _parts_along_and_across(centre, normal, table, move)
    whole = table.squared.take(move)
    across = whole - rise * rise  # D
    np.maximum(across, whole * LEAST_ACROSS + LEAST_ACROSS_SQUARED, out=across)
    fraction = _lowest_place(dot, offset_squared, across, whole, rise, radius)
    # X = E + s (2 W + s D)
    across *= fraction
    dot *= 2
    across += dot
    across *= fraction
    offset_squared += across
    root = np.float32(radius * radius) - offset_squared
    with np.errstate(invalid="ignore"):
        np.sqrt(root, out=root)
    root += np.float32(radius)
    offset_squared /= root
    rise *= fraction
    offset_squared += rise
    offset_squared += up
    return offset_squared


def _parts_along_and_across(centre: Single, normal: Single, table: _Moves, move: Indices) -> tuple[Single, Single, Single, Single]:
    """n.e, n.d, W and E of rays and one move each, (n,): e from the touching ball's centre to the move's start, d the move."""
    ex, ey, ez = (table.start[i].take(move) for i in range(3))
    ex -= centre[0]
    ey -= centre[1]
    ez -= centre[2]
    dx, dy, dz = (table.along[i].take(move) for i in range(3))
    nx, ny, nz = normal
    up = ex * nx
    up += ey * ny
    up += ez * nz
    rise = dx * nx
    rise += dy * ny
    rise += dz * nz
    dx *= ex
    dy *= ey
    dz *= ez
    dx += dy
    dx += dz
    dx -= up * rise
    ex *= ex
    ey *= ey
    ez *= ez
    ex += ey
    ex += ez
    ex -= up * up
    return up, rise, dx, ex  # dx, ex have become W, E


def _lowest_place(dot: Single, offset_squared: Single, across: Single, whole: Single, rise: Single, radius: float) -> Single:
    """s of the least height along each move, (n,) within 0..1: -W/D - n.d rho / sqrt(D d.d). Uses `whole` (d.d) up."""
    fraction = dot / across
    rho = fraction * dot
    rho -= offset_squared
    rho += np.float32(radius * radius)
    np.maximum(rho, 0, out=rho)
    whole *= across
    whole += NO_SQUARE
    rho /= whole
    np.sqrt(rho, out=rho)
    rho *= rise
    fraction += rho
    np.negative(fraction, out=fraction)
    np.minimum(fraction, 1, out=fraction)
    np.maximum(fraction, 0, out=fraction)
    return fraction


def _cut_short(starts: FloatArray, ends: FloatArray, longest: float) -> tuple[Double, Double, Double]:
    """Cut moves longer than `longest` into equal parts: where they start (m, 3), the moves (m, 3), and their middles in plan (m, 2).

    Worked out some moves at a time: of a long path there are a million, and no copies of all of them are needed on the way.
    """
    pieces = [slice(k, k + MOVES_AT_ONCE) for k in range(0, len(starts), MOVES_AT_ONCE)]
    lengths = [np.linalg.norm(ends[some] - starts[some], axis=1) for some in pieces]
    parts = [np.maximum(np.ceil(length / longest), 1).astype(np.intp) for length in lengths]
    total = sum(int(part.sum()) for part in parts)
    out, moves, middles = np.empty((total, 3)), np.empty((total, 3)), np.empty((total, 2))
    first = 0
    for some, part in zip(pieces, parts, strict=True):
        start, end = starts[some], ends[some]
        if total > len(starts):
            which, number = run_owners(part), run_places(part)
            step = (end - start)[which] / part[which, None]
            start, end = start[which] + number[:, None] * step, start[which] + (number + 1)[:, None] * step
        own = slice(first, first + len(start))
        out[own], moves[own], middles[own] = start, end - start, (start[:, :2] + end[:, :2]) / 2
        first = own.stop
    return out, moves, middles
