"""All files of one job under their names: paths, programs, run list, bench sheet, pictures, records."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ..core.errors import BadRequest
from ..job.dowels import dowel_places, in_job
from ..job.stock import stock_top
from ..pictures.plan_pictures import plan_pictures
from ..planning.result import Plan
from ..planning.run_list import RunListRow, dowel_row, elsewhere_row, finishing_row, in_running_order
from .bench_sheet import bench_sheet
from .path_csv import path_csv
from .plan_record import plan_record, record_bytes
from .programs import dowel_program, dry_run_program, path_program
from .tables import table_csv
from .writing import safe_name

RUN_LIST_HEADER = (
    "number", "side", "work", "file", "cutter", "diameter_mm", "stick_out_mm", "xy_zero", "z_zero", "minutes", "digest",
)  # fmt: skip

PROGRAM_ENDING = ".nc"


@dataclass(frozen=True)
class JobFiles:
    """What is written. unit: of paths and programs, "mm" or "in". pictures, programs: whether they are written."""

    unit: str = "mm"
    pictures: bool = True
    programs: bool = False


def job_files(plans: Sequence[Plan], wanted: JobFiles | None = None) -> dict[str, bytes]:
    """Contents by file name of one or both sides of a body, numbered in running order and named after body, side and cutter.

    A side may have several plans, of the chosen cutter and of smaller ones for what it leaves.
    Raises BadRequest when the plans are not those of one body in one stock.
    """
    wanted = wanted if wanted is not None else JobFiles()
    ordered = in_running_order(plans)
    _check_one_job(ordered)
    files: dict[str, bytes] = {}
    rows: list[RunListRow] = []
    name = safe_name(ordered[0].request.body.name)
    for number, plan in enumerate(ordered):
        side = plan.request.side
        stem = f"{name}-{side}"
        own: dict[str, bytes] = {}
        first = plan is ordered[0]
        follows = plan.request.rest is not None
        for work in plan.request.elsewhere:
            if not follows and work.side == side and work.place == "before":
                rows.append(elsewhere_row(plan, len(rows) + 1, work))
        drilled = bool(wanted.programs and first and len(dowel_places(plan.request.dowels, plan.stock)))
        if drilled:
            file = f"{stem}-{len(rows) + 1}-dowels{PROGRAM_ENDING}"
            own[file] = _dowel_program(plan, wanted.unit)
            rows.append(dowel_row(plan, len(rows) + 1, file))
        numbered = f"{stem}-{len(rows) + 1}-round-nose-{plan.cutter.diameter:g}"
        own[f"{numbered}.csv"] = path_csv(plan.path, wanted.unit)
        file = f"{numbered}.csv"
        if wanted.programs:
            file = f"{numbered}{PROGRAM_ENDING}"
            machine = plan.request.machine
            safe = stock_top(plan.stock, side) + machine.safe_height
            own[file] = path_program(plan.path, plan.cutter, program_title(plan), safe, machine.spin_up_seconds, wanted.unit)
            own[f"{numbered}-dry-run{PROGRAM_ENDING}"] = dry_run_program(plan.path, program_title(plan), safe, machine.air_feed, wanted.unit)
        rows.append(finishing_row(plan, len(rows) + 1, file))
        last = not any(later.request.side == side for later in ordered[number + 1 :])
        for work in plan.request.elsewhere:
            if last and work.side == side and work.place == "after":
                rows.append(elsewhere_row(plan, len(rows) + 1, work))
        if follows:
            stem = f"{stem}-round-nose-{plan.cutter.diameter:g}"
        if wanted.pictures:
            own |= {f"{stem}-{picture.replace('_', '-')}.png": content for picture, content in plan_pictures(plan)}
        own[f"{stem}-plan.json"] = record_bytes(plan_record(plan, sorted(own)))
        files |= own
    files[f"{name}-run-list.csv"] = run_list_csv(rows)
    files[f"{name}-bench-sheet.html"] = bench_sheet(ordered, rows)
    return files


def _check_one_job(plans: Sequence[Plan]) -> None:
    if not plans:
        raise BadRequest("There is no plan to write.")
    first = plans[0]
    chosen = [plan.request.side for plan in plans if plan.request.rest is None]
    if len(set(chosen)) < len(chosen):
        raise BadRequest("A job holds one plan for each side, and those of smaller cutters for what it leaves.")
    for plan in plans[1:]:
        if plan.body_digest != first.body_digest:
            raise BadRequest("The two sides were planned for different bodies: plan both again.")
        if plan.stock != first.stock:
            raise BadRequest("The two sides were planned for stock of different size or zeros: plan both again.")


def program_title(plan: Plan) -> tuple[str, ...]:
    """What stands at the head of a program: body, side, zeros, digest."""
    corner, height = plan.stock.zero_words(plan.request.side)
    return (
        f"Finishing of {plan.request.body.name}, {plan.request.side} side",
        f"X Y zero: {corner}",
        f"Z zero: {height}",
        f"Made from body {plan.body_digest[:12]}",
    )


def _dowel_program(plan: Plan, unit: str) -> bytes:
    side, stock = plan.request.side, plan.stock
    top = stock_top(stock, side)
    places = in_job(dowel_places(plan.request.dowels, stock), stock, side)
    return dowel_program(places, plan.request.dowels, program_title(plan), top, stock.spoilboard(side), top + plan.request.machine.safe_height, unit)


def run_list_csv(rows: Sequence[RunListRow]) -> bytes:
    """The run list as a table."""
    return table_csv(
        RUN_LIST_HEADER,
        [
            (row.number, row.side, row.work, row.file, row.cutter, row.diameter, row.stick_out, row.xy_zero, row.z_zero,
             None if row.minutes is None else round(row.minutes, 2), row.digest)
            for row in rows
        ],
    )  # fmt: skip
