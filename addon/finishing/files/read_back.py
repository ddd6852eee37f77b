"""A written plan read again: its path, and whether body or settings have changed since."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path as FilePath
from typing import Any

import numpy as np

from ..core.array_types import FloatArray
from ..core.errors import BadFile
from ..core.message import Message, setting_name
from ..core.path import Path
from ..job.body import Body
from ..job.request import Request
from ..job.setting_kinds import AnyObject, Kind, Number, OneOf, Record, Row, Setting, Several, Text
from ..job.stock import SIDES
from ..planning.side_stages import body_digest
from .path_csv import read_csv
from .plan_record import read_record_file, settings_record

_TURN = Row((Row((Number(-1e9, 1e9),) * 4),) * 4)

READ: dict[str, Kind] = {
    "digest": Record("Digest", (Setting("body", Text(), "of the body"), Setting("settings", Text(), "of the settings")), needed=("body",)),
    "job_from_body": OneOf(tuple((side, _TURN) for side in SIDES)),
    "files": Several(Text(), 1000),
    "settings": AnyObject(),
}
"""What is read of a plan.json, and what it must be."""


@dataclass(frozen=True)
class WrittenPlan:
    """What a file holds. path: in job mm. record: the plan's record, None for a CSV without one. side: "" where unknown.

    job_from_body: (4, 4), None without a record.
    """

    path: Path
    record: dict[str, Any] | None
    side: str
    job_from_body: FloatArray | None


def read_written(file: FilePath) -> WrittenPlan:
    """Read a plan.json with the CSV it names, or a CSV with the plan.json in its folder. Raises BadFile."""
    record_file = file if file.suffix.lower() == ".json" else _record_naming(file)
    record = None if record_file is None else read_record_file(record_file)
    if record is None:
        return WrittenPlan(read_csv(_bytes(file)), None, "", None)
    if "job_from_body" not in record or "digest" not in record:
        raise BadFile("'{file}' holds settings but no plan: give the plan.json that was written with a path.", file=file.name)
    said = next((said for key, kind in READ.items() if (said := kind.complaint(Message("its {key}", key=key), record.get(key))) is not None), None)
    if said is not None:
        raise BadFile("'{file}' is not a plan as it was written: {complaint}. Write the plan again.", file=file.name, complaint=said)
    path_file = file
    if file is record_file:
        named = [name for name in record["files"] if name.endswith(".csv")]
        if not named:
            raise BadFile("'{file}' names no CSV of its pass lines: write the plan again.", file=file.name)
        path_file = file.with_name(FilePath(named[0]).name)
    side = next(iter(record["job_from_body"]))
    return WrittenPlan(read_csv(_bytes(path_file)), record, side, np.array(record["job_from_body"][side], float))


def changes_since(written: WrittenPlan, body: Body, request: Request | None = None) -> tuple[Message, ...]:
    """What has changed since the plan was written, one sentence each; nothing when all is the same.

    request: the settings now, None to compare the body alone.
    """
    if written.record is None:
        return (Message("The CSV is on its own: without its plan.json there is no telling which body it was made for."),)
    found = []
    if written.record["digest"]["body"] != body_digest(body.triangles, body.skip):
        found.append(Message("The body '{name}' is not as it was when the plan was written.", name=body.name))
    if request is not None:
        now, then = settings_record(request), written.record["settings"]
        different = sorted(key for key in now if _as_lists(now[key]) != _as_lists(then.get(key)))
        if different:
            found.append(Message("These settings have changed: {settings}.", settings=tuple(setting_name(key) for key in different)))
    return tuple(found)


def _as_lists(value: Any) -> Any:
    """Lists for tuples, all the way down, as JSON gives them back."""
    if isinstance(value, dict):
        return {key: _as_lists(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [_as_lists(item) for item in value]
    return value


def _record_naming(file: FilePath) -> FilePath | None:
    """The plan.json in the same folder that names this CSV."""
    for candidate in sorted(file.parent.glob("*plan.json")):
        try:
            files = read_record_file(candidate).get("files")
            if isinstance(files, list) and file.name in files:
                return candidate
        except BadFile:
            continue
    return None


def _bytes(file: FilePath) -> bytes:
    try:
        return file.read_bytes()
    except OSError as error:
        raise BadFile("'{file}' cannot be read: {error}. Check the file and the rights to it.", file=file, error=error.strerror or error) from error
