"""Names of files that every common system accepts, in letters of any script."""

from __future__ import annotations

import os
import re
import unicodedata
from collections.abc import Iterable

RESERVED = {"con", "prn", "aux", "nul", *(f"com{i}" for i in range(1, 10)), *(f"lpt{i}" for i in range(1, 10))}
"""Names that Windows keeps for devices (Microsoft, "Naming Files, Paths, and Namespaces")."""

LONGEST_NAME = 80
"""Bytes of a body's name in file names: with side, cutter and ending it stays well below the 255 that file systems take."""


def safe_name(text: str, fallback: str = "body") -> str:
    """A file name of letters and digits of any script, dashes and underscores that Windows, macOS and Linux all accept.

    Letters that the file system's encoding cannot hold become dashes, and letters are written in one piece (Unicode's form C), so that one name
    is one name on every system.
    """
    kept = "".join(c if c in "-_" or _is_writable(c) else " " for c in unicodedata.normalize("NFC", text.lower()))
    name = _shortened(re.sub(r"\s+", "-", kept.strip()).strip("-_")).strip("-_")
    if not name or name in RESERVED:
        return f"{fallback}-{name}" if name else fallback
    return name


def _is_writable(character: str) -> bool:
    """Whether a character is a letter, a mark on one, or a digit, and has a place in the names of the file system."""
    if unicodedata.category(character)[0] not in "LMN":
        return False
    try:
        os.fsencode(character)
    except UnicodeEncodeError:
        return False
    return True


def _shortened(name: str) -> str:
    """As much of a name as stays within LONGEST_NAME bytes."""
    return name.encode("utf-8")[:LONGEST_NAME].decode("utf-8", errors="ignore")


def free_name(name: str, taken: Iterable[str]) -> str:
    """The name itself, or with the first number behind it that makes it differ from all that are taken, however they are capitalised."""
    used = {each.casefold() for each in taken}
    count, candidate = 2, name
    while candidate.casefold() in used:
        candidate = f"{name}-{count}"
        count += 1
    return candidate
