"""Writing files: safe names, and all files of a job or none of them."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from addon.finishing.core.errors import BadFile
from addon.finishing.files.writing import RESERVED, safe_name, write_all


def contents(folder: Path) -> dict[str, bytes]:
    """Everything in a folder, temporary files included."""
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}


@pytest.mark.parametrize("name", ["CON", "com1", "a.b.", "..", "x" * 300, "K\u00f6rper/\\:*?", " ", "nul.txt", "Aux", "a\u0000b", "-", "__"])
def test_names_are_safe_on_every_system(name: str) -> None:
    # Names that Windows reserves, and signs it refuses: Microsoft, "Naming Files, Paths, and Namespaces".
    safe = safe_name(name)
    assert safe and safe.isascii() and safe not in RESERVED and len(safe) <= 90
    assert all(c.isalnum() or c in "-_" for c in safe) and safe == safe_name(safe)


def test_plain_names_stay_readable() -> None:
    assert safe_name("Bass body, 2nd try") == "bass-body-2nd-try"
    assert safe_name("???", fallback="side") == "side"


def test_files_are_written_whole_into_a_new_folder(tmp_path: Path) -> None:
    folder = tmp_path / "new" / "deeper"
    written = write_all(folder, {"a.csv": b"one\r\n", "b.json": b""})
    assert written == [folder / "a.csv", folder / "b.json"]
    assert contents(folder) == {"a.csv": b"one\r\n", "b.json": b""}
    assert os.name == "nt" or (folder / "a.csv").stat().st_mode & 0o777 == 0o644


def test_files_that_are_there_are_replaced_only_where_that_is_allowed(tmp_path: Path) -> None:
    write_all(tmp_path, {"a": b"old"})
    with pytest.raises(BadFile, match="'a' is already in"):
        write_all(tmp_path, {"b": b"new", "a": b"new"}, replace=False)
    assert contents(tmp_path) == {"a": b"old"}
    write_all(tmp_path, {"b": b"new", "a": b"new"})
    assert contents(tmp_path) == {"a": b"new", "b": b"new"}


def test_a_folder_that_cannot_be_made_is_named(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(BadFile, match="cannot be made"):
        write_all(tmp_path / "file" / "folder", {"a": b""})


def test_a_name_that_a_folder_has_leaves_all_as_it_was(tmp_path: Path) -> None:
    write_all(tmp_path, {"a": b"old"})
    (tmp_path / "b").mkdir()
    with pytest.raises(BadFile, match="Nothing could be written"):
        write_all(tmp_path, {"a": b"new", "b": b"new", "c": b"new"})
    assert contents(tmp_path) == {"a": b"old"}


@pytest.mark.parametrize("failing", [1, 2, 3])
def test_a_file_that_another_program_holds_takes_all_back(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, failing: int) -> None:
    # What Windows does when a spreadsheet holds the file open: the renaming of one file fails, the others would succeed.
    write_all(tmp_path, {"a": b"old a", "b": b"old b"})
    rename, count = os.replace, 0

    def held(source: Path, target: Path) -> None:
        nonlocal count
        count += 1
        if count == failing:
            raise PermissionError(13, "in use")
        rename(source, target)

    monkeypatch.setattr(os, "replace", held)
    with pytest.raises(BadFile, match="in use"):
        write_all(tmp_path, {"a": b"new", "b": b"new", "c": b"new"})
    assert contents(tmp_path) == {"a": b"old a", "b": b"old b"}


def test_a_full_disk_leaves_all_as_it_was(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write_all(tmp_path, {"a": b"old"})

    def full(_handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(BadFile, match="No space left"):
        write_all(tmp_path, {"a": b"new", "b": b"new"})
    assert contents(tmp_path) == {"a": b"old"}
