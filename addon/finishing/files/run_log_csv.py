"""The run log: a plain CSV in the user's folder, one row a run, that a spreadsheet opens and anyone may mend. It is never sent anywhere."""

from __future__ import annotations

import csv
import io
import os
from collections.abc import Sequence
from dataclasses import astuple, fields
from pathlib import Path
from typing import Any

from ..core.errors import BadFile, BadRequest
from ..job.run_log import Experience, LoggedRun, experience_with, kind_of
from ..reading.faults import shortened
from .writing import write_all

LOG_VARIABLE = "BODY_FINISHING_LOG"
"""Environment variable that names another file, such as one that several machines share."""

NO_LOG = "none"
"""Instead of a file: learn from no log."""

COLUMNS = tuple(item.name for item in fields(LoggedRun))

MINUTES_DECIMALS = 5
"""Of estimated minutes: fine enough for a run of seconds."""


def user_log_file() -> Path:
    """Where the user's own log is."""
    named = os.environ.get(LOG_VARIABLE)
    return Path(named) if named else Path.home() / "body-finishing" / "run-log.csv"


def read_log(file: Path) -> tuple[LoggedRun, ...]:
    """All logged runs, the oldest first; none where there is no file. Raises BadFile, naming the row."""
    try:
        content = file.read_bytes() if file.exists() else b""
    except OSError as error:
        raise BadFile(
            "The run log '{file}' cannot be read: {error}. Check the rights, or name another log.", file=file, error=error.strerror or error
        ) from error
    return log_in(content, file) if content else ()


def log_in(content: bytes, file: Path) -> tuple[LoggedRun, ...]:
    """The runs in the bytes of a log. file: what it is called in errors. Raises BadFile, naming the row."""
    try:
        read = csv.reader(io.StringIO(content.decode("utf-8-sig"), newline=""))
        rows = [(number, row) for number, row in enumerate(read, 1) if any(row)]
    except (UnicodeDecodeError, csv.Error) as error:
        raise BadFile("The run log '{file}' is not a CSV: {error}. Mend it, or name another log.", file=file, error=error) from error
    if not rows or tuple(rows[0][1]) != COLUMNS:
        raise BadFile("The run log '{file}' must begin with the row {header}: mend it, or name another log.", file=file, header=",".join(COLUMNS))
    runs = []
    for number, row in rows[1:]:
        try:
            runs.append(_run_in(row))
        except ValueError as error:
            raise BadFile(
                "Row {number} of the run log '{file}' cannot be read: {error} Mend it or take it out.", number=number, file=file, error=error
            ) from error
    return tuple(runs)


def _run_in(row: Sequence[str]) -> LoggedRun:
    """A run from its cells. Raises BadRequest."""
    if len(row) != len(COLUMNS):
        raise BadRequest("it has {count} columns, not {wanted}.", count=len(row), wanted=len(COLUMNS))
    values: dict[str, Any] = dict(zip(COLUMNS, row, strict=True))
    for name in ("diameter_mm", "cusp_mm", "estimated_minutes", "measured_minutes"):
        values[name] = _number(values[name])
    grit = _number(values["grit"]) if values["grit"] else None
    values["grit"] = int(grit) if grit is not None and grit.is_integer() else grit
    return LoggedRun(**values)


def _number(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        raise BadRequest("'{text}' is not a number.", text=shortened(text)) from None


def log_bytes(runs: Sequence[LoggedRun]) -> bytes:
    """The log as a CSV (RFC 4180, UTF-8)."""
    text = io.StringIO(newline="")
    rows = csv.writer(text)
    rows.writerow(COLUMNS)
    rows.writerows(["" if value is None else value for value in astuple(run)] for run in runs)
    return text.getvalue().encode("utf-8")


def add_run(file: Path, run: LoggedRun) -> tuple[LoggedRun, ...]:
    """Write a run behind those that are in the log, which is made where there is none; returns all of them. Raises BadFile."""
    runs = (*read_log(file), run)
    write_all(file.parent, {file.name: log_bytes(runs)})
    return runs


def run_of_record(record: dict[str, Any], day: str, measured_minutes: float, grit: int | None, remarks: str) -> LoggedRun:
    """A run of a written plan. record: its plan.json. day: ISO 8601. Raises BadFile for what is no plan, BadRequest for what cannot be logged."""
    try:
        settings, result = record["settings"], record["result"]
        factor = result.get("time_factor", settings["machine"].get("time_factor", 1.0))
        found = {
            "body": record["body"]["name"],
            "side": settings["side"],
            "machine": settings["machine"]["name"],
            "cutter": result["cutter"]["name"],
            "diameter_mm": float(result["cutter"]["diameter"]),
            "wood": settings["bite"]["wood"],
            "cusp_mm": float(settings["cusp"]),
            "estimated_minutes": round(float(result["run_minutes"]) / float(factor), MINUTES_DECIMALS),
        }
    except (KeyError, TypeError, ValueError, AttributeError, ZeroDivisionError) as error:
        raise BadFile("This is not the plan.json of a plan that could be run: give the file that was written with its paths.") from error
    return LoggedRun(day=day, measured_minutes=measured_minutes, grit=grit, remarks=remarks, **found)


def log_text(runs: Sequence[LoggedRun]) -> str:
    """Every machine, cutter and wood of a log in a line, with what the medians of its runs say."""
    if not runs:
        return "Nothing is logged yet."
    lines = [f"{'machine':<24} {'cutter':<20} {'wood':<16} {'cusp mm':>8} {'runs':>5} {'time factor':>12} {'grit':>5}"]
    latest = {kind_of(run): run for run in runs}
    for kind, run in latest.items():
        known: Experience = experience_with(runs, kind, run.cusp_mm)
        factor = "-" if known.time_factor is None else f"{known.time_factor:.3f}"
        lines.append(
            f"{kind.machine[:24]:<24} {kind.cutter[:20]:<20} {kind.wood[:16]:<16} {run.cusp_mm:>8g} {known.runs:>5} {factor:>12} {known.grit or '-':>5}"
        )
    return "\n".join(lines)
