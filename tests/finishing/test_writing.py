"""Writing files: safe names, and all files of a job or none of them."""

from __future__ import annotations

import os
import sys
import warnings
from pathlib import Path

import pytest

from addon.finishing.core.errors import BadFile
from addon.finishing.files import putting_aside
from addon.finishing.files.names import LONGEST_NAME, RESERVED, free_name, safe_name
from addon.finishing.files.writing import write_all


def contents(folder: Path) -> dict[str, bytes]:
    """Everything in a folder, temporary files included."""
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}


@pytest.mark.parametrize("name", ["CON", "com1", "a.b.", "..", "x" * 300, "K\u00f6rper/\\:*?", " ", "nul.txt", "Aux", "a\u0000b", "-", "__"])
def test_names_are_safe_on_every_system(name: str) -> None:
    # Names that Windows reserves, and signs it refuses: Microsoft, "Naming Files, Paths, and Namespaces".
    safe = safe_name(name)
    assert safe and safe not in RESERVED and len(safe.encode()) <= LONGEST_NAME + 5
    assert all(c.isalnum() or c in "-_" for c in safe) and safe == safe_name(safe)


def test_plain_names_stay_readable() -> None:
    assert safe_name("Bass body, 2nd try") == "bass-body-2nd-try"
    assert safe_name("???", fallback="side") == "side"


@pytest.mark.parametrize(
    "name, safe",
    [
        ("K\u00f6rper 2", "k\u00f6rper-2"),
        ("Ko\u0308rper 2", "k\u00f6rper-2"),  # the same letter in two pieces: one name, not two
        ("\u0413\u0438\u0442\u0430\u0440\u0430", "\u0433\u0438\u0442\u0430\u0440\u0430"),
        ("\u7434 1", "\u7434-1"),
        ("\u0639\u0648\u062f", "\u0639\u0648\u062f"),
        ("\u202ebass\u200b", "bass"),  # signs that turn or hide text
        ("\u7434" * 200, "\u7434" * (LONGEST_NAME // 3)),
    ],
)
def test_letters_of_any_script_are_kept(name: str, safe: str) -> None:
    assert safe_name(name) == safe


def test_names_that_are_taken_get_a_number() -> None:
    assert free_name("a-b", ()) == "a-b"
    assert free_name("a-b", ("a-b", "A-B-2")) == "a-b-3"


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


@pytest.mark.parametrize("error, raised, said", [(PermissionError(13, "in use"), BadFile, "in use"), (KeyboardInterrupt(), KeyboardInterrupt, "^$")])
@pytest.mark.parametrize("sub_folder, failing", [(False, 1), (False, 2), *((True, number) for number in range(1, 7))])
def test_what_stops_the_writing_takes_all_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, sub_folder: bool, failing: int, error: BaseException, raised: type[BaseException], said: str
) -> None:
    # What Windows does when a spreadsheet holds the file open: the renaming of one file, or of its folder, fails; the others would succeed.
    # And Ctrl-C at that moment.
    folder = tmp_path / "out"
    write_all(folder, {"a": b"old a", "b": b"old b", "kept": b"kept", "gone": b"gone"})
    if sub_folder:
        (folder / "sub").mkdir()
    rename, count = os.replace, 0

    def held(source: Path, target: Path) -> None:
        nonlocal count
        count += 1
        if count == failing:
            raise error
        rename(source, target)

    monkeypatch.setattr(os, "replace", held)
    with pytest.raises(raised, match=said):
        write_all(folder, {"a": b"new", "b": b"new", "c": b"new"}, gone=("gone",))
    assert contents(folder) == {"a": b"old a", "b": b"old b", "kept": b"kept", "gone": b"gone"}
    assert [path.name for path in tmp_path.iterdir()] == ["out"]
    assert [path.name for path in folder.iterdir() if path.is_dir()] == (["sub"] if sub_folder else [])


def test_a_full_disk_leaves_all_as_it_was(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write_all(tmp_path, {"a": b"old"})

    def full(_handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(BadFile, match="No space left"):
        write_all(tmp_path, {"a": b"new", "b": b"new"})
    assert contents(tmp_path) == {"a": b"old"}


@pytest.mark.parametrize("sub_folder", [False, True])
def test_files_that_are_gone_go_and_others_stay(tmp_path: Path, sub_folder: bool) -> None:
    folder = tmp_path / "out"
    write_all(folder, {"a": b"old", "gone": b"gone", "letter.txt": b"mine"})
    if sub_folder:
        (folder / "sub").mkdir()
        (folder / "sub" / "deep").write_bytes(b"deep")
    write_all(folder, {"a": b"new", "b": b"new"}, gone=("gone", "never there", "b"))
    assert contents(folder) == {"a": b"new", "b": b"new", "letter.txt": b"mine"}
    assert not sub_folder or (folder / "sub" / "deep").read_bytes() == b"deep"


def test_the_folder_that_somebody_works_in_stays_itself(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = tmp_path / "out"
    write_all(folder, {"a": b"old"})
    monkeypatch.chdir(folder)
    before = folder.stat().st_ino
    write_all(Path("."), {"a": b"new"})
    assert Path("a").read_bytes() == b"new" and folder.stat().st_ino == before


OLD = {"a": b"old a", "b": b"old b", "gone": b"old"}
NEW = {"a": b"new a", "b": b"new b", "c": b"new c"}
MINE = {"letter.txt": b"mine"}


def killed_at(event: int, folder: Path) -> bool:
    """Write NEW over OLD in a process of its own that is gone without a word before its `event`-th step on the disk; False where it got through."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)  # from 3.12 on where threads run; the child does nothing but write files
        child = os.fork()
    if child == 0:
        count = 0

        def step(name: str, _arguments: object) -> None:
            nonlocal count
            if name in ("open", "os.rename", "os.link", "os.remove", "os.mkdir", "os.rmdir", "os.chmod"):
                count += 1
                if count == event:
                    os._exit(9)

        try:
            sys.addaudithook(step)
            write_all(folder, NEW, gone=("gone",))
        finally:
            os._exit(0)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 9


@pytest.mark.skipif(not hasattr(os, "fork"), reason="no fork on this system")
@pytest.mark.parametrize("sub_folder", [False, True])
def test_a_process_that_is_killed_at_any_moment_leaves_no_mixed_set(tmp_path: Path, sub_folder: bool) -> None:
    moments = 0
    for event in range(1, 200):
        folder = tmp_path / f"{event}" / "out"
        write_all(folder, OLD | MINE)
        if sub_folder:
            (folder / "sub").mkdir()
        if not killed_at(event, folder):
            break
        moments += 1
        left = contents(folder) if folder.exists() else None
        if sub_folder:
            # Never old beside new, even while they are exchanged; and the next writing puts back or keeps a whole set.
            assert left is not None and (left.items() <= (OLD | MINE).items() or left.items() <= (NEW | MINE).items())
            putting_aside.recover(folder)
            assert contents(folder) in (OLD | MINE, NEW | MINE)
        else:
            assert left in (None, OLD | MINE, NEW | MINE)
        write_all(folder, NEW, gone=("gone",))
        assert contents(folder) == NEW | MINE
        assert [path.name for path in folder.parent.iterdir()] == ["out"]
        assert [path.name for path in folder.iterdir() if path.is_dir()] == (["sub"] if sub_folder else [])
    assert moments > 15
