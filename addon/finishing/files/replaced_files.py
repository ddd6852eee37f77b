"""What a job's new files replace: the files of the plans that are planned anew, under whatever names these had.

Where nothing new comes, since the body could not be planned, the old files are put away: nobody shall run them for new ones.
"""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path

from ..core.errors import BadFile
from ..planning.result import Plan
from .names import safe_name
from .plan_record import read_record_file
from .program_writer import PROGRAM_ENDING
from .writing import write_all

RECORD_ENDING = "plan.json"


def replaced_files(folder: Path, plans: Sequence[Plan]) -> set[str]:
    """Names in a folder that belong to earlier plans of the same body and sides: their records, what these list, and programs from a line on.

    Nothing else is named, whatever a record lists. Raises BadFile when a record of the same name is of another body, or the folder cannot be read.
    """
    try:
        there = {path.name for path in folder.iterdir() if path.is_file()} if folder.is_dir() else set()
    except OSError as error:
        raise _unreadable(folder, error) from error
    names: set[str] = set()
    for side in dict.fromkeys(plan.request.side for plan in plans):
        body = plans[0].request.body.name
        prefix = f"{safe_name(body)}-{side}-"
        own = sorted(each for each in there if each.startswith(prefix))
        for record in (each for each in own if each.endswith(RECORD_ENDING)):
            name, listed = _body_and_files(folder / record)
            if name is not None and name != body:
                raise BadFile("'{file}' in '{folder}' is of another body, '{body}': choose another folder.", file=record, folder=folder, body=name)
            names |= {record, *(each for each in listed if each in own)}
        names |= {each for each in own if each.endswith(PROGRAM_ENDING) and "-from-line-" in each}
    return names


def _unreadable(folder: Path, error: OSError) -> BadFile:
    return BadFile(
        "The folder '{folder}' cannot be read: {error}. Check the rights, or choose another folder.", folder=folder, error=error.strerror or error
    )


def put_away(folder: Path, into: Path) -> tuple[str, ...]:
    """Move the files of earlier jobs out of a folder into another, and give their names; what no record of a plan speaks for stays.

    The folder goes when nothing is left in it. Raises BadFile when they cannot be moved, or there is a record that cannot be read; all are then
    still there.
    """
    try:
        there = sorted(path.name for path in folder.iterdir() if path.is_file()) if folder.is_dir() else []
        bodies = {name: _body_and_files(folder / name)[0] for name in there if name.endswith(RECORD_ENDING)}
        unread = next((name for name, body in bodies.items() if body is None), None)
        if unread is not None:
            raise BadFile(
                "'{file}' in '{folder}' cannot be read as a plan, and names no files as its own: look through the folder before you run anything of "
                "it.",
                file=unread,
                folder=folder,
            )
        prefixes = tuple(f"{safe_name(body)}-" for body in bodies.values() if body is not None)
        names = tuple(name for name in there if name.startswith(prefixes))
        if not names:
            return ()
        write_all(into, {name: (folder / name).read_bytes() for name in names})
        write_all(folder, {}, gone=names)
        if not any(folder.iterdir()):
            with suppress(OSError):  # a folder that is open elsewhere stays, empty
                folder.rmdir()
    except OSError as error:
        raise _unreadable(folder, error) from error
    return names


def _body_and_files(path: Path) -> tuple[str | None, list[str]]:
    """The body's name in a record, None where it tells none, and the plain names of files that it lists."""
    try:
        record = read_record_file(path)
    except BadFile:
        return None, []
    body, files = record.get("body"), record.get("files")
    name = body.get("name") if isinstance(body, dict) else None
    listed = files if isinstance(files, list) else []
    return name if isinstance(name, str) else None, [each for each in listed if isinstance(each, str) and each == Path(each).name]
