"""The run list as a table that a spreadsheet opens."""

from __future__ import annotations

from collections.abc import Sequence

from ..planning.run_list import RunListRow
from .tables import table_csv

RUN_LIST_HEADER = ("number", "side", "work", "file", "cutter", "diameter_mm", "stick_out_mm", "xy_zero", "z_zero", "minutes", "digest", "read_first")

MINUTES_DECIMALS = 2
"""Of the minutes: about half a second, far below what a run time estimate can promise."""


def run_list_csv(rows: Sequence[RunListRow]) -> bytes:
    """The rows under `RUN_LIST_HEADER`, as bytes of a CSV; what is not known stays empty."""
    return table_csv(RUN_LIST_HEADER, [_cells(row) for row in rows])


def _cells(row: RunListRow) -> tuple[object, ...]:
    minutes = None if row.minutes is None else round(row.minutes, MINUTES_DECIMALS)
    named = (row.number, row.side, str(row.work), row.file, str(row.cutter), row.diameter, row.stick_out, str(row.xy_zero), str(row.z_zero))
    return (*named, minutes, row.digest, " ".join(map(str, row.read_first)))
