"""Short gap lines spliced into the pass lines beside them, so that no line is so short that it costs a lift of its own."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from ..core.grid import FloatArray
from ..core.masks import Mask
from ..core.polyline import is_closed, travelled


def spliced(
    lines: list[FloatArray],
    gaps: list[FloatArray],
    allowed: Callable[[FloatArray], Mask],
    longest: float,
    reach: float,
    step: float,
) -> tuple[list[FloatArray], list[FloatArray]]:
    """Lead pass lines through the short gaps beside them.

    lines, gaps: polylines (n, 2). allowed: whether points (n, 2) may be cut. longest: gaps longer than this (mm) stay
    lines of their own. reach: greatest way in mm from a line to a gap. step: distance in mm at which ways are checked.
    Returns the lines with their detours, and the gaps that stay.
    """
    if not lines or not gaps:
        return lines, gaps
    vertices = np.concatenate(lines)
    owner = np.repeat(np.arange(len(lines)), [len(line) for line in lines])
    position = np.concatenate([np.arange(len(line)) for line in lines])
    by_x = np.argsort(vertices[:, 0], kind="stable")
    sorted_x = vertices[by_x, 0]

    def nearest(end: FloatArray) -> tuple[int, float]:
        """Number of the vertex nearest to a point and its distance; infinite when none lies within reach."""
        low, high = np.searchsorted(sorted_x, [end[0] - reach, end[0] + reach])
        if low == high:
            return 0, np.inf
        near = by_x[low:high]
        squared = (vertices[near, 0] - end[0]) ** 2 + (vertices[near, 1] - end[1]) ** 2
        best = int(squared.argmin())
        return int(near[best]), float(np.sqrt(squared[best]))

    detours: dict[int, list[tuple[int, FloatArray]]] = {}
    remaining = []
    for gap in gaps:
        if travelled(gap)[-1] > longest:
            remaining.append(gap)
            continue
        (vertex_first, way_first), (vertex_last, way_last) = (nearest(end) for end in (gap[0], gap[-1]))
        first = 0 if way_first <= way_last else 1
        vertex, distance = (vertex_first, way_first) if first == 0 else (vertex_last, way_last)
        way = gap if first == 0 else gap[::-1]
        number, at = int(owner[vertex]), int(position[vertex])
        line = lines[number]
        back = line[min(at + 1, len(line) - 1)]
        if distance > reach or not _clear(np.concatenate([line[at : at + 1], way, back[None]]), allowed, step):
            remaining.append(gap)
            continue
        detours.setdefault(number, []).append((at, way))
    out = list(lines)
    for number, ways in detours.items():
        line = out[number]
        closed = is_closed(line)
        for at, way in sorted(ways, key=lambda item: -item[0]):
            end = len(line) - 1
            if at == end and not closed:
                line = np.concatenate([line, way])
            elif at == 0 and not closed:
                line = np.concatenate([way[::-1], line])
            else:
                at = min(at, end - 1)
                line = np.concatenate([line[: at + 1], way, line[at + 1 :]])
        out[number] = line
    return out, remaining


def _clear(way: FloatArray, allowed: Callable[[FloatArray], Mask], step: float) -> bool:
    """Whether a way (n, 2) stays on allowed ground all along."""
    along = travelled(way)
    count = max(2, int(np.ceil(along[-1] / step)) + 1)
    wanted = np.linspace(0, along[-1], count)
    points = np.stack([np.interp(wanted, along, way[:, k]) for k in (0, 1)], axis=1)
    return bool(allowed(points).all())
