"""A folder of bodies planned one after the other: each has its own results, and none stops the others."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from .finishing.core.errors import BadFile, BadRequest, FinishingError
from .finishing.core.path import CUT
from .finishing.files.names import free_name, safe_name
from .finishing.files.replaced_files import put_away
from .finishing.files.tables import table_csv
from .finishing.files.writing import write_all
from .finishing.planning.result import Plan
from .finishing.reading.faults import printable
from .finishing.reading.mesh_file import UNITS
from .scene.file_reading import BLEND, ENDINGS


@dataclass(frozen=True)
class BatchRow:
    """What became of one body on one side. result: "planned", "planned, with findings" or "failed"; reason: why it failed, or ""."""

    file: str
    side: str
    result: str
    cutter: str
    minutes: float | None
    cut_metres: float | None
    reason: str


HEADER = ("file", "side", "result", "cutter", "minutes", "cut_m", "reason")


def bodies_in(folder: Path) -> list[Path]:
    """The body files of a folder in the order of their names. Raises BadFile when there are none."""
    if not folder.is_dir():
        raise BadFile("There is no folder '{folder}': check the name.", folder=folder)
    found = sorted(path for path in folder.iterdir() if path.suffix.lower() in ENDINGS and path.is_file())
    if not found:
        raise BadFile("'{folder}' holds no body files ({endings}): choose one that does.", folder=folder, endings=ENDINGS)
    return found


def units_of_files(given: Sequence[str], files: Sequence[Path]) -> dict[Path, str | None]:
    """What one unit of every file means, None where nothing is said.

    given: units, each for all files without units, or "NAME=UNIT" for the file of that name. Raises BadRequest.
    """
    common: str | None = None
    own: dict[str, str] = {}
    for text in given:
        name, between, unit = text.rpartition("=")
        if unit not in UNITS:
            raise BadRequest("The unit must be one of {choices}, not '{given}'.", choices=tuple(UNITS), given=unit)
        if not between:
            common = unit
        elif name in {file.name for file in files}:
            own[name] = unit
        else:
            raise BadRequest("A unit is given for '{file}', which the folder does not hold: check the name.", file=name)
    return {file: own.get(file.name, common if file.suffix.lower() != BLEND else None) for file in files}


EARLIER = "earlier"
"""Folder within the batch's own that files of earlier runs are moved to when their body fails."""


def run_batch(files: Sequence[Path], out: Path, plan_one: Callable[[Path, Path], Sequence[Plan]], replace: bool) -> list[BatchRow]:
    """Plan every file into a folder of its own, then write the table of all. plan_one: plans a file and writes into a folder.

    replace: whether the files of earlier runs may go. Those of a body that fails are moved into a folder of their own, and its row says so: beside
    the new ones of other bodies they would be taken for new.
    """
    rows: list[BatchRow] = []
    taken = {EARLIER}
    for file in files:
        name = safe_name(file.stem)
        # Two bodies of one name, such as a.stl and a.obj, or 'a b' and 'a+b', must not write over each other.
        own = free_name(name if name not in taken else f"{name}-{file.suffix[1:].lower()}", taken)
        taken.add(own)
        try:
            plans = plan_one(file, out / own)
        except FinishingError as error:
            rows.append(_failed(file, str(error), _moved(out, own) if replace else ""))
        except Exception as error:  # whatever one body does to Blender or the plan, the others are planned
            rows.append(_failed(file, f"Unexpected: {type(error).__name__}: {error}", _moved(out, own) if replace else ""))
        else:
            rows += [_row(file, plan) for plan in plans]
    table = [(r.file, r.side, r.result, r.cutter, r.minutes, r.cut_metres, r.reason) for r in rows]
    write_all(out, {"batch.csv": table_csv(HEADER, table)}, replace=replace)
    return rows


def _moved(out: Path, own: str) -> str:
    """Move what an earlier run has left of a body that failed, and say so; "" where there is nothing."""
    # Every run in a folder of its own, so that no two of them are mixed.
    kept = free_name(own, (path.name for path in (out / EARLIER).glob("*")))
    into, where = out / EARLIER / kept, f"{EARLIER}/{kept}"
    try:
        names = put_away(out / own, into)
    except FinishingError as error:
        return f" Files of an earlier run are still in '{own}', do not run them: {error}"
    return f" Files of an earlier run were moved to '{where}': {', '.join(names)}." if names else ""


def _failed(file: Path, reason: str, moved: str) -> BatchRow:
    """The row of a body that could not be planned. moved: what became of its earlier files, in a sentence."""
    return BatchRow(file=printable(file.name), side="", result="failed", cutter="", minutes=None, cut_metres=None, reason=reason + moved)


def _row(file: Path, plan: Plan) -> BatchRow:
    """The row of one side that was planned."""
    must_see = any(finding.must_see for finding in plan.findings)
    return BatchRow(
        file=printable(file.name),
        side=plan.request.side,
        result="planned, with findings" if must_see else "planned",
        cutter=plan.cutter.name,
        minutes=round(plan.run_time.minutes, 2),
        cut_metres=round(plan.path.length_of(CUT) / 1000, 2),
        reason=", ".join(dict.fromkeys(finding.key for finding in plan.findings if finding.must_see)),
    )


def batch_text(rows: Sequence[BatchRow]) -> str:
    """The table as the command line prints it."""
    lines = [f"{'file':<28} {'side':<5} {'minutes':>8} {'cut m':>7}  result"]
    for row in rows:
        minutes = "" if row.minutes is None else f"{row.minutes:.1f}"
        metres = "" if row.cut_metres is None else f"{row.cut_metres:.1f}"
        lines.append(f"{row.file[:28]:<28} {row.side:<5} {minutes:>8} {metres:>7}  {row.result}{': ' + row.reason if row.reason else ''}")
    return "\n".join(lines)
