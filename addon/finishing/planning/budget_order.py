"""A time budget as an order: set of cutters, feeds and cusp height with which a side takes the minutes it may take.

The sets of the rack are laid on their ladders (`options/budget_ladder.py`), and the one that stays finest within the minutes is planned. What it
really takes is measured on the lines that are laid, and its place on the ladder drawn after it until the budget is met. Nothing of this depends on
the cusp height, the spacing or the plans that were there before, so that the same minutes always give the same.
"""

from __future__ import annotations

from collections.abc import Generator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from ..core.errors import NothingToPlan
from ..core.stage_runner import Progress, StageRunner
from ..core.stepping import between
from ..job.cutter import Cutter
from ..job.request import Request
from ..job.tool_changes import tool_changes
from ..job.wood import hurried_feed
from ..options.budget_ladder import FINE_ENOUGH, TOP, Advice, Ladder, Rung, coarsest_cusp, finest_first
from ..options.trade_off import OVERHEAD
from .budget import BUDGET_MET
from .following import following_request
from .rim_stages import border_stands_high
from .settling import Chosen, with_start

AIM = 0.99
"""Share of the budget that is aimed at: half of the way between what still meets it and the whole of it."""

MOST_TRIES = 6
"""Times that the place on the ladder is drawn after the measured minutes. Two are usual; more stand for small bodies, on which minutes go in steps
with the number of lines, and turns and links count."""

MOST_FEEDS = 6
"""Times that the feed is drawn after the measured minutes: what is laid stays as it is."""

MOST_SETS = 3
"""Sets that are laid where the first does not meet the budget."""

SAME_PLACE = 1e-4
"""Places on a ladder that differ by less lay the same lines."""


@dataclass(frozen=True)
class Ordered:
    """A request settled for its budget. chosen: the first cutter's, with its start. advice: the whole set, as measured."""

    chosen: Chosen
    advice: Advice


def with_budget(request: Request, runner: StageRunner[Request]) -> Generator[Progress, None, Ordered]:
    """The request with cutters, feeds, cusp height and start that meet its budget; where nothing does, those that take the least time.

    Raises NothingToPlan.
    """
    ladders, minutes = yield from between(_ladders(request, runner), 0.0, 0.2)
    best: Ordered | None = None
    for number, ladder in enumerate(ladders[:MOST_SETS]):
        if best is not None and ladder.least >= best.advice.minutes:
            continue
        low, high = (0.2 + 0.8 * (number + part) / MOST_SETS for part in (0, 1))
        found = yield from between(_Order(request, ladder, minutes, runner).settled(), low, high)
        if best is None or found.advice.minutes < best.advice.minutes:
            best = found
        if best.advice.is_met:
            break
    assert best is not None
    return best


def first_ordered_cutter(request: Request, runner: StageRunner[Request]) -> Generator[Progress, None, Cutter]:
    """The first cutter of the set that is laid first for a budget; what that asks for is found by the order itself."""
    ladders, _ = yield from _ladders(request, runner)
    return ladders[0].cutters[0]


def _ladders(request: Request, runner: StageRunner[Request]) -> Generator[Progress, None, tuple[Sequence[Ladder], float]]:
    """The ladders of the sets that may be planned, the one to be laid first at the beginning, and the minutes that there are for finishing."""
    wanted = replace(request, cusp=FINE_ENOUGH, spacing=None, rack_table=True, rack=_rack(request))
    answers: Any = yield from runner.ask(("budget_ladders", "minutes_for_finishing"), wanted)
    minutes = answers["minutes_for_finishing"].for_finishing
    return _candidates(request, answers["budget_ladders"], minutes), minutes


def _rack(request: Request) -> tuple[Cutter, ...]:
    """The cutters that the side may be planned with."""
    if request.cutter is None:
        return request.rack
    named = (request.cutter, *request.following_cutters)
    if request.smaller_cutters and not request.following_cutters:
        named += tuple(cutter for cutter in request.rack if cutter.diameter < request.cutter.diameter)
    return named


def _candidates(request: Request, ladders: tuple[Ladder, ...], minutes: float) -> Sequence[Ladder]:
    """The sets to lay, the best first: any of the rack; those that begin with a cutter that is named; the set itself where it is named."""
    if request.cutter is None:
        return finest_first(ladders, AIM * minutes) or (_unweighed(request, (request.rack[0],)),)
    if request.smaller_cutters and not request.following_cutters:
        beginning = tuple(ladder for ladder in ladders if ladder.cutters[0] == request.cutter)
        return finest_first(beginning, AIM * minutes) or beginning[:1] or (_unweighed(request, (request.cutter,)),)
    named = (request.cutter, *request.following_cutters)
    return (next((ladder for ladder in ladders if ladder.cutters == named), _unweighed(request, named)),)


def _unweighed(request: Request, cutters: tuple[Cutter, ...]) -> Ladder:
    """The ladder of a set of which nothing is known before it is laid: what it takes is measured then."""
    feeds = (request.feed or cutters[0].feed, *(cutter.feed for cutter in cutters[1:]))
    greatest = tuple(max(own, hurried_feed(cutter, request.bite.wood, request.machine)) for own, cutter in zip(feeds, cutters, strict=True))
    guess = tuple(OVERHEAD for _ in cutters)
    hurried = tuple(minutes * own / fast for minutes, own, fast in zip(guess, feeds, greatest, strict=True))
    changes = request.machine.tool_change_minutes * tool_changes(cutters, request.cutter_in_spindle)
    return Ladder(
        cutters,
        own_feeds=feeds,
        greatest_feeds=greatest,
        own_minutes=guess,
        hurried_minutes=hurried,
        change_minutes=changes,
        coarsest=coarsest_cusp(cutters[0], request.roughing),
    )


class _Order:
    """One set of cutters on its way to the minutes of a budget."""

    def __init__(self, request: Request, ladder: Ladder, minutes: float, runner: StageRunner[Request]) -> None:
        self._ladder, self._minutes, self._runner = ladder, minutes, runner
        self._own_feed, self._rim_is_open = request.feed, request.rim_pass == "auto"
        first = replace(request, cutter=ladder.cutters[0], following_cutters=ladder.cutters[1:], spacing=None)
        self._first = replace(first, rim_pass="off") if self._rim_is_open else first
        self._taken: dict[Rung, float] = {}

    def settled(self) -> Generator[Progress, None, Ordered]:
        """The set as it is planned."""
        place = self._ladder.place_for(AIM * self._minutes)
        chosen = yield from between(with_start(self._at(self._ladder.rung(place)), self._runner), 0.0, 0.3)
        self._first = chosen.request
        rung = yield from between(self._searched(place), 0.3, 0.7 if self._rim_is_open else 1.0)
        if self._rim_is_open:
            rung = yield from between(self._with_rim(rung), 0.7, 1.0)
        taken = self._taken[rung]
        advice = Advice(self._ladder.cutters, self._ladder.feeds(rung), rung.cusp, taken, is_planned=True, is_met=taken <= self._minutes)
        return Ordered(replace(chosen, request=self._at(rung)), advice)

    def _with_rim(self, rung: Rung) -> Generator[Progress, None, Rung]:
        """The rung with a rim pass, where borders stand too high without it."""
        answers: Any = yield from self._runner.ask(("proof",), self._at(rung))
        if not border_stands_high(answers["proof"], rung.cusp):
            return rung
        self._first = replace(self._first, rim_pass="on")
        self._taken.clear()
        return (yield from self._searched(self._ladder.place_for(AIM * self._minutes)))

    def _at(self, rung: Rung) -> Request:
        """The first cutter's request on a rung."""
        return replace(self._first, cusp=rung.cusp, feed=self._own_feed if rung.haste == 0 else self._ladder.feeds(rung)[0])

    def _measured(self, rung: Rung) -> Generator[Progress, None, float]:
        """Minutes of all cutters of the set on a rung, with their tool changes, on the lines that are laid."""
        if rung not in self._taken:
            request, larger = self._at(rung), self._ladder.cutters[0]
            answers: Any = yield from self._runner.ask(("run_time",), request)
            total, run, in_spindle = answers["run_time"].minutes, [larger], request.cutter_in_spindle
            for cutter, feed in zip(self._ladder.cutters[1:], self._ladder.feeds(rung)[1:], strict=True):
                after = following_request(request, larger, cutter, feed)
                try:
                    answers = yield from self._runner.ask(("run_time",), after)
                except NothingToPlan:  # what is left lies where this cutter may not go either
                    continue
                total += answers["run_time"].minutes
                run.append(cutter)
                request, larger = after, cutter
            self._taken[rung] = total + request.machine.tool_change_minutes * tool_changes(run, in_spindle)
        return self._taken[rung]

    def _searched(self, place: float) -> Generator[Progress, None, Rung]:
        """The rung that meets the budget; the coarsest where none does, the finest where all do."""
        met, missed = None, None
        for _ in range(MOST_TRIES):
            rung = self._ladder.rung(place)
            taken = yield from self._measured(rung)
            if self._is_met(taken):
                return rung
            if taken <= self._minutes:
                met = place if met is None else min(met, place)
            else:
                missed = place if missed is None else max(missed, place)
            following = self._ladder.place_for(AIM * self._minutes * self._ladder.minutes(rung) / taken)
            if met is not None and missed is not None and not missed < following < met:
                following = (met + missed) / 2
            if abs(following - place) < SAME_PLACE:
                break
            place = following
        if met is not None and missed is not None:
            return (yield from self._fed(self._ladder.rung(met), self._ladder.rung(missed)))
        rung = self._ladder.rung(TOP if met is None else met)
        yield from self._measured(rung)
        return rung

    def _fed(self, met: Rung, missed: Rung) -> Generator[Progress, None, Rung]:
        """Between two rungs whose lines are as near as they come: the finer lines a little faster; else the coarser ones a little slower."""
        for cusp, low, high in ((missed.cusp, missed.haste, 1.0), (met.cusp, -1.0, met.haste)):
            for _ in range(MOST_FEEDS):
                rung = Rung(cusp, (low + high) / 2)
                taken = yield from self._measured(rung)
                if self._is_met(taken):
                    return rung
                low, high = (low, rung.haste) if taken <= self._minutes else (rung.haste, high)
        return met

    def _is_met(self, taken: float) -> bool:
        return (1 - BUDGET_MET) * self._minutes <= taken <= self._minutes
