"""The run list: what is cut in which order, with its file, zero and minutes; work made elsewhere has its rows too."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ..job.other_operations import OtherOperation
from .result import Plan


@dataclass(frozen=True)
class RunListRow:
    """One piece of work in running order.

    number: from 1. side: "top" or "back". work: what is done, in words. file: name of the file to run, "" for work made elsewhere.
    cutter: its name. diameter, stick_out: mm, None where unknown. xy_zero, z_zero: where zero is, in words. minutes: run time
    without tool changes, None where it is not known. digest: of the body and settings that the file was made from, "" for work made elsewhere.
    """

    number: int
    side: str
    work: str
    file: str
    cutter: str
    diameter: float | None
    stick_out: float | None
    xy_zero: str
    z_zero: str
    minutes: float | None
    digest: str


def in_running_order(plans: Sequence[Plan]) -> tuple[Plan, ...]:
    """The plans of one job, the stock's first side first."""
    return tuple(sorted(plans, key=lambda plan: plan.request.side != plan.stock.settings.first_side))


def dowel_row(plan: Plan, number: int, file: str) -> RunListRow:
    """The row of the dowel holes, drilled on the first side."""
    dowels, side = plan.request.dowels, plan.request.side
    return RunListRow(
        number, side, "dowel holes", file, f"Drill {dowels.diameter:g} mm", dowels.diameter, None, *plan.stock.zero_words(side), None,
        plan.body_digest,
    )  # fmt: skip


def finishing_row(plan: Plan, number: int, file: str) -> RunListRow:
    """The row of a plan's own path."""
    cutter, side = plan.cutter, plan.request.side
    return RunListRow(
        number, side, "finishing", file, cutter.name, cutter.diameter, cutter.stick_out, *plan.stock.zero_words(side), plan.run_time.minutes,
        plan.body_digest,
    )  # fmt: skip


def elsewhere_row(plan: Plan, number: int, work: OtherOperation) -> RunListRow:
    """The row of work made elsewhere on the plan's side."""
    corner, height = plan.stock.zero_words(plan.request.side)
    return RunListRow(number, plan.request.side, work.name, "", work.cutter, None, work.stick_out, corner, work.z_zero or height, work.minutes, "")
