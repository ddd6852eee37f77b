"""Files that take the place of others within a folder: the old ones are put aside first, so that old and new never lie there together."""

from __future__ import annotations

import json
import os
import shutil
from collections.abc import Collection
from pathlib import Path

NEW, OLD, JOURNAL = ".finishing-new", ".finishing-old", ".names"
"""Folders within the folder while files are exchanged, and in the second one the list of names that nothing had before."""


def staging(folder: Path, _key: str) -> Path:
    """The empty folder in which the new files are made."""
    new = folder / NEW
    shutil.rmtree(new, ignore_errors=True)
    new.mkdir()
    return new


def take_over(folder: Path, _key: str, files: Collection[str], gone: Collection[str]) -> None:
    """Put old files of the same names, and those that go, aside; then move the new ones in.

    Raises OSError, or what else stops it (KeyboardInterrupt), with all as it was.
    """
    old = folder / OLD
    old.mkdir()
    _write_journal(old, [name for name in files if not (folder / name).exists()])
    try:
        for name in (*files, *gone):
            if (folder / name).exists():
                os.replace(folder / name, old / name)
        for name in files:
            os.replace(folder / NEW / name, folder / name)
        # From here on the new files are what is there: without its list the folder of old ones is only rubbish.
        (old / JOURNAL).unlink()
    except BaseException:
        recover(folder)
        raise
    shutil.rmtree(old, ignore_errors=True)


def _write_journal(old: Path, added: list[str]) -> None:
    with (old / JOURNAL).open("w", encoding="utf-8") as stream:
        json.dump(added, stream)
        stream.flush()
        os.fsync(stream.fileno())


def recover(folder: Path) -> None:
    """After a machine has stopped in the middle, or something went wrong: what was put aside is back, and what came is gone."""
    old = folder / OLD
    added = _added_names(old)
    if added is not None:
        for name in added:
            (folder / name).unlink(missing_ok=True)
        for path in old.iterdir():
            if path.name != JOURNAL:
                os.replace(path, folder / path.name)
    shutil.rmtree(old, ignore_errors=True)
    shutil.rmtree(folder / NEW, ignore_errors=True)


def _added_names(old: Path) -> list[str] | None:
    """The names that nothing had before; None where the list is missing or not whole: before anything is moved, and once all is."""
    try:
        added = json.loads((old / JOURNAL).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
    return [name for name in added if isinstance(name, str) and name == Path(name).name] if isinstance(added, list) else None
