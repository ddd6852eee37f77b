"""What a set of cutters takes as its orders grow less fine: rungs from the finest cusp height to the coarsest at the fastest feed.

Up to a cusp height that sands away easily only the cusp height gives way; then the feed rises, as far as chip load and axes allow; then the cusp
height gives way again, up to what roughing has left. Minutes fall all the way, so that a time budget has one place on the ladder of each set.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from ..job.cutter import Cutter
from ..job.roughing import RoughingSettings
from .cutter_sets import FOLLOWING_CUSP, WORTH_A_CUTTER
from .trade_off import GREATEST_SHARE, cusp_load

FINEST = 0.005
"""mm; no finer cusp height is planned, whatever time there is: it is what the chord tolerance and a machine's own steps leave anyway."""

FINE_ENOUGH = 0.05
"""mm; up to this cusp height cutters run at their own feeds: it sands away with the grit that a body is sanded with anyway."""

SLOWER = 0.25
"""Share by which a feed may be lowered to take the last few hundredths of a budget, where minutes go in steps with the number of lines."""

TOP = 3.0
"""Where a ladder ends: its three parts are one long each."""

HALVINGS = 50
"""Bisections that find a place on a ladder: more than a double can tell."""


@dataclass(frozen=True)
class Rung:
    """One place on a ladder. cusp: mm, of the first cutter. haste: 0 for the cutters' own feeds, 1 for the fastest; below 0 a little slower."""

    cusp: float
    haste: float


@dataclass(frozen=True)
class Ladder:
    """One set of cutters, the largest first. own_feeds, greatest_feeds: mm/min. own_minutes, hurried_minutes: of each cutter at those feeds and
    the cusp height FINE_ENOUGH. change_minutes: of all its tool changes. coarsest: cusp height in mm. enough: whether it may leave what it leaves.
    """

    cutters: tuple[Cutter, ...]
    own_feeds: tuple[float, ...]
    greatest_feeds: tuple[float, ...]
    own_minutes: tuple[float, ...]
    hurried_minutes: tuple[float, ...]
    change_minutes: float
    coarsest: float
    enough: bool = True

    def rung(self, place: float) -> Rung:
        """The rung at a place between 0 and TOP."""
        fine = min(FINE_ENOUGH, self.coarsest)
        if place <= 1:
            return Rung(float(FINEST * (fine / FINEST) ** max(place, 0.0)), 0.0)
        if place <= 2:
            return Rung(fine, place - 1)
        return Rung(float(fine * (self.coarsest / fine) ** (min(place, TOP) - 2)), 1.0)

    def feeds(self, rung: Rung) -> tuple[float, ...]:
        """Feeds of the cutters, mm/min, whole ones."""
        pairs = zip(self.own_feeds, self.greatest_feeds, strict=True)
        return tuple(
            float(round(own + (greatest - own) * rung.haste if rung.haste >= 0 else own * (1 + SLOWER * rung.haste))) for own, greatest in pairs
        )

    def minutes(self, rung: Rung) -> float:
        """Minutes to expect of the set with its tool changes."""
        total = self.change_minutes
        for k, (cutter, own, hurried) in enumerate(zip(self.cutters, self.own_minutes, self.hurried_minutes, strict=True)):
            cusp = rung.cusp if k == 0 else min(rung.cusp, FOLLOWING_CUSP * cutter.radius)
            table = min(FINE_ENOUGH, GREATEST_SHARE * cutter.radius)
            share = float(np.sqrt(cusp_load(table, cutter.radius) / cusp_load(cusp, cutter.radius)))
            if rung.haste < 0:
                total += share * own / (1 + SLOWER * rung.haste)
            elif own > 0:
                total += share / ((1 - rung.haste) / own + rung.haste / hurried)
        return total

    def place_for(self, minutes: float) -> float:
        """The least place whose rung takes no more than these minutes; TOP where none does."""
        low, high = 0.0, TOP
        if self.minutes(self.rung(low)) <= minutes:
            return low
        for _ in range(HALVINGS):
            middle = (low + high) / 2
            low, high = (low, middle) if self.minutes(self.rung(middle)) <= minutes else (middle, high)
        return high

    @property
    def least(self) -> float:
        """The least minutes to expect."""
        return self.minutes(self.rung(TOP))


@dataclass(frozen=True)
class Advice:
    """What a time budget speaks for. feeds: mm/min of each cutter. minutes: of all with tool changes. is_planned: measured on the plan, else
    expected. is_met: whether it takes no more than there is; else it is the least that is possible.
    """

    cutters: tuple[Cutter, ...]
    feeds: tuple[float, ...]
    cusp: float
    minutes: float
    is_planned: bool
    is_met: bool


def coarsest_cusp(cutter: Cutter, roughing: RoughingSettings) -> float:
    """The coarsest cusp height that is planned, mm: what roughing has left, since beyond it passes leave that standing; and passes at all."""
    most = GREATEST_SHARE * cutter.radius * (1 - 1e-6)
    return min(roughing.allowance, most) if roughing.allowance > 0 else most


def finest_first(ladders: Iterable[Ladder], minutes: float) -> tuple[Ladder, ...]:
    """Sets that may leave what they leave, those first that stay lowest on their ladders within these minutes; then those that take the least.

    Every further cutter must save its share, as in the table of sets.
    """

    def rank(ladder: Ladder) -> tuple[float, float, int]:
        weight = 1 + WORTH_A_CUTTER * (len(ladder.cutters) - 1)
        place = ladder.place_for(minutes / weight)
        return place, ladder.minutes(ladder.rung(place)) * weight, len(ladder.cutters)

    return tuple(sorted((ladder for ladder in ladders if ladder.enough), key=rank))


def expected_advice(ladders: Sequence[Ladder], minutes: float) -> Advice | None:
    """What these minutes speak for, before a line is laid; None where there is no set, or no time."""
    if not ladders or minutes <= 0:
        return None
    ladder = finest_first(ladders, minutes)[0]
    rung = ladder.rung(ladder.place_for(minutes))
    taken = ladder.minutes(rung)
    return Advice(ladder.cutters, ladder.feeds(rung), rung.cusp, taken, is_planned=False, is_met=taken <= minutes)
