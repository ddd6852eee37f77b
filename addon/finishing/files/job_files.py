"""All files of one job under their names: paths, programs, run list, bench sheet, pictures, records."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from ..core.errors import BadRequest
from ..core.message import ENGLISH, Language
from ..core.stepping import Steps, finished
from ..job.cutter_names import named_cutter
from ..job.dowels import dowel_places
from ..job.other_operations import OtherOperation
from ..pictures.finished_picture import Strip, finished_picture, finished_strip, light_for
from ..pictures.plan_maps import PLAN_MAPS, PlanMap
from ..pictures.plan_pictures import plan_pictures
from ..pictures.raking_light import RakingLight
from ..planning.hazards import refusal
from ..planning.result import Plan
from ..planning.run_list import PathPart, RunListRow, dowel_row, finishing_row, in_running_order, other_operation_row
from .bench_sheet import bench_sheet
from .names import safe_name
from .path_csv import path_csv
from .plan_programs import dowel_holes_program, finishing_program, part_minutes, part_program, parts_of, plan_dry_run, plan_low_dry_run
from .plan_record import plan_record, record_bytes
from .program_writer import PROGRAM_ENDING
from .run_list_csv import run_list_csv

PATH_ENDING = ".csv"


@dataclass(frozen=True)
class PathFile:
    """A file that is written of every plan's path.

    ending: what follows the plan's numbered name. content: the bytes, from the plan and the unit ("mm" or "in"). is_program: whether it is
    written only where programs are wanted. goes_down: whether it goes down to the work, and is not written where it would hit something known.
    """

    ending: str
    content: Callable[[Plan, str], bytes]
    is_program: bool = False
    goes_down: bool = False


PATH_FILES: tuple[PathFile, ...] = (
    PathFile(PATH_ENDING, lambda plan, unit: path_csv(plan.path, unit)),
    PathFile(PROGRAM_ENDING, finishing_program, is_program=True, goes_down=True),
    PathFile(f"-dry-run{PROGRAM_ENDING}", plan_dry_run, is_program=True),
    PathFile(f"-low-dry-run{PROGRAM_ENDING}", plan_low_dry_run, is_program=True, goes_down=True),
)
"""Every format that a path is written in: a new one is a row here."""


@dataclass(frozen=True)
class FinishedView:
    """How the finished surface is shown. light_from: direction to the lamp in degrees from X, None for across the pass lines. heights_times: by
    what heights are enlarged, 1 for the true form.
    """

    light_from: float | None = None
    heights_times: float = 1.0

    def __post_init__(self) -> None:
        """Refuse, before anything is planned, what no lamp can be. Raises BadRequest."""
        RakingLight(0.0 if self.light_from is None else self.light_from, heights_times=self.heights_times)


@dataclass(frozen=True)
class JobFiles:
    """What is written. unit: of paths and programs, "mm" or "in". pictures, programs: whether they are written.

    split_minutes: the most that one program of a path may take, None for one program of any length. despite: keys of findings that are no reason
    to write no program. path_files: the files of each path. maps: the maps among the pictures. finished: how the finished surface is shown,
    None for no picture of it. language: of bench sheet and pictures; tables, records and programs are in English whatever it is.
    """

    unit: str = "mm"
    pictures: bool = True
    programs: bool = False
    split_minutes: float | None = None
    despite: tuple[str, ...] = ()
    path_files: tuple[PathFile, ...] = PATH_FILES
    maps: tuple[PlanMap, ...] = PLAN_MAPS
    finished: FinishedView | None = None
    language: Language = ENGLISH

    def __post_init__(self) -> None:
        if self.split_minutes is not None and not self.split_minutes > 0:
            raise BadRequest("Programs can be split into parts of more than 0 minutes, not {value}: give more minutes.", value=self.split_minutes)


@dataclass(frozen=True)
class _DowelHoles:
    """The dowel holes of a side, as a piece of work in running order."""


@dataclass(frozen=True)
class _Finishing:
    """A plan's own path, as a piece of work in running order."""


_Work = OtherOperation | _DowelHoles | _Finishing


def job_files(plans: Sequence[Plan], wanted: JobFiles | None = None) -> dict[str, bytes]:
    """Contents by file name of one or both sides of a body, numbered in running order and named after body, side and cutter.

    A side may have several plans, of the chosen cutter and of smaller ones for what remains after it.
    Raises BadRequest when the plans are not those of one body in one stock.
    """
    return finished(job_files_steps(plans, wanted))


def job_files_steps(plans: Sequence[Plan], wanted: JobFiles | None = None) -> Steps[dict[str, bytes]]:
    """As job_files; yields the share done."""
    wanted = wanted if wanted is not None else JobFiles()
    ordered = in_running_order(plans)
    _check_one_job(ordered)
    files: dict[str, bytes] = {}
    rows: list[RunListRow] = []
    sizes: list[int | None] = []
    strips: list[tuple[str, Strip]] = []
    for count, plan in enumerate(ordered):
        own: dict[str, bytes] = {}
        for work in _work_of(plan, ordered, wanted):
            yield count / len(ordered)
            done, written = _rows_and_files(plan, work, len(rows) + 1, wanted)
            rows += done
            own |= written
        stem = _result_stem(plan)
        if wanted.pictures:
            for made, (name, content) in enumerate(plan_pictures(plan, wanted.maps, wanted.language)):
                own[f"{stem}-{name.replace('_', '-')}.png"] = content
                yield (count + made / (len(wanted.maps) + 2)) / len(ordered)
        of_side = tuple(each for each in ordered if each.request.side == plan.request.side)
        if wanted.finished is not None and plan is of_side[-1]:
            picture, strip = _finished(of_side, wanted.finished, wanted.language)
            own |= {f"{_side_stem(plan)}-finished-surface.png": picture, f"{_side_stem(plan)}-finished-strip.png": strip.png}
            strips.append((plan.request.side, strip))
        sizes.append(_program_bytes(plan, own))
        own[record_name(plan)] = record_bytes(plan_record(plan, sorted(own), sizes[-1]))
        files |= own
    name = _body_stem(ordered[0])
    files[f"{name}-run-list.csv"] = run_list_csv(rows)
    files[f"{name}-bench-sheet.html"] = bench_sheet(ordered, rows, strips, sizes, wanted.language)
    return files


def _program_bytes(plan: Plan, files: dict[str, bytes]) -> int | None:
    """Size of the programs of a plan's path among its files, None where there are none."""
    sizes = [len(content) for name, content in files.items() if _cutter_stem(plan) in name and name.endswith(PROGRAM_ENDING) and "dry-run" not in name]
    return sum(sizes) if sizes else None


def _check_one_job(plans: Sequence[Plan]) -> None:
    """Raise BadRequest when plans cannot be written as one job."""
    if not plans:
        raise BadRequest("There is no plan to write: plan a side first.")
    first = plans[0]
    chosen = [plan.request.side for plan in plans if plan.request.remaining is None]
    if len(set(chosen)) < len(chosen):
        raise BadRequest("A job holds one plan for each side, and those of smaller cutters for what it leaves: leave the others out.")
    for plan in plans[1:]:
        if plan.body_digest != first.body_digest:
            raise BadRequest("The two sides were planned for different bodies: plan both again.")
        if plan.stock != first.stock:
            raise BadRequest("The two sides were planned for stock of different size or zeros: plan both again.")


def _work_of(plan: Plan, ordered: Sequence[Plan], wanted: JobFiles) -> list[_Work]:
    """What is done on a plan's turn, in running order: other operations before its side and after it, and dowel holes first of all."""
    side = plan.request.side
    of_side = [item for item in ordered if item.request.side == side]
    others = [work for work in plan.request.elsewhere if work.side == side]
    work: list[_Work] = []
    if plan.request.remaining is None:
        work += [item for item in others if item.place == "before"]
    if wanted.programs and plan is ordered[0] and len(dowel_places(plan.request.dowels, plan.stock)):
        work.append(_DowelHoles())
    work.append(_Finishing())
    if plan is of_side[-1]:
        work += [item for item in others if item.place == "after"]
    return work


def run_to_take_up(plans: Sequence[Plan], called: str | None) -> Plan:
    """The plan, of those of one side, whose run stopped: by its cutter's diameter in mm or its name, None for the only one. Raises BadRequest."""
    wanted = None if called is None else named_cutter(called, [plan.cutter for plan in plans])
    found = [plan for plan in plans if called is None or plan.cutter == wanted]
    if len(found) == 1:
        return found[0]
    diameters = ", ".join(f"{plan.cutter.diameter:g}" for plan in plans)
    raise BadRequest(
        "Programs of these cutters are there: {diameters} mm. Say whose is to be taken up: --of-cutter on the command line, Of Cutter in Blender.",
        diameters=diameters,
    )


def record_name(plan: Plan) -> str:
    """Name of the file that holds a plan's settings and results."""
    return f"{_result_stem(plan)}-plan.json"


def first_record_name(body: str, side: str) -> str:
    """The `record_name` that the first cutter of a side will have: known before anything is planned. body: its name."""
    return f"{safe_name(body)}-{side}-plan.json"


def restart_file(plan: Plan, line: int, wanted: JobFiles) -> dict[str, bytes]:
    """The program of a plan from a line on, under a name of its own. Raises BadRequest when there is no such line, or it would hit something."""
    refused = refusal(plan, wanted.despite)
    if refused is not None:
        raise BadRequest("{reason}", reason=refused)
    program = part_program(plan, wanted.unit, line, plan.path.line_count)
    return {f"{_side_stem(plan)}-{_cutter_stem(plan)}-from-line-{line}{PROGRAM_ENDING}": program}


def _finished(plans: Sequence[Plan], view: FinishedView, language: Language) -> tuple[bytes, Strip]:
    """The picture of a finished side, and its strip in true scale."""
    light = light_for(plans, view.light_from, view.heights_times)
    return finished_picture(plans, light, language), finished_strip(plans, light)


def _rows_and_files(plan: Plan, work: _Work, number: int, wanted: JobFiles) -> tuple[list[RunListRow], dict[str, bytes]]:
    """The rows of a piece of work in the run list, and the files that are made for it. number: of the first row."""
    if isinstance(work, OtherOperation):
        return [other_operation_row(plan, number, work)], {}
    refused = refusal(plan, wanted.despite) if wanted.programs else None
    if isinstance(work, _DowelHoles):
        file = f"{_side_stem(plan)}-{number}-dowels{PROGRAM_ENDING}"
        if refused is not None:
            return [dowel_row(plan, number, "", refused)], {}
        return [dowel_row(plan, number, file)], {file: dowel_holes_program(plan, wanted.unit)}
    stem = f"{_side_stem(plan)}-{number}-{_cutter_stem(plan)}"
    parts = _parts(plan, wanted) if refused is None else ()
    written: dict[str, bytes] = {}
    for item in wanted.path_files:
        whole_path = item.ending == PROGRAM_ENDING
        if (item.is_program and not wanted.programs) or (item.goes_down and refused is not None) or (whole_path and parts):
            continue
        written[f"{stem}{item.ending}"] = item.content(plan, wanted.unit)
    if parts:
        rows, programs = _parts_files(plan, parts, number, wanted)
        return rows, written | programs
    runs = wanted.programs and refused is None
    return [finishing_row(plan, number, f"{stem}{PROGRAM_ENDING if runs else PATH_ENDING}", refused=refused)], written


def _parts(plan: Plan, wanted: JobFiles) -> tuple[PathPart, ...]:
    """The parts that a plan's program is split into, none where it is one program."""
    if not wanted.programs or wanted.split_minutes is None:
        return ()
    parts = parts_of(plan, wanted.split_minutes)
    return tuple(PathPart(first, last, part_minutes(plan, first, last)) for first, last in parts) if len(parts) > 1 else ()


def _parts_files(plan: Plan, parts: Sequence[PathPart], number: int, wanted: JobFiles) -> tuple[list[RunListRow], dict[str, bytes]]:
    """A row and a program for each part of a plan's path. number: of the first."""
    rows: list[RunListRow] = []
    files: dict[str, bytes] = {}
    for count, part in enumerate(parts):
        file = f"{_side_stem(plan)}-{number + count}-{_cutter_stem(plan)}-lines-{part.first}-to-{part.last}{PROGRAM_ENDING}"
        files[file] = part_program(plan, wanted.unit, part.first, part.last)
        rows.append(finishing_row(plan, number + count, file, part))
    return rows, files


def _body_stem(plan: Plan) -> str:
    return safe_name(plan.request.body.name)


def _side_stem(plan: Plan) -> str:
    return f"{_body_stem(plan)}-{plan.request.side}"


def _cutter_stem(plan: Plan) -> str:
    return f"{'tapered' if plan.cutter.half_angle else 'round-nose'}-{plan.cutter.diameter:g}"


def _result_stem(plan: Plan) -> str:
    """What the names of a plan's pictures and record begin with: the cutter's name keeps those of a smaller one apart."""
    return _side_stem(plan) if plan.request.remaining is None else f"{_side_stem(plan)}-{_cutter_stem(plan)}"
