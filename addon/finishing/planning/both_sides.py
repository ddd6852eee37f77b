"""The plans of both sides of a body, one after the other from one store of results."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass, replace

from ..core.errors import NothingToPlan
from ..core.message import Message
from ..core.result_store import ResultStore
from ..core.stage_runner import Progress
from ..core.stepping import between
from ..job.request import Request
from ..job.stock import other_side
from .result import Plan
from .smaller_cutters import side_plans


@dataclass(frozen=True)
class BothSides:
    """plans: of the side that was asked for; others: of the other one, () where it has nothing to plan, and why_none says why."""

    plans: tuple[Plan, ...]
    others: tuple[Plan, ...]
    why_none: Message | None = None

    @property
    def in_running_order(self) -> tuple[Plan, ...]:
        """All plans, those of the stock's first side first."""
        first = self.plans[0].request
        return (*self.plans, *self.others) if first.side == first.stock.first_side else (*self.others, *self.plans)


def both_sides_steps(request: Request, store: ResultStore) -> Generator[Progress, None, BothSides]:
    """Plan both sides in running order. Where the cutters of the second are to be found, a set that begins with another cutter than the first side
    has ended with costs a tool change. Yields (share done, stage).

    A side without anything to plan, such as a back that is one flat of the stock, is left out when it is not the one that is asked for. Raises the
    errors of finishing.core.errors.
    """
    found: dict[str, tuple[Plan, ...]] = {}
    why_none = None
    in_spindle = request.cutter_in_spindle
    first = request.stock.first_side
    for side, low in ((first, 0.0), (other_side(first), 0.5)):
        try:
            one = replace(request, side=side, cutter_in_spindle=in_spindle)
            found[side] = yield from between(side_plans(one, store), low, low + 0.5)
            in_spindle = found[side][-1].cutter
        except NothingToPlan as error:
            if side == request.side:
                raise
            why_none = error.message
    return BothSides(found[request.side], found.get(other_side(request.side), ()), why_none)
