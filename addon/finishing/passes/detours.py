"""Short gap lines spliced into the pass lines beside them, so that no line is so short that it costs a lift of its own."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ..core.array_types import FloatArray, Mask
from ..core.polyline import at_distances, is_closed, travelled
from ..core.ragged import run_owners, run_places

Allowed = Callable[[FloatArray], Mask]


@dataclass(frozen=True)
class _Detour:
    """A gap as a pass line runs through it. line: number of the pass line. vertex: that of its vertex where it leaves for the gap. points: (n, 2)."""

    line: int
    vertex: int
    points: FloatArray


def spliced(
    lines: list[FloatArray], gaps: list[FloatArray], allowed: Allowed, longest: float, farthest: float, step: float
) -> tuple[list[FloatArray], list[FloatArray]]:
    """Lead pass lines through the short gaps beside them.

    lines, gaps: polylines (n, 2). allowed: whether points (n, 2) may be cut. longest: gaps longer than this (mm) stay
    lines of their own. farthest: greatest distance in mm from a line to a gap. step: distance in mm at which detours are checked.
    Returns the lines with their detours, and the gaps that stay.
    """
    if not lines or not gaps:
        return lines, gaps
    vertices = _Vertices(lines, farthest)
    detours: dict[int, list[_Detour]] = {}
    remaining = []
    for gap in gaps:
        detour = _detour(gap, lines, vertices, allowed, step) if travelled(gap)[-1] <= longest else None
        if detour is None:
            remaining.append(gap)
        else:
            detours.setdefault(detour.line, []).append(detour)
    out = list(lines)
    for number, along in detours.items():
        out[number] = _with_detours(out[number], along)
    return out, remaining


class _Vertices:
    """All vertices of some polylines, sorted by x, so that those near to a point are found."""

    def __init__(self, lines: list[FloatArray], farthest: float) -> None:
        lengths = np.array([len(line) for line in lines])
        self._points, self._farthest = np.concatenate(lines), farthest
        self._line, self._place = run_owners(lengths), run_places(lengths)
        self._by_x = np.argsort(self._points[:, 0], kind="stable")
        self._x = self._points[self._by_x, 0]

    def nearest(self, point: FloatArray) -> tuple[int, int, float]:
        """The nearest vertex: number of its line, its own in that line, and its distance in mm; infinite when it is farther than `farthest`."""
        low, high = np.searchsorted(self._x, [point[0] - self._farthest, point[0] + self._farthest])
        if low == high:
            return 0, 0, np.inf
        near = self._by_x[low:high]
        squared = (self._points[near, 0] - point[0]) ** 2 + (self._points[near, 1] - point[1]) ** 2
        best = int(squared.argmin())
        distance = float(np.sqrt(squared[best]))
        return int(self._line[near[best]]), int(self._place[near[best]]), distance if distance <= self._farthest else np.inf


def _detour(gap: FloatArray, lines: list[FloatArray], vertices: _Vertices, allowed: Allowed, step: float) -> _Detour | None:
    """The detour of the line nearest to either end of a gap; None when no line is near, or the detour would leave allowed ground."""
    to_first, to_last = vertices.nearest(gap[0]), vertices.nearest(gap[-1])
    forwards = to_first[2] <= to_last[2]
    number, vertex, distance = to_first if forwards else to_last
    if not np.isfinite(distance):
        return None
    points = gap if forwards else gap[::-1]
    line = lines[number]
    back = line[min(vertex + 1, len(line) - 1)]
    route = np.concatenate([line[vertex : vertex + 1], points, back[None]])
    return _Detour(number, vertex, points) if _stays_on(route, allowed, step) else None


def _with_detours(line: FloatArray, detours: list[_Detour]) -> FloatArray:
    """A line with its detours put in, the last along it first, so that the numbers of the vertices before them hold.

    Of the two vertices that a closed line begins and ends with, the first is the nearest: none of its detours leaves from the last.
    """
    closed = is_closed(line)
    for detour in sorted(detours, key=lambda item: -item.vertex):
        if detour.vertex == len(line) - 1 and not closed:
            line = np.concatenate([line, detour.points])
        elif detour.vertex == 0 and not closed:
            line = np.concatenate([detour.points[::-1], line])
        else:
            line = np.concatenate([line[: detour.vertex + 1], detour.points, line[detour.vertex + 1 :]])
    return line


def _stays_on(route: FloatArray, allowed: Allowed, step: float) -> bool:
    """Whether a route (n, 2) stays on allowed ground all along."""
    along = travelled(route)
    count = max(2, int(np.ceil(along[-1] / step)) + 1)
    return bool(allowed(at_distances(route, along, np.linspace(0, along[-1], count))).all())
