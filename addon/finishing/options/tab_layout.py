"""The tabs of a body: at which height, where along its outline, and as many as hold. The same for both sides and every cutter."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..core.array_types import FloatArray, Mask
from ..job.stock import SIDES
from ..job.tabs import Tab, TabSettings
from ..job.wood_strength import WoodStrength
from ..surface.body_rim import BodyRim, RimMap, body_rim
from ..tooling.tab_ground import inward_reach
from ..tooling.tab_strength import Borne, HeldBody, borne_by, weight_of
from .tab_places import FEWEST, InTheWay, Rated, TabWish, at_places, chords, greatest_gap, placed, rated, tab_level

MOST_TRIED = 12
"""Tabs up to which more are tried for as long as they do not hold."""


@dataclass(frozen=True)
class TabRoom:
    """What the job leaves for tabs, in the axes of the body as it lies. low, high: z of the stock's faces. length: from the outline to the stock, mm.
    grain: degrees from X, None where it is not known.
    """

    around: InTheWay
    low: float
    high: float
    length: float
    grain: float | None


@dataclass(frozen=True)
class TabLayout:
    """All tabs in the axes of the body as it lies. wanted: how many were asked for, None for as many as hold. numbers of tabs: that stand where the
    outline is bent, the rim thinner than they are high, surface skipped beside them, the stock behind them narrow, something in their way, or at
    end grain. gap: the longest way between two neighbours, as a share of the outline. inward: mm by which each reaches over lower surface of the
    body, for each of SIDES looking up. hung: the body. grain: degrees from X, None where it is not known.
    """

    tabs: tuple[Tab, ...]
    wanted: int | None
    curved: tuple[int, ...]
    thin: tuple[int, ...]
    skipped: tuple[int, ...]
    narrow: tuple[int, ...]
    barred: tuple[int, ...]
    end_grain: tuple[int, ...]
    gap: float
    inward: tuple[tuple[float, ...], ...]
    hung: HeldBody
    grain: float | None

    def standing_at(self, places: Sequence[tuple[float, float]]) -> tuple[Tab, ...]:
        """The tabs as they would stand at some places (x, y), taken to the outline, one for each: what is shown before it is planned."""
        points = self.hung.rim
        outward = chords(points, self.tabs[0].width)[2] if self.tabs else points
        found = []
        for number, place in enumerate(places if self.tabs else (), start=1):
            at = int(np.linalg.norm(points - np.array(place), axis=1).argmin())
            spot, way = points[at].tolist(), outward[at].tolist()
            found.append(replace(self.tabs[0], number=number, place=(spot[0], spot[1]), way=(way[0], way[1])))
        return tuple(found)

    def borne(self, force: float, strength: WoodStrength) -> tuple[Borne, ...]:
        """What each tab bears at a force of the cutter in N."""
        return borne_by(self.tabs, self.hung, force, strength, self.grain)


def laid_out(triangles: FloatArray, skip: Mask, settings: TabSettings, room: TabRoom, force: float, strength: WoodStrength) -> TabLayout | None:
    """The tabs of a body, triangles (n, 3, 3) as it lies; None for a body without an outline. skip: (n,) faces that are left out. force: N of the
    cutter that they are to hold.
    """
    found_rim = body_rim(triangles, skip)
    if found_rim is None:
        return None
    rim, maps = found_rim
    wish = _wish(rim, settings, room)
    found, hung = rated(rim, wish, room.around), _hung(triangles, rim, wish, strength)
    if settings.places:
        tabs = at_places(rim, found, wish, settings.places)
    elif settings.count is not None:
        tabs = placed(rim, found, wish, settings.count)
    else:
        tabs = _as_many_as_hold(rim, found, wish, hung, force, strength)
    at = np.array([int(np.linalg.norm(rim.points - np.array(tab.place), axis=1).argmin()) for tab in tabs], np.intp)

    def which(marks: Mask) -> tuple[int, ...]:
        return tuple(tab.number for tab, k in zip(tabs, at.tolist(), strict=True) if marks[k])

    return TabLayout(
        tabs=tabs,
        wanted=settings.count,
        curved=which(found.curved),
        thin=which(found.thin),
        skipped=which(found.skipped),
        narrow=which(found.narrow & ~found.barred),
        barred=which(found.barred),
        end_grain=which(found.end_grain),
        gap=greatest_gap(rim, at) if len(at) else 1.0,
        inward=tuple(tuple(_inward(tab, maps, side) for tab in tabs) for side in SIDES),
        hung=hung,
        grain=room.grain,
    )


def _wish(rim: BodyRim, settings: TabSettings, room: TabRoom) -> TabWish:
    low = tab_level(rim, settings.height) if settings.height_in_stock is None else room.low + settings.height_in_stock
    low = max(room.low, min(low, room.high - settings.height))
    return TabWish(settings=settings, length=room.length, low=low, high=low + settings.height, grain=room.grain)


def _hung(triangles: FloatArray, rim: BodyRim, wish: TabWish, strength: WoodStrength) -> HeldBody:
    """The body as it hangs by its tabs."""
    weight, middle = weight_of(triangles, strength)
    level = (wish.low + wish.high) / 2
    highest = max(float(rim.body_high[2]) - level, level - float(rim.body_low[2]))
    return HeldBody(rim=rim.points, level=level, highest=highest, middle=middle, weight=weight)


def _as_many_as_hold(rim: BodyRim, found: Rated, wish: TabWish, hung: HeldBody, force: float, strength: WoodStrength) -> tuple[Tab, ...]:
    """The fewest tabs that hold; where none do, those that come nearest."""
    best: tuple[Tab, ...] = ()
    best_times = -1.0
    for count in range(FEWEST, MOST_TRIED + 1):
        tabs = placed(rim, found, wish, count)
        borne = borne_by(tabs, hung, force, strength, wish.grain)
        times = min((one.times for one in borne), default=0.0)
        if times > best_times:
            best, best_times = tabs, times
        if len(tabs) < count or all(one.holds for one in borne):
            break
    return best


def _inward(tab: Tab, maps: RimMap, side: str) -> float:
    """How far a tab reaches over lower surface of the body on a side."""
    if side == "top":
        return inward_reach(tab, maps.grid, maps.top)
    turned = Tab(number=tab.number, place=tab.place, way=tab.way, width=tab.width, length=tab.length, low=-tab.high, high=-tab.low)
    return inward_reach(turned, maps.grid, maps.under)
