"""Sets of cutters that are tried before one is chosen: their lines are laid, so that the minutes in the table are those of lines.

What is known before a line is laid ranks the sets, and is a fifth off where ground is narrow and lines are short. So the best one is laid as it is
planned, of which nothing is lost where it stays the best. On a small body the others are laid with the starts alone that are good for it, and those
that come near it as they are planned too. On a larger one that would take too long: those that come near it are laid with their largest cutter on
the coarser cells of the table, and held against the best one laid there too. What is chosen in the end has been laid as it is planned: a set that
turns out slower than it was said to be makes way for the next.
"""

from __future__ import annotations

from collections.abc import Callable, Generator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from ..core.errors import NothingToPlan
from ..core.stage_runner import Progress, StageRunner
from ..core.stepping import between
from ..job.cutter import Cutter
from ..job.request import Request, TriedSet
from ..options.cutter_sets import SetTable
from ..passes.starts import Start
from .budget_order import first_ordered_cutter
from .following import following_request
from .questions import on_table
from .settling import for_start, with_cusp, with_start

MOST_OTHERS = 2
"""Sets besides the best one that are laid."""

WITHIN = 1.15
"""Sets that are taken to need no more than this times the minutes of the best one are tried. Single runs are predicted a fifth off, but those of one
body are off alike."""

FEW_CELLS = 300_000
"""Cells of the plan's grid, up to which a body is a small one: 150 x 125 mm on cells of 0.25 mm, of which a set is laid in a second or less."""

WEIGHED_SHARE = 0.4
"""Share of the progress by the end of weighing the sets."""

BEST_SHARE, OTHERS_SHARE, NEAR_SHARE = 0.6, 0.75, 0.9
"""Shares of the progress of trying sets: by the end of laying the best one, the others, and those that come near."""


def likely_cutter(request: Request, runner: StageRunner[Request]) -> Generator[Progress, None, Cutter]:
    """The cutter that the best set begins with before any is tried, for a request without a cutter; for an order, that of the set which is laid
    first. Yields (share done, stage). Raises NothingToPlan.
    """
    if request.meet_budget and request.budget_minutes is not None:
        return (yield from first_ordered_cutter(request, runner))
    answers: Any = yield from runner.ask(("weighed_cutter_sets",), replace(request, rack_table=True))
    table: SetTable = answers["weighed_cutter_sets"]
    return table.best.cutters[0]


def with_cutter(request: Request, runner: StageRunner[Request]) -> Generator[Progress, None, Request]:
    """A request without a cutter with the first of the set that finishes the side soonest, and with what was tried to find it."""
    open_request = replace(request, rack_table=True)
    answers: Any = yield from between(runner.ask(("weighed_cutter_sets",), open_request), 0.0, WEIGHED_SHARE)
    table = answers["weighed_cutter_sets"]
    tried = yield from between(tried_steps(open_request, table, runner), WEIGHED_SHARE, 1.0)
    return replace(open_request, cutter=table.with_tried(tried).best.cutters[0], tried_sets=tried)


def tried_steps(request: Request, table: SetTable, runner: StageRunner[Request]) -> Generator[Progress, None, tuple[TriedSet, ...]]:
    """The sets of a table that may be the best, tried. request: without a cutter. Yields (share done, stage)."""
    trials = _Trials(request, runner)
    best = table.best.cutters
    try:
        tried = [(yield from between(trials.as_planned(best), 0.0, BEST_SHARE))]
    except NothingToPlan:  # the plan itself says so
        return ()
    if (yield from _is_small(request, runner)):
        others = [row.cutters for row in table.rows]
        tried += yield from between(trials.each(others, trials.with_starts_of_planned), BEST_SHARE, OTHERS_SHARE)
        near = _near(table.with_tried(tried), best)
        tried += yield from between(trials.each(near, trials.as_planned), OTHERS_SHARE, NEAR_SHARE)
    elif near := _near(table.with_tried(tried), best):
        tried += yield from between(trials.each((best, *near), trials.on_table), BEST_SHARE, NEAR_SHARE)
    share = NEAR_SHARE
    while not (soonest := table.with_tried(tried).best).laid:  # each that is laid may bring up one that is not
        tried.append((yield from between(trials.as_planned(soonest.cutters), share, 0.5 + 0.5 * share)))
        share = 0.5 + 0.5 * share
    return tuple(tried)


def _near(table: SetTable, best: tuple[Cutter, ...]) -> list[tuple[Cutter, ...]]:
    """Sets besides the one that was laid that come near the best of a table."""
    most = WITHIN * table.best.minutes
    return [row.cutters for row in table.rows if row.enough and row.cutters != best and row.minutes <= most][:MOST_OTHERS]


def with_own_run(request: Request, runner: StageRunner[Request]) -> Generator[Progress, None, Request]:
    """A request whose cutter and start are known, with what they take: the table of sets is drawn after the plan that is made anyway."""
    if request.cutter is None or not request.rack_table or request.remaining is not None:
        return request
    cutters = (request.cutter, *request.following_cutters)
    tried = yield from _Trials(request, runner).as_planned(cutters)
    return replace(request, tried_sets=(tried,))


def _is_small(request: Request, runner: StageRunner[Request]) -> Generator[Progress, None, bool]:
    """Whether every set of the table can be laid in no time."""
    answers: Any = yield from between(runner.ask(("heights",), request), 0.0, 0.0)
    grid = answers["heights"].grid
    return grid.rows * grid.columns <= FEW_CELLS


Trial = Callable[[tuple[Cutter, ...]], Generator[Progress, None, TriedSet]]
"""How a set is laid."""


@dataclass
class _Trials:
    """Sets of cutters that are laid one after the other. starts: that are good for the set that was last laid as it is planned."""

    request: Request
    runner: StageRunner[Request]
    starts: tuple[Start, ...] = ()

    def as_planned(self, cutters: tuple[Cutter, ...]) -> Generator[Progress, None, TriedSet]:
        """A set laid as it is planned."""
        first = self._first(cutters)
        chosen = yield from between(with_start(first, self.runner), 0.0, 0.5)
        self.starts = chosen.near
        answers: Any = yield from between(self.runner.ask(("run_time",), chosen.request), 0.5, 0.7)
        after = yield from between(self._after(first, cutters), 0.7, 1.0)
        return TriedSet(cutters, (answers["run_time"].minutes, *after), as_planned=True)

    def each(self, sets: Sequence[tuple[Cutter, ...]], laid: Trial) -> Generator[Progress, None, list[TriedSet]]:
        """Sets laid one after the other, but those that no line fits for."""
        tried = []
        for number, cutters in enumerate(sets):
            try:
                tried.append((yield from between(laid(cutters), number / len(sets), (number + 1) / len(sets))))
            except NothingToPlan:
                continue
        return tried

    def with_starts_of_planned(self, cutters: tuple[Cutter, ...]) -> Generator[Progress, None, TriedSet]:
        """A set whose largest cutter is laid with the best of the starts that are good for the set that was last laid as it is planned."""
        first = self._first(cutters)
        seconds = float("inf")
        for number, start in enumerate(self.starts):
            low, high = (0.5 * part / len(self.starts) for part in (number, number + 1))
            answers: Any = yield from between(self.runner.ask(("trial_run",), for_start(first, start)), low, high)
            seconds = min(seconds, answers["trial_run"])
        after = yield from between(self._after(first, cutters), 0.5, 1.0)
        return TriedSet(cutters, (seconds / 60, *after), as_planned=False)

    def on_table(self, cutters: tuple[Cutter, ...]) -> Generator[Progress, None, TriedSet]:
        """A set whose largest cutter is laid on the table's cells."""
        first = self._first(cutters)
        chosen = yield from between(with_start(replace(on_table(first), rack_table=False), self.runner), 0.0, 0.5)
        answers: Any = yield from between(self.runner.ask(("trial_run",), chosen.request), 0.5, 0.6)
        after = yield from between(self._after(first, cutters), 0.6, 1.0)
        return TriedSet(cutters, (answers["trial_run"] / 60, *after), as_planned=False)

    def _first(self, cutters: tuple[Cutter, ...]) -> Request:
        """The request of the largest cutter. Where it is left open whether the rims get a pass, without one, as all sets would get it alike."""
        rim_pass = "off" if self.request.rim_pass == "auto" else self.request.rim_pass
        return with_cusp(replace(self.request, cutter=cutters[0], following_cutters=cutters[1:], rim_pass=rim_pass))

    def _after(self, first: Request, cutters: tuple[Cutter, ...]) -> Generator[Progress, None, list[float]]:
        """Minutes of the smaller cutters as they are planned; none for one that may not go where something is left."""
        minutes = []
        before, larger = first, cutters[0]
        for number, cutter in enumerate(cutters[1:]):
            after = following_request(before, larger, cutter)
            low, high = (part / (len(cutters) - 1) for part in (number, number + 1))
            try:
                answers: Any = yield from between(self.runner.ask(("run_time",), after), low, high)
            except NothingToPlan:
                minutes.append(0.0)
                continue
            minutes.append(answers["run_time"].minutes)
            before, larger = after, cutter
        return minutes
