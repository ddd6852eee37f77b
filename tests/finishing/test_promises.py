"""What README promises: no network, nothing run that was read, nothing written but where the user said."""

from __future__ import annotations

import ast
import json
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from mesh_files import binary_stl
from shapes import block
from small_jobs import arched

ROOT = Path(__file__).parents[2]
ADDON = ROOT / "addon"

NETWORK = frozenset(
    ("socket", "socketserver", "ssl", "urllib", "http", "ftplib", "smtplib", "poplib", "imaplib", "telnetlib", "nntplib", "xmlrpc", "asyncio",
     "requests", "aiohttp", "httpx", "webbrowser", "selectors")
)  # fmt: skip
"""Modules that reach other machines."""

RUNNING = frozenset(
    ("pickle", "marshal", "shelve", "dill", "cloudpickle", "joblib", "code", "codeop", "runpy", "importlib", "imp", "pty", "ctypes",
     "subprocess", "multiprocessing")
)  # fmt: skip
"""Modules that run what they read, or other programs."""

RUNNING_CALLS = frozenset(
    ("eval", "exec", "compile", "__import__", "execfile", "system", "popen", "execv", "execve", "spawnv", "startfile", "load_module")
)

STARTS_BLENDER = ADDON / "scene" / "blender_process.py"
"""The only module that starts a program: Blender, for a .blend. It is not part of the extension."""

GIVES_BACK = ADDON / "finishing" / "core" / "returned_memory.py"
"""The only module that calls the C library of the system: to give memory back."""


def modules() -> Iterator[tuple[str, ast.Module]]:
    for file in sorted(ADDON.rglob("*.py")):
        yield str(file.relative_to(ROOT)), ast.parse(file.read_text(encoding="utf-8"))


def imported(tree: ast.Module) -> set[str]:
    """First names of all modules that are imported, wherever in the file."""
    names = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            names |= {alias.name.split(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.level == 0:
            names.add((node.module or "").split(".")[0])
    return names


def test_no_module_can_reach_a_network_or_run_what_it_reads() -> None:
    found = {name: sorted(imported(tree) & (NETWORK | RUNNING)) for name, tree in modules()}
    assert len(found) > 200
    known = {str(STARTS_BLENDER.relative_to(ROOT)): ["subprocess"], str(GIVES_BACK.relative_to(ROOT)): ["ctypes"]}
    assert {name: used for name, used in found.items() if used} == known
    calls = [node for node in ast.walk(ast.parse(GIVES_BACK.read_text())) if isinstance(node, ast.Call)]
    called = {node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "") for node in calls}
    assert called == {"getattr", "CDLL", "c_size_t", "c_int", "function", "_ask"}
    asked = [node.args[0].value for node in calls if getattr(node.func, "id", "") == "_ask" and isinstance(node.args[0], ast.Constant)]
    assert asked == ["malloc_trim", "mallopt"] and "ctypes.CDLL(None)" in GIVES_BACK.read_text()
    manifest = (ADDON / "blender_manifest.toml").read_text()
    assert "/scene/blender_process.py" in manifest.split("paths_exclude_pattern")[1]
    assert "network" not in manifest.split("[permissions]")[1].split("[build]")[0]


def test_nothing_is_evaluated() -> None:
    calls = []
    for name, tree in modules():
        for node in ast.walk(tree):
            if not isinstance(node, ast.Call):
                continue
            called = node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")
            regular_expression = isinstance(node.func, ast.Attribute) and ast.unparse(node.func) == "re.compile"
            if called in RUNNING_CALLS and not regular_expression:
                calls.append(f"{name}:{node.lineno} {called}")
            loads = ast.unparse(node.func) in ("np.load", "numpy.load")
            if loads and not any(each.arg == "allow_pickle" and ast.unparse(each.value) == "False" for each in node.keywords):
                calls.append(f"{name}:{node.lineno} np.load")
    assert calls == []


def test_presets_are_handed_to_no_action_of_blenders() -> None:
    assert [name for name, tree in modules() if "execute_preset" in ast.unparse(tree) or "execfile" in ast.unparse(tree)] == []


WATCHED = """
import json, os, sys
told = []
def hear(event, arguments):
    if event.split(".")[0] in ("socket", "urllib", "http", "ftplib", "smtplib", "webbrowser", "pickle", "marshal", "ctypes", "subprocess", "pty"):
        if event not in QUIET:
            told.append(("ran", event, ""))
    elif event in ("os.system", "os.exec", "os.posix_spawn", "os.spawn", "os.fork"):
        told.append(("ran", event, ""))
    elif event == "open" and isinstance(arguments[0], (str, bytes)) and (arguments[2] or 0) & (os.O_WRONLY | os.O_RDWR | os.O_CREAT):
        told.append(("wrote", event, os.path.abspath(os.fsdecode(arguments[0]))))
    elif event in ("os.mkdir", "os.remove", "os.rmdir", "os.rename", "os.link", "os.symlink", "os.truncate", "os.chmod", "shutil.rmtree"):
        for path in arguments[:2 if event in ("os.rename", "os.link", "os.symlink") else 1]:
            # Within an opened folder, as shutil.rmtree works, names are relative to it: the folder itself has been told.
            if isinstance(path, (str, bytes)) and os.path.isabs(path):
                told.append(("wrote", event, os.path.abspath(os.fsdecode(path))))
# Python's own modules are unmarshalled when they are imported; numpy looks at its libraries by ctypes then.
QUIET = {"marshal.loads", "marshal.load", "ctypes.dlopen", "ctypes.dlsym", "ctypes.dlsym/handle", "ctypes.addressof", "ctypes.cdata"}
QUIET.add("ctypes.cdata/buffer")
from addon.command import run
sys.addaudithook(hear)
codes = [run(arguments, "build.py") for arguments in json.loads(sys.argv[1])]
print("\\n" + json.dumps([codes, told]))
"""
"""Runs commands under an audit hook (PEP 578), which hears of everything that Python asks of the system."""


def watched(commands: list[list[str]], folder: Path) -> tuple[list[int], list[list[str]]]:
    """Exit codes of some commands, and what they have asked of the system."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONDONTWRITEBYTECODE": "1"}
    done = subprocess.run(
        [sys.executable, "-c", WATCHED, json.dumps(commands)], cwd=folder, env=environment, capture_output=True, text=True, timeout=300, check=False
    )
    assert done.returncode == 0, done.stderr
    codes, told = json.loads(done.stdout.strip().splitlines()[-1])
    return codes, told


def test_a_plan_writes_where_the_user_said_and_asks_nothing_else_of_the_system(tmp_path: Path) -> None:
    (tmp_path / "in").mkdir()
    body = tmp_path / "in" / "body.stl"
    body.write_bytes(binary_stl(block(arched, 60, 40, 2.0)))
    asked = ["--cutter", "12", "--cell", "1", "--cusp", "0.2", "--start", "edge", "--programs"]
    out, other = tmp_path / "given" / "out", tmp_path / "given" / "other"
    record = out / "body-top-plan.json"
    codes, told = watched(
        [
            ["plan", str(body), "--unit", "mm", *asked, "--out", str(out)],
            ["plan", str(body), "--unit", "mm", *asked, "--replace", "--out", str(out)],
            ["batch", str(tmp_path / "in"), "--unit", "mm", *asked, "--out", str(other)],
            ["read", str(record), "--body", str(body), "--unit", "mm"],
            ["compare", str(record), str(record)],
            ["timing-test", "--out", str(out)],
        ],
        tmp_path,
    )
    assert all(code in (0, 3) for code in codes), codes
    assert [each for each in told if each[0] == "ran"] == []
    written = {Path(path) for kind, _event, path in told if kind == "wrote"} - {Path(os.devnull)}
    assert len(written) > 20, "the hook hears of writing"
    elsewhere = sorted(str(path) for path in written if (tmp_path / "given") not in (path, *path.parents))
    assert elsewhere == []
    # Beside the folder that was named nothing is left, and what stood there was not touched.
    assert sorted(path.name for path in tmp_path.iterdir()) == ["given", "in"]
    assert sorted(path.name for path in (tmp_path / "given").iterdir()) == ["other", "out"]
    assert [path.name for path in (tmp_path / "in").iterdir()] == ["body.stl"]


def test_what_is_refused_writes_nothing(tmp_path: Path) -> None:
    file = tmp_path / "body.stl"
    file.write_bytes(b"solid but not whole")
    codes, told = watched([["plan", str(file), "--out", str(tmp_path / "out")], ["read", str(file)], ["compare", str(file)]], tmp_path)
    assert codes == [2, 2, 2]
    assert told == []


@pytest.mark.parametrize("sentence", ["no network", "no eval", "no pickle", "presets are read as data"])
def test_readme_says_so(sentence: str) -> None:
    promises = (ROOT / "README.md").read_text(encoding="utf-8").split("## Promises")[1].split("\n## ")[0]
    assert sentence in " ".join(promises.split())
