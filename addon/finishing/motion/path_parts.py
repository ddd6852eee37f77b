"""Parts of a path that are run by themselves: from a line on, and pieces of at most so many minutes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from ..core.array_types import FloatArray
from ..core.errors import BadRequest
from ..core.path import CUT, ENTRY, EXIT, LIFT, LINK, Path
from .hops import PLUNGE_HEIGHT
from .leads import ramp_over

LATE_ENOUGH = 0.8
"""Share of the minutes after which a part ends at a lift of the whole path, where there is one: no entry and no mark is added there. Common
practice, no source."""


@dataclass(frozen=True)
class PartEnds:
    """How parts of a path come down and go up where the whole path goes along the surface.

    safe_z: of moves in the air, job mm. plunge_feed, air_feed: mm/min. ramp_angle: degrees between the surface and a ramp. standing: least tip
    heights (k,) at places (k, 2) at which the cutter meets nothing that may stand there, mm. ramp_feeds: feeds (k,) mm/min that the way down and
    the wood allow on moves (k, 2, 3) along ramps.
    """

    safe_z: float
    plunge_feed: float
    air_feed: float
    ramp_angle: float
    standing: Callable[[FloatArray], FloatArray]
    ramp_feeds: Callable[[FloatArray], FloatArray]


def lines_of_path(path: Path, first: int, last: int, ends: PartEnds) -> Path:
    """The motion along the lines from `first` to `last` alone, with the numbers that they have, from the safe height to the safe height.

    Where the whole path comes to the first line through the air, this part comes down as it does; where it comes along the surface, on a ramp over
    the line itself, which is cut after it; straight down only onto lines too short for one. It leaves its last line alike. Raises BadRequest when
    there is no such line.
    """
    if not 1 <= first <= last <= path.line_count:
        raise BadRequest("There is no pass line {line}: give one from 1 to {count}.", line=first, count=path.line_count)
    own = np.flatnonzero((path.line >= first) & (path.line <= last))
    cuts = own[path.kind[own] == CUT]
    begin, end = int(cuts[0]), int(cuts[-1])
    way_down = np.flatnonzero((path.line == first) & (path.kind == LIFT))
    way_down = way_down[way_down < begin]
    head, tail = _NO_ROWS, _NO_ROWS
    if len(way_down) and not (path.kind[way_down[-1] : begin] == LINK).any():
        begin = int(way_down[-1])
    else:
        head = _way_down(path, first, ends)
    way_up = own[(own > end) & (path.kind[own] == EXIT)]
    if len(way_up):
        end = int(way_up[-1])
    else:
        tail = _way_up(path, last, ends)
    return _joined((head, _rows_of(path, slice(begin, end + 1)), tail))


_NO_ROWS = Path(np.zeros((0, 3)), np.zeros(0, np.uint8), np.zeros(0, np.int32), np.zeros(0))
"""A path without rows."""


def _line(path: Path, number: int) -> FloatArray:
    """The points (n, 3) of a line."""
    points: FloatArray = path.points[(path.line == number) & (path.kind == CUT)]
    return points


def _way_down(path: Path, number: int, ends: PartEnds) -> Path:
    """From the safe height onto the beginning of a line: slow from 1 mm above what may still stand, then on a ramp over the line."""
    ramp = ramp_over(_line(path, number), ends.ramp_angle)
    place = ramp[0, :2]
    slow = max(float(ends.standing(ramp[:1, :2])[0]), float(ramp[0, 2])) + PLUNGE_HEIGHT
    through_air = [(ends.safe_z, LIFT), *([(slow, ENTRY)] if slow < ends.safe_z else [])]
    points = np.concatenate([[(*place, z) for z, _ in through_air], ramp])
    kinds = [kind for _, kind in through_air] + [ENTRY] * len(ramp)
    feeds = [ends.air_feed] * len(through_air) + [ends.plunge_feed, *_ramp_feeds(path, number, ramp, ends)]
    return _one_line(points, kinds, number, feeds)


def _way_up(path: Path, number: int, ends: PartEnds) -> Path:
    """From the end of a line to the safe height, on a ramp back over the line."""
    ramp = ramp_over(_line(path, number)[::-1], ends.ramp_angle)[::-1]
    points = np.concatenate([ramp[1:], [(*ramp[-1, :2], ends.safe_z)]])
    return _one_line(points, [EXIT] * len(points), number, [*_ramp_feeds(path, number, ramp, ends), ends.air_feed])


def _ramp_feeds(path: Path, number: int, ramp: FloatArray, ends: PartEnds) -> list[float]:
    """Feeds of the moves along a ramp (n, 3) over a line, no faster than that line anywhere: where its feed is lowered, so is that of the ramp."""
    feeds = ends.ramp_feeds(np.stack([ramp[:-1], ramp[1:]], axis=1))
    own = path.feed[np.flatnonzero((path.line == number) & (path.kind == CUT))[1:]]
    slowest: list[float] = np.minimum(feeds, own.min(initial=np.inf)).tolist()
    return slowest


def _one_line(points: FloatArray, kinds: Sequence[int], number: int, feeds: Sequence[float]) -> Path:
    """Rows that all carry one line's number."""
    return Path(np.asarray(points, float), np.array(kinds, np.uint8), np.full(len(points), number, np.int32), np.array(feeds, float))


def _rows_of(path: Path, rows: slice) -> Path:
    return Path(path.points[rows], path.kind[rows], path.line[rows], path.feed[rows])


def _joined(parts: Sequence[Path]) -> Path:
    """Paths one after the other."""
    return Path(
        np.concatenate([part.points for part in parts]),
        np.concatenate([part.kind for part in parts]),
        np.concatenate([part.line for part in parts]),
        np.concatenate([part.feed for part in parts]),
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
