"""The command line: `blender -c finishing plan FILE ...` and `build.py plan FILE ...` both come here."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import NoReturn

from .finishing.body import Body
from .finishing.cutter import Cutter
from .finishing.errors import BadFile, BadRequest, FinishingError
from .finishing.files.bundle import plan_files
from .finishing.files.record import read_record, with_settings
from .finishing.files.summary import summary
from .finishing.files.writing import write_all
from .finishing.plan import make_plan
from .finishing.request import SIDES, STARTS, Request
from .scene.file_reading import UNITS, read_file

DONE, WRONG_USE, FINDINGS = 0, 2, 3
"""Exit codes: done; wrong use or bad input, nothing written; planned, with findings that must be seen."""


class _Parser(argparse.ArgumentParser):
    """A parser whose complaint is one sentence on stderr."""

    def error(self, message: str) -> NoReturn:
        raise BadRequest(message[:1].upper() + message[1:] + f"; see {self.prog} --help.")


def run(arguments: Sequence[str], program: str = "finishing") -> int:
    """Run one command; returns its exit code."""
    try:
        return _plan(_parser(program).parse_args(arguments))
    except FinishingError as error:
        print(f"{program}: {error}", file=sys.stderr)
        return WRONG_USE


def _parser(program: str) -> argparse.ArgumentParser:
    parser = _Parser(prog=program, description="Plan the finishing of curved bodies with a round-nose cutter.")
    commands = parser.add_subparsers(dest="command", required=True, parser_class=_Parser)
    plan = commands.add_parser("plan", help="plan one side of a body and write its files")
    plan.add_argument("file", type=Path, metavar="FILE", help=".blend, .stl, .obj or .ply")
    plan.add_argument("--object", help="name of the object in a .blend")
    plan.add_argument("--side", choices=SIDES)
    plan.add_argument("--cutter", metavar="MM|auto", help="diameter, or auto for the largest of the rack that fits")
    plan.add_argument("--cusp", type=float, metavar="MM", help="cusp height")
    plan.add_argument("--start", choices=STARTS)
    plan.add_argument("--budget", type=float, metavar="MIN", help="time budget in minutes")
    plan.add_argument("--cell", type=float, metavar="MM", help="edge of a grid cell")
    plan.add_argument("--unit", choices=tuple(UNITS), help="what one unit of a file without units means (mm)")
    plan.add_argument("--out-unit", choices=("mm", "in"), default="mm", help="unit of the written paths")
    plan.add_argument("--settings", type=Path, metavar="plan.json", help="rack, machine, feeds and the rest")
    plan.add_argument("--out", type=Path, default=Path("out"), metavar="DIR", help="folder to write to (out)")
    return parser


def _plan(options: argparse.Namespace) -> int:
    record = {}
    if options.settings is not None:
        try:
            record = read_record(options.settings.read_bytes())
        except OSError as error:
            raise BadFile(f"The settings file {str(options.settings)!r} cannot be read: {error.strerror}.") from error
    if options.out.exists() and not options.out.is_dir():
        raise BadFile(f"{str(options.out)!r} is no folder: give a folder to write to.")
    body = read_file(options.file, options.object, options.unit)
    request = _request(body, options, record)
    plan = make_plan(request, progress=_progress)
    _progress(1.0, "pictures")
    files = plan_files(plan, options.out_unit)
    _end_progress()
    written = write_all(options.out, files)
    print(summary(plan))
    print("Written: " + ", ".join(str(path) for path in written))
    return FINDINGS if any(finding.must_see for finding in plan.findings) else DONE


def _request(body: Body, options: argparse.Namespace, record: dict) -> Request:
    """Defaults, then the settings file, then what the command line names."""
    request = with_settings(Request(body), record)
    changes = {
        name: value
        for name, value in (
            ("side", options.side), ("cusp", options.cusp), ("start", options.start),
            ("budget_minutes", options.budget), ("cell", options.cell),
        )
        if value is not None
    }  # fmt: skip
    if options.cutter == "auto":
        changes["cutter"] = None
    elif options.cutter is not None:
        changes["cutter"] = _cutter(options.cutter, request.rack)
    return replace(request, **changes)


def _cutter(text: str, rack: tuple[Cutter, ...]) -> Cutter:
    """The rack's cutter of this diameter, or a plain one."""
    try:
        diameter = float(text)
    except ValueError:
        raise BadRequest(f"The cutter must be a diameter in mm or auto, not {text!r}.") from None
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
