"""The volume that a ball sweeps along straight moves, and how far above a surface that volume begins.

The test is exact for every straight move: the ball and its move make a capsule, and a ray enters a capsule where the
least entry height over all positions of the ball is reached.
"""

from __future__ import annotations

from collections.abc import Generator

import numpy as np
from numpy.typing import NDArray

from ..core.grid import FloatArray, Single
from ..core.stepping import finished, within
from ..core.threads import in_threads

Indices = NDArray[np.intp]

CHUNK = 48_000
"""Rays looked at in one go: enough that two threads seldom wait for each other between calls, few enough for the cache."""
FIRST_REACH = 2
"""Bins on each side that the first search looks at; later searches double it."""
CUT_INTO = 5e-4
"""mm; a ray that is entered this far below its foot says that the ball cuts into the surface."""


class SweptBall:
    """Straight moves of a ball's centre, sorted into square bins in plan.

    starts, ends: (m, 3) mm, centres. radius: of the ball. bin_size: edge of a bin in mm; about 0.4 of the distance between
    neighbouring lines is best. Moves longer than a bin are cut into shorter ones, which changes nothing in the volume.
    """

    def __init__(self, starts: FloatArray, ends: FloatArray, radius: float, bin_size: float) -> None:
        starts, ends = _cut_short(np.asarray(starts, np.float64), np.asarray(ends, np.float64), bin_size)
        self.radius = float(radius)
        self.bin_size = float(bin_size)
        middle = (starts[:, :2] + ends[:, :2]) / 2
        self._low = middle.min(axis=0) if len(middle) else np.zeros(2)
        place = ((middle - self._low) / bin_size).astype(np.intp)
        self._columns, self._rows = (place.max(axis=0) + 1).tolist() if len(place) else (1, 1)  # type: ignore[var-annotated]
        number = place[:, 1] * self._columns + place[:, 0]
        order = np.argsort(number, kind="stable")
        count = np.bincount(number, minlength=self._rows * self._columns)
        self._first = np.concatenate([[0], np.cumsum(count)])
        self._starts = starts[order]
        self._moves = ends[order] - self._starts

    def __len__(self) -> int:
        return len(self._starts)

    def entry_heights(self, feet: FloatArray, normals: FloatArray, crown: FloatArray) -> FloatArray:
        """As `entry_heights_steps`, run to its end."""
        return finished(self.entry_heights_steps(feet, normals, crown))

    def entry_heights_steps(self, feet: FloatArray, normals: FloatArray, crown: FloatArray) -> Generator[float, None, FloatArray]:
        """Height along each normal at which the ray from its foot enters the swept volume, (n,) float64; inf: never.

        feet: (n, 3) points of a surface that the ball does not cut into by more than a little. normals: (n, 3) unit, outwards.
        crown: (n,) greatest curvature of the surface there, 1/mm, positive on crowns.

        The ball that touches a foot p has its centre at p + R n. A ball at the distance e from there, tangent to the surface,
        enters at no less than e^2 / 2 (1/R - 1/(R + rho)) where the surface holds a ball of radius rho under the foot (both
        balls may touch but not overlap). So a ray is done once its height lies below that bound for everything not looked at,
        with rho halved for safety; the others are looked at again with twice the reach, up to 2 R, where nothing can be
        missed.
        """
        count = len(feet)
        found = np.full(count, np.inf)
        if count == 0 or len(self) == 0:
            return found
        centres = feet + self.radius * normals
        rays = np.arange(count)
        reach = FIRST_REACH
        most = int(np.ceil((2 * self.radius + self.bin_size) / self.bin_size)) + 1
        hollow_ball = 1 / np.maximum(2 * crown, 1e-6)
        share = 0.0
        while len(rays):
            order, bins = self._sorted_by_bin(centres[rays], reach)
            rays = rays[order]

            def look(piece: slice, rays: Indices = rays, bins: NDArray[np.int32] = bins, reach: int = reach) -> FloatArray:
                some = rays[piece]
                return self._look(centres[some], normals[some], bins[piece], reach)

            looked = in_threads(look, self._pieces(len(rays), reach))
            found[rays] = np.concatenate((yield from within(looked, share, 0.8 + 0.2 * share)))
            share = 0.8 + 0.2 * share
            if reach >= most:
                break
            sure = (reach - 0.5) * self.bin_size
            bound = _least_entry(min(sure, self.radius), self.radius, hollow_ball[rays])
            # Where the ball has cut into the surface the bound says nothing: look once more for a deeper cut.
            cut_into = (found[rays] < -CUT_INTO) & (reach == FIRST_REACH)
            rays = rays[(found[rays] > bound) | cut_into]
            reach = min(2 * reach, most)
        return found

    def _sorted_by_bin(self, centres: FloatArray, reach: int) -> tuple[Indices, NDArray[np.int32]]:
        """Order of rays by bin, bands of bins first, so that neighbours stay together; and their (row, column) bins."""
        place = np.floor((centres[:, :2] - self._low) / self.bin_size)
        # Rays far outside see no move; their bins are drawn to just outside so that numbers stay small.
        place = np.clip(place, -reach - 1, [self._columns + reach, self._rows + reach]).astype(np.int32)
        column, row = place[:, 0], place[:, 1]
        band = (row + reach + 1) // 32
        width = self._columns + 2 * reach + 2
        key = (band.astype(np.int64) * width + (column + reach + 1)) * 32 + (row + reach + 1) % 32
        order = np.argsort(key, kind="stable")
        return order, np.stack([row[order], column[order]], axis=1)

    def _pieces(self, rays: int, reach: int) -> list[slice]:
        """Cut so many sorted rays into pieces of CHUNK rays, fewer where the reach is large."""
        per_ray = max(1.0, len(self) / max(1, self._rows * self._columns) * (2 * reach + 1) ** 2)
        size = int(np.clip(100 * CHUNK / per_ray, 200, CHUNK))
        return [slice(k, min(k + size, rays)) for k in range(0, rays, size)]

    def _look(self, centres: FloatArray, normals: FloatArray, bins: NDArray[np.int32], reach: int) -> FloatArray:
        """Least entry height of each ray over the moves in the bins within reach, (n,)."""
        fresh = np.ones(len(bins), bool)
        fresh[1:] = (bins[1:] != bins[:-1]).any(axis=1)
        bin_of_ray = np.cumsum(fresh) - 1
        row, column = bins[fresh].astype(np.intp).T
        rows = row[:, None] + np.arange(-reach, reach + 1)
        low = np.clip(column - reach, 0, self._columns)
        high = np.clip(column + reach + 1, 0, self._columns)
        good = (rows >= 0) & (rows < self._rows)
        base = np.where(good, rows, 0) * self._columns
        first = self._first[base + low[:, None]]
        count = np.where(good, self._first[base + high[:, None]] - first, 0)
        total = count.sum(axis=1)
        moves = _runs(first.ravel(), count.ravel())
        start = np.cumsum(total) - total
        if len(moves) == 0:
            return np.full(len(centres), np.inf)
        seen = np.zeros(len(self), bool)
        seen[moves] = True
        used = np.flatnonzero(seen)
        moves = (np.cumsum(seen) - 1)[moves]
        origin = centres.mean(axis=0)
        table = (self._starts[used] - origin).astype(np.float32).T.copy()
        along = self._moves[used].astype(np.float32).T.copy()
        squared = (self._moves[used] ** 2).sum(axis=1).astype(np.float32)
        order = np.argsort(-total[bin_of_ray], kind="stable")
        local = (centres[order] - origin).astype(np.float32).T.copy()
        normal = normals[order].astype(np.float32).T.copy()
        ray_start, ray_count = start[bin_of_ray[order]], total[bin_of_ray[order]]
        best = np.full(len(order), np.inf, np.float32)
        still = np.searchsorted(-ray_count, -np.arange(int(ray_count[0])), side="left")
        for k, rays in enumerate(still.tolist()):
            move = moves[ray_start[:rays] + k]
            entry = _entry(local[:, :rays], normal[:, :rays], table, along, squared, move, self.radius)
            np.fmin(best[:rays], entry, out=best[:rays])
        out = np.empty(len(order))
        out[order] = best
        return out


def _least_entry(distance: float, radius: float, under: FloatArray) -> FloatArray:
    """Least entry height of a ball whose centre is this far aside, over a surface that holds a ball of radius `under`."""
    outer = radius + under
    rise = distance**2 / (radius + np.sqrt(radius**2 - distance**2))
    drop = distance**2 / (outer + np.sqrt(outer**2 - distance**2))
    return rise - drop


def _entry(centre: Single, normal: Single, start: Single, along: Single, squared: Single, move: Indices, radius: float) -> Single:
    """Entry heights of rays into the capsules of one move each, (n,) float32, nan where the ray misses.

    With e the start's offset from the touching ball's centre and d the move, the ball at e + s d enters at
    n.(e + s d) + X / (R + sqrt(R^2 - X)), X the square of the part of e + s d across n. That is convex in s, least at
    s = -W/D - n.d rho / sqrt(D d.d), where D, W are d.d and e.d across n and rho^2 = R^2 - (e.e across n) + W^2/D.
    """
    ex, ey, ez = (start[i].take(move) for i in range(3))
    ex -= centre[0]
    ey -= centre[1]
    ez -= centre[2]
    dx, dy, dz = (along[i].take(move) for i in range(3))
    whole = squared.take(move)
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
    dx -= up * rise  # W
    ex *= ex
    ey *= ey
    ez *= ez
    ex += ey
    ex += ez
    ex -= up * up  # e.e across n
    across = whole - rise * rise
    np.maximum(across, whole * np.float32(1e-6) + np.float32(1e-12), out=across)
    # The ray starts R below the touching ball's centre, so heights are offsets from there.
    share = dx / across
    rho = share * dx
    rho -= ex
    rho += np.float32(radius * radius)
    np.maximum(rho, 0, out=rho)
    whole *= across
    whole += np.float32(1e-20)
    rho /= whole
    np.sqrt(rho, out=rho)
    rho *= rise
    share += rho
    np.negative(share, out=share)
    np.minimum(share, 1, out=share)
    np.maximum(share, 0, out=share)
    across *= share
    dx *= 2
    across += dx
    across *= share
    ex += across  # X
    np.subtract(np.float32(radius * radius), ex, out=dy)
    with np.errstate(invalid="ignore"):
        np.sqrt(dy, out=dy)
    dy += np.float32(radius)
    ex /= dy
    rise *= share
    ex += rise
    ex += up
    return ex


def _cut_short(starts: FloatArray, ends: FloatArray, longest: float) -> tuple[FloatArray, FloatArray]:
    """Cut moves longer than `longest` into equal parts."""
    length = np.linalg.norm(ends - starts, axis=1)
    parts = np.maximum(np.ceil(length / longest), 1).astype(np.intp)
    if len(parts) == 0 or parts.max() == 1:
        return starts, ends
    which = np.repeat(np.arange(len(parts)), parts)
    number = np.arange(len(which)) - np.repeat(np.cumsum(parts) - parts, parts)
    step = (ends - starts)[which] / parts[which, None]
    return starts[which] + number[:, None] * step, starts[which] + (number + 1)[:, None] * step


def _runs(first: Indices, count: Indices) -> Indices:
    """The numbers first[i] .. first[i] + count[i] - 1, one run after the other."""
    ends = np.cumsum(count)
    total = int(ends[-1]) if len(ends) else 0
    return np.arange(total) + np.repeat(first - (ends - count), count)
