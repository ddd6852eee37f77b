"""The command line at the edges: names that no file has, letters that no code page has, Ctrl-C, readers that go away."""

from __future__ import annotations

import argparse
import io
import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from mesh_files import binary_stl
from shapes import block
from small_jobs import arched

from addon.command import run
from addon.command_options import command_parser
from addon.finishing.job.body import make_body
from addon.finishing.job.request import Request
from addon.printing import PLAIN_LETTERS, forgiving_output

ROOT = Path(__file__).parents[2]
LONG = "x" * 300
"""More than the 255 bytes that file systems take."""

ZERO = "a\0b"


@pytest.fixture
def body(tmp_path: Path) -> Path:
    """A small arched block."""
    file = tmp_path / "body.stl"
    file.write_bytes(binary_stl(block(arched, 60, 40, 2.0)))
    return file


def words(file: Path | str, out: Path | str, *more: str) -> list[str]:
    """A plan that takes a second or two."""
    return ["plan", str(file), "--unit", "mm", "--cutter", "12", "--cell", "1", "--cusp", "0.2", "--start", "edge", "--out", str(out), *more]


@pytest.mark.parametrize(
    "arguments, said",
    [
        (["plan", "FILE", "--out", ""], "argument --out: must not be empty"),
        (["plan", "", "--out", "OUT"], "argument FILE: must not be empty"),
        (["plan", "FILE", "--out", "OUT", "--settings", ""], "argument --settings: must not be empty"),
        (["plan", "FILE", "--out", "OUT", "--object", ""], "argument --object: must not be empty"),
        (["batch", "", "--out", "OUT"], "argument FOLDER: must not be empty"),
        (["plan", "FILE", "--out", f"OUT/{LONG}"], "name of more than 255 bytes"),
        (["plan", f"{LONG}.stl", "--out", "OUT"], "name of more than 255 bytes"),
        (["plan", f"{LONG}.blend", "--out", "OUT"], "name of more than 255 bytes"),
        (["plan", "FILE", "--out", "OUT", "--settings", LONG], "name of more than 255 bytes"),
        (["plan", "FILE", "--out", "OUT", "--stock", LONG], "There is no object|holds no object"),
        (["batch", LONG, "--out", "OUT"], "name of more than 255 bytes"),
        (["read", LONG], "name of more than 255 bytes"),
        (["compare", LONG], "name of more than 255 bytes"),
        (["plan", ZERO, "--out", "OUT"], "holds a byte \\(0\\)"),
        (["plan", "FILE", "--out", ZERO], "holds a byte \\(0\\)"),
        (["plan", "FILE", "--out", "OUT", "--settings", ZERO], "holds a byte \\(0\\)"),
        (["compare", ZERO], "holds a byte \\(0\\)"),
    ],
)  # fmt: skip
def test_names_that_nothing_has(
    tmp_path: Path, body: Path, monkeypatch: pytest.MonkeyPatch, arguments: list[str], said: str, capsys: pytest.CaptureFixture
) -> None:
    empty = tmp_path / "empty"
    empty.mkdir()
    monkeypatch.chdir(empty)
    code = run([word.replace("FILE", str(body)).replace("OUT", str(tmp_path / "out")) for word in arguments])
    error = capsys.readouterr().err.strip()
    assert code == 2
    assert len(error.splitlines()) == 1
    assert re.search(said, error, re.IGNORECASE), error
    assert not (tmp_path / "out").exists()
    assert not list(empty.iterdir())


@pytest.mark.skipif(os.name == "nt", reason="names are text there")
def test_names_that_are_not_text(tmp_path: Path, body: Path, capsys: pytest.CaptureFixture) -> None:
    folder = tmp_path / os.fsdecode(b"f\xff")
    folder.mkdir()
    file = folder / os.fsdecode(b"b\xfe.stl")
    file.write_bytes(body.read_bytes())
    out = folder / os.fsdecode(b"o\xfd")
    assert run(words(file, out)) in (0, 3)
    record = json.loads(next(out.glob("*plan.json")).read_bytes())
    assert record["body"]["name"] == "b\\udcfe"
    assert run(["batch", str(folder), "--out", str(out / "all"), *words("", "")[2:-2]]) in (0, 3)
    assert "b\\udcfe.stl" in (out / "all" / "batch.csv").read_text("utf-8")
    capsys.readouterr()
    assert run(words(folder / os.fsdecode(b"none\xfc.stl"), out)) == 2
    assert "none\\udcfc.stl" in capsys.readouterr().err


@pytest.mark.parametrize("encoding, printed", [("ascii", "5 mm2 of n\\u4eee"), ("cp437", "5 mm² of n\\u4eee"), ("utf-8", "5 mm² of n仮")])
def test_letters_that_the_terminal_lacks(monkeypatch: pytest.MonkeyPatch, encoding: str, printed: str) -> None:
    out = io.BytesIO()
    terminal = io.TextIOWrapper(out, encoding=encoding, errors="strict")
    monkeypatch.setattr(sys, "stdout", terminal)
    with forgiving_output():
        assert terminal.errors == PLAIN_LETTERS
        print("5 mm² of n仮", end="", flush=True)
    assert terminal.errors == "strict"
    assert out.getvalue().decode(encoding) == printed


RUNNER = "import sys; from addon.command import run; sys.exit(run(sys.argv[1:], 'build.py'))"

INTERRUPTED = """
import signal, sys
import addon.command as command
calls = 0
def progress(share, stage):
    global calls
    calls += 1
    if calls == {moment}:
        signal.raise_signal(signal.SIGINT)
command._progress = progress
sys.exit(command.run(sys.argv[1:], 'build.py'))
"""
"""A run that gets Ctrl-C's signal at a moment of its own telling, whatever its threads do then."""


def start(runner: str, arguments: list[str], **environment: str) -> subprocess.Popen:
    """The command in a process of its own."""
    environment = {**os.environ, **environment}
    return subprocess.Popen(
        [sys.executable, "-c", runner, *arguments], cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=environment
    )  # fmt: skip


def test_a_plan_on_a_terminal_of_plain_letters(tmp_path: Path, body: Path) -> None:
    process = start(RUNNER, words(body, tmp_path / "out"), PYTHONIOENCODING="ascii")
    out, error = process.communicate(timeout=120)
    assert process.returncode in (0, 3), error
    assert out.isascii() and b"Written: " in out
    assert not error


def test_a_reader_that_goes_away(tmp_path: Path, body: Path) -> None:
    process = start(RUNNER, words(body, tmp_path / "out"))
    assert process.stdout is not None and process.stderr is not None
    process.stdout.close()
    error = process.stderr.read()
    process.stderr.close()
    assert process.wait(120) in (0, 3)
    assert not error
    assert list((tmp_path / "out").glob("*plan.json"))


@pytest.mark.parametrize("moment", [1, 4, 20])
def test_ctrl_c_is_one_word_and_writes_nothing(tmp_path: Path, body: Path, moment: int) -> None:
    process = start(INTERRUPTED.format(moment=moment), words(body, tmp_path / "out"))
    out, error = process.communicate(timeout=120)
    assert (process.returncode, out, error.decode().strip()) == (130, b"", "build.py: stopped.")
    assert not (tmp_path / "out").exists()


def test_too_little_memory_is_a_sentence(body: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture) -> None:
    def read(*_arguments: object) -> None:
        raise MemoryError

    monkeypatch.setattr("addon.command.read_file_with_unit", read)
    assert run(words(body, tmp_path / "out")) == 2
    assert "not enough memory" in capsys.readouterr().err


SHORT_OF_MEMORY = """
import resource, sys
import addon.command as command
taken = int(next(line for line in open("/proc/self/status") if line.startswith("VmSize")).split()[1]) * 1024
resource.setrlimit(resource.RLIMIT_AS, (taken + int(sys.argv.pop(1)) * 2**20,) * 2)
sys.exit(command.run(sys.argv[1:], 'build.py'))
"""
"""A run that gets so many MiB of addresses more than it has once all is loaded, and no more."""


@pytest.mark.skipif(sys.platform != "linux", reason="has no such limit")
@pytest.mark.parametrize("mib", [40, 180])
def test_memory_that_runs_out_anywhere_is_one_sentence(tmp_path: Path, body: Path, mib: int) -> None:
    process = start(SHORT_OF_MEMORY, [str(mib), *words(body, tmp_path / "out", "--cell", "0.04")])
    out, error = process.communicate(timeout=120)
    said = "build.py: There is not enough memory for this: use a coarser cell, or close other programs."
    assert (process.returncode, out, error.decode().splitlines()) == (2, b"", [said])
    assert not (tmp_path / "out").exists()


def options_of_all_commands() -> list[tuple[str, argparse.Action]]:
    """(command, option) of everything that the command line takes."""
    commands = next(action for action in command_parser("build.py")._actions if isinstance(action, argparse._SubParsersAction))
    return [(name, action) for name, parser in commands.choices.items() for action in parser._actions]


def test_every_option_has_help_and_names_its_default() -> None:
    found = options_of_all_commands()
    assert len(found) > 60
    for command, action in found:
        assert action.help, (command, action.dest)
        if action.option_strings and action.nargs != 0 or isinstance(action, argparse._StoreTrueAction):
            assert "(default: " in action.help, (command, action.option_strings)


def test_the_defaults_that_the_help_names_are_those_that_a_plan_takes() -> None:
    options = {action.dest: action for command, action in options_of_all_commands() if command == "plan"}
    request = Request(make_body("a", block(lambda x, y: 0 * x + 10.0, 20, 20, 5.0)))
    for name, value in {
        "side": request.side, "up": request.up, "cusp": request.cusp, "lines_from": request.lines_from, "rim": request.rim_pass,
        "ramp_angle": request.ramp_angle, "cell": request.cell, "smooth": request.smooth, "out_unit": "mm", "out": "out",
    }.items():  # fmt: skip
        shown = f"{value:g}" if isinstance(value, float) else value
        assert f"(default: {shown})" in (options[name].help or ""), name
    assert request.cutter is None and request.spacing is None and request.budget_minutes is None
