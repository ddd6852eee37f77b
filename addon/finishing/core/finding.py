"""Findings: what a plan has to tell its user, in sentences, with the place and the remedy."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Finding:
    """One thing the user should know.

    key: a short name for programs, such as "no-cutter-fits". sentence: what is so, with numbers and units.
    remedy: what would help, or "". place: x, y, z in job mm, or None. must_see: True for what makes the command exit with 3.
    """

    key: str
    sentence: str
    remedy: str = ""
    place: tuple[float, float, float] | None = None
    must_see: bool = False
