"""Parts of a path that are run by themselves: from a line on, and pieces of at most so many minutes."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from ..core.array_types import FloatArray
from ..core.errors import BadRequest
from ..core.path import CUT, ENTRY, EXIT, LIFT, LINK, Path

LATE_ENOUGH = 0.8
"""Share of the minutes after which a part ends at a lift of the whole path, where there is one: no entry and no mark is added there. Common
practice, no source."""


def lines_of_path(path: Path, first: int, last: int, safe_z: float, plunge_feed: float, air_feed: float) -> Path:
    """The motion along the lines from `first` to `last` alone, with the numbers that they have, from the safe height to the safe height.

    Where the whole path comes to the first line through the air, this part comes down as it does; where it comes along the surface, straight
    down onto the line's beginning at plunge feed. Raises BadRequest when there is no such line.
    """
    if not 1 <= first <= last <= path.line_count:
        raise BadRequest("There is no pass line {line}: give one from 1 to {count}.", line=first, count=path.line_count)
    own = np.flatnonzero((path.line >= first) & (path.line <= last))
    cuts = own[path.kind[own] == CUT]
    begin, end = int(cuts[0]), int(cuts[-1])
    way_down = np.flatnonzero((path.line == first) & (path.kind == LIFT))
    way_down = way_down[way_down < begin]
    if len(way_down) and not (path.kind[way_down[-1] : begin] == LINK).any():
        begin = int(way_down[-1])
        head: FloatArray = np.zeros((0, 3))
    else:
        head = _above(path.points[begin], safe_z)
    way_up = own[(own > end) & (path.kind[own] == EXIT)]
    if len(way_up):
        end = int(way_up[-1])
        tail: FloatArray = np.zeros((0, 3))
    else:
        tail = _above(path.points[end], safe_z)
    return _joined(path, slice(begin, end + 1), (head, tail), plunge_feed, air_feed)


def _above(point: FloatArray, safe_z: float) -> FloatArray:
    """The place at the safe height over a point, (1, 3)."""
    return np.array([[point[0], point[1], safe_z]])


def _joined(path: Path, rows: slice, ends: tuple[FloatArray, FloatArray], plunge_feed: float, air_feed: float) -> Path:
    """Rows of a path between a place that they are come down from and one that they are left to, either of which may be missing."""
    head, tail = ends
    first, last = int(path.line[rows.start]), int(path.line[rows.stop - 1])
    down = path.points[rows.start : rows.start + 1] if len(head) else head
    return Path(
        np.concatenate([head, down, path.points[rows], tail]),
        np.concatenate([[LIFT] * len(head), [ENTRY] * len(down), path.kind[rows], [EXIT] * len(tail)]).astype(np.uint8),
        np.concatenate([[first] * (len(head) + len(down)), path.line[rows], [last] * len(tail)]).astype(np.int32),
        np.concatenate([[air_feed] * len(head), [plunge_feed] * len(down), path.feed[rows], [air_feed] * len(tail)]).astype(float),
    )


def split_at(path: Path, at: FloatArray, seconds: float, seconds_of: Callable[[int, int], float]) -> list[tuple[int, int]]:
    """First and last line of each part, so that no part takes longer than `seconds`; a line that takes longer alone is a part of its own.

    at: (n,) seconds when each row of the whole path is reached. seconds_of: run time of a part by its first and last line, with its own way
    down and up. Parts end at lifts of the whole path where these come late enough.
    """
    count = path.line_count
    starts = np.searchsorted(path.line, np.arange(1, count + 2))
    begun = np.append(at, at[-1:])[starts] if len(at) else np.zeros(count + 1)
    through_air = np.zeros(count + 2, bool)
    through_air[path.line[path.kind == LIFT]] = True
    parts: list[tuple[int, int]] = []
    first = 1
    while first <= count:
        # As far as the whole path's times allow, then back until the part with its own ends keeps to it.
        last = max(first, int(np.searchsorted(begun, begun[first - 1] + seconds, side="right")) - 1)
        last = min(last, count)
        while last > first and seconds_of(first, last) > seconds:
            last -= 1
        if last < count:
            ends = [line for line in range(first, last + 1) if through_air[line + 1] and begun[line] - begun[first - 1] >= LATE_ENOUGH * seconds]
            last = ends[-1] if ends else last
        parts.append((first, last))
        first = last + 1
    return parts
