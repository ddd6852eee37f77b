"""The command line: `blender -c finishing plan FILE ...` and `build.py plan FILE ...` both come here."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

from .batch import batch_text, bodies_in, run_batch, units_of_files
from .command_coupon import coupon_command
from .command_options import asked_files, asked_log, asked_request, asked_times, command_parser, settings_record_of
from .finishing.core.errors import BadFile, BadRequest, FinishingError, SeveralObjects, TooLarge
from .finishing.core.path import CUT
from .finishing.core.result_store import ResultStore
from .finishing.core.returned_memory import give_back_from_now_on, give_back_memory
from .finishing.core.stepping import told
from .finishing.files.job_files import JobFiles, first_record_name, job_files, record_name, restart_file, run_to_take_up
from .finishing.files.plan_record import is_of_plan, machine_in, read_record_file, record_bytes
from .finishing.files.program_writer import PROGRAM_ENDING
from .finishing.files.read_back import changes_since, read_written
from .finishing.files.replaced_files import replaced_files
from .finishing.files.run_log_csv import add_run, log_text, read_log, run_of_record
from .finishing.files.setting_labels import keys_named
from .finishing.files.summary import sanding_text, summary
from .finishing.files.timing_program import fit_record, fit_text, instructions, timing_program
from .finishing.files.writing import write_all
from .finishing.job.body import Body
from .finishing.job.plausible_size import check_guessed_unit
from .finishing.job.request import Request
from .finishing.job.stock import SIDES
from .finishing.motion.timing_fit import fitted_machine
from .finishing.planning.both_sides import both_sides_steps
from .finishing.planning.checking import expected_memory_mib
from .finishing.planning.comparison import comparison_text, figures_from
from .finishing.planning.hazards import known_hits, refusal
from .finishing.planning.result import Plan
from .finishing.planning.smaller_cutters import side_plans, total_minutes
from .finishing.planning.stage_words import step_words
from .finishing.reading.faults import name_list, printable
from .finishing.reading.mesh_file import UNITS
from .printing import close_unread_output, forgiving_output
from .scene.file_reading import FileBody, is_file, read_file, read_file_with_unit

DONE, WRONG_USE, FINDINGS, INTERRUPTED = 0, 2, 3, 130
"""Exit codes: done; wrong use or bad input, nothing written; planned, with findings that must be seen; stopped by Ctrl-C (128 and the number of
the signal, as shells have it)."""


LARGE_FILE = 50 * 2**20
"""Bytes; a file of a mesh that large holds about a million triangles, and what its reading frees must not stay beside the plan."""

LARGE_PLAN = 0.6
"""Share of the memory limit from which a plan of one cutter is large: with a rack's table and pictures it takes half as much again."""


def run(arguments: Sequence[str], program: str = "finishing") -> int:
    """Run one command; returns its exit code."""
    with forgiving_output():
        try:
            return _run(arguments, program)
        except FinishingError as error:
            complaint: Exception = error
        except BrokenPipeError:  # before OSError, which it is one of
            close_unread_output()
            return DONE
        except OSError as error:
            complaint = _bad_system(error)
        except MemoryError:
            complaint = TooLarge("There is not enough memory for this: use a coarser cell, or close other programs.")
        except KeyboardInterrupt:
            _end_progress()
            print(f"{program}: stopped.", file=sys.stderr)
            return INTERRUPTED
        _end_progress()
        print(f"{program}: {complaint} {keys_named([str(complaint)])}".rstrip(), file=sys.stderr)
        return WRONG_USE


def _run(arguments: Sequence[str], program: str) -> int:
    options = command_parser(program).parse_args(arguments)
    commands: dict[str, Callable[[argparse.Namespace], int]] = {
        "plan": _plan,
        "batch": _batch,
        "read": _read,
        "compare": _compare,
        "timing-test": _timing_test,
        "log": _log,
        "coupon": coupon_command,
    }
    return commands[options.command](options)


def _bad_system(error: OSError) -> BadFile:
    """What the system refused, as a sentence."""
    if error.filename is None:
        return BadFile("The system refused: {error}. Check the rights and the room on the disk.", error=error.strerror or error)
    return BadFile(
        "'{file}' cannot be used: {error}. Check its name, the rights and the room on the disk.",
        file=printable(os.fsdecode(error.filename)),
        error=error.strerror or error,
    )


def _plan(options: argparse.Namespace) -> int:
    record = _settings(options)
    read = _read_body(options.file, options)
    plans, written = _plan_body(read, options.out, options, record)
    print(read.words)
    for plan in plans:
        print(summary(plan))
    if len(plans) > 1:
        change = plans[0].request.machine.tool_change_minutes
        print(f"All together {total_minutes(plans):.1f} minutes, with {change:g} for every tool change")
    print(sanding_text(plans))
    for line in _held_back(plans, asked_files(options)):
        print(line)
    for path in written:
        if path.suffix == PROGRAM_ENDING:
            print(f"{path.name}: {path.stat().st_size / 1000:.0f} kB")
    print("Written: " + ", ".join(str(path) for path in written))
    return FINDINGS if any(finding.must_see for plan in plans for finding in plan.findings) else DONE


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
    return settings_record_of(options.settings)


def _read_body(file: Path, options: argparse.Namespace) -> FileBody:
    """The body of a file, unless its size shows that the unit was guessed wrong."""
    if file.is_file() and file.stat().st_size > LARGE_FILE:
        give_back_from_now_on()
    read = read_file_with_unit(file, options.object, options.unit)
    if read.unit_guessed:
        check_guessed_unit(read.body, UNITS)
    return read


def _plan_body(read: FileBody, out: Path, options: argparse.Namespace, record: dict[str, Any]) -> tuple[tuple[Plan, ...], list[Path]]:
    """Plan the wanted sides of one body and write them; returns the plans and the files."""
    body = read.body
    log = asked_log(options.log)
    asked = asked_request(body, options, record)
    request = replace(asked, stock_body=_stock_body(read.file, options), run_log=() if log is None else read_log(log))
    sides = SIDES if options.side == "both" else (request.side,)
    wanted = asked_files(options)
    if options.of_cutter is not None and options.from_line is None:
        raise BadRequest("--of-cutter says whose run --from-line takes up: give the line too.")
    if options.from_line is not None and len(sides) > 1:
        raise BadRequest("--from-line takes up the run of one side: give --side top or --side back.")
    there = [name for name in (first_record_name(body.name, side) for side in sides) if (out / name).exists()]
    if there and not options.replace and options.from_line is None:
        raise BadFile("'{file}' is already in '{folder}': choose another folder, or add --replace.", file=there[0], folder=out)
    if expected_memory_mib(request) > LARGE_PLAN * request.memory_limit_mib:
        give_back_memory()
        give_back_from_now_on()
    plans = _made_plans(request, len(sides) > 1)
    give_back_memory()
    _progress(1.0, "files")
    files = job_files(plans, wanted) if options.from_line is None else _restart(plans, options, wanted, out)
    _end_progress()
    gone = replaced_files(out, plans) if options.replace and options.from_line is None else set()
    return plans, write_all(out, files, replace=options.replace, gone=gone)


def _made_plans(request: Request, both_sides: bool) -> tuple[Plan, ...]:
    """The plans in running order; of both sides, one that has nothing to plan is said and left out. What they were made from is let go of."""
    if not both_sides:
        return told(side_plans(request, ResultStore()), _progress)
    both = told(both_sides_steps(request, ResultStore()), _progress)
    if both.why_none is not None:
        _end_progress()
        print(both.why_none)
    return both.in_running_order


def _restart(plans: Sequence[Plan], options: argparse.Namespace, wanted: JobFiles, out: Path) -> dict[str, bytes]:
    """The program from a line on, of the plan whose files may be in the folder already: the lines must be those. Raises BadRequest."""
    plan = run_to_take_up(plans, options.of_cutter)
    record = out / record_name(plan)
    if record.is_file() and not is_of_plan(read_record_file(record), plan):
        raise BadRequest(
            "The lines are not those of '{file}' in the folder: plan with the same body and settings as before (--settings {file}).", file=record.name
        )
    return restart_file(plan, options.from_line, wanted)


def _stock_body(file: Path, options: argparse.Namespace) -> Body | None:
    """The stock that was given: a file of its own, or another object of the body's file."""
    if options.stock is None:
        return None
    own = Path(options.stock)
    if not is_file(own):
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
        name = file.stem if stems.count(file.stem) == 1 else f"{file.parent.name}/{file.stem}"
        figures.append(replace(figures_from(read_record_file(file)), name=name))
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
        fit = fitted_machine(asked_times(options.times), machine)
        believed, text = fit.believed, fit_text(fit)
        files = {"machine.json": record_bytes(fit_record(fit, record))} if believed else {}
    written = write_all(options.out, files, replace=options.replace) if files else []
    print(text)
    print("Written: " + (", ".join(str(path) for path in written) or "nothing"))
    return DONE if believed else FINDINGS


def _log(options: argparse.Namespace) -> int:
    """Keep a run in the log; or show what the log says."""
    file = asked_log(options.log)
    if file is None:
        raise BadRequest("Nothing can be kept in no log: name a file, or leave --log out.")
    if options.file is None:
        if (options.minutes, options.grit, options.remarks) != (None, None, ""):
            raise BadRequest("Name the plan.json of the plan that was run.")
        print(f"{log_text(read_log(file))}\nKept in {file}")
        return DONE
    if options.minutes is None:
        raise BadRequest("Give the minutes that the run took: --minutes.")
    run = run_of_record(read_record_file(options.file), date.today().isoformat(), options.minutes, options.grit, options.remarks)
    print(f"{log_text(add_run(file, run))}\nKept in {file}")
    return DONE


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
    print(f"{options.file.name}{side}: {path.line_count} pass lines, {path.length_of(CUT) / 1000:.2f} m")
    if options.body is None:
        return DONE
    changes = changes_since(written, read_file(options.body, options.object, options.unit))
    print("\n".join(str(change) for change in changes) if changes else "The body is as it was when the plan was written.")
    return FINDINGS if changes else DONE


def _progress(share: float, stage: str) -> None:
    if sys.stderr.isatty():
        filled = int(30 * share)
        print(f"\r[{'#' * filled}{'.' * (30 - filled)}] {share:4.0%}  {step_words(stage)!s:<24}", end="", file=sys.stderr, flush=True)


def _end_progress() -> None:
    if sys.stderr.isatty():
        print("\r" + " " * 70 + "\r", end="", file=sys.stderr, flush=True)
