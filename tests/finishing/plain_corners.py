"""The slow plain twin of corners.py and bends.py: one point after the other, in words of school geometry.

Written from the definitions alone, with the standard library: no arrays, no skipping of points that cannot matter.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

Vector = Sequence[float]

WINDOWS = [1.5, 3.0, 6.0, 12.0, 24.0, 48.0]
"""Half widths of path, in deviations, between which the half width of a rounding is looked for."""


def minus(a: Vector, b: Vector) -> list[float]:
    return [p - q for p, q in zip(a, b, strict=True)]


def size(a: Vector) -> float:
    return math.sqrt(sum(p * p for p in a))


def unit(a: Vector) -> list[float]:
    return [p / size(a) for p in a]


def allowed_along(limits: Vector, direction: Vector) -> float:
    """The axis that reaches its limit first decides."""
    return min(limit / abs(part) for limit, part in zip(limits, direction, strict=True) if part)


class PlainPath:
    """A polyline without moves of no length."""

    def __init__(self, points: Sequence[Vector]) -> None:
        steps = [minus(after, before) for before, after in zip(points, points[1:], strict=False)]
        self.length = [size(step) for step in steps]
        self.direction = [unit(step) for step in steps]

    def direction_near(self, corner: int, ahead: float) -> list[float]:
        """Direction some mm after a corner (before it when negative), each turn spread over half the shorter move on both sides of it.

        The walk takes whole moves until it stands in the right one. A walk that ends on a corner stays in the move it came through, and the
        path goes straight on beyond its ends.
        """
        move, into = (corner, ahead) if ahead >= 0 else (corner - 1, self.length[corner - 1] + ahead)
        if ahead == 0:
            move, into = corner - 1, self.length[corner - 1]
        while into > self.length[move] and move + 1 < len(self.length):
            into -= self.length[move]
            move += 1
        while into < 0 and move > 0:
            move -= 1
            into += self.length[move]
        parts = [(1.0, self.direction[move])]
        for neighbour, distance in ((move - 1, into), (move + 1, self.length[move] - into)):
            if 0 <= neighbour < len(self.length) and distance >= 0:
                spread = min(self.length[move], self.length[neighbour]) / 2
                share = max(0.5 - distance / (2 * spread), 0.0)
                parts[0] = (parts[0][0] - share, parts[0][1])
                parts.append((share, self.direction[neighbour]))
        return unit([sum(share * vector[k] for share, vector in parts) for k in range(3)])

    def turn(self, corner: int, half_width: float) -> tuple[float, list[float]]:
        """Turn in radians over a window round a corner, the side that bends more counted twice; and the change of direction over it."""
        here, after, before = (self.direction_near(corner, x) for x in (0.0, half_width, -half_width))
        side = max(size(minus(after, here)), size(minus(here, before)))
        return 4 * math.asin(min(side / 2, 1.0)), minus(after, before)


def single_corner(path: PlainPath, corner: int, accelerations: Vector, deviation: float) -> float:
    """Limit of the squared speed: S. K. Jeon 2011, v^2 = a d cos(turn/2) / (1 - cos(turn/2))."""
    change = minus(path.direction[corner], path.direction[corner - 1])
    if size(change) <= 1e-9:
        return math.inf
    half_turn = math.asin(min(size(change) / 2, 1.0))
    off = 1 - math.cos(half_turn)
    return math.inf if off == 0 else allowed_along(accelerations, unit(change)) * deviation * math.cos(half_turn) / off


def bend(path: PlainPath, corner: int, accelerations: Vector, deviation: float) -> float:
    """Limit of the squared speed: a times the radius of the widest arc that leaves the path by the deviation at most."""
    radius, sideways = math.inf, [1.0, 1.0, 1.0]
    narrower, narrower_off, half_window_turn = 0.0, 0.0, path.turn(corner, 0.75 * deviation)[0]
    for width in (step * deviation for step in WINDOWS):
        seen, change = path.turn(corner, width)
        turn = min(seen, 2 * half_window_turn, math.pi)
        off = width * math.tan(turn / 4)
        if size(change) > 1e-9:
            sideways = change
        if off > deviation:
            if narrower == 0:
                return math.inf
            if narrower_off > 0:
                power = math.log(off / narrower_off) / math.log(width / narrower)
                half_width = narrower * (deviation / narrower_off) ** (1 / power)
            else:
                half_width = narrower + (width - narrower) * deviation / off
            radius = (half_width**2 - deviation**2) / (2 * deviation)
            break
        if width == WINDOWS[-1] * deviation and turn > 0:
            radius = width / math.tan(turn / 2)
        narrower, narrower_off, half_window_turn = width, off, seen
    return allowed_along(accelerations, unit(sideways)) * max(radius, 0.0)


def limits(points: Sequence[Vector], accelerations: Vector, deviation: float) -> list[float]:
    """Limits of the squared speed at all corners of a polyline."""
    path = PlainPath(points)
    corners = range(1, len(path.length))
    single = [single_corner(path, k, accelerations, deviation) for k in corners]
    if deviation == 0:
        return single
    return [min(one, bend(path, k, accelerations, deviation)) for one, k in zip(single, corners, strict=True)]
