"""A folder of files that takes the place of another one in a moment: it is made beside it, whole, with what stays."""

from __future__ import annotations

import os
import shutil
from collections.abc import Collection
from pathlib import Path


def can_be_swapped(folder: Path) -> bool:
    """Whether a folder is missing, or holds nothing but files, is no link or root of a disk, and nobody is known to work in it."""
    if not folder.exists():
        return True
    if folder.is_symlink() or os.path.ismount(folder):
        return False
    own = folder.resolve()
    here = Path.cwd().resolve()
    if own == here or own in here.parents:
        return False
    with os.scandir(folder) as entries:
        return all(entry.is_file(follow_symlinks=False) for entry in entries)


def staging(folder: Path, key: str) -> Path:
    """The empty folder in which the new one is made. key: tells the folders of one parent apart."""
    new = _new(folder, key)
    shutil.rmtree(new, ignore_errors=True)
    new.mkdir()
    return new


def take_over(folder: Path, key: str, files: Collection[str], gone: Collection[str]) -> None:
    """Put the folder that has been made in the place of the old one, with all files of the old one that are neither written nor gone.

    Between two renamings the folder is missing; `recover` sees to that. Raises OSError, or what else stops it (KeyboardInterrupt), with the old
    folder in its place.
    """
    new, old = _new(folder, key), _old(folder, key)
    if not folder.exists():
        os.replace(new, folder)
        return
    shutil.copymode(folder, new)
    for path in folder.iterdir():
        if path.name not in files and path.name not in gone:
            _linked_or_copied(path, new / path.name)
    try:
        os.replace(folder, old)
        os.replace(new, folder)
    except BaseException:
        if old.exists() and not folder.exists():
            os.replace(old, folder)
        raise
    shutil.rmtree(old, ignore_errors=True)


def recover(folder: Path, key: str) -> None:
    """After a machine has stopped in the middle: the old folder back in its place where none is, and nothing left beside it."""
    old = _old(folder, key)
    if old.is_dir():
        if folder.exists():
            shutil.rmtree(old, ignore_errors=True)
        else:
            os.replace(old, folder)
    shutil.rmtree(_new(folder, key), ignore_errors=True)


def _linked_or_copied(path: Path, target: Path) -> None:
    """The same file under a second name, which takes no time and no room; a copy where the file system has no such names."""
    try:
        os.link(path, target)
    except OSError:
        shutil.copy2(path, target)


def _new(folder: Path, key: str) -> Path:
    return folder.parent / f".finishing-new-{key}"


def _old(folder: Path, key: str) -> Path:
    return folder.parent / f".finishing-old-{key}"
