"""Which way round closed lines are run in a given order, where lines may be run in either direction.

A ring is left where it is entered, so its direction changes no move of the order, only how the cutter comes into it and out of it. Between rings side
by side it turns back in a half circle where the next one is run the other way round, and has to swing out and in again, slower by half, where it is
run the same way round. So directions are chosen by what the cosines between leaving one line and entering the next add up to, the least of all sums:
from line to line the better of the ways to either direction is kept (dynamic programming; a path has two states).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ..core.array_types import FloatArray, Mask
from ..core.polyline import is_closed
from .links import heading
from .visit import Visit

AS_LAID = 1e-3
"""What the first ring costs when it is run against the direction that it was laid in: nothing else tells a row of rings from the same row with every
one of them reversed."""


def with_ring_directions(lines: list[FloatArray], visits: list[Visit], may_reverse: Mask) -> list[Visit]:
    """The visits with closed lines, of lines (n, 2 or 3), run in the directions that make smooth ways between them; open lines keep theirs.

    may_reverse: (n,), which lines may run backwards.
    """
    turnable = [bool(may_reverse[visit.line]) and is_closed(lines[visit.line]) for visit in visits]
    if not any(turnable):
        return visits
    options = [(False, True) if ring else (visit.reverse,) for visit, ring in zip(visits, turnable, strict=True)]
    first = turnable.index(True)
    costs = [AS_LAID * reverse if first == 0 else 0.0 for reverse in options[0]]
    chosen: list[list[int]] = []
    for number in range(1, len(visits)):
        before, here = visits[number - 1], visits[number]
        leaving = [_headings(lines[before.line], replace(before, reverse=reverse))[1] for reverse in options[number - 1]]
        entering = [_headings(lines[here.line], replace(here, reverse=reverse))[0] for reverse in options[number]]
        sums = [[cost + float(out @ into) for cost, out in zip(costs, leaving, strict=True)] for into in entering]
        chosen.append([int(np.argmin(row)) for row in sums])
        costs = [min(row) + (AS_LAID * reverse if number == first else 0.0) for row, reverse in zip(sums, options[number], strict=True)]
    best = int(np.argmin(costs))
    out = [replace(visits[-1], reverse=options[-1][best])]
    for number in range(len(visits) - 2, -1, -1):
        best = chosen[number][best]
        out.append(replace(visits[number], reverse=options[number][best]))
    return out[::-1]


def _headings(line: FloatArray, visit: Visit) -> tuple[FloatArray, FloatArray]:
    """Unit vectors (2,) in plan in which a visit enters a line (n, 2 or 3) and leaves it."""
    if is_closed(line):
        after, before = line[visit.entry + 1] - line[visit.entry], line[visit.entry] - line[visit.entry - 1 if visit.entry else -2]
    else:
        after, before = line[1] - line[0], line[-1] - line[-2]
    return (heading(-before), heading(-after)) if visit.reverse else (heading(after), heading(before))
