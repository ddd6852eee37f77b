"""A plane polygon that is not convex, cut into triangles ear by ear.

Every polygon that does not cross itself has two ears, corners whose neighbours see each other (G. H. Meisters, Polygons have ears, American
Mathematical Monthly 82, 1975); with an ear cut off it is a polygon again. An ear turns outward, and holds no corner that turns inward. A
corner in the same place as one of the ear's own, as where a cut joins a hole to the outline, does not block it.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

MOST_CORNERS = 10_000
"""Corners of one polygon: the work grows with their square."""

RUN = 1 << 20
"""Pairs of edges that are tried at a time."""

ROUNDING = 1e-12
"""Twice an area, as a share of the polygon's extent squared, that is nothing but rounding: corners on one line, points on a border."""


def crosses_itself(corners: NDArray[np.float64]) -> bool:
    """Whether two edges of a closed polygon (n, 2) cross in their inner points; edges that only touch do not count."""
    count = len(corners)
    following = np.roll(corners, -1, axis=0)
    nothing = _rounding(corners)
    rows = max(1, RUN // count)
    for first in range(0, count, rows):
        a, b = corners[first : first + rows, None], following[first : first + rows, None]
        apart = _apart(_side(a, b, corners), _side(a, b, following), nothing)
        if bool((apart & _apart(_side(corners, following, a), _side(corners, following, b), nothing)).any()):
            return True
    return False


def ears(corners: NDArray[np.float64]) -> NDArray[np.int64] | None:
    """Triangles (n - 2, 3) of corner numbers of an anticlockwise polygon (n, 2); None when at some point it has no ear.

    A corner on a straight line or on a spike without width goes at once: its triangle has no area. Corners that turn inward and lie on an
    ear's border block it, too, as long as there is another ear without any.
    """
    count = len(corners)
    before, after = np.roll(np.arange(count), 1).tolist(), np.roll(np.arange(count), -1).tolist()
    nothing = _rounding(corners)
    turn = _side(np.roll(corners, 1, axis=0), corners, np.roll(corners, -1, axis=0))
    inward = turn < -nothing
    cut: list[tuple[int, int, int]] = []
    corner, tried, border = 0, 0, -nothing
    while len(cut) < count - 3:
        low, high = before[corner], after[corner]
        if abs(turn[corner]) <= nothing or (turn[corner] > 0 and not _holds_one(corners, inward, (low, corner, high), border)):
            cut.append((low, corner, high))
            after[low], before[high] = high, low
            inward[corner] = False
            for end in (low, high):
                turn[end] = _side(corners[before[end]], corners[end], corners[after[end]])
                inward[end] = turn[end] < -nothing
            tried, border = 0, -nothing
        else:
            tried += 1
            if tried > count - len(cut):
                if border > 0:
                    return None
                tried, border = 0, nothing
        corner = high
    cut.append((before[corner], corner, after[corner]))
    return np.array(cut, np.int64)


def _holds_one(corners: NDArray[np.float64], inward: NDArray[np.bool_], ear: tuple[int, int, int], border: float) -> bool:
    """Whether a triangle of corners holds another corner that turns inward. border: twice the area off an edge from which on it does."""
    points = corners[inward]
    a, b, c = corners[list(ear)]
    within = (_side(a, b, points) >= border) & (_side(b, c, points) >= border) & (_side(c, a, points) >= border)
    points = points[within]
    return bool(((points != a).any(axis=1) & (points != b).any(axis=1) & (points != c).any(axis=1)).any())


def _rounding(corners: NDArray[np.float64]) -> float:
    """Twice an area that means nothing for this polygon."""
    return ROUNDING * float(np.ptp(corners, axis=0).max()) ** 2


def _apart(one: NDArray[np.float64], other: NDArray[np.float64], nothing: float) -> NDArray[np.bool_]:
    """Whether two points lie on different sides of a line, both clearly off it."""
    return (one * other < 0) & (np.minimum(np.abs(one), np.abs(other)) > nothing)


def _side(start: NDArray[np.float64], end: NDArray[np.float64], point: NDArray[np.float64]) -> NDArray[np.float64]:
    """Twice the area of a triangle: above 0 where a point lies left of the line from start to end."""
    way = end - start
    off = point - start
    return way[..., 0] * off[..., 1] - way[..., 1] * off[..., 0]
