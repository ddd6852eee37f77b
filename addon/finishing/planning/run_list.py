"""The run list: what is cut in which order, with its file, zero and minutes; other operations has its rows too."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ..core.message import Message
from ..job.cutter import cutter_words
from ..job.other_operations import OtherOperation
from .dowel_time import dowel_minutes
from .hazards import read_first
from .result import Plan


@dataclass(frozen=True)
class RunListRow:
    """One piece of work in running order.

    number: from 1. side: "top" or "back". work: what is done, in words. file: name of the file to run, "" for other operations.
    cutter: its name. diameter, stick_out: mm, None where unknown. xy_zero, z_zero: where zero is, in words. minutes: run time
    without tool changes, None where it is not known. digest: of the body and settings that the file was made from, "" for other operations.
    read_first: what must be known before the file is run, in words. refused: why there is no program, None where there is one or none was
    wanted.
    """

    number: int
    side: str
    work: Message
    file: str
    cutter: Message
    diameter: float | None
    stick_out: float | None
    xy_zero: Message
    z_zero: Message
    minutes: float | None
    digest: str
    read_first: tuple[Message, ...] = ()
    refused: Message | None = None


@dataclass(frozen=True)
class PathPart:
    """Some lines of a path that are run by themselves: the first and the last one, and their run time in minutes."""

    first: int
    last: int
    minutes: float


def _read_first(plan: Plan, refused: Message | None) -> tuple[Message, ...]:
    """What must be seen of a plan's findings, one after the other, with why there is no program."""
    return (*(() if refused is None else (refused,)), *(finding.words for finding in read_first(plan)))


def in_running_order(plans: Sequence[Plan]) -> tuple[Plan, ...]:
    """The plans of one job, the stock's first side first."""
    return tuple(sorted(plans, key=lambda plan: plan.request.side != plan.stock.settings.first_side))


def dowel_row(plan: Plan, number: int, file: str, refused: Message | None = None) -> RunListRow:
    """The row of the dowel holes, drilled on the first side. refused: why there is no program."""
    dowels, side = plan.request.dowels, plan.request.side
    xy_zero, z_zero = plan.stock.zero_words(side)
    return RunListRow(
        number=number,
        side=side,
        work=Message("dowel holes"),
        file=file,
        cutter=Message("Drill {diameter:g} mm", diameter=dowels.diameter),
        diameter=dowels.diameter,
        stick_out=None,
        xy_zero=xy_zero,
        z_zero=z_zero,
        minutes=dowel_minutes(side, dowels, plan.stock, plan.request.machine, plan.request.keep_out),
        digest=plan.body_digest,
        read_first=_read_first(plan, refused),
        refused=refused,
    )


def finishing_row(plan: Plan, number: int, file: str, part: PathPart | None = None, refused: Message | None = None) -> RunListRow:
    """The row of a plan's own path, or of a part of it. refused: why there is no program."""
    cutter, side = plan.cutter, plan.request.side
    xy_zero, z_zero = plan.stock.zero_words(side)
    return RunListRow(
        number=number,
        side=side,
        work=Message("finishing") if part is None else Message("finishing, lines {first} to {last}", first=part.first, last=part.last),
        file=file,
        cutter=cutter_words(cutter),
        diameter=cutter.diameter,
        stick_out=cutter.stick_out,
        xy_zero=xy_zero,
        z_zero=z_zero,
        minutes=plan.run_time.minutes if part is None else part.minutes,
        digest=plan.body_digest,
        read_first=_read_first(plan, refused),
        refused=refused,
    )


def other_operation_row(plan: Plan, number: int, work: OtherOperation) -> RunListRow:
    """The row of another operation on the plan's side."""
    xy_zero, z_zero = plan.stock.zero_words(plan.request.side)
    return RunListRow(
        number=number,
        side=plan.request.side,
        work=Message("{name}", name=work.name),
        file="",
        cutter=Message("{name}", name=work.cutter),
        diameter=None,
        stick_out=work.stick_out,
        xy_zero=xy_zero,
        z_zero=Message("{name}", name=work.z_zero) if work.z_zero else z_zero,
        minutes=work.minutes,
        digest="",
    )
