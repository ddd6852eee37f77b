"""The options of the command line, and what they ask for: a request, the files to write."""

from __future__ import annotations

import argparse
import os
import tomllib
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, NoReturn, TypeAlias

from .finishing.core.errors import BadRequest
from .finishing.files.job_files import FinishedView, JobFiles
from .finishing.files.plan_record import read_record_file, record_bytes, with_settings
from .finishing.files.run_log_csv import LOG_VARIABLE, NO_LOG, user_log_file
from .finishing.files.settings_guide import settings_schema, settings_text
from .finishing.job.body import Body
from .finishing.job.cutter_names import named_or_plain, parts_of_set
from .finishing.job.ground_settings import left_to_flat_cutters
from .finishing.job.orientation import UPS
from .finishing.job.request import LINES_FROM, RIM_PASSES, Request
from .finishing.job.stock import SIDES
from .finishing.reading.mesh_file import UNITS

CUTTER = "MM|NAME"
"""How a cutter is given."""

LOG_HELP = f"the run log (body-finishing/run-log.csv in your folder, or what {LOG_VARIABLE} names)"


Commands: TypeAlias = "argparse._SubParsersAction[Any]"
"""What the parsers of single commands are added to."""

LONGEST_PART = 255
"""Bytes of one name within a path (NAME_MAX of the common file systems). Told before minutes are spent on what could not be written."""


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


def _file(text: str) -> Path:
    """A name that a file or folder can have. Raises ArgumentTypeError, which the parser complains of with the option's name."""
    if not text.strip():
        raise argparse.ArgumentTypeError("must not be empty (for the folder that you are in, say '.')")
    if "\0" in text:
        raise argparse.ArgumentTypeError("holds a byte (0) that no file name can have")
    path = Path(text)
    if any(len(os.fsencode(part)) > LONGEST_PART for part in path.parts):
        raise argparse.ArgumentTypeError(f"has a name of more than {LONGEST_PART} bytes, which no disk takes")
    return path


def _name(text: str) -> str:
    """A name that is not empty: of an object, or of an object or a file."""
    if not text.strip():
        raise argparse.ArgumentTypeError("must not be empty")
    return text


def command_parser(program: str) -> argparse.ArgumentParser:
    """The parser of all commands. Its complaints are raised as BadRequest."""
    parser = _Parser(prog=program, description="Plan the finishing of curved bodies with a round-nose cutter.")
    parser.add_argument("--version", action=_Printing, text=_version_text, help="print the version, and end")
    commands = parser.add_subparsers(dest="command", required=True, parser_class=_Parser)
    plan = commands.add_parser("plan", help="plan one side of a body, or both, and write the files")
    plan.add_argument("file", type=_file, metavar="FILE", help="the body: .blend, .stl, .obj or .ply")
    plan.add_argument("--object", type=_name, metavar="NAME", help="which object, where the file holds several; all joins them (default: the only one)")
    plan.add_argument("--unit", choices=tuple(UNITS), help="what one unit of a file without units means (default: mm, where that makes a body of it)")
    plan.add_argument(
        "--from-line", type=int, metavar="N", help="write only the program of the pass lines from N on, to take up a run that stopped (default: all)"
    )
    plan.add_argument("--of-cutter", metavar=CUTTER, help="with --from-line: diameter or name of the cutter whose run stopped (default: the only one)")
    _add_settings(plan)
    batch = commands.add_parser(
        "batch",
        help="plan every body of a folder",
        description="Plan every body of a folder, each into a folder of its own, and write batch.csv. Exit code 0: all planned; "
        "3: some failed or have findings that must be seen; 2: none could be planned.",
    )
    batch.add_argument("folder", type=_file, metavar="FOLDER", help="holds .blend, .stl, .obj or .ply files")
    batch.add_argument(
        "--unit", action="append", metavar="UNIT|FILE=UNIT", default=[],
        help="what one unit of files without units means; with the name of a file before it, of that one alone (default: mm)",
    )  # fmt: skip
    _add_settings(batch)
    batch.set_defaults(object=None, from_line=None, of_cutter=None)
    read = commands.add_parser("read", help="read a written plan again and tell what has changed since")
    read.add_argument("file", type=_file, metavar="FILE", help="plan.json or CSV")
    read.add_argument("--body", type=_file, metavar="FILE", help="the body as it is now, to see whether it has changed (default: not compared)")
    read.add_argument("--object", type=_name, metavar="NAME", help="which object, where the file holds several; all joins them (default: the only one)")
    read.add_argument("--unit", choices=tuple(UNITS), help="what one unit of a body file without units means (default: mm)")
    timing = commands.add_parser(
        "timing-test", help="write a program that times the machine, or fit the machine's record to its times",
        description="Write a program of five patterns of moves for the air, spindle off; then, given their stopwatch times, fit the machine's "
        "speeds, accelerations, corners and blocks looked ahead, and write them as a settings file for --settings.",
    )  # fmt: skip
    timing.add_argument("--times", metavar="S,S,S,S,S", help="stopwatch times of the five patterns in seconds (default: none, the program is written)")
    timing.add_argument("--settings", type=_file, metavar="FILE", help="settings file: what is known of the machine so far (default: a small router)")
    timing.add_argument("--out-unit", choices=("mm", "in"), default="mm", help="unit of the program (default: mm)")
    timing.add_argument("--replace", action="store_true", help="replace files of the same names (default: refuse)")
    timing.add_argument("--out", type=_file, default=Path("out"), metavar="DIR", help="folder to write to (default: out)")
    _add_coupon(commands)
    _add_log(commands)
    compare = commands.add_parser("compare", help="set written plans side by side")
    compare.add_argument("files", type=_file, nargs="+", metavar="plan.json", help="plans as they were written, two or more")
    return parser


def _add_coupon(commands: Commands) -> None:
    """The options of a test coupon."""
    coupon = commands.add_parser(
        "coupon", help="write a test coupon for one cutter, or take back what was measured on it",
        description="Write program, sheet and record of a test coupon: fields of three cusp heights on flat surface, on a slope and in a hollow, a "
        "timed field and a groove. Then, given what was measured, write a settings file for --settings.",
    )  # fmt: skip
    coupon.add_argument(
        "file",
        type=_file,
        nargs="?",
        metavar="FILE",
        help="the body whose narrowest hollow is to be tried (default: none, a hollow half as wide again as the cutter)",
    )
    coupon.add_argument("--object", type=_name, help="name of the object where the file holds several, all to join them (default: the only one)")
    coupon.add_argument("--unit", choices=tuple(UNITS), help="what one unit of a body file without units means (default: mm)")
    coupon.add_argument("--side", choices=SIDES, help="side of the body whose hollow is tried (default: top)")
    coupon.add_argument("--cutter", metavar=CUTTER, help="diameter of the cutter, or its name on the rack (default: the settings file's)")
    coupon.add_argument("--cusps", metavar="MM,MM,MM", help="cusp heights of the columns (default: half of the plan's, the plan's, twice the plan's)")
    coupon.add_argument("--hollow", type=float, metavar="MM", help="radius of the hollow (default: the body's least)")
    coupon.add_argument("--size", metavar="MM,MM,MM", default="100,60,20", help="length, width and thickness of the scrap (default: 100,60,20)")
    coupon.add_argument(
        "--measured",
        type=_file,
        metavar="coupon.json",
        help="the coupon that was measured; then at least one of the next four (default: a coupon is written)",
    )
    coupon.add_argument("--groove", type=float, metavar="MM", help="width of the groove at the top (default: not measured)")
    coupon.add_argument("--step", type=float, metavar="MM", help="step from the top down to the fine flat field (default: not measured)")
    coupon.add_argument("--seconds", type=float, metavar="S", help="time of the fine flat field (default: not measured)")
    coupon.add_argument("--field", type=int, metavar="1|2|3", help="the coarsest column that is fine enough (default: none chosen)")
    coupon.add_argument("--settings", type=_file, metavar="FILE", help="settings file: rack, machine, feeds and the rest (default: none)")
    coupon.add_argument("--out-unit", choices=("mm", "in"), default="mm", help="unit of the program (default: mm)")
    coupon.add_argument("--replace", action="store_true", help="replace files of the same names (default: refuse)")
    coupon.add_argument("--out", type=_file, default=Path("out"), metavar="DIR", help="folder to write to (default: out)")


def _add_log(commands: Commands) -> None:
    """The options of the run log."""
    log = commands.add_parser(
        "log", help="keep what was run: measured minutes, grit, remarks; without a file, show what is kept",
        description="Keep a run in the log, a plain CSV in your folder. The next plan for the same machine, cutter and wood takes the medians of "
        "its minutes and grit.",
    )  # fmt: skip
    log.add_argument("file", type=_file, nargs="?", metavar="plan.json", help="the plan that was run (default: none, the log is shown)")
    log.add_argument(
        "--minutes", type=float, metavar="MIN", help="measured run time, without spindle start and tool change (default: none, but a plan needs it)"
    )
    log.add_argument("--grit", type=int, metavar="GRIT", help="grit that sanding began with (default: not known)")
    log.add_argument("--remarks", default="", metavar="TEXT", help="what is worth knowing next time (default: nothing)")
    log.add_argument("--log", type=_file, metavar="FILE", help=f"{LOG_HELP} (default: yours)")


def _add_settings(parser: argparse.ArgumentParser) -> None:
    """The options of a plan that hold for one body and for many."""
    parser.add_argument("--side", choices=(*SIDES, "both"), help="side of the body that lies up on the machine, or both (default: top)")
    parser.add_argument("--up", choices=UPS, help="axis of the body that looks up; auto lays a body flat that stands on its edge (default: auto)")
    cutters = parser.add_mutually_exclusive_group()
    cutters.add_argument(
        "--cutter",
        metavar=f"{CUTTER}|auto",
        help="diameter, name on the rack, or auto for the cutters of the rack that finish the side soonest (default: auto)",
    )
    cutters.add_argument(
        "--cutters",
        metavar=f"{CUTTER},{CUTTER}",
        help="diameters or names of a set: the largest takes all, each other one what remains (default: as --cutter says)",
    )
    parser.add_argument(
        "--in-spindle",
        metavar=CUTTER,
        help="diameter or name of the cutter that is in the spindle before: another one costs a tool change (default: none)",
    )
    parser.add_argument("--cusp", type=float, metavar="MM", help="cusp height: what may stand between pass lines (default: 0.05)")
    parser.add_argument(
        "--spacing",
        type=float,
        metavar="MM",
        help="spacing of pass lines on a flat surface, the other way to say the cusp height (default: as --cusp says)",
    )
    parser.add_argument(
        "--lines-from", "--start", dest="lines_from", choices=LINES_FROM, help="where pass lines are laid from; best tries all (default: best)"
    )
    parser.add_argument(
        "--rim", choices=RIM_PASSES, help="a pass along outline, openings and skipped surface; auto: where their border stands high (default: off)"
    )
    parser.add_argument(
        "--budget", type=float, metavar="MIN", help="minutes for the side; without --cusp or --spacing, what meets it is planned (default: none)"
    )
    parser.add_argument("--ramp-angle", type=float, metavar="DEG", help="between the surface and the ramps down to it and away from it (default: 3)")
    parser.add_argument("--cell", type=float, metavar="MM", help="edge of a grid cell; finer is slower (default: 0.25)")
    parser.add_argument("--smooth", metavar="MM|auto", help="smooth a rough mesh, no point by more than this; auto by its roughness (default: 0)")
    parser.add_argument(
        "--leave-out",
        metavar="flats,walls,openings",
        help="what is left to flat cutters: all flats, walls of 60 degrees and steeper, all openings (default: flats in the stock's own face alone)",
    )
    parser.add_argument(
        "--tabs", metavar="off|auto|N", help="tabs that hold the body in its stock, kept clear: none, as many as hold, or so many (default: off)"
    )
    parser.add_argument("--smaller-cutters", action="store_true", help="plan what the cutter cannot reach with smaller ones (default: no)")
    _add_files(parser)


def _add_files(parser: argparse.ArgumentParser) -> None:
    """The options of a plan that say what is read beside the body, and what is written."""
    parser.add_argument(
        "--settings",
        type=_file,
        metavar="FILE",
        help="settings file: a plan.json, or any part of its settings (default: none; --explain-settings explains it)",
    )
    parser.add_argument(
        "--explain-settings", action=_Printing, text=settings_text, help="explain every key of a settings file, with its limits and default, and end"
    )
    parser.add_argument("--settings-schema", action=_Printing, text=_schema_text, help="print the JSON Schema of a settings file, and end")
    parser.add_argument(
        "--stock",
        type=_name,
        metavar="NAME|FILE",
        help="object of the same file, or a body file, that is the stock before finishing (default: what roughing leaves)",
    )
    parser.add_argument("--out-unit", choices=("mm", "in"), default="mm", help="unit of the written files (default: mm)")
    parser.add_argument("--programs", action="store_true", help="write part programs and dry runs beside the CSVs (default: no)")
    parser.add_argument(
        "--split", type=float, metavar="MIN", help="programs in parts of at most so many minutes, each with its own way down and up (default: whole)"
    )
    parser.add_argument(
        "--despite",
        metavar="NAMES",
        default="",
        help="write programs despite these findings, named with commas between: keep-out,channel (default: none)",
    )
    parser.add_argument("--log", type=_file, metavar="FILE|none", help=f"{LOG_HELP}; none learns from no runs (default: yours)")
    parser.add_argument(
        "--finished-surface",
        action="store_true",
        help="show the surface as it will be cut, under a low lamp: a picture, and a strip in true scale (default: no)",
    )
    parser.add_argument("--light-from", type=float, metavar="DEG", help="direction to the lamp from X (default: across the pass lines)")
    parser.add_argument(
        "--heights-times", type=float, default=1.0, metavar="N", help="enlarge the heights that the lamp shows (default: 1, the true form)"
    )
    parser.add_argument("--replace", action="store_true", help="replace files of the same names (default: refuse)")
    parser.add_argument("--out", type=_file, default=Path("out"), metavar="DIR", help="folder to write to (default: out)")


def _version_text() -> str:
    """The version out of the manifest, the one place where it stands."""
    manifest = tomllib.loads((Path(__file__).parent / "blender_manifest.toml").read_text(encoding="utf-8"))
    return f"{manifest['name']} {manifest['version']}\n"


def _schema_text() -> str:
    return record_bytes(settings_schema()).decode("utf-8")


def asked_files(options: argparse.Namespace) -> JobFiles:
    """What is to be written. Raises BadRequest for parts of no length."""
    programs = options.programs or options.split is not None or options.from_line is not None
    despite = tuple(name.strip() for name in options.despite.split(",") if name.strip())
    finished = FinishedView(options.light_from, options.heights_times) if options.finished_surface else None
    return JobFiles(options.out_unit, programs=programs, split_minutes=options.split, despite=despite, finished=finished)


def asked_log(given: Path | None) -> Path | None:
    """The file of the run log; None where no runs are to be learned from."""
    if given is None:
        return user_log_file()
    return None if str(given) == NO_LOG else given


def asked_request(body: Body, options: argparse.Namespace, record: dict) -> Request:
    """Defaults, then the settings file, then what the command line names. Raises BadRequest and BadFile."""
    request = with_settings(Request(body), record)
    asked: dict[str, Any] = {
        "side": None if options.side == "both" else options.side,
        "up": options.up,
        "cusp": options.cusp,
        "lines_from": options.lines_from,
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
        named = (named_or_plain(text, request.rack) for text in parts_of_set(options.cutters, request.rack))
        first, *others = sorted(named, key=lambda cutter: -cutter.diameter)
        changes |= {"cutter": first, "following_cutters": tuple(others)}
    elif options.cutter == "auto":
        changes |= {"cutter": None, "following_cutters": ()}
    elif options.cutter is not None:
        changes |= {"cutter": named_or_plain(options.cutter, request.rack), "following_cutters": ()}
    if options.in_spindle is not None:
        changes["cutter_in_spindle"] = named_or_plain(options.in_spindle, request.rack)
    if options.tabs is not None:
        changes["tabs"] = replace(request.tabs, count=_tabs(options.tabs))
    if options.leave_out is not None:
        changes["region"] = left_to_flat_cutters(request.region, tuple(options.leave_out.split(",")))
    return replace(request, **changes)


def settings_record_of(file: Path | None) -> dict[str, Any]:
    """A settings file as a record, empty where none is named. Raises BadFile."""
    return {} if file is None else read_record_file(file)


def asked_numbers(text: str, count: int) -> tuple[float, ...]:
    """So many numbers in mm, written with commas between. Raises BadRequest."""
    try:
        found = tuple(float(part) for part in text.split(","))
    except ValueError:
        found = ()
    if len(found) != count:
        raise BadRequest("Give {count} lengths in mm with commas between them, not '{given}'.", count=count, given=text)
    return found


def _tabs(text: str) -> int | None:
    """How many tabs are wanted, None for as many as hold."""
    try:
        return {"off": 0, "auto": None}[text] if text in ("off", "auto") else int(text)
    except ValueError:
        raise BadRequest("The tabs must be off, auto or a number, not '{given}'.", given=text) from None


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
    if options.budget is not None:
        return {"spacing": None, "meet_budget": True}
    return {}


def asked_times(text: str) -> list[float]:
    """Stopwatch times in seconds, written with commas between. Raises BadRequest."""
    try:
        return [float(part) for part in text.split(",")]
    except ValueError:
        raise BadRequest("The times must be seconds with commas between them, not '{given}'.", given=text) from None
