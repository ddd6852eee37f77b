"""What a side leaves to flat cutters: flats, walls and openings, with the minutes that leaving each out saves."""

from __future__ import annotations

from dataclasses import dataclass

from ..core.message import Message, word
from .result import Plan


@dataclass(frozen=True)
class FlatWork:
    """One piece of ground that the round-nose cutter leaves out. what: in words. area: mm2. height: job z of its middle in mm, None for walls,
    which lie all round. minutes: about as many as passes over it would take. needs_cut: whether anything is to be cut there.
    """

    what: Message
    area: float
    height: float | None
    minutes: float
    needs_cut: bool = True


def flat_work(plan: Plan) -> tuple[FlatWork, ...]:
    """The ground that a plan leaves out as work for flat cutters; flats in the stock's own face come last, for they need no cut."""
    ground, minutes = plan.ground, plan.flat_minutes
    found = [FlatWork(Message("flat surface"), flat.area, flat.place[2], minutes.over(flat.area)) for flat in ground.flats if not flat.in_face]
    if ground.wall_area > 0:
        what = Message("walls of {limit:g} degrees and steeper", limit=plan.request.region.wall_limit)
        found.append(FlatWork(what, ground.wall_area, None, minutes.over(ground.wall_area)))
    for opening in ground.openings:
        if opening.treatment == "skip":
            what = Message("opening {number}, a {kind}", number=opening.number, kind=word(opening.kind))
            floor = opening.place[2] - (opening.depth or 0.0)
            found.append(FlatWork(what, opening.area, floor if opening.depth is not None else None, minutes.over(opening.area)))
    for flat in ground.flats:
        if flat.in_face:
            what = Message("flat in the stock's own face, which needs no cut")
            found.append(FlatWork(what, flat.area, flat.place[2], minutes.over(flat.area), needs_cut=False))
    return tuple(found)


def minutes_of_planned_flats(plan: Plan) -> float:
    """Minutes that leaving out all flats that are still planned would save."""
    return sum(plan.flat_minutes.over(flat.area) for flat in plan.flats)
