"""From pass lines to the whole path: running order, links on the surface, lifts in the air, entries and exits."""

from __future__ import annotations

from collections.abc import Callable, Generator
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ..core.array_types import FloatArray, Mask
from ..core.path import CUT, ENTRY, EXIT, LIFT, LINK, Path
from ..core.stepping import within
from ..job.request import CLIMB_ONLY, CONVENTIONAL_ONLY, TO_AND_FRO
from ..passes.lifting import lifted_lines
from .hops import PLUNGE_HEIGHT, Air, Hops, RouteSettings
from .leads import LeadRoom, LeadSettings, lead_feeds, leads_steps
from .links import NARROW_STEP, ROUGH_STEP, heading, set_back_turn, straying, surface_link
from .move_costs import SHORT_MOVE, LiftCosts, MoveCosts
from .running_order import as_run, running_order
from .ways_round import way_round

ORDERED, LINKED, HOPPED, LED = 0.3, 0.6, 0.9, 0.95
"""Shares of the work that are done when the order is found, when the links lie in plan, when their exact heights are known, and when the leads
are; the rest goes on the heights of the hops."""


@dataclass(frozen=True)
class RunLine:
    """A pass line ready to be run. points: (n, 3); uncut_left: whether uncut ground lies to its left as given, None where it lies on both sides
    alike. trim: mm that it may lose at its beginning and its end.
    """

    points: FloatArray
    uncut_left: bool | None
    trim: tuple[float, float] = (0.0, 0.0)


def route_steps(
    lines: list[RunLine],
    surface: Callable[[FloatArray], Generator[float, None, FloatArray]],
    estimate: Callable[[FloatArray], FloatArray],
    allowed: Callable[[FloatArray], Mask],
    settings: RouteSettings,
    air: Air | None = None,
    beside: Callable[[FloatArray], Mask] | None = None,
) -> Generator[float, None, Path]:
    """Order the lines and join them into one path; yields shares done.

    surface: exact tip heights of points (k, 2), in steps. estimate: cheap ones. allowed: where links may go. air: what stands under hops;
    None where that is not known: then every lift goes to the safe height. beside: places (k, 2) beside the body where the cutter may come down,
    (k,); None for none.

    One-way cutting: a spindle turning clockwise seen from above (M3) cuts in climb when the uncut ground lies right of the
    direction of travel, conventionally when it lies left. Where it lies on both sides alike, one flank of the ball cuts in climb and the other
    conventionally whichever way the line is run.
    """
    if not lines:
        return Path(np.zeros((0, 3)), np.zeros(0, np.uint8), np.zeros(0, np.int32), np.zeros(0))
    one_way = settings.cutting_way != TO_AND_FRO
    ready = [_turned_for(line, settings.cutting_way) for line in lines]
    points = [line.points for line in ready]
    hops = Hops(settings, air)
    costs = MoveCosts(
        link_speed=settings.feed / 60,
        lifts=LiftCosts(hops.least_seconds, hops.rough_seconds(estimate)),
        air_speed=settings.machine.air_feed / 60,
        # To and fro the next line is the neighbour, short moves join them, and thousands of them are compared. Where lines keep their direction
        # the cutter goes on where the next one begins, and what lies between may be the foot of a wall, however near that is.
        barred=lambda moves: straying(moves, allowed, NARROW_STEP if one_way else ROUGH_STEP),
        short=0.0 if one_way else SHORT_MOVE,
    )
    may_reverse = np.array([not one_way or line.uncut_left is None for line in lines])
    visits = running_order(points, points[0][0], may_reverse, costs)
    trims = [ready[visit.line].trim[:: -1 if visit.reverse else 1] for visit in visits]
    yield ORDERED
    runs, links = _links_between([as_run(points[visit.line], visit) for visit in visits], trims, allowed, hops, settings)
    yield LINKED
    linked = [k for k, link in enumerate(links) if link is not None]
    exact = yield from within(
        lifted_lines([links[k] for k in linked], surface, estimate, settings.chord_tolerance, settings.radius),  # type: ignore[misc]
        LINKED,
        HOPPED,
    )
    lifted = [k for k, link in enumerate(links) if link is None]
    leads = yield from within(_leads_steps(runs, lifted, surface, estimate, allowed, _room(air, beside, settings), settings), HOPPED, LED)
    moves = np.array([(leads.out[k][0], leads.into[k + 1][0]) for k in lifted]).reshape(-1, 2, 3)
    heights = yield from within(hops.heights_steps(moves, surface), LED, 1.0)
    return _joined(runs, dict(zip(linked, exact, strict=True)), dict(zip(lifted, heights.tolist(), strict=True)), leads, settings)


@dataclass(frozen=True)
class _Leads:
    """The leads of a route by the numbers of their runs, each from its far end to the run's own end. slow: height at which the way down to the
    far end of a lead in becomes slow, since wood may stand below it.
    """

    into: dict[int, FloatArray]
    out: dict[int, FloatArray]
    slow: dict[int, float]


def _room(air: Air | None, beside: Callable[[FloatArray], Mask] | None, settings: RouteSettings) -> LeadRoom:
    """What stands where leads may go; where that is not known, something up to the safe height."""

    def free(places: FloatArray) -> FloatArray:
        return np.full(len(places), settings.safe_z) if air is None else air.over(np.stack([places, places], axis=1))

    return LeadRoom(free, beside if beside is not None else lambda places: np.zeros(len(places), bool), known=air is not None)


def _leads_steps(
    runs: list[FloatArray],
    lifted: list[int],
    surface: Callable[[FloatArray], Generator[float, None, FloatArray]],
    estimate: Callable[[FloatArray], FloatArray],
    allowed: Callable[[FloatArray], Mask],
    room: LeadRoom,
    settings: RouteSettings,
) -> Generator[float, None, _Leads]:
    """The leads at both ends of every lift (the numbers of the runs before them), at the first run's beginning and at the last one's end."""
    begins, ends = [0, *(k + 1 for k in lifted)], [*lifted, len(runs) - 1]
    oriented = [runs[k] for k in begins] + [runs[k][::-1] for k in ends]
    lead_settings = LeadSettings(settings.ramp_angle, settings.chord_tolerance, settings.radius)
    found = yield from leads_steps(oriented, surface, estimate, allowed, room, lead_settings)
    into = dict(zip(begins, found[: len(begins)], strict=True))
    far = np.array([lead[0] for lead in into.values()])
    slow = np.maximum(room.free(far[:, :2]), far[:, 2]) + PLUNGE_HEIGHT
    return _Leads(into, dict(zip(ends, found[len(begins) :], strict=True)), dict(zip(into, slow.tolist(), strict=True)))


def _turned_for(line: RunLine, cutting_way: str) -> RunLine:
    """The line, turned round where one-way cutting asks for it."""
    wrong = (cutting_way == CLIMB_ONLY and line.uncut_left is True) or (cutting_way == CONVENTIONAL_ONLY and line.uncut_left is False)
    return RunLine(line.points[::-1], not line.uncut_left, line.trim[::-1]) if wrong else line


def _links_between(
    runs: list[FloatArray], trims: list[tuple[float, ...]], allowed: Callable[[FloatArray], Mask], hops: Hops, settings: RouteSettings
) -> tuple[list[FloatArray], list[FloatArray | None]]:
    """For every run but the last: the link on the surface to the next one, or None where a lift is quicker or no link is allowed.

    trims: mm that each run may lose at its beginning and its end. Returns the runs, shortened where that gives a turn room, and the links.
    """
    runs = list(runs)
    links: list[FloatArray | None] = []
    for k in range(len(runs) - 1):
        before, after = runs[k], runs[k + 1]
        start, end = before[-1, :2], after[0, :2]
        if hops.quicker_than_link(before[-1], after[0]):
            links.append(None)
            continue
        link: FloatArray | None
        turn = set_back_turn(before, after, (trims[k][1], trims[k + 1][0]), allowed)
        if turn is not None:
            runs[k], link, runs[k + 1] = turn
        else:
            link = surface_link(start, heading(before[-1] - before[-2]), end, heading(after[1] - after[0]), allowed)
            if link is None:
                link = way_round(start, end, allowed, hops.as_long_as(before[-1], after[0]))
        links.append(link)
    return runs, links


def _joined(runs: list[FloatArray], links: dict[int, FloatArray], lifts: dict[int, float], leads: _Leads, settings: RouteSettings) -> Path:
    """All rows in the order of the machine's motion. links, lifts: after which run, the link's points (n, 3) or the height of the lift."""
    machine = settings.machine
    points: list[FloatArray] = []
    kinds: list[int] = []
    numbers: list[int] = []
    feeds: list[FloatArray] = []
    counts: list[int] = []

    def add(rows: FloatArray, kind: int, number: int, feed: ArrayLike) -> None:
        points.append(np.atleast_2d(rows))
        kinds.append(kind)
        numbers.append(number)
        counts.append(len(points[-1]))
        feeds.append(np.broadcast_to(np.asarray(feed, float), counts[-1]))

    def up_from(k: int, height: float) -> None:
        lead = leads.out[k]
        if len(lead) > 1:
            add(lead[-2::-1], EXIT, k + 1, lead_feeds(np.diff(lead[::-1], axis=0), settings.feed, machine.plunge_feed))
        add(np.array([*lead[0, :2], height]), EXIT, k + 1, machine.air_feed)

    def down_to(k: int, height: float) -> None:
        lead, slow = leads.into[k], leads.slow[k]
        add(np.array([*lead[0, :2], height]), LIFT, k + 1, machine.air_feed)
        if slow < height:
            add(np.array([*lead[0, :2], slow]), ENTRY, k + 1, machine.air_feed)
        add(lead[:1], ENTRY, k + 1, machine.plunge_feed)
        if len(lead) > 1:
            add(lead[1:], ENTRY, k + 1, lead_feeds(np.diff(lead, axis=0), settings.feed, machine.plunge_feed))

    for k, laid in enumerate(runs):
        number, run = k + 1, _at_ends_of_links(laid, links.get(k - 1), links.get(k))
        if k == 0 or k - 1 in lifts:
            height = lifts[k - 1] if k else settings.safe_z
            if k:
                up_from(k - 1, height)
            down_to(k, height)
        else:
            add(np.concatenate([links[k - 1][1:-1], run[:1]]), LINK, number, settings.feed)
        add(run, CUT, number, settings.feed)
    up_from(len(runs) - 1, settings.safe_z)
    return Path(
        np.concatenate(points),
        np.repeat(np.array(kinds, np.uint8), counts),
        np.repeat(np.array(numbers, np.int32), counts),
        np.concatenate(feeds),
    )


def _at_ends_of_links(run: FloatArray, before: FloatArray | None, after: FloatArray | None) -> FloatArray:
    """The run (n, 3) with its ends no lower than the links that meet them: where it was shortened it ends on one of its chords, as far below the
    surface as chords may lie, and the first chord of a link would begin so low and lie lower still in its middle. Nor lower than it was: what is
    left of a chord that lies above the surface at its new end would be tilted into it.
    """
    out = run.copy()
    if before is not None:
        out[0, 2] = max(out[0, 2], before[-1, 2])
    if after is not None:
        out[-1, 2] = max(out[-1, 2], after[0, 2])
    return out
