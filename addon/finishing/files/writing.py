"""Writing files so that they are there together or not at all.

A folder that holds nothing but files is made anew beside the old one, with what stays in it, and takes its place. Where that cannot be, since the
folder holds folders of its own or somebody works in it, the old files are put aside first and the new ones come in their place. Either way
nothing is left mixed when the machine stops in the middle: the next writing puts back what was there.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Collection
from pathlib import Path

from ..core.digests import digest
from ..core.errors import BadFile
from . import folder_swap, putting_aside

FILE_MODE = 0o644
"""Of written files, whatever the mode of temporary ones: finished files are for everybody to read."""


def write_all(folder: Path, files: dict[str, bytes], replace: bool = True, gone: Collection[str] = ()) -> list[Path]:
    """Write several files into a folder, made when it is missing: all of them, or none when anything goes wrong.

    replace: whether files that are there may be replaced. gone: names of files that go when the new ones come. Raises BadFile with the
    reason; files that were there are then as they were.
    """
    _make_parents(folder)
    key = digest(folder.name)[:8]
    try:
        folder_swap.recover(folder, key)
        if folder.is_dir():
            putting_aside.recover(folder)
        _check_free(folder, files, replace)
        way = folder_swap if folder_swap.can_be_swapped(folder) else putting_aside
        if way is putting_aside:
            folder.mkdir(exist_ok=True)
        new = way.staging(folder, key)
        try:
            for name, content in files.items():
                _write_whole(new / name, content)
            way.take_over(folder, key, files, set(gone) - set(files))
        finally:
            shutil.rmtree(new, ignore_errors=True)
    except OSError as error:
        raise BadFile(
            "Nothing could be written to '{folder}': {error}. Check the rights and the room on the disk, or choose another folder.",
            folder=folder,
            error=error.strerror or error,
        ) from error
    return [folder / name for name in files]


def _make_parents(folder: Path) -> None:
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        if folder.exists() and not folder.is_dir():
            raise NotADirectoryError(20, "a file of that name is in the way")
    except OSError as error:
        raise BadFile(
            "The folder '{folder}' cannot be made: {error}. Check the rights, or choose another folder.", folder=folder, error=error.strerror or error
        ) from error


def _check_free(folder: Path, files: Collection[str], replace: bool) -> None:
    """Refuse names that are taken: all of them unless files may be replaced, those of folders in any case."""
    existing = [name for name in files if (folder / name).exists()]
    if existing and not replace:
        raise BadFile("'{file}' is already in '{folder}': choose another folder, or allow replacing.", file=existing[0], folder=folder)
    for name in existing:
        if (folder / name).is_dir():
            raise IsADirectoryError(21, f"a folder is called '{name}'")


def _write_whole(path: Path, content: bytes) -> None:
    """A file with this content, on the disk for good."""
    with path.open("wb") as stream:
        stream.write(content)
        stream.flush()
        os.fsync(stream.fileno())
    path.chmod(FILE_MODE)
