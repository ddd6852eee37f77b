"""Changing the rows of a list, and which row is the active one afterwards."""

from __future__ import annotations

from typing import TypeVar

from .properties import Rows

Row = TypeVar("Row")


def remove_row(rows: Rows[Row], at: int) -> int:
    """Take a row away; returns the number of the row that is active then, 0 in an empty list."""
    rows.remove(at)
    return max(0, min(at, len(rows) - 1))


def move_row(rows: Rows[Row], at: int, steps: int) -> int | None:
    """Move a row down by some steps, up for negative ones; returns its new number, None when it would leave the list."""
    to = at + steps
    if not 0 <= to < len(rows):
        return None
    rows.move(at, to)
    return to
