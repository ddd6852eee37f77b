"""A path as CSV: RFC 4180, UTF-8, one row per point in the order of the machine's motion."""

from __future__ import annotations

import csv
import io

import numpy as np

from ..core.errors import BadFile
from ..core.path import KINDS, Path

MM_PER_INCH = 25.4


def header(unit: str) -> list[str]:
    """Column names; the unit of lengths and feed stands in them."""
    return ["line", "point", "kind", f"x_{unit}", f"y_{unit}", f"z_{unit}", f"feed_{unit}_min"]


def path_csv(path: Path, unit: str = "mm") -> bytes:
    """The path as CSV bytes; unit "mm" with 4 decimals or "in" with 5.

    `point` counts from 1 in each line; x, y, z are the cutter's tip in job coordinates.
    """
    if unit not in ("mm", "in"):
        raise BadFile("Paths are written in mm or in, not '{given}'.", given=unit)
    scale, decimals = (1.0, 4) if unit == "mm" else (1 / MM_PER_INCH, 5)
    place = np.round(path.points * scale, decimals) + 0.0  # no minus zero
    feed = np.round(path.feed * scale, 3)
    point = _points_in_line(path)
    row = f"%d,%d,%s,%.{decimals}f,%.{decimals}f,%.{decimals}f,%g\r\n"
    kinds = [KINDS[k] for k in path.kind.tolist()]
    rows = zip(path.line.tolist(), point.tolist(), kinds, *place.T.tolist(), feed.tolist(), strict=True)
    text = ",".join(header(unit)) + "\r\n" + "".join([row % values for values in rows])
    return text.encode("utf-8")


def _points_in_line(path: Path) -> np.ndarray:
    """Number of each row within its line, from 1; an exit may come after the next line's number has begun, and counts on."""
    order = np.argsort(path.line, kind="stable")
    ordered = path.line[order]
    first = np.searchsorted(ordered, ordered)
    point = np.empty(len(order), np.int64)
    point[order] = np.arange(len(order)) - first + 1
    return point


def read_csv(content: bytes) -> Path:
    """The path of a CSV written by `path_csv`, in mm whatever the file's unit. Raises BadFile, naming the row."""
    try:
        rows = list(csv.reader(io.StringIO(content.decode("utf-8"), newline="")))
    except (UnicodeDecodeError, csv.Error) as error:
        raise BadFile("This is not a CSV of finishing paths: {error}.", error=error) from error
    if not rows or rows[0] not in (header("mm"), header("in")):
        raise BadFile("This is not a CSV of finishing paths: its first row must be {header}.", header=",".join(header("mm")))
    scale = 1.0 if rows[0] == header("mm") else MM_PER_INCH
    line, kind, places, feeds = [], [], [], []
    for number, row in enumerate(rows[1:], 2):
        try:
            if len(row) != 7:
                raise BadFile("it does not have 7 columns")
            line.append(int(row[0]))
            kind.append(KINDS.index(row[2]))
            numbers = [float(value) for value in row[3:7]]
            if not np.isfinite(numbers).all():
                raise BadFile("a value is not finite")
        except ValueError as error:
            raise BadFile("Row {number} of the CSV cannot be read: {error}.", number=number, error=error) from error
        places.append(numbers[:3])
        feeds.append(numbers[3])
    points = np.array(places, float).reshape(-1, 3) * scale
    return Path(points, np.array(kind, np.uint8), np.array(line, np.int32), np.array(feeds, float) * scale)
