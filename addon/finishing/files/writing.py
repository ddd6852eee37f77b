"""Writing files so that nothing is ever half written: all into temporary files first, then all renamed."""

from __future__ import annotations

import os
import re
import shutil
import tempfile
from pathlib import Path

from ..core.errors import BadFile

RESERVED = {"con", "prn", "aux", "nul", *(f"com{i}" for i in range(1, 10)), *(f"lpt{i}" for i in range(1, 10))}
"""Names that Windows keeps for devices (Microsoft, "Naming Files, Paths, and Namespaces")."""

LONGEST_NAME = 80
"""Characters of a body's name in file names: with side, cutter and ending it stays well below the 255 that file systems take."""

FILE_MODE = 0o644
"""Of written files: temporary files start out readable by their owner alone, finished ones are for everybody to read."""


def safe_name(text: str, fallback: str = "body") -> str:
    """A file name of plain letters, digits, dashes and underscores that Windows, macOS and Linux all accept."""
    name = re.sub(r"[^A-Za-z0-9_-]+", "-", text.strip()).strip("-_").lower()[:LONGEST_NAME]
    if not name or name in RESERVED:
        return f"{fallback}-{name}" if name else fallback
    return name


def write_all(folder: Path, files: dict[str, bytes], replace: bool = True) -> list[Path]:
    """Write several files into a folder, made when it is missing: all of them, or none when anything goes wrong.

    replace: whether files that are there may be replaced. Raises BadFile with the reason; files that were there are then as they were.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise BadFile("The folder '{folder}' cannot be made: {error}.", folder=folder, error=error.strerror or error) from error
    targets = [folder / name for name in files]
    existing = [target.name for target in targets if target.exists()]
    if existing and not replace:
        raise BadFile("'{file}' is already in '{folder}': choose another folder, or allow replacing.", file=existing[0], folder=folder)
    temporary: list[Path] = []
    try:
        for name, content in files.items():
            temporary.append(_temporary_file(folder, name, content))
        _renamed(temporary, targets)
    except OSError as error:
        raise BadFile("Nothing could be written to '{folder}': {error}.", folder=folder, error=error.strerror or error) from error
    finally:
        for path in temporary:
            path.unlink(missing_ok=True)
    return targets


def _temporary_file(folder: Path, name: str, content: bytes) -> Path:
    """A temporary file in the same folder with this content, on the disk for good."""
    handle, path = tempfile.mkstemp(prefix=f".{name}.", suffix=".part", dir=folder)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        os.chmod(path, FILE_MODE)
    except OSError:
        Path(path).unlink(missing_ok=True)
        raise
    return Path(path)


def _renamed(temporary: list[Path], targets: list[Path]) -> None:
    """Give every temporary file its name; when one cannot have it, such as that of a file which another program holds open, take all back.

    What was there is copied first, so that no name is without a whole file at any moment.
    """
    kept: dict[Path, Path] = {}
    placed: list[Path] = []
    try:
        for part, target in zip(temporary, targets, strict=True):
            if target.exists():
                kept[target] = part.with_name(f"{part.name}.old")
                shutil.copy2(target, kept[target])
        for part, target in zip(temporary, targets, strict=True):
            os.replace(part, target)
            placed.append(target)
    except OSError:
        for target in placed:
            if target in kept:
                os.replace(kept[target], target)
            else:
                target.unlink(missing_ok=True)
        raise
    finally:
        for old in kept.values():
            old.unlink(missing_ok=True)
