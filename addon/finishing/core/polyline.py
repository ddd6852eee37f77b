"""Polylines in plan: lengths, resampling and clipping."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from .grid import FloatArray
from .masks import Mask


def travelled(points: FloatArray) -> FloatArray:
    """Distance along a polyline (n, 2 or 3) at each of its points, (n,), from 0."""
    moves = np.linalg.norm(np.diff(points, axis=0), axis=1)
    return np.concatenate([[0.0], np.cumsum(moves)])


def at_distances(points: FloatArray, along: FloatArray, wanted: FloatArray) -> FloatArray:
    """Points of a polyline at wanted distances along it; `along` is `travelled(points)`."""
    return np.stack([np.interp(wanted, along, points[:, k]) for k in range(points.shape[1])], axis=1)


def resampled(points: FloatArray, step: float) -> FloatArray:
    """A polyline with points at equal distances of about `step`; both ends are kept."""
    return all_resampled([points], step)[0]


def all_resampled(lines: list[FloatArray], step: float) -> list[FloatArray]:
    """Polylines (n, 2 or 3), each with points at equal distances of about `step`; both ends are kept."""
    if not lines:
        return []
    flat, first, last = _end_to_end(lines)
    moves = np.linalg.norm(np.diff(flat, axis=0), axis=1)
    moves[last[:-1]] = 1.0  # from one line to the next, where nothing is looked for
    along = np.concatenate([[0.0], np.cumsum(moves)])
    length = along[last] - along[first]
    count = np.maximum(np.rint(length / step), 1).astype(np.intp)
    new_last = np.cumsum(count + 1) - 1
    new_first = new_last - count
    number = np.arange(new_last[-1] + 1) - np.repeat(new_first, count + 1)
    places = at_distances(flat, along, np.repeat(along[first], count + 1) + number * np.repeat(length / count, count + 1))
    places[new_first], places[new_last] = flat[first], flat[last]
    return np.split(places, new_first[1:])


def _end_to_end(lines: list[FloatArray]) -> tuple[FloatArray, NDArray[np.intp], NDArray[np.intp]]:
    """All points one after the other, and the numbers of every line's first and last one."""
    last = np.cumsum([len(line) for line in lines]) - 1
    return np.concatenate(lines), np.concatenate([[0], last[:-1] + 1]), last


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
    return all_smoothed([points], rounds, [closed])[0]


def all_smoothed(lines: list[FloatArray], rounds: int, closed: list[bool]) -> list[FloatArray]:
    """Polylines smoothed as by `smoothed`; closed ones end where they start and stay so."""
    if not lines:
        return []
    flat, first, last = _end_to_end(lines)
    before, after = np.arange(-1, len(flat) - 1), np.arange(1, len(flat) + 1)
    ring = np.array(closed) & (last - first >= 2)
    open_ends = np.concatenate([first[~ring], last[~ring]])
    before[open_ends] = after[open_ends] = open_ends
    before[first[ring]], after[last[ring]] = last[ring] - 1, first[ring] + 1
    out = flat
    for _ in range(rounds):
        out = 0.25 * out.take(before, axis=0) + 0.5 * out + 0.25 * out.take(after, axis=0)
    out[open_ends] = flat[open_ends]
    return np.split(out, first[1:])


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
