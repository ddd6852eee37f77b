"""build.py asks for no more than a command needs: bodies of mesh files run on any Python with numpy alone."""

from __future__ import annotations

import importlib.util
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from mesh_files import binary_stl

import build

ROOT = Path(__file__).parents[2]


class Version(tuple):
    """Stands for sys.version_info."""


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The sets of packages that were asked for; nothing is installed or run."""
    groups: list[str] = []

    def set_up(wanted: str) -> Path:
        groups.append(wanted)
        return Path("python")

    monkeypatch.setattr(build, "set_up", set_up)
    monkeypatch.setattr(build, "_run", lambda *_words, **_more: 0)
    monkeypatch.setattr(build.shutil, "which", lambda _program: None)
    return groups


def python(monkeypatch: pytest.MonkeyPatch, *version: int) -> None:
    monkeypatch.setattr(build.sys, "version_info", Version((*version, 0, "final", 0)))


@pytest.mark.parametrize("version", [(3, 11), (3, 12), (3, 13), (3, 14), (4, 0)])
@pytest.mark.parametrize(
    "arguments", [["demo"], ["plan", "a.stl"], ["plan", "A.OBJ"], ["batch", "."], ["read", "a.csv", "--body", "a.ply"], ["compare", "a.json"]]
)
def test_mesh_files_need_numpy_alone(monkeypatch: pytest.MonkeyPatch, asked: list, version: tuple[int, int], arguments: list[str]) -> None:
    python(monkeypatch, *version)
    assert build.main(arguments) == 0
    assert asked == [build.RUN]


@pytest.mark.parametrize(
    "arguments",
    [["plan", "a.blend"], ["plan", "A.BLEND"], ["plan", "a.stl", "--stock", "b.blend"], ["read", "a.csv", "--body=b.blend"], ["batch", "FOLDER"]],
)
def test_blend_files_need_blender(monkeypatch: pytest.MonkeyPatch, asked: list, tmp_path: Path, arguments: list[str]) -> None:
    (tmp_path / "c.blend").write_bytes(b"")
    words = [str(tmp_path) if word == "FOLDER" else word for word in arguments]
    for version in ((3, 11), (3, 13)):
        python(monkeypatch, *version)
        assert build.main(words) == 0
    # Without a bpy for this Python the installed Blender is asked, and where there is none the command says so.
    python(monkeypatch, 3, 12)
    assert build.main(words) == 0
    # With a Blender on the path nothing is fetched.
    python(monkeypatch, 3, 11)
    monkeypatch.setattr(build.shutil, "which", lambda program: f"/usr/bin/{program}")
    assert build.main(words) == 0
    assert asked == [build.BLENDER, build.BLENDER, build.RUN, build.RUN]


@pytest.mark.parametrize("command", ["zip", "bench", "sizes", "examples"])
def test_what_needs_bpy_says_so_elsewhere(monkeypatch: pytest.MonkeyPatch, asked: list, command: str, capsys: pytest.CaptureFixture) -> None:
    python(monkeypatch, 3, 12)
    assert build.main([command]) == 2
    assert capsys.readouterr().err == f"build.py: {command} needs Blender's bpy, which Python 3.12 lacks: run me with Python 3.11 or 3.13.\n"
    assert asked == []


def test_the_tests_say_what_is_not_run(monkeypatch: pytest.MonkeyPatch, asked: list, capsys: pytest.CaptureFixture) -> None:
    python(monkeypatch, 3, 12)
    assert build.main(["test"]) == 0
    assert "not run here: tests/blender and tests/pictures, which need Blender's bpy: Python 3.12 has none" in capsys.readouterr().out
    python(monkeypatch, 3, 13)
    assert build.main(["test"]) == 0
    assert "tests/blender" not in capsys.readouterr().out
    assert asked == [build.TEST, build.TEST]


def test_releases_are_those_written_down_and_elsewhere_the_newest_within_the_ranges(monkeypatch: pytest.MonkeyPatch) -> None:
    for version in build.BPY_PYTHONS:
        python(monkeypatch, *version)
        smaller: set[str] = set()
        for packages in build.LOCKED:
            releases = build._requirements(packages)
            assert all("==" in release for release in releases) and smaller <= set(releases)
            smaller = set(releases)
        assert [release.split("==")[0] for release in build._requirements(build.RUN)] == ["numpy"]
        assert any(release.startswith("bpy==") for release in build._requirements(build.BLENDER))
    python(monkeypatch, 3, 12)
    assert build._requirements(build.RUN) == ["numpy>=1.26"]


def test_old_pythons_get_a_sentence(monkeypatch: pytest.MonkeyPatch, asked: list, capsys: pytest.CaptureFixture) -> None:
    python(monkeypatch, 3, 10)
    assert build.main(["demo"]) == 2
    assert capsys.readouterr().err == "build.py: this is Python 3.10, but I need 3.11 or later: run me with one of these.\n"
    assert asked == []


def test_numpy_is_locked_to_what_blender_takes(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    # As bpy 4.5 has it: it asks for a numpy below 2, and alone the newest would be taken.
    def newest(groups: tuple[str, ...], taken: dict[str, str]) -> dict[str, str] | None:
        asks = "blender" in groups
        number = taken.get("numpy", "1.26.4" if asks else "2.5.5")
        if asks and number != "1.26.4":
            return None
        return {"numpy": number} | ({"bpy": "4.5.15"} if asks else {}) | ({"pytest": "9.0"} if "test" in groups else {})

    python(monkeypatch, 3, 11)
    monkeypatch.setattr(build, "ROOT", tmp_path)
    found = importlib.util.spec_from_file_location("lock", ROOT / ".ci" / "lock.py")
    assert found is not None and found.loader is not None
    lock = importlib.util.module_from_spec(found)
    found.loader.exec_module(lock)
    monkeypatch.setattr(lock, "_newest", newest)
    assert lock.lock() == 0

    def names(packages: str) -> list[str]:
        lines = (tmp_path / f"requirements-{packages}.txt").read_text().splitlines()
        return [line.split(";")[0] for line in lines if not line.startswith("#")]

    assert names("run") == ["numpy==1.26.4"]
    assert names("blender") == ["bpy==4.5.15", "numpy==1.26.4"]
    assert names("test") == names("bench") == ["bpy==4.5.15", "numpy==1.26.4", "pytest==9.0"]


WITHOUT_BPY = "import sys; sys.modules['bpy'] = None; from addon.command import run; sys.exit(run(sys.argv[1:], 'build.py'))"


def without_bpy(*words: str) -> subprocess.CompletedProcess:
    """The command line in a Python in which bpy cannot be imported, and without a Blender on the path."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "PATH": os.devnull}
    return subprocess.run([sys.executable, "-c", WITHOUT_BPY, *words], capture_output=True, text=True, env=environment, check=False)


def test_the_command_line_runs_without_bpy(tmp_path: Path) -> None:
    (tmp_path / "bodies").mkdir()
    (tmp_path / "bodies" / "tip.stl").write_bytes(binary_stl())
    (tmp_path / "bodies" / "more.blend").write_bytes(b"BLENDER")
    body, out = str(tmp_path / "bodies" / "tip.stl"), str(tmp_path / "out")
    planned = without_bpy("plan", body, "--cutter", "3", "--start", "edge", "--cell", "0.25", "--unit", "cm", "--out", out)
    assert planned.returncode in (0, 3), planned.stderr
    record = str(tmp_path / "out" / "tip-top-plan.json")
    assert without_bpy("read", record, "--body", body, "--unit", "cm").stdout.endswith("The body is as it was when the plan was written.\n")
    assert without_bpy("compare", record).returncode == 0
    batch = without_bpy("batch", str(tmp_path / "bodies"), "--cutter", "3", "--start", "edge", "--cell", "0.25", "--unit", "cm", "--out", out + "2")
    assert batch.returncode == 3
    refused = without_bpy("plan", str(tmp_path / "bodies" / "more.blend"), "--out", out + "3")
    assert refused.returncode == 2 and refused.stderr.startswith("build.py: 'more.blend' can only be read by Blender, and there is none")


@pytest.mark.skipif(os.name == "nt", reason="has no such signal")
def test_ctrl_c_reaches_the_command_and_ends_with_130(tmp_path: Path) -> None:
    """As a terminal sends it: to build.py and to what it runs. What runs has the last word."""
    inner = "import sys, time\ntry:\n    print('ready', flush=True); time.sleep(60)\nexcept KeyboardInterrupt:\n    time.sleep(1); sys.exit('stopped')"
    outer = "import sys, build\nsys.exit(build._run([sys.executable, '-c', sys.argv[1]]))"
    process = subprocess.Popen(
        [sys.executable, "-c", outer, inner], cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True
    )
    assert process.stdout is not None
    assert process.stdout.readline() == "ready\n"
    os.killpg(process.pid, signal.SIGINT)
    _out, error = process.communicate(timeout=60)
    assert (process.returncode, error.strip()) == (build.INTERRUPTED, "stopped")


@pytest.mark.skipif(os.name == "nt", reason="has no such signal")
def test_what_the_system_has_ended_is_said(capsys: pytest.CaptureFixture) -> None:
    """As Linux ends a process when there is no memory left: it cannot say so itself."""
    assert build._run([sys.executable, "-c", "import os, signal; os.kill(os.getpid(), signal.SIGKILL)"]) == build.FAILED
    assert (
        capsys.readouterr().err == "build.py: the system has ended this, most likely for want of memory: close other programs, or use a coarser cell.\n"
    )
