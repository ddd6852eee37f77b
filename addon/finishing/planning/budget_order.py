"""A time budget as an order: cutter, feed and cusp height with which a side takes the minutes it may take.

The finest cusp height that meets the budget is looked for, at the cutter's own feed; where that is coarser than the one that was asked for,
the feed goes up first, as far as chip load and axes allow. What the run really takes is measured on the lines that are laid, and the cusp
height drawn after it (minutes go with one over its root), until the budget is met.
"""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from ..core.stage_runner import Progress, StageRunner
from ..core.stepping import between
from ..job.cutter import Cutter
from ..job.request import Request
from ..job.wood import greatest_feed, wood_named
from ..options.fit_table import RackRow
from ..options.trade_off import GREATEST_SHARE, OVERHEAD, cusp_at_share, cusp_for, minutes_at
from .budget import BUDGET_MET, BudgetMinutes, finest_cusp
from .settling import Chosen, with_start

AIM = 0.99
"""Share of the budget that is aimed at: half of the way between what still meets it and the whole of it."""

MOST_TRIES = 8
"""Times that the cusp height is drawn after the measured minutes. Two are usual; more stand for small bodies, on which minutes go in steps with
the number of lines, and turns and links count."""

SAME_CUSP = 1e-5
"""mm; cusp heights that differ by less are the same lines."""

FINEST = 0.005
"""mm; no finer cusp height is planned, whatever time there is: it is what the chord tolerance and a machine's own steps leave anyway."""


@dataclass(frozen=True)
class _Means:
    """What a side is planned with."""

    cutter: Cutter
    feed: float | None
    cusp: float


def with_budget(request: Request, runner: StageRunner[Request]) -> Generator[Progress, None, Chosen]:
    """The request with cutter, feed, cusp height and start that meet its budget; where nothing does, those that take the least time.

    Raises NothingToPlan.
    """
    wanted = replace(request, rack=request.rack if request.cutter is None else (request.cutter,), rack_table=True)
    answers: Any = yield from between(runner.ask(("fit_table", "minutes_for_finishing"), wanted), 0.0, 0.2)
    rows, minutes = answers["fit_table"], answers["minutes_for_finishing"]
    means = _first_means(request, tuple(row for row in rows if row.free) or rows, minutes)
    settled = replace(request, cutter=means.cutter, feed=means.feed, cusp=means.cusp)
    chosen: Chosen = yield from between(with_start(settled, runner), 0.2, 0.5)
    bracket = _Bracket(minutes.for_finishing)
    for number in range(MOST_TRIES):
        low, high = (0.5 + 0.5 * (number + part) / MOST_TRIES for part in (0, 1))
        measured: Any = yield from between(runner.ask(("run_time",), chosen.request), low, high)
        following = bracket.after(chosen.request, measured["run_time"].minutes, _coarsest(request, means.cutter.radius))
        if following is None:
            break
        chosen = replace(chosen, request=replace(chosen.request, cusp=following))
    return replace(chosen, request=replace(chosen.request, cusp=bracket.best))


class _Bracket:
    """The cusp heights that have been tried: the finest that met the budget and the coarsest that did not."""

    def __init__(self, minutes: float) -> None:
        self._minutes = minutes
        self._met: float | None = None
        self._missed: float | None = None

    @property
    def best(self) -> float:
        """The finest cusp height that met the budget, else the coarsest that was tried."""
        found = self._met if self._met is not None else self._missed
        assert found is not None
        return found

    def after(self, request: Request, measured: float, coarsest: float) -> float | None:
        """The cusp height to plan next after the minutes that were measured; None where the budget is met, or nothing more can be done."""
        assert request.cutter is not None
        if measured <= self._minutes:
            self._met = request.cusp if self._met is None else min(self._met, request.cusp)
        else:
            self._missed = request.cusp if self._missed is None else max(self._missed, request.cusp)
        if self._minutes <= 0 or (1 - BUDGET_MET) * self._minutes <= measured <= self._minutes:
            return None
        found = cusp_at_share(request.cusp, request.cutter.radius, AIM * self._minutes / measured)
        wanted = min(max(FINEST, coarsest if found is None else found), coarsest)
        if self._met is not None and self._missed is not None and not self._missed < wanted < self._met:
            wanted = float(np.sqrt(self._missed * self._met))
        return None if abs(wanted - request.cusp) < SAME_CUSP else wanted


def _first_means(request: Request, rows: tuple[RackRow, ...], minutes: BudgetMinutes) -> _Means:
    """What the fit table speaks for, before any line is laid."""
    fitting = tuple(row for row in rows if row.fits) or (min(rows, key=lambda row: (row.uncut_area, -row.cutter.diameter)),)
    target = AIM * minutes.for_finishing
    found = finest_cusp(tuple(replace(row, fits=True) for row in fitting), target) if target > 0 else None
    if found is not None and found[1] <= request.cusp:
        return _Means(found[0].cutter, request.feed, max(found[1], FINEST))
    # Coarser than asked for, or out of reach at this feed: first the fastest feed that chips and axes allow.
    faster = [(row, _greatest_feed(request, row.cutter)) for row in fitting]
    could = [(cusp_for(row, target / OVERHEAD * feed / _feed(request, row)), row, feed) for row, feed in faster]
    reached = [(cusp, row, feed) for cusp, row, feed in could if cusp is not None and cusp <= _coarsest(request, row.cutter.radius)]
    if reached:
        cusp, row, feed = min(reached, key=lambda item: item[0])
        if cusp > request.cusp:
            return _Means(row.cutter, feed, cusp)
        needed = OVERHEAD * float(minutes_at(row, request.cusp)) / target
        return _Means(row.cutter, min(feed, _feed(request, row) * needed), request.cusp)

    def least_minutes(item: tuple[RackRow, float]) -> float:
        row, feed = item
        return float(minutes_at(row, _coarsest(request, row.cutter.radius))) * _feed(request, row) / feed

    row, feed = min(faster, key=least_minutes)
    return _Means(row.cutter, feed, _coarsest(request, row.cutter.radius))


def _coarsest(request: Request, radius: float) -> float:
    """The coarsest cusp height that is planned, mm: what roughing has left, since beyond it passes leave that standing; and passes at all."""
    most = GREATEST_SHARE * radius * (1 - 1e-6)
    return min(request.roughing.allowance, most) if request.roughing.allowance > 0 else most


def _feed(request: Request, row: RackRow) -> float:
    return request.feed if request.feed is not None else row.cutter.feed


def _greatest_feed(request: Request, cutter: Cutter) -> float:
    """The fastest feed within chip load and axes, and no slower than the one that was asked for, mm/min."""
    machine, own = request.machine, request.feed if request.feed is not None else cutter.feed
    most = greatest_feed(wood_named(request.bite.wood), cutter.spindle_speed, cutter.flutes)
    return max(own, min(most, machine.speed_x, machine.speed_y))
