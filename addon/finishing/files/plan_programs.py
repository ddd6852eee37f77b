"""The programs of a plan: its path, the dry run above it, and the dowel holes of its side."""

from __future__ import annotations

from ..job.dowels import dowel_places, in_job
from ..job.stock import stock_top
from ..planning.result import Plan
from .programs import dowel_program, dry_run_program, path_program


def finishing_program(plan: Plan, unit: str) -> bytes:
    """The program of a plan's path; unit "mm" or "in"."""
    return path_program(plan.path, plan.cutter, program_title(plan), plan.safe_z, plan.request.machine.spin_up_seconds, unit)


def plan_dry_run(plan: Plan, unit: str) -> bytes:
    """The program that follows the outline of a plan's path above the stock; unit "mm" or "in"."""
    return dry_run_program(plan.path, program_title(plan), plan.safe_z, plan.request.machine.air_feed, unit)


def dowel_holes_program(plan: Plan, unit: str) -> bytes:
    """The program of the dowel holes on a plan's side; unit "mm" or "in"."""
    side, stock, dowels = plan.request.side, plan.stock, plan.request.dowels
    holes = in_job(dowel_places(dowels, stock), stock, side)
    return dowel_program(holes, dowels, program_title(plan), stock_top(stock, side), stock.spoilboard(side), plan.safe_z, unit)


def program_title(plan: Plan) -> tuple[str, ...]:
    """What stands at the head of a program: body, side, zeros, digest."""
    corner, height = plan.stock.zero_words(plan.request.side)
    return (
        f"Finishing of {plan.request.body.name}, {plan.request.side} side",
        f"X Y zero: {corner}",
        f"Z zero: {height}",
        f"Made from body {plan.body_digest[:12]}",
    )
