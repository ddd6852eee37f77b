"""Minutes against cusp height for every cutter on the rack, from the least length alone: no line is laid."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..core.cusp_formulas import spacing_on_flat
from .fit_table import RackRow
from .sanding import Sanding, sanding_after

OVERHEAD = 1.1
"""Run time over least length at the feed, as long as no plan has measured it: what the examples give on the default machine, 1.07 to 1.12
(the bench prints it)."""

GREATEST_SHARE = 0.5
"""Share of the radius up to which a cusp height is offered: beyond it passes lie 1.7 radii apart and each cuts a groove of its own."""


@dataclass(frozen=True)
class TradeOffRow:
    """One cutter at one cusp height. minutes: run time to expect. spacing: mm on flat ground."""

    row: RackRow
    cusp: float
    minutes: float
    spacing: float
    sanding: Sanding


def minutes_at(row: RackRow, cusps: ArrayLike) -> NDArray[np.float64]:
    """Least minutes of one cutter of the rack at other cusp heights in mm.

    The least possible length goes with 1/sqrt(8 h (1 - h/(2R))) (the cusp metric's only factor that holds h), and the time
    goes with the length.
    """
    return row.minutes * np.sqrt(cusp_load(row.cusp, row.cutter.radius) / cusp_load(cusps, row.cutter.radius))


def expected_minutes(row: RackRow, cusp: float, feed: float, overhead: float = OVERHEAD) -> float:
    """Run time in minutes to expect of one cutter at another cusp height in mm and another feed in mm/min.

    overhead: run time over least length at the feed, as a plan has measured it. Takes microseconds: a dial may ask at every move.
    """
    return overhead * slower_at(row, feed) * float(minutes_at(row, min(cusp, GREATEST_SHARE * row.cutter.radius)))


def slower_at(row: RackRow, feed: float | None) -> float:
    """How many times longer a cutter takes at a feed in mm/min than at the one that its row was made with; None for that one."""
    return 1.0 if feed is None or row.minutes <= 0 else row.least_length / feed / row.minutes


def cusp_at_share(cusp: float, radius: float, share: float) -> float | None:
    """The cusp height in mm that takes a share of the time that `cusp` takes, with a ball of this radius; None when none does."""
    load = float(cusp_load(cusp, radius)) / share**2
    if 2 * load >= radius:
        return None
    other = float(radius * (1 - np.sqrt(1 - 2 * load / radius)))
    return other if other <= GREATEST_SHARE * radius else None


def cusp_load(cusp: ArrayLike, radius: float) -> NDArray[np.float64]:
    """h (1 - h/(2R)) for cusp heights h in mm: the square of the least length is proportional to its inverse."""
    height = np.asarray(cusp, float)
    return height * (1 - height / (2 * radius))


def trade_off(rack: Sequence[RackRow], cusp: float, area: float, overhead: float = OVERHEAD) -> tuple[TradeOffRow, ...]:
    """Every cutter of the rack at one cusp height over a planned ground of an area in mm2.

    overhead: run time over least length at the feed. Takes microseconds: a dial may call it at every move.
    """
    rows = []
    for row in rack:
        radius = row.cutter.radius
        height = min(cusp, GREATEST_SHARE * radius)
        minutes = overhead * float(minutes_at(row, height))
        spacing = float(spacing_on_flat(radius, height))
        rows.append(TradeOffRow(row, cusp=height, minutes=minutes, spacing=spacing, sanding=sanding_after(height, area)))
    return tuple(rows)
