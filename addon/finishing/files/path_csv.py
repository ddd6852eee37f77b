"""A path as CSV: RFC 4180, UTF-8, one row per point in the order of the machine's motion."""

from __future__ import annotations

import csv
import io
import math

import numpy as np

from ..core.array_types import Indices
from ..core.errors import BadFile
from ..core.path import KINDS, Path
from ..core.ragged import run_places
from ..reading.faults import shortened
from .written_unit import WRITTEN_UNITS, WrittenUnit, written_unit

FEED_DECIMALS = 3
"""Of feeds, in either unit: finer than any control reads."""

MOST_DIGITS = 9
"""Of a line's number: more do not fit into the path's own."""

GREATEST = 1e7
"""Of coordinates and feeds, in either unit: ten kilometres is beyond any machine."""


def header(unit: WrittenUnit) -> list[str]:
    """Column names; the unit of lengths and feed stands in them."""
    return ["line", "point", "kind", f"x_{unit.name}", f"y_{unit.name}", f"z_{unit.name}", f"feed_{unit.name}_min"]


def path_csv(path: Path, unit: str = "mm") -> bytes:
    """The path as CSV bytes; unit "mm" with 4 decimals or "in" with 5. Raises BadFile for any other unit.

    `point` counts from 1 in each line; x, y, z are the cutter's tip in job coordinates.
    """
    written = written_unit(unit)
    tips = np.round(path.points * written.per_mm, written.decimals) + 0.0  # no minus zero
    feed = np.round(path.feed * written.per_mm, FEED_DECIMALS)
    coordinate = f"%.{written.decimals}f"
    row = f"%d,%d,%s,{coordinate},{coordinate},{coordinate},%g\r\n"
    kinds = [KINDS[kind] for kind in path.kind.tolist()]
    rows = zip(path.line.tolist(), _points_in_line(path).tolist(), kinds, *tips.T.tolist(), feed.tolist(), strict=True)
    text = ",".join(header(written)) + "\r\n" + "".join([row % values for values in rows])
    return text.encode("utf-8")


def _kind(text: str) -> int:
    """The number of a kind of move. Raises BadFile for what is none."""
    if text not in KINDS:
        raise BadFile("'{text}' is not a kind of move", text=shortened(text))
    return KINDS.index(text)


def _whole_number(text: str) -> int:
    """The number of a line. Raises BadFile for what is not one in plain digits."""
    if not (text.isascii() and text.isdigit() and len(text) <= MOST_DIGITS):
        raise BadFile("'{text}' is not the number of a line", text=shortened(text))
    return int(text)


def _number(text: str) -> float:
    """A coordinate or feed. Raises BadFile for what is not one, or beyond all machines."""
    try:
        value = float(text) if text.isascii() and "_" not in text else math.nan  # Python reads 1_0 as 10, other readers do not
    except ValueError:
        value = math.nan
    if not abs(value) <= GREATEST:
        raise BadFile("'{text}' is not a number that a machine could run to", text=shortened(text))
    return value


def _points_in_line(path: Path) -> Indices:
    """Number of each row within its line, from 1; an exit may come after the next line's number has begun, and counts on."""
    order = np.argsort(path.line, kind="stable")
    _, counts = np.unique(path.line, return_counts=True)
    point = np.empty(len(order), np.intp)
    point[order] = run_places(counts) + 1
    return point


def read_csv(content: bytes) -> Path:
    """The path of a CSV written by `path_csv`, in mm whatever the file's unit. Raises BadFile, naming the row."""
    try:
        rows = list(csv.reader(io.StringIO(content.decode("utf-8"), newline="")))
    except (UnicodeDecodeError, csv.Error) as error:
        raise BadFile("This is not a CSV of pass lines: {error}. Give the file as it was written.", error=error) from error
    unit = next((unit for unit in WRITTEN_UNITS if rows and rows[0] == header(unit)), None)
    if unit is None:
        raise BadFile(
            "This is not a CSV of pass lines: its first row must be {header}. Give the file as it was written.",
            header=",".join(header(WRITTEN_UNITS[0])),
        )
    line, kind, tips, feeds = [], [], [], []
    for number, row in enumerate(rows[1:], 2):
        try:
            if len(row) != len(rows[0]):
                raise BadFile("it has {count} columns, not {wanted}", count=len(row), wanted=len(rows[0]))
            line.append(_whole_number(row[0]))
            kind.append(_kind(row[2]))
            numbers = [_number(value) for value in row[3:]]
        except ValueError as error:
            raise BadFile("Row {number} of the CSV cannot be read: {error}. Write the plan again.", number=number, error=error) from error
        tips.append(numbers[:3])
        feeds.append(numbers[3])
    return Path(
        points=np.array(tips, float).reshape(-1, 3) * unit.mm,
        kind=np.array(kind, np.uint8),
        line=np.array(line, np.int32),
        feed=np.array(feeds, float) * unit.mm,
    )
