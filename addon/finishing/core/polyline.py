"""Polylines in plan: lengths, resampling and clipping."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from .array_types import FloatArray, Indices, Mask
from .ragged import run_places

NO_LENGTH = 1e-9
"""mm; differences along a line that are rounding."""
REPEATED = 1e-6
"""mm; a point no farther than this from the one before it adds nothing to a line."""
BISECTIONS = 6
"""Halvings of the step in which a line leaves allowed ground: its end is known to 1/64 of a step."""


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
    number = run_places(count + 1)
    points = at_distances(flat, along, np.repeat(along[first], count + 1) + number * np.repeat(length / count, count + 1))
    points[new_first], points[new_last] = flat[first], flat[last]
    return np.split(points, new_first[1:])


def _end_to_end(lines: list[FloatArray]) -> tuple[FloatArray, Indices, Indices]:
    """All points one after the other, and the numbers of every line's first and last one."""
    last = np.cumsum([len(line) for line in lines]) - 1
    return np.concatenate(lines), np.concatenate([[0], last[:-1] + 1]), last


def without_ends(points: FloatArray, at_start: float, at_end: float) -> FloatArray | None:
    """A polyline shortened by some mm at its ends; None when less than half of it would remain."""
    along = travelled(points)
    low, high = at_start, along[-1] - at_end
    if high - low < along[-1] / 2:
        return None
    inner = points[(along > low + NO_LENGTH) & (along < high - NO_LENGTH)]
    ends = at_distances(points, along, np.array([low, high]))
    return np.concatenate([ends[:1], inner, ends[1:]])


def smoothed(points: FloatArray, rounds: int, closed: bool = False) -> FloatArray:
    """A polyline whose staircase is smoothed by some rounds of 1-2-1 means; the ends of an open one are kept."""
    return all_smoothed([points], rounds, [closed])[0]


def all_smoothed(lines: list[FloatArray], rounds: int, closed: list[bool]) -> list[FloatArray]:
    """Polylines smoothed as by `smoothed`; closed ones end where they start, before and after."""
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


@dataclass(frozen=True)
class _Part:
    """The allowed part (n, 2 or 3) of the line of a number, and the points of that line just before and after it."""

    number: int
    points: FloatArray
    before: FloatArray
    after: FloatArray


def clipped(lines: list[FloatArray], allowed: Callable[[FloatArray], Mask], shortest: float) -> list[tuple[int, FloatArray]]:
    """The parts of polylines (n, 2 or 3) that lie on allowed ground, as (number of the line, part).

    The ends are found to 1/64 of a step between points. Parts shorter than `shortest` mm are dropped. A closed line that
    is allowed all round stays closed; otherwise it is opened where it is not allowed.
    """
    if not lines:
        return []
    inside = np.split(allowed(np.concatenate(lines)), np.cumsum([len(line) for line in lines])[:-1])
    whole = [(number, line) for number, line in enumerate(lines) if inside[number].all()]
    cut = [part for number, line in enumerate(lines) if not inside[number].all() for part in _allowed_parts(number, line, inside[number])]
    parts = sorted(whole + _ended(cut, allowed), key=lambda item: item[0])
    distinct = [(number, _without_repeats(points)) for number, points in parts]
    return [(number, points) for number, points in distinct if len(points) > 1 and travelled(points)[-1] >= shortest]


def _allowed_parts(number: int, line: FloatArray, inside: Mask) -> list[_Part]:
    """The parts of a line (n, 2 or 3) whose points lie on allowed ground; inside: (n,) whether they do, not all of them."""
    if not inside.any():
        return []
    if is_closed(line):
        turn = int(np.flatnonzero(~inside[:-1])[0])
        line = np.concatenate([line[turn:-1], line[:turn], line[turn : turn + 1]])
        inside = np.concatenate([inside[turn:-1], inside[:turn], inside[turn : turn + 1]])
    changes = np.concatenate([[-1], np.flatnonzero(np.diff(inside.astype(np.int8))), [len(line) - 1]])
    return [
        _Part(number, line[before + 1 : last + 1], line[max(before, 0)], line[min(last + 1, len(line) - 1)])
        for before, last in zip(changes[:-1], changes[1:], strict=True)
        if inside[last]
    ]


def _ended(parts: list[_Part], allowed: Callable[[FloatArray], Mask]) -> list[tuple[int, FloatArray]]:
    """Parts lengthened at both ends to where allowed ground ends, found by bisection."""
    if not parts:
        return []
    good = np.concatenate([np.stack([part.points[0], part.points[-1]]) for part in parts])
    bad = np.concatenate([np.stack([part.before, part.after]) for part in parts])
    for _ in range(BISECTIONS):
        middle = (good + bad) / 2
        ok = allowed(middle)[:, None]
        good, bad = np.where(ok, middle, good), np.where(ok, bad, middle)
    ends = good.reshape(-1, 2, good.shape[1])
    return [(part.number, np.concatenate([end[:1], part.points, end[1:]])) for part, end in zip(parts, ends, strict=True)]


def _without_repeats(points: FloatArray) -> FloatArray:
    """A polyline without the points that stand where the one before stands; a closed line stays closed."""
    moved = np.linalg.norm(np.diff(points, axis=0), axis=1) > REPEATED
    return points[np.concatenate([[True], moved])]
