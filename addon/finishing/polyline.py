"""Polylines in plan: lengths, resampling and clipping."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from .cells import Mask
from .grid import FloatArray


def travelled(points: FloatArray) -> FloatArray:
    """Distance along a polyline (n, 2 or 3) at each of its points, (n,), from 0."""
    moves = np.linalg.norm(np.diff(points, axis=0), axis=1)
    return np.concatenate([[0.0], np.cumsum(moves)])


def at_distances(points: FloatArray, along: FloatArray, wanted: FloatArray) -> FloatArray:
    """Points of a polyline at wanted distances along it; `along` is `travelled(points)`."""
    return np.stack([np.interp(wanted, along, points[:, k]) for k in range(points.shape[1])], axis=1)


def resampled(points: FloatArray, step: float) -> FloatArray:
    """A polyline with points at equal distances of about `step`; both ends are kept."""
    along = travelled(points)
    count = max(1, int(round(along[-1] / step)))
    return at_distances(points, along, np.linspace(0, along[-1], count + 1))


def without_ends(points: FloatArray, at_start: float, at_end: float) -> FloatArray | None:
    """A polyline shortened by some mm at its ends; None when less than half of it would stay."""
    along = travelled(points)
    low, high = at_start, along[-1] - at_end
    if high - low < along[-1] / 2:
        return None
    inner = points[(along > low + 1e-9) & (along < high - 1e-9)]
    ends = at_distances(points, along, np.array([low, high]))
    return np.concatenate([ends[:1], inner, ends[1:]])


def smoothed(points: FloatArray, rounds: int, closed: bool = False) -> FloatArray:
    """A polyline with its staircase smoothed out by a 1-2-1 mean, some rounds of it; the ends of an open one stay."""
    out = points.copy()
    if len(out) < 3:
        return out
    for _ in range(rounds):
        if closed:
            ring = out[:-1]
            ring = 0.25 * np.roll(ring, 1, axis=0) + 0.5 * ring + 0.25 * np.roll(ring, -1, axis=0)
            out = np.concatenate([ring, ring[:1]])
        else:
            out[1:-1] = 0.25 * out[:-2] + 0.5 * out[1:-1] + 0.25 * out[2:]
    return out


def is_closed(points: FloatArray) -> bool:
    """Whether a polyline returns to the very point it starts from."""
    return len(points) > 3 and bool(np.array_equal(points[0], points[-1]))


def clipped(lines: list[FloatArray], allowed: Callable[[FloatArray], Mask], shortest: float) -> list[tuple[int, FloatArray]]:
    """The parts of polylines (n, 2) that lie on allowed ground, as (number of the line, part).

    The ends are found to 1/64 of a step between points. Parts shorter than `shortest` mm are dropped. A closed line that
    is allowed all round stays closed; otherwise it is opened where it is not allowed.
    """
    if not lines:
        return []
    inside = allowed(np.concatenate(lines))
    first = np.cumsum([0] + [len(line) for line in lines])
    parts: list[tuple[int, FloatArray]] = []
    cuts: list[tuple[int, FloatArray, FloatArray, FloatArray]] = []
    for number, line in enumerate(lines):
        here = inside[first[number] : first[number + 1]]
        if here.all():
            parts.append((number, line))
            continue
        if not here.any():
            continue
        if is_closed(line):
            turn = int(np.flatnonzero(~here[:-1])[0])
            line = np.concatenate([line[turn:-1], line[:turn], line[turn : turn + 1]])
            here = np.concatenate([here[turn:-1], here[:turn], here[turn : turn + 1]])
        change = np.flatnonzero(np.diff(here.astype(np.int8)))
        bounds = np.concatenate([[-1], change, [len(line) - 1]])
        for a, b in zip(bounds[:-1], bounds[1:], strict=True):
            if here[b]:
                cuts.append((number, line[a + 1 : b + 1], line[max(a, 0)], line[min(b + 1, len(line) - 1)]))
    if cuts:
        good = np.concatenate([np.stack([part[0], part[-1]]) for _, part, _, _ in cuts])
        bad = np.concatenate([np.stack([before, after]) for _, _, before, after in cuts])
        for _ in range(6):
            middle = (good + bad) / 2
            ok = allowed(middle)[:, None]
            good, bad = np.where(ok, middle, good), np.where(ok, bad, middle)
        for k, (number, part, _, _) in enumerate(cuts):
            parts.append((number, np.concatenate([good[2 * k : 2 * k + 1], part, good[2 * k + 1 : 2 * k + 2]])))
        parts.sort(key=lambda item: item[0])
    return [(n, part) for n, part in ((n, _without_repeats(p)) for n, p in parts) if len(part) > 1 and travelled(part)[-1] >= shortest]


def _without_repeats(points: FloatArray) -> FloatArray:
    """Drop points that stand (within a nanometre) where the one before stands; a closed line stays closed."""
    moved = np.linalg.norm(np.diff(points, axis=0), axis=1) > 1e-6
    return points[np.concatenate([[True], moved])]
