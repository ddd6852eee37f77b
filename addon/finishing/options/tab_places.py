"""Where tabs go along a body's outline: evenly spread, on straight or gently curved stretches, at end grain last, off what is in their way."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from ..core.array_types import FloatArray, Indices, Mask
from ..job.tabs import MOST_TABS, Tab, TabSettings
from ..surface.body_rim import BodyRim

MOST_BOW = 1.0
"""mm that the outline may leave the straight line between a tab's corners, for its stretch to count as gently curved: what a straight saw cut
leaves there is gone with rasp and sanding. Common practice, no source. For a tab of 22 mm that is a radius of 60 mm (b^2 / 8 r)."""

END_GRAIN = 45.0
"""Degrees between the outline's normal and the grain below which the outline shows more ends of fibres than flanks."""

FEWEST = 3
"""Tabs; by two a body turns about the line through them."""

MOST_APART = 1.5
"""Of the even distance along the outline that two neighbours may be apart at most: common practice, no source."""

LEAST_APART = 2.0
"""Of a tab's width that two neighbours are apart at least, middle to middle."""

ROOM = 2.0
"""mm between a tab and what it keeps off: clamps, dowels, the stock's edge. Common practice, no source."""

LEVEL_STEP, LEVEL_ROUNDING = 0.1, 1e-6
"""mm between the levels that are weighed, and by which a rim may miss one."""

PLACES = 240
"""Places along the outline that are weighed: 5 mm apart on the body of an instrument."""

AT_END_GRAIN, SKIPPED, NARROW, CURVED, THIN = ((MOST_TABS + 1.0) ** power for power in range(1, 6))
"""What a tab on such ground costs, over what standing half the even distance off costs (1): one of them outweighs any number of all that are
smaller. First the rim must hold a tab, then be straight, then have stock behind the tab and nothing skipped beside it, and end grain comes last."""


@dataclass(frozen=True)
class InTheWay:
    """What tabs keep off, in the axes of the body as it lies. stock_low, stock_high: (2,) corners. boxes: (n, 2, 2) corners of boxes in plan.
    holes: (n, 3) x, y and radius.
    """

    stock_low: FloatArray
    stock_high: FloatArray
    boxes: FloatArray
    holes: FloatArray


@dataclass(frozen=True)
class Rated:
    """What is known of every point of a rim as a tab's place, all (n,). barred: something is in the way. curved, thin, skipped, narrow, end_grain: what
    speaks against it. bow: mm. outward: (n, 2) unit vectors. frame: mm of stock behind the tab's end, the least across it.
    """

    barred: Mask
    curved: Mask
    thin: Mask
    skipped: Mask
    narrow: Mask
    end_grain: Mask
    bow: FloatArray
    outward: FloatArray
    frame: FloatArray

    @property
    def cost(self) -> FloatArray:
        """What a tab there costs, (n,), infinite where something is in the way."""
        named = ((self.curved, CURVED), (self.thin, THIN), (self.skipped, SKIPPED), (self.narrow, NARROW), (self.end_grain, AT_END_GRAIN))
        total = np.sum([cost * where for where, cost in named], axis=0)
        return np.where(self.barred, np.inf, total)


@dataclass(frozen=True)
class TabWish:
    """What all tabs have in common. length: from outline to stock, mm. low, high: z of their faces. grain: degrees from X, None: not known."""

    settings: TabSettings
    length: float
    low: float
    high: float
    grain: float | None


def tab_level(rim: BodyRim, height: float) -> float:
    """z of the underside of tabs at which the longest part of a rim holds all of their height, in its middle; to a tenth of a mm.

    Where the rim is thinner than that everywhere, the level of its own middle.
    """
    stands = rim.high > rim.low
    holds = rim.high - height >= rim.low
    if not holds.any():
        middle = np.median((rim.low[stands] + rim.high[stands]) / 2) if stands.any() else (rim.body_low[2] + rim.body_high[2]) / 2
        return round(float(middle) - height / 2, 1)
    low, high = np.sort(rim.low[holds]), np.sort(rim.high[holds] - height)
    levels = np.linspace(low[0], high[-1], max(2, round((high[-1] - low[0]) / LEVEL_STEP) + 1))
    held = np.searchsorted(low, levels + LEVEL_ROUNDING, "right") - np.searchsorted(high, levels - LEVEL_ROUNDING, "left")
    best = np.flatnonzero(held == held.max())
    return round(float(levels[best].mean()), 1)


def rated(rim: BodyRim, wish: TabWish, around: InTheWay) -> Rated:
    """Look at every point of a rim as the middle of a tab."""
    reach, before, outward = chords(rim.points, wish.settings.width)
    bow, thin, skipped = np.zeros(len(rim.points)), np.zeros(len(rim.points), bool), np.zeros(len(rim.points), bool)
    holds = (rim.low <= wish.low + 1e-6) & (rim.high >= wish.high - 1e-6)
    for shift in range(-reach, reach + 1):
        bow = np.maximum(bow, np.abs(((np.roll(rim.points, -shift, axis=0) - before) * outward).sum(axis=1)))
        thin |= ~np.roll(holds, -shift)
        skipped |= np.roll(rim.skipped, -shift)
    frame, barred = _surroundings(rim.points, outward, wish, around)
    end_grain = np.zeros(len(rim.points), bool)
    if wish.grain is not None:
        turned = (np.degrees(np.arctan2(outward[:, 1], outward[:, 0])) - wish.grain) % 180.0
        end_grain = np.minimum(turned, 180.0 - turned) < END_GRAIN
    return Rated(
        barred=barred,
        curved=bow > MOST_BOW,
        thin=thin,
        skipped=skipped,
        narrow=frame < wish.settings.height,
        end_grain=end_grain,
        bow=bow,
        outward=outward,
        frame=frame,
    )


def chords(points: FloatArray, width: float) -> tuple[int, FloatArray, FloatArray]:
    """The chords of a tab's width round the points (n, 2) of an outline at equal steps: how many steps they reach to each side, where they begin
    (n, 2), and the unit vectors (n, 2) out of the body square to them.
    """
    step = float(np.linalg.norm(np.roll(points, -1, axis=0) - points, axis=1).mean())
    reach = max(1, min(round(width / 2 / step), len(points) // 2 - 1))
    before, after = np.roll(points, reach, axis=0), np.roll(points, -reach, axis=0)
    along = after - before
    along = along / np.maximum(np.linalg.norm(along, axis=1), LEVEL_ROUNDING)[:, None]
    return reach, before, np.column_stack([along[:, 1], -along[:, 0]])


def _surroundings(points: FloatArray, outward: FloatArray, wish: TabWish, around: InTheWay) -> tuple[FloatArray, Mask]:
    """Stock behind the ends of tabs, mm, and where something is in the way, (n,) each."""
    half = wish.settings.width / 2
    across = np.column_stack([-outward[:, 1], outward[:, 0]])
    ends = points + wish.length * outward
    frame = np.full(len(points), np.inf)
    for share in (-1.0, 0.0, 1.0):
        corner = ends + share * half * across
        # As far as the stock goes on the way from the tab's end.
        with np.errstate(divide="ignore", invalid="ignore"):
            to_edge = np.where(outward > 0, (around.stock_high - corner) / outward, (around.stock_low - corner) / outward)
        to_edge = np.where(np.abs(outward) > 1e-9, to_edge, np.inf)
        frame = np.minimum(frame, to_edge.min(axis=1))
        outside = (corner < around.stock_low) | (corner > around.stock_high)
        frame = np.where(outside.any(axis=1), -1.0, frame)
    barred = frame < 0
    for share in np.linspace(0.0, 1.0, 5):
        at = points + share * wish.length * outward
        for low, high in around.boxes:
            apart = np.maximum(np.maximum(low - at, at - high), 0.0)
            barred |= np.hypot(apart[:, 0], apart[:, 1]) < half + ROOM
        for x, y, radius in around.holes:
            barred |= np.hypot(at[:, 0] - x, at[:, 1] - y) < radius + half + ROOM
    return frame, barred


def spread(cost: FloatArray, count: int, least: float) -> Indices | None:
    """Numbers of `count` of n places round a ring, evenly spread: the least sum of their costs (n,) and of what distances off the even one cost, the
    square of twice the share that each is off. None where no such are within MOST_APART of the even distance and `least` places apart.

    Exact, by dynamic programming round the ring: one tab must stand among the first places that a widest gap holds, and each of them is tried.
    """
    total, even = len(cost), len(cost) / count
    widest = min(int(MOST_APART * even), total)
    if widest < 1:
        return None
    steps = np.arange(1, widest + 1)
    gaps = np.where(steps >= least, (2 * (steps / even - 1)) ** 2, np.inf)
    best, found = np.inf, None
    for start in np.flatnonzero(np.isfinite(cost[:widest])).tolist():
        sums = np.full(total, np.inf)
        sums[start] = cost[start]
        trail = []
        for _ in range(count - 1):
            before = sliding_window_view(np.concatenate([np.full(widest, np.inf), sums]), widest)[:total] + gaps[::-1]
            nearest = before.argmin(axis=1)
            trail.append(np.arange(total) - widest + nearest)
            sums = before[np.arange(total), nearest] + cost
        back = total + start - np.arange(total)
        whole = sums + np.where(back <= widest, gaps[np.clip(back, 1, widest) - 1], np.inf)
        last = int(whole.argmin())
        if whole[last] < best:
            best, chosen = float(whole[last]), [last]
            for came_from in reversed(trail):
                chosen.append(int(came_from[chosen[-1]]))
            found = np.array(chosen[::-1], np.intp)
    return found


def placed(rim: BodyRim, found: Rated, wish: TabWish, count: int) -> tuple[Tab, ...]:
    """So many tabs spread round the rim, fewer where there is no room for them; none where there is none for any."""
    every = max(1, -(-len(rim.points) // PLACES))
    chosen = np.arange(0, len(rim.points), every)
    cost = found.cost[chosen]
    for number in range(count, 0, -1):
        for least in (LEAST_APART * wish.settings.width, wish.settings.width):
            at = spread(cost, number, least / (rim.step * every))
            if at is not None:
                return tabs_at(rim, found, wish, chosen[at])
    return ()


def at_places(rim: BodyRim, found: Rated, wish: TabWish, places: Sequence[tuple[float, float]]) -> tuple[Tab, ...]:
    """Tabs at the points of the rim that lie nearest to some places, one at each, in the order of the places."""
    nearest = [int(np.linalg.norm(rim.points - np.array(place), axis=1).argmin()) for place in places]
    return tabs_at(rim, found, wish, np.array(list(dict.fromkeys(nearest)), np.intp))


def tabs_at(rim: BodyRim, found: Rated, wish: TabWish, at: Indices) -> tuple[Tab, ...]:
    """Tabs at some points of the rim, numbered in their order."""
    return tuple(
        Tab(
            number=number,
            place=(float(rim.points[k, 0]), float(rim.points[k, 1])),
            way=(float(found.outward[k, 0]), float(found.outward[k, 1])),
            width=wish.settings.width,
            length=wish.length,
            low=wish.low,
            high=wish.high,
        )
        for number, k in enumerate(at.tolist(), start=1)
    )


def greatest_gap(rim: BodyRim, at: Indices) -> float:
    """The longest way along the outline between two neighbours of some points of the rim, as a share of the outline."""
    ordered = np.sort(at)
    after = np.append(ordered[1:], ordered[0] + len(rim.points))
    return float((after - ordered).max()) / len(rim.points)
