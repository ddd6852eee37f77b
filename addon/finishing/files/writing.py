"""Writing files so that nothing is ever half written: all into temporary files first, then all renamed."""

from __future__ import annotations

import os
import re
import tempfile
from pathlib import Path

from ..core.errors import BadFile

RESERVED = {"con", "prn", "aux", "nul", *(f"com{i}" for i in range(1, 10)), *(f"lpt{i}" for i in range(1, 10))}


def safe_name(text: str, fallback: str = "body") -> str:
    """A file name of plain letters, digits, dashes and underscores that Windows, macOS and Linux all accept."""
    name = re.sub(r"[^A-Za-z0-9_-]+", "-", text.strip()).strip("-_").lower()[:80]
    if not name or name in RESERVED:
        return f"{fallback}-{name}" if name else fallback
    return name


def write_all(folder: Path, files: dict[str, bytes], replace: bool = True) -> list[Path]:
    """Write several files into a folder, made when it is missing: every file whole, or none at all.

    replace: whether files that are there may be replaced. Raises BadFile with the reason; files that were there stay whole.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise BadFile("The folder '{folder}' cannot be made: {error}.", folder=folder, error=error.strerror or error) from error
    targets = [folder / name for name in files]
    there = [target.name for target in targets if target.exists()]
    if there and not replace:
        raise BadFile("'{file}' is already in '{folder}': choose another folder, or allow replacing.", file=there[0], folder=folder)
    made: list[Path] = []
    try:
        for name, content in files.items():
            handle, path = tempfile.mkstemp(prefix=f".{name}.", suffix=".part", dir=folder)
            made.append(Path(path))
            with os.fdopen(handle, "wb") as stream:
                stream.write(content)
                stream.flush()
                os.fsync(stream.fileno())
        for part, target in zip(made, targets, strict=True):
            os.chmod(part, 0o644)
            os.replace(part, target)
    except OSError as error:
        raise BadFile("Nothing could be written to '{folder}': {error}.", folder=folder, error=error.strerror or error) from error
    finally:
        for part in made:
            part.unlink(missing_ok=True)
    return targets
