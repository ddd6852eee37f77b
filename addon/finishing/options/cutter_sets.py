"""Sets of one to three cutters of the rack that finish a side, weighed before a line is laid.

The largest cutter of a set takes all of the planned ground, every smaller one what the one before leaves standing higher than tolerated. Minutes
come from what each cutter reaches (`reach.py`), with what turns and pieces of ground take besides as it was fitted on plans, and the tool changes;
those of sets that were tried (`planning/tried_sets.py`), from the lines that were laid, and of these it is told which were laid as they are planned.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from ..core.array_types import Mask
from ..core.message import Message
from ..job.cutter import Cutter
from ..job.cutter_names import name_on_rack, name_words, size_words
from ..job.request import TriedSet
from ..job.tool_changes import tool_changes
from ..tooling.clearance import Contact
from .fit_table import RackRow
from .reach import Reach, Run, run_over, wanted_of

MOST_CUTTERS = 3
"""Cutters of one side; each costs a tool change."""

SHOWN = 6
"""Rows of the table."""

TURN_SHARE = 0.9
"""What a turn between two lines takes over a half circle at the speed that the axes allow there: fitted, with ACCELERATION_SHARE
(`pass_minutes.py`), by `tests/bench/fit_overhead.py`."""

LEFT_PASS_SHARE = 1.2
"""Seconds on ground that a larger cutter leaves over those of the quicker passes at every place, along x or along y: lines run along its border
instead, and others besides close gaps. Fitted with LEFT_RUN_HOPS by `tests/bench/fit_overhead.py` on ledges, creases, grooves and random bodies;
single runs are a fifth off on average, so that a set is as far off as such runs make up of it."""

LEFT_RUN_HOPS = 3.0
"""What a run over such ground takes besides, in hops: its lines are few and short, and begin and end at corners."""

WORTH_A_CUTTER = 0.05
"""Share of a set's minutes that each further cutter must save besides its change: less than that the prediction cannot tell."""

TOLD_APART = 1.02
"""Minutes of two sets that were tried, the one over the other, from which on they are told apart; below, the order stays as it was predicted."""

PACE_SHARE = 0.5
"""Power of the ratio of the minutes that tried runs took to those predicted, by which untried ones are taken to be off: runs of one body are
off alike in part. Of powers from 0 to 1 a quarter to a half have the least errors on the bodies of the bench (`tests/bench/fit_overhead.py`)."""

FOLLOWING_CUSP = 0.1
"""Cusp height of a following cutter, as a share of its radius at most: small balls would leave grooves of their own."""


@dataclass(frozen=True)
class SetCosts:
    """What sets are weighed by. cell: of the side's grid, mm. overlap: mm round ground that a smaller cutter gets. hand_work: mm2 of ground that
    may be left to hand work, beyond what every cutter at hand leaves. change_minutes: of one tool change. in_spindle: the cutter that is in the
    spindle before, None where that is not known: then the first cutter of a set costs no change.
    """

    cell: float
    overlap: float
    hand_work: float
    change_minutes: float
    in_spindle: Cutter | None = None

    def changes(self, cutters: Sequence[Cutter]) -> int:
        """Tool changes that a set costs, the largest cutter first."""
        return tool_changes(cutters, self.in_spindle)


@dataclass(frozen=True)
class CutterSet:
    """One set. cutters: the largest first. run_minutes: predicted, of each. minutes: all of them with the tool changes. changes: how many.

    left_area: mm2 that stand higher than tolerated in the end, left_height: mm, the most of it. enough: whether so much may be left to hand work.
    rack: the cutters at hand, among which those of the set have their names. laid: whether the minutes are those of its lines as they are planned;
    else they are predicted.
    """

    cutters: tuple[Cutter, ...]
    run_minutes: tuple[float, ...]
    minutes: float
    left_area: float
    left_height: float
    enough: bool
    changes: int
    rack: tuple[Cutter, ...] = ()
    laid: bool = False

    @property
    def minutes_words(self) -> Message:
        """Its minutes as they are shown: those of a prediction say that they are about so many."""
        return Message("{minutes:.1f}", minutes=self.minutes) if self.laid else Message("about {minutes:.1f}", minutes=self.minutes)

    @property
    def name(self) -> str:
        """Its diameters in mm, or names where several cutters of the rack have the same one, as `--cutters` takes them."""
        return ",".join(name_on_rack(cutter, self.rack) for cutter in self.cutters)

    @property
    def names(self) -> tuple[Message, ...]:
        """The same as a list to be shown."""
        return tuple(name_words(cutter, self.rack) for cutter in self.cutters)

    @property
    def sizes(self) -> tuple[Message, ...]:
        """The same with the unit of diameters."""
        return tuple(size_words(cutter, self.rack) for cutter in self.cutters)

    def taking(self, run_minutes: tuple[float, ...]) -> CutterSet:
        """The same set where its runs take other minutes."""
        return replace(self, run_minutes=run_minutes, minutes=self.minutes + sum(run_minutes) - sum(self.run_minutes))

    def slower(self, pace: float) -> CutterSet:
        """The same set where its runs take so many times their minutes."""
        return self.taking(tuple(pace * minutes for minutes in self.run_minutes))


@dataclass(frozen=True)
class SetTable:
    """The sets worth a look, the best first: of every largest cutter the best set. kept_out: cutters that would touch stock, body or nut on
    their way, the smallest first, in no set unless all are. most_left: mm2 that a set may leave. pace: times that the
    minutes of untried runs are taken to be longer than predicted; 1 where no set was tried.
    """

    rows: tuple[CutterSet, ...]
    kept_out: tuple[RackRow, ...]
    most_left: float
    pace: float = 1.0

    @property
    def best(self) -> CutterSet:
        """The set that finishes soonest of those that leave no more than may be left."""
        return self.rows[0]

    @property
    def kept_out_words(self) -> tuple[Message, ...]:
        """Why cutters are in no set, a sentence each."""
        rack = self.best.rack
        return tuple(_kept_out(size_words(row.cutter, rack), row.contacts[0]) for row in self.kept_out)

    def with_tried(self, tried: Sequence[TriedSet]) -> SetTable:
        """The table with the minutes of sets that were tried, the best first; the others are taken to be off in part as those were."""
        planned = {one.cutters: one.run_minutes for one in tried if one.as_planned}
        coarse = {one.cutters: one.run_minutes for one in tried if not one.as_planned}
        finer = _ratio([(planned[cutters][0], coarse[cutters][0]) for cutters in planned if cutters in coarse])
        laid = {cutters: (finer * minutes[0], *minutes[1:]) for cutters, minutes in coarse.items()} | planned
        pace = _ratio([(sum(laid[row.cutters]), sum(row.run_minutes)) for row in self.rows if row.cutters in laid]) ** PACE_SHARE
        rows = [replace(row.taking(laid[row.cutters]), laid=row.cutters in planned) if row.cutters in laid else row.slower(pace) for row in self.rows]
        ranked = sorted(rows, key=_rank)
        if ranked[0].enough == rows[0].enough and rows[0].minutes <= TOLD_APART * ranked[0].minutes:
            ranked.insert(0, ranked.pop(ranked.index(rows[0])))
        return replace(self, rows=tuple(ranked), pace=pace)


def weighed_sets(reaches: Sequence[Reach], rows: Sequence[RackRow], costs: SetCosts, named: tuple[Cutter, ...] = ()) -> SetTable:
    """The table of sets. reaches, rows: of every cutter of the rack, in the same order, the smallest first. named: a set that stands in it anyway."""
    free = free_rows(rows)
    kept_out = tuple(row for k, row in enumerate(rows) if k not in free)
    judged = [made for _, made in all_sets(Weighing(reaches, rows, costs), rows)]
    if not judged:  # nobody reaches anything: the plan itself says so
        return SetTable((_alone(rows[free[-1]], rows),), kept_out, costs.hand_work)
    least = min(made.left_area for made in judged)
    ranked = sorted(judged, key=_rank)
    best_of: dict[Cutter, CutterSet] = {}
    for made in ranked:
        best_of.setdefault(made.cutters[0], made)
    shown = list(best_of.values())[:SHOWN]
    asked = next((made for made in ranked if made.cutters == named), None)
    if asked is not None and asked not in shown:
        shown = sorted([*shown[: SHOWN - 1], asked], key=_rank)
    return SetTable(tuple(shown), kept_out, least + costs.hand_work)


def free_rows(rows: Sequence[RackRow]) -> list[int]:
    """The rows whose cutters touch nothing on their way; all of them where none runs free."""
    return [k for k, row in enumerate(rows) if row.free] or list(range(len(rows)))


def all_sets(weighing: Weighing, rows: Sequence[RackRow]) -> list[tuple[tuple[int, ...], CutterSet]]:
    """Every set of cutters that run free, judged by what it leaves, with the numbers of its rows, the largest first."""
    found = [
        (chosen, made)
        for count in range(1, MOST_CUTTERS + 1)
        for chosen in combinations(reversed(free_rows(rows)), count)
        if (made := weighing.weighed(chosen)) is not None
    ]
    least = min((made.left_area for _, made in found), default=0.0)
    return [(chosen, _judged(made, least + weighing.costs.hand_work)) for chosen, made in found]


def run_minutes(reach: Reach, run: Run, of_left: bool = False) -> float:
    """Minutes to expect of a run: passes along x or along y, whichever is quicker, with their turns, and the ways between pieces of ground.

    of_left: whether the ground is what a larger cutter leaves, which is run along its border.
    """
    if of_left:
        return (LEFT_PASS_SHARE * run.least_seconds + (run.parts + LEFT_RUN_HOPS) * reach.hop_seconds) / 60
    seconds = min(passes + TURN_SHARE * turns * reach.turn_seconds for passes, turns in zip(run.seconds, run.turns, strict=True))
    return (seconds + run.parts * reach.hop_seconds) / 60


class Weighing:
    """Minutes of every cutter over all of the ground, and over what every larger one leaves, each worked out once."""

    def __init__(self, reaches: Sequence[Reach], rows: Sequence[RackRow], costs: SetCosts) -> None:
        self.costs = costs
        self._reaches, self._rows = reaches, rows
        self._wanted: dict[int, Mask] = {}
        self._minutes: dict[tuple[int, int | None], float | None] = {}

    def weighed(self, chosen: Sequence[int]) -> CutterSet | None:
        """The set of some rows, the largest first; None where one of them has nothing to do, or is no smaller than the one before."""
        found = []
        for larger, k in zip((None, *chosen[:-1]), chosen, strict=True):
            if larger is not None and self._rows[k].cutter.diameter >= self._rows[larger].cutter.diameter:
                return None
            minutes = self.run(k, larger)
            if minutes is None:
                return None
            found.append(minutes)
        last, cutters = self._rows[chosen[-1]], tuple(self._rows[k].cutter for k in chosen)
        return CutterSet(
            cutters=cutters,
            run_minutes=tuple(found),
            minutes=sum(found) + self.change_minutes(cutters),
            left_area=last.uncut_area,
            left_height=last.uncut_height,
            enough=False,
            changes=self.costs.changes(cutters),
            rack=tuple(row.cutter for row in self._rows),
        )

    def change_minutes(self, cutters: Sequence[Cutter]) -> float:
        """Minutes of the tool changes of a set, the largest cutter first."""
        return self.costs.change_minutes * self.costs.changes(cutters)

    def run(self, k: int, larger: int | None) -> float | None:
        """Minutes of a row's cutter over what a larger one leaves (None: over all of the ground); None where it has nothing to do."""
        if (k, larger) not in self._minutes:
            wanted = None if larger is None else self._left_by(larger)
            run = run_over(self._reaches[k], wanted)
            self._minutes[k, larger] = None if run is None else run_minutes(self._reaches[k], run, of_left=larger is not None)
        return self._minutes[k, larger]

    def _left_by(self, larger: int) -> Mask:
        if larger not in self._wanted:
            self._wanted[larger] = wanted_of(self._reaches[larger].left, self.costs.cell, self.costs.overlap)
        return self._wanted[larger]


def _ratio(pairs: Sequence[tuple[float, float]]) -> float:
    """The sum of the first of some pairs over that of the second; 1 where that is nothing."""
    below = sum(other for _, other in pairs)
    return sum(one for one, _ in pairs) / below if below > 0 else 1.0


def _judged(made: CutterSet, most: float) -> CutterSet:
    return replace(made, enough=made.left_area <= most)


def _rank(made: CutterSet) -> tuple[bool, float, int]:
    """Sets that leave no more than may be left, the soonest first; then the others, those first that leave the least."""
    return not made.enough, made.minutes * (1 + WORTH_A_CUTTER * (len(made.cutters) - 1)) if made.enough else made.left_area, len(made.cutters)


def _alone(row: RackRow, rows: Sequence[RackRow]) -> CutterSet:
    """A cutter that has nothing to do, of those in a table."""
    rack = tuple(each.cutter for each in rows)
    return CutterSet((row.cutter,), (0.0,), minutes=0.0, left_area=row.uncut_area, left_height=row.uncut_height, enough=row.fits, changes=0, rack=rack)


def _kept_out(size: Message, contact: Contact) -> Message:
    values = {"size": size, "depth": contact.depth}
    if contact.part == "cutter":
        return Message("The {size} cutter is in no set: it would rub {depth:.1f} mm deep against stock that still stands.", **values)
    if contact.obstacle == "body":
        return Message("The {size} cutter is in no set: its shank or collet nut would go {depth:.1f} mm into the body.", **values)
    return Message("The {size} cutter is in no set: its shank or collet nut would go {depth:.1f} mm into stock that still stands.", **values)
