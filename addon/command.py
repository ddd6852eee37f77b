"""The command line: `blender -c finishing plan FILE ...` and `build.py plan FILE ...` both come here."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, NoReturn

from .batch import batch_text, bodies_in, run_batch, units_of_files
from .finishing.core.errors import BadFile, BadRequest, FinishingError, SeveralObjects
from .finishing.core.path import CUT
from .finishing.core.result_store import ResultStore
from .finishing.core.stepping import told
from .finishing.files.job_files import JobFiles, job_files, restart_file
from .finishing.files.names import safe_name
from .finishing.files.plan_record import is_of_plan, machine_in, read_record, record_bytes, with_settings
from .finishing.files.program_writer import PROGRAM_ENDING
from .finishing.files.read_back import changes_since, read_written
from .finishing.files.replaced_files import replaced_files
from .finishing.files.settings_guide import settings_schema, settings_text
from .finishing.files.summary import summary
from .finishing.files.timing_program import fit_record, fit_text, instructions, timing_program
from .finishing.files.writing import write_all
from .finishing.job.body import Body
from .finishing.job.cutter import Cutter
from .finishing.job.ground_settings import left_to_flat_cutters
from .finishing.job.orientation import UPS
from .finishing.job.plausible_size import check_guessed_unit
from .finishing.job.request import RIM_PASSES, STARTS, Request
from .finishing.job.stock import SIDES
from .finishing.motion.timing_fit import fitted_machine
from .finishing.planning.comparison import comparison_text, figures_from
from .finishing.planning.hazards import known_hits, refusal
from .finishing.planning.result import Plan
from .finishing.planning.smaller_cutters import side_plans, total_minutes
from .finishing.reading.faults import name_list
from .finishing.reading.mesh_file import UNITS
from .scene.file_reading import FileBody, read_file, read_file_with_unit

DONE, WRONG_USE, FINDINGS = 0, 2, 3
"""Exit codes: done; wrong use or bad input, nothing written; planned, with findings that must be seen."""


class _Printing(argparse.Action):
    """An option that prints a text and ends, as --help does."""

    def __init__(self, option_strings: Sequence[str], dest: str, *, text: Callable[[], str], help: str) -> None:
        super().__init__(option_strings, dest, nargs=0, help=help)
        self._text = text

    def __call__(self, parser: argparse.ArgumentParser, *_: object, **__: object) -> NoReturn:
        """Print and leave."""
        print(self._text(), end="")
        parser.exit()


class _Parser(argparse.ArgumentParser):
    """A parser whose complaint is one sentence on stderr."""

    def error(self, message: str) -> NoReturn:
        raise BadRequest("{complaint}; see {program} --help.", complaint=message[:1].upper() + message[1:], program=self.prog)


def run(arguments: Sequence[str], program: str = "finishing") -> int:
    """Run one command; returns its exit code."""
    try:
        options = _parser(program).parse_args(arguments)
        commands: dict[str, Callable[[argparse.Namespace], int]] = {
            "plan": _plan,
            "batch": _batch,
            "read": _read,
            "compare": _compare,
            "timing-test": _timing_test,
        }
        return commands[options.command](options)
    except FinishingError as error:
        print(f"{program}: {error}", file=sys.stderr)
        return WRONG_USE


def _parser(program: str) -> argparse.ArgumentParser:
    parser = _Parser(prog=program, description="Plan the finishing of curved bodies with a round-nose cutter.")
    commands = parser.add_subparsers(dest="command", required=True, parser_class=_Parser)
    plan = commands.add_parser("plan", help="plan one side of a body, or both, and write the files")
    plan.add_argument("file", type=Path, metavar="FILE", help=".blend, .stl, .obj or .ply")
    plan.add_argument("--object", help="name of the object where the file holds several, all to join them")
    plan.add_argument("--unit", choices=tuple(UNITS), help="what one unit of a file without units means (mm, where that makes a body of it)")
    plan.add_argument("--from-line", type=int, metavar="N", help="write only the program of the pass lines from N on, to take up a run that stopped")
    _add_settings(plan)
    batch = commands.add_parser(
        "batch",
        help="plan every body of a folder",
        description="Plan every body of a folder, each into a folder of its own, and write batch.csv. Exit code 0: all planned; "
        "3: some failed or have findings that must be seen; 2: none could be planned.",
    )
    batch.add_argument("folder", type=Path, metavar="FOLDER", help="holds .blend, .stl, .obj or .ply files")
    batch.add_argument(
        "--unit", action="append", metavar="UNIT|FILE=UNIT", default=[],
        help="what one unit of files without units means; with the name of a file before it, of that one alone",
    )  # fmt: skip
    _add_settings(batch)
    batch.set_defaults(object=None, from_line=None)
    read = commands.add_parser("read", help="read a written plan again and tell what has changed since")
    read.add_argument("file", type=Path, metavar="FILE", help="plan.json or CSV")
    read.add_argument("--body", type=Path, metavar="FILE", help="the body as it is now")
    read.add_argument("--object", help="name of the object where the file holds several, all to join them")
    read.add_argument("--unit", choices=tuple(UNITS), help="what one unit of a body file without units means (mm)")
    timing = commands.add_parser(
        "timing-test", help="write a program that times the machine, or fit the machine's record to its times",
        description="Write a program of five patterns of moves for the air, spindle off; then, given their stopwatch times, fit the machine's "
        "speeds, accelerations, corners and blocks looked ahead, and write them as a settings file for --settings.",
    )  # fmt: skip
    timing.add_argument("--times", metavar="S,S,S,S,S", help="stopwatch times of the five patterns in seconds")
    timing.add_argument("--settings", type=Path, metavar="plan.json", help="what is known of the machine so far")
    timing.add_argument("--out-unit", choices=("mm", "in"), default="mm", help="unit of the program")
    timing.add_argument("--replace", action="store_true", help="replace files of the same names")
    timing.add_argument("--out", type=Path, default=Path("out"), metavar="DIR", help="folder to write to (out)")
    compare = commands.add_parser("compare", help="set written plans side by side")
    compare.add_argument("files", type=Path, nargs="+", metavar="plan.json", help="plans as they were written")
    return parser


def _add_settings(parser: argparse.ArgumentParser) -> None:
    """The options of a plan that hold for one body and for many."""
    parser.add_argument("--side", choices=(*SIDES, "both"))
    parser.add_argument("--up", choices=UPS, help="axis of the body that looks up; auto lays a body flat that stands on its edge (auto)")
    cutters = parser.add_mutually_exclusive_group()
    cutters.add_argument("--cutter", metavar="MM|auto", help="diameter, or auto for the cutters of the rack that finish the side soonest (auto)")
    cutters.add_argument("--cutters", metavar="MM,MM", help="diameters of a set: the largest takes all, each other one what is left")
    parser.add_argument("--cusp", type=float, metavar="MM", help="cusp height")
    parser.add_argument("--spacing", type=float, metavar="MM", help="spacing of the passes on flat ground, the other way to say the cusp height")
    parser.add_argument("--start", choices=STARTS)
    parser.add_argument("--rim", choices=RIM_PASSES, help="a pass along outline, openings and skipped ground; auto: where their border stands high")
    parser.add_argument("--budget", type=float, metavar="MIN", help="minutes for the side; without --cusp or --spacing, what meets it is planned")
    parser.add_argument("--ramp-angle", type=float, metavar="DEG", help="between the surface and the ramps down to it and away from it (3)")
    parser.add_argument("--cell", type=float, metavar="MM", help="edge of a grid cell")
    parser.add_argument("--smooth", metavar="MM|auto", help="smooth a rough mesh, no point by more than this; auto by its roughness (0)")
    parser.add_argument("--out-unit", choices=("mm", "in"), default="mm", help="unit of the written paths")
    parser.add_argument("--settings", type=Path, metavar="plan.json", help="rack, machine, feeds and the rest")
    parser.add_argument(
        "--leave-out",
        metavar="flats,walls,openings",
        help="what is left to flat cutters: all flats, walls of 60 degrees and steeper, all openings; flats in the stock's own face are anyway",
    )
    parser.add_argument("--explain-settings", action=_Printing, text=settings_text, help="explain every key of a settings file, with its limits")
    parser.add_argument("--settings-schema", action=_Printing, text=_schema_text, help="print the JSON Schema of a settings file")
    parser.add_argument("--stock", metavar="NAME|FILE", help="object of the same file, or a body file, that is the stock as it stands before finishing")
    parser.add_argument("--smaller-cutters", action="store_true", help="plan what the cutter cannot reach with smaller ones")
    parser.add_argument("--programs", action="store_true", help="write part programs and dry runs beside the CSVs")
    parser.add_argument("--split", type=float, metavar="MIN", help="programs in parts of at most so many minutes, each with its own way down and up")
    parser.add_argument(
        "--despite", metavar="NAMES", default="", help="write programs despite these findings, named with commas between: keep-out,slot"
    )
    parser.add_argument("--replace", action="store_true", help="replace files of the same names")
    parser.add_argument("--out", type=Path, default=Path("out"), metavar="DIR", help="folder to write to (out)")


def _schema_text() -> str:
    return record_bytes(settings_schema()).decode("utf-8")


def _plan(options: argparse.Namespace) -> int:
    record = _settings(options)
    read = _read_body(options.file, options)
    plans, written = _plan_body(read, options.out, options, record)
    print(read.words)
    for plan in plans:
        print(summary(plan))
    if len(plans) > 1:
        change = plans[0].request.machine.tool_change_minutes
        print(f"All together {total_minutes(plans, change):.1f} minutes, with {change:g} for every tool change")
    for line in _held_back(plans, _job_files(options)):
        print(line)
    for path in written:
        if path.suffix == PROGRAM_ENDING:
            print(f"{path.name}: {path.stat().st_size / 1000:.0f} kB")
    print("Written: " + ", ".join(str(path) for path in written))
    return FINDINGS if any(finding.must_see for plan in plans for finding in plan.findings) else DONE


def _job_files(options: argparse.Namespace) -> JobFiles:
    """What is to be written. Raises BadRequest for parts of no length."""
    programs = options.programs or options.split is not None or options.from_line is not None
    despite = tuple(name.strip() for name in options.despite.split(",") if name.strip())
    return JobFiles(options.out_unit, programs=programs, split_minutes=options.split, despite=despite)


def _held_back(plans: Sequence[Plan], wanted: JobFiles) -> list[str]:
    """For every plan without a program: why, and how it is written all the same."""
    if not wanted.programs:
        return []
    reasons = [(refusal(plan, wanted.despite), known_hits(plan)) for plan in plans]
    return [f"{reason} To write it all the same: --despite {','.join(dict.fromkeys(hit.key for hit in hits))}" for reason, hits in reasons if reason]


def _settings(options: argparse.Namespace) -> dict[str, Any]:
    """The settings file as a record; and a first look at the folder, before minutes are spent on planning."""
    if options.out.exists() and not options.out.is_dir():
        raise BadFile("'{folder}' is not a folder: give a folder to write to.", folder=options.out)
    if options.settings is None:
        return {}
    try:
        return read_record(options.settings.read_bytes())
    except OSError as error:
        raise BadFile("The settings file '{file}' cannot be read: {error}.", file=options.settings, error=error.strerror) from error


def _read_body(file: Path, options: argparse.Namespace) -> FileBody:
    """The body of a file, unless its size shows that the unit was guessed wrong."""
    read = read_file_with_unit(file, options.object, options.unit)
    if read.unit_guessed:
        check_guessed_unit(read.body, UNITS)
    return read


def _plan_body(read: FileBody, out: Path, options: argparse.Namespace, record: dict[str, Any]) -> tuple[tuple[Plan, ...], list[Path]]:
    """Plan the wanted sides of one body and write them; returns the plans and the files."""
    body = read.body
    request = replace(_request(body, options, record), stock_body=_stock_body(read.file, options))
    sides = SIDES if options.side == "both" else (request.side,)
    wanted = _job_files(options)
    if options.from_line is not None and len(sides) > 1:
        raise BadRequest("--from-line takes up the run of one side: give --side top or --side back.")
    there = [name for name in (f"{safe_name(body.name)}-{side}-plan.json" for side in sides) if (out / name).exists()]
    if there and not options.replace and options.from_line is None:
        raise BadFile("'{file}' is already in '{folder}': choose another folder, or add --replace.", file=there[0], folder=out)
    cache = ResultStore()
    plans = tuple(plan for side in sides for plan in told(side_plans(replace(request, side=side), cache), _progress))
    _progress(1.0, "files")
    files = job_files(plans, wanted) if options.from_line is None else _restart(plans, options.from_line, wanted, out)
    _end_progress()
    gone = replaced_files(out, plans) if options.replace and options.from_line is None else set()
    return plans, write_all(out, files, replace=options.replace, gone=gone)


def _restart(plans: Sequence[Plan], line: int, wanted: JobFiles, out: Path) -> dict[str, bytes]:
    """The program from a line on, of the plan whose files may be in the folder already: the lines must be those. Raises BadRequest."""
    if len(plans) > 1:
        raise BadRequest("--from-line takes up the run of one cutter: plan without --smaller-cutters.")
    (plan,) = plans
    record = out / f"{safe_name(plan.request.body.name)}-{plan.request.side}-plan.json"
    if record.is_file() and not is_of_plan(read_record(record.read_bytes()), plan):
        raise BadRequest(
            "The lines are not those of '{file}' in the folder: plan with the same body and settings as before (--settings {file}).", file=record.name
        )
    return restart_file(plan, line, wanted)


def _stock_body(file: Path, options: argparse.Namespace) -> Body | None:
    """The stock that was given: a file of its own, or another object of the body's file."""
    if options.stock is None:
        return None
    own = Path(options.stock)
    if not own.is_file():
        return read_file(file, options.stock, options.unit)
    try:
        return read_file(own, None, options.unit)
    except SeveralObjects as error:
        raise BadFile(
            "'{file}' holds {count} objects ({names}): give a stock file with one object.",
            file=own.name,
            count=len(error.names),
            names=name_list(error.names),
        ) from None


def _compare(options: argparse.Namespace) -> int:
    figures = []
    stems = [file.stem for file in options.files]
    for file in options.files:
        try:
            figures.append(
                replace(
                    figures_from(read_record(file.read_bytes())), name=file.stem if stems.count(file.stem) == 1 else f"{file.parent.name}/{file.stem}"
                )
            )
        except OSError as error:
            raise BadFile("'{file}' cannot be read: {error}.", file=file, error=error.strerror) from error
    print(comparison_text(figures))
    return DONE


def _timing_test(options: argparse.Namespace) -> int:
    """Write the program of the timing test; or, given its times, the machine that they show, unless they fit none."""
    record = _settings(options)
    machine = machine_in(record)
    believed = True
    if options.times is None:
        files, text = {f"timing-test{PROGRAM_ENDING}": timing_program(options.out_unit)}, instructions(machine)
    else:
        fit = fitted_machine(_times(options.times), machine)
        believed, text = fit.believed, fit_text(fit)
        files = {"machine.json": record_bytes(fit_record(fit, record))} if believed else {}
    written = write_all(options.out, files, replace=options.replace) if files else []
    print(text)
    print("Written: " + (", ".join(str(path) for path in written) or "nothing"))
    return DONE if believed else FINDINGS


def _times(text: str) -> list[float]:
    try:
        return [float(part) for part in text.split(",")]
    except ValueError:
        raise BadRequest("The times must be seconds with commas between them, not '{given}'.", given=text) from None


def _batch(options: argparse.Namespace) -> int:
    record = _settings(options)
    files = bodies_in(options.folder)
    unit_of = units_of_files(options.unit, files)
    if (options.out / "batch.csv").exists() and not options.replace:
        raise BadFile("'{file}' is already in '{folder}': choose another folder, or add --replace.", file="batch.csv", folder=options.out)

    def plan_one(file: Path, out: Path) -> Sequence[Plan]:
        own = argparse.Namespace(**{**vars(options), "unit": unit_of[file]})
        return _plan_body(_read_body(file, own), out, own, record)[0]

    rows = run_batch(files, options.out, plan_one, options.replace)
    print(batch_text(rows))
    if all(row.result == "failed" for row in rows):
        return WRONG_USE
    return DONE if all(row.result == "planned" for row in rows) else FINDINGS


def _read(options: argparse.Namespace) -> int:
    written = read_written(options.file)
    path = written.path
    side = f", {written.side} side" if written.side else ""
    print(f"{options.file.name}{side}: {path.line_count} pass lines, {path.length_of(CUT) / 1000:.2f} m of cuts")
    if options.body is None:
        return DONE
    changes = changes_since(written, read_file(options.body, options.object, options.unit))
    print("\n".join(str(change) for change in changes) if changes else "The body is as it was when the plan was written.")
    return FINDINGS if changes else DONE


def _request(body: Body, options: argparse.Namespace, record: dict) -> Request:
    """Defaults, then the settings file, then what the command line names."""
    request = with_settings(Request(body), record)
    asked: dict[str, Any] = {
        "side": None if options.side == "both" else options.side,
        "up": options.up,
        "cusp": options.cusp,
        "start": options.start,
        "rim_pass": options.rim,
        "budget_minutes": options.budget,
        "ramp_angle": options.ramp_angle,
        "cell": options.cell,
        "smaller_cutters": options.smaller_cutters or None,
    }
    changes = {name: value for name, value in asked.items() if value is not None} | _fineness(options)
    if options.smooth is not None:
        changes["smooth"] = _smooth(options.smooth)
    if options.cutters is not None:
        first, *others = sorted((_cutter(text, request.rack) for text in options.cutters.split(",")), key=lambda cutter: -cutter.diameter)
        changes |= {"cutter": first, "following_cutters": tuple(others)}
    elif options.cutter == "auto":
        changes |= {"cutter": None, "following_cutters": ()}
    elif options.cutter is not None:
        changes |= {"cutter": _cutter(options.cutter, request.rack), "following_cutters": ()}
    if options.leave_out is not None:
        changes["region"] = left_to_flat_cutters(request.region, tuple(options.leave_out.split(",")))
    return replace(request, **changes)


def _smooth(text: str) -> float | None:
    """The greatest deviation of smoothing, None for auto."""
    try:
        return None if text == "auto" else float(text)
    except ValueError:
        raise BadRequest("The smoothing must be a greatest deviation in mm or auto, not '{given}'.", given=text) from None


def _fineness(options: argparse.Namespace) -> dict[str, Any]:
    """What is asked for last of cusp height, spacing and a budget to be met overrules what a settings file says of the others."""
    if options.cusp is not None and options.spacing is not None:
        raise BadRequest("Cusp height and spacing are two ways to say one thing: give --cusp or --spacing, not both.")
    if options.cusp is not None or options.spacing is not None:
        return {"spacing": options.spacing, "meet_budget": False}
    if options.budget is not None and not options.smaller_cutters:
        return {"spacing": None, "meet_budget": True}
    return {}


def _cutter(text: str, rack: tuple[Cutter, ...]) -> Cutter:
    """The rack's cutter of this diameter, or a plain one."""
    try:
        diameter = float(text)
    except ValueError:
        raise BadRequest("The cutter must be a diameter in mm or auto, not '{given}'.", given=text) from None
    for cutter in rack:
        if abs(cutter.diameter - diameter) < 1e-6:
            return cutter
    return Cutter(f"Round-nose {diameter:g}", diameter)


def _progress(share: float, stage: str) -> None:
    if sys.stderr.isatty():
        filled = int(30 * share)
        print(f"\r[{'#' * filled}{'.' * (30 - filled)}] {share:4.0%}  {stage:<24}", end="", file=sys.stderr, flush=True)


def _end_progress() -> None:
    if sys.stderr.isatty():
        print("\r" + " " * 70 + "\r", end="", file=sys.stderr, flush=True)
