"""The cutter that is not on the rack and would save most minutes: what the rack's cutters take, drawn on between their diameters."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..job.cutter import Cutter
from .cutter_sets import WORTH_A_CUTTER, SetCosts, SetTable, Weighing
from .fit_table import RackRow
from .reach import Reach

COMMON_DIAMETERS = (3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 14.0, 16.0, 18.0, 20.0, 22.0, 25.0, 28.0, 30.0, 32.0, 38.0, 40.0)
"""mm; diameters in which round-nose cutters are sold: common practice, no source."""

GREATEST_STEP = 1.5
"""Diameter over the next smaller one on the rack up to which minutes are drawn on between them: by a test within 10 %."""

SAME_DIAMETER = 0.2
"""mm; a cutter this near to a common diameter stands for it."""


@dataclass(frozen=True)
class MissingCutter:
    """A cutter that is not on the rack. minutes: of the set that it begins; saved: of those of the best set without it.

    followed_by: diameter in mm of the rack's cutter that takes what it leaves, None where it leaves no more than may be left.
    """

    diameter: float
    minutes: float
    saved: float
    followed_by: float | None


def missing_cutter(reaches: Sequence[Reach], rows: Sequence[RackRow], costs: SetCosts, table: SetTable, largest_radius: float) -> MissingCutter | None:
    """The common diameter between those of the rack that saves most minutes; None where none saves what a cutter must.

    Minutes go nearly with a power of the diameter, so they are drawn on between the two neighbours on the rack. largest_radius: of the ball that
    fits the planned ground, mm. Runs are taken to be off as the untried ones of the table are.
    """
    free = [k for k, row in enumerate(rows) if row.free]
    weighing = Weighing(reaches, rows, costs)
    found = [
        made
        for below, above in zip(free[:-1], free[1:], strict=True)
        if rows[above].cutter.diameter <= GREATEST_STEP * rows[below].cutter.diameter
        for diameter in COMMON_DIAMETERS
        if rows[below].cutter.diameter + SAME_DIAMETER < diameter < rows[above].cutter.diameter - SAME_DIAMETER
        for made in _beginning_with(diameter, (below, above), weighing, rows, largest_radius, table)
    ]
    best = max(found, key=lambda made: made.saved, default=None)
    return best if best is not None and best.saved > WORTH_A_CUTTER * table.best.minutes else None


def _beginning_with(
    diameter: float, between: tuple[int, int], weighing: Weighing, rows: Sequence[RackRow], largest_radius: float, table: SetTable
) -> list[MissingCutter]:
    """The sets that a cutter of this diameter would begin: alone where it fits, and with every smaller one of the rack that leaves little enough."""
    alone = _drawn_on(diameter, between, [weighing.run(k, None) for k in between], rows)
    if alone is None:
        return []
    best, own = table.best.minutes, Cutter("", diameter)
    first = table.pace * alone + weighing.change_minutes((own,))
    found = [MissingCutter(diameter, first, best - first, None)] if diameter / 2 <= largest_radius else []
    for k in range(between[0]):
        if rows[k].free and rows[k].uncut_area <= table.most_left:
            after = _drawn_on(diameter, between, [weighing.run(k, larger) for larger in between], rows)
            if after is not None:
                minutes = table.pace * (alone + after) + weighing.change_minutes((own, rows[k].cutter))
                found.append(MissingCutter(diameter, minutes, best - minutes, rows[k].cutter.diameter))
    return found


def _drawn_on(diameter: float, between: tuple[int, int], minutes: Sequence[float | None], rows: Sequence[RackRow]) -> float | None:
    """Minutes at a diameter from those of its two neighbours, along a power of the diameter; None where one of them has none."""
    low, high = minutes
    if not low or not high:
        return None
    ends = np.log([rows[k].cutter.diameter for k in between])
    return float(np.exp(np.interp(np.log(diameter), ends, np.log([low, high]))))
