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
from .result import Plan
from .smaller_cutters import side_plans


@dataclass(frozen=True)
class BothSides:
    """plans: of the side that was asked for; others: of the other one, () where it has nothing to plan, and why_none says why."""

    plans: tuple[Plan, ...]
    others: tuple[Plan, ...]
    why_none: Message | None = None


def other_side(side: str) -> str:
    """The name of the side that a side is not."""
    return "back" if side == "top" else "top"


def both_sides_steps(request: Request, store: ResultStore) -> Generator[Progress, None, BothSides]:
    """Plan the other side, then the one that is asked for. Yields (share done, stage).

    A side without anything to plan, such as a back that is one flat of the stock, is left out when it is the other one. Raises the errors of
    finishing.errors.
    """
    others: tuple[Plan, ...] = ()
    why_none = None
    try:
        others = yield from between(side_plans(replace(request, side=other_side(request.side)), store), 0.0, 0.5)
    except NothingToPlan as error:
        why_none = error.message
    plans = yield from between(side_plans(request, store), 0.5, 1.0)
    return BothSides(plans, others, why_none)
