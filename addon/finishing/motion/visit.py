"""One line in running order."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Visit:
    """One line in running order. line: its number in the list given. reverse: run it from its end. entry: for a closed line,
    number of the point it is entered and left at.
    """

    line: int
    reverse: bool
    entry: int
