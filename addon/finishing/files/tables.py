"""Tables as CSV that a spreadsheet may open: no cell can become a formula."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")
"""What spreadsheets take for the beginning of a formula: common practice, no source."""

DIGITS = 10
"""Significant digits of numbers: more than any figure of a plan has."""


def table_csv(header: Sequence[str], rows: Iterable[Sequence[object]]) -> bytes:
    """RFC 4180 bytes in UTF-8. Texts that a spreadsheet would take for a formula get an apostrophe in front; numbers stay numbers.

    None is an empty cell; True and False are written "yes" and "no".
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(header)
    for row in rows:
        writer.writerow([_cell(value) for value in row])
    return out.getvalue().encode("utf-8")


def _cell(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.{DIGITS}g}"
    text = str(value)
    return "'" + text if isinstance(value, str) and text.startswith(FORMULA_STARTS) else text
