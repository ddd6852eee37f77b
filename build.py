"""Plan, test and package Curved Body Finishing; makes its own .venv the first time. Run with Python 3.11 or later.

Bodies from .stl, .obj and .ply files need numpy alone. Only .blend files, the tests of Blender, the zip, the bench and the examples need
Blender's bpy, which exists for Python 3.11 and 3.13; for .blend files a "blender" on the path will do, too.

python build.py demo                 plan a shipped example into out/
python build.py plan FILE [...]      plan a body (see: python build.py plan --help)
python build.py batch FOLDER [...]   plan every body of a folder
python build.py read FILE [...]      read a written plan again, say what has changed since
python build.py compare FILE [...]   set written plans side by side
python build.py timing-test [...]    write a program that times the machine; with --times, fit the machine's record to it
python build.py coupon [FILE]        write a test coupon for one cutter, or take back what was measured on it
python build.py log [FILE]           keep what was run: measured minutes, grit, remarks; without a file, show what is kept
python build.py test [...]           set up and run all tests that this machine can run
python build.py check                lint, format, order of imports and types
python build.py zip                  build and validate the extension into dist/
python build.py bench                print ratios of time against library calls
python build.py sizes                print how time and memory grow with body, cell and ball
python build.py agree FOLDER         plan a few bodies, compare the paths with those that other Pythons have left in the folder
python build.py examples             make the .blend files in blend_examples anew
python build.py words                print every label, key, option, column and sentence, for reading them all at once
python build.py lock                 renew the releases in requirements-*.txt for this Python; run it with 3.11 and with 3.13
"""

from __future__ import annotations

import hashlib
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import zipfile
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent
VENV = ROOT / ".venv"
OLDEST_PYTHON = (3, 11)
BPY_PYTHONS = ((3, 11), (3, 13))
"""Versions that Blender's bpy of a long-term release exists for: 4.5 and 5.2."""

RUN, BLENDER, TEST, BENCH = "run", "blender", "test", "bench"
LOCKED = {RUN: (RUN,), BLENDER: (RUN, BLENDER), TEST: (RUN, BLENDER, TEST), BENCH: (RUN, BLENDER, TEST, BENCH)}
"""The sets of packages, from the smallest on: which dependency groups of pyproject.toml requirements-<set>.txt holds."""

OLDEST = "oldest"
"""Dependency group of the oldest Blender, which .ci/run installs alone; its bpy exists for the first of BPY_PYTHONS."""

ON_BODIES = ("demo", "plan", "batch", "read", "compare", "coupon")
"""Commands that need bpy only for a .blend file."""

WITHOUT_BLENDER = (*ON_BODIES, "timing-test", "agree", "log", "test", "check")
"""Commands that do what they can on a Python that has no bpy."""

ZIP_DATE = (2026, 1, 1, 0, 0, 0)
"""The one date of all files in the zip, which otherwise would differ from build to build."""

DONE, FAILED, WRONG_USE, INTERRUPTED = 0, 1, 2, 130


SECONDS_TO_STOP = 10
"""What a command has to end after Ctrl-C: the work on one piece of a plan runs on to its end."""


RUNNER = """
import sys
try:
    from addon.command import run
    code = run(sys.argv[1:], "build.py")
except KeyboardInterrupt:
    print("build.py: stopped.", file=sys.stderr)
    code = 130
sys.exit(code)
"""
"""What Python is told to run for a command of the extension's own command line; Ctrl-C may come before that has begun."""


class CannotSetUp(Exception):
    """The .venv cannot be made; the message is one sentence for the user."""


def main(arguments: list[str]) -> int:
    """Run one command; returns its exit code."""
    commands = {
        "demo": (demo, RUN),
        "plan": (plan, RUN),
        "batch": (batch, RUN),
        "read": (read, RUN),
        "compare": (compare, RUN),
        "timing-test": (timing_test, RUN),
        "coupon": (coupon, RUN),
        "log": (log, RUN),
        "test": (test, TEST),
        "check": (check, TEST),
        "zip": (make_zip, BLENDER),
        "bench": (bench, TEST),
        "sizes": (sizes, BENCH),
        "agree": (agree, RUN),
        "examples": (examples, BLENDER),
        "words": (words, BLENDER),
        "lock": (lock, RUN),
    }
    version = ".".join(str(number) for number in sys.version_info[:2])
    if sys.version_info[:2] < OLDEST_PYTHON:
        print(f"build.py: this is Python {version}, but I need 3.11 or later: run me with one of these.", file=sys.stderr)
        return WRONG_USE
    if not arguments or arguments[0] in ("-h", "--help"):
        print(__doc__.strip())
        return DONE
    if arguments[0] not in commands:
        print(f"build.py: there is no command {arguments[0]!r}: choose one of {', '.join(commands)}.", file=sys.stderr)
        return WRONG_USE
    if arguments[0] not in WITHOUT_BLENDER and not has_bpy():
        print(f"build.py: {arguments[0]} needs Blender's bpy, which Python {version} lacks: run me with Python 3.11 or 3.13.", file=sys.stderr)
        return WRONG_USE
    command, packages = commands[arguments[0]]
    if arguments[0] in ON_BODIES and names_a_blend(arguments) and has_bpy() and shutil.which("blender") is None:
        packages = BLENDER
    try:
        return command(set_up(packages), arguments[1:])
    except CannotSetUp as error:
        print(f"build.py: {error}", file=sys.stderr)
        return FAILED
    except KeyboardInterrupt:
        print("\nbuild.py: stopped.", file=sys.stderr)
        return INTERRUPTED


def has_bpy() -> bool:
    """Whether Blender's bpy exists for this Python."""
    return sys.version_info[:2] in BPY_PYTHONS


def names_a_blend(arguments: list[str]) -> bool:
    """Whether a command on bodies is about a .blend file: named as such, or in the folder of a batch."""
    if any(word.lower().endswith(".blend") for word in arguments):
        return True
    folders = arguments[1:2] if arguments[0] == "batch" else []
    try:
        return any(path.suffix.lower() == ".blend" for folder in folders for path in Path(folder).iterdir())
    except (OSError, ValueError):  # no such folder: the command itself says so
        return False


def set_up(packages: str, venv: Path = VENV) -> Path:
    """Make or mend .venv with one of the sets of LOCKED; returns its Python. Raises CannotSetUp.

    The stamp is taken away first and written last, so that a half-made .venv is noticed and made anew.
    """
    python = venv / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
    stamp = venv / "ready"
    if stamp.is_file() and _runs_this_python(python):
        # What holds more packages holds these too.
        if stamp.read_text(encoding="utf-8") in {_mark(more) for more, groups in LOCKED.items() if set(groups) >= set(LOCKED[packages])}:
            return python
    else:
        shutil.rmtree(venv, ignore_errors=True)
        print("build.py: making .venv ...", file=sys.stderr)
        if subprocess.run([sys.executable, "-m", "venv", str(venv)], check=False).returncode:
            shutil.rmtree(venv, ignore_errors=True)
            raise CannotSetUp("Python cannot make a virtual environment here: install its venv module (python3-venv) or free the disk.")
    stamp.unlink(missing_ok=True)
    patience = " (bpy is large, this takes a few minutes the first time)" if BLENDER in LOCKED[packages] and has_bpy() else ""
    print(f"build.py: installing{patience} ...", file=sys.stderr)
    words = ["-m", "pip", "install", "--quiet", "--disable-pip-version-check", *_requirements(packages)]
    if subprocess.run([str(python), *words], check=False).returncode:
        raise CannotSetUp("pip could not install what is needed: see above, and check the network to PyPI and the disk.")
    stamp.write_text(_mark(packages), encoding="utf-8")
    return python


def locked_file(packages: str) -> Path:
    """Where the releases of a set of packages stand."""
    return ROOT / f"requirements-{packages}.txt"


def _requirements(packages: str) -> list[str]:
    """What pip is to install: the releases that are written down for this Python; where there are none, the newest within the ranges."""
    own = f'python_version == "{".".join(str(number) for number in sys.version_info[:2])}"'
    path = locked_file(packages)
    written = path.read_text(encoding="utf-8").splitlines() if path.is_file() else []
    releases = [line.split(";")[0] for line in written if own in line]
    return releases or ranges(LOCKED[packages])


def ranges(groups: tuple[str, ...]) -> list[str]:
    """The packages of some dependency groups, with the ranges of their releases."""
    listed = _toml(ROOT / "pyproject.toml")["dependency-groups"]
    return [line for group in groups for line in listed[group]]


def _mark(packages: str) -> str:
    """What the stamp of a .venv with these packages says: a digest of this Python and of the releases."""
    return hashlib.sha256("\n".join([sys.version, *_requirements(packages)]).encode()).hexdigest()


def _runs_this_python(python: Path) -> bool:
    """Whether the .venv's Python starts and is of the same version and build as this one."""
    try:
        shown = subprocess.run([str(python), "-c", "import sys; print(sys.version)"], capture_output=True, text=True, check=False)
    except OSError:
        return False
    return shown.returncode == 0 and shown.stdout.strip() == sys.version.strip()


def _toml(path: Path) -> dict[str, Any]:
    import tomllib  # not at the top: Pythons before 3.11 lack it, and shall get a sentence instead

    return tomllib.loads(path.read_text(encoding="utf-8"))


def plan(python: Path, arguments: list[str]) -> int:
    """Plan a body."""
    return _extension_command(python, "plan", arguments)


def batch(python: Path, arguments: list[str]) -> int:
    """Plan every body of a folder."""
    return _extension_command(python, "batch", arguments)


def read(python: Path, arguments: list[str]) -> int:
    """Read a written plan again and say what has changed since."""
    return _extension_command(python, "read", arguments)


def compare(python: Path, arguments: list[str]) -> int:
    """Set written plans side by side."""
    return _extension_command(python, "compare", arguments)


def timing_test(python: Path, arguments: list[str]) -> int:
    """Write a program that times the machine, or fit the machine's record to its times."""
    return _extension_command(python, "timing-test", arguments)


def coupon(python: Path, arguments: list[str]) -> int:
    """Write a test coupon, or take back what was measured on it."""
    return _extension_command(python, "coupon", arguments)


def log(python: Path, arguments: list[str]) -> int:
    """Keep what was run in the log."""
    return _extension_command(python, "log", arguments)


def _extension_command(python: Path, command: str, arguments: list[str]) -> int:
    """Run a command of the extension's own command line in .venv."""
    return _run([str(python), "-c", RUNNER, command, *arguments])


def demo(python: Path, arguments: list[str]) -> int:
    """Plan the top of the carved bass example into out/."""
    return plan(python, [str(ROOT / "blend_examples" / "carved_bass.ply"), "--side", "top", "--replace", "--out", str(ROOT / "out"), *arguments])


def test(python: Path, arguments: list[str]) -> int:
    """Run all tests that this machine can; pytest's summary says which were skipped, and why."""
    if not has_bpy():
        version = ".".join(str(number) for number in sys.version_info[:2])
        print(f"build.py: not run here: tests/blender and tests/pictures, which need Blender's bpy: Python {version} has none, 3.11 and 3.13 have.")
    print("build.py: not run here: tests/window, which drives a real Blender window (DEVELOPERS.md tells how).", flush=True)
    return _run([str(python), "-m", "pytest", "-rs", *arguments], cwd=ROOT)


def check(python: Path, arguments: list[str]) -> int:
    """Run the linter, the formatter, the contract of imports and the type checker; all of them, whatever one finds."""
    imports = "from importlinter.cli import lint_imports_command; lint_imports_command()"
    checks = (
        ["-m", "ruff", "check", "."],
        ["-m", "ruff", "format", "--check", "."],
        ["-c", imports, "--no-logo", "--no-cache"],
        ["-m", "mypy"],
    )
    return max(_run([str(python), *words], cwd=ROOT) for words in checks)


def lock(python: Path, arguments: list[str]) -> int:
    """Renew the releases of all packages for this Python."""
    return _run([str(python), str(ROOT / ".ci" / "lock.py"), *arguments], cwd=ROOT)


def bench(python: Path, arguments: list[str]) -> int:
    """Run the bench; it prints ratios within one run."""
    ran = _run([str(python), str(ROOT / "tests" / "bench" / "run.py"), *arguments], cwd=ROOT)
    return ran or _run([str(python), str(ROOT / "tests" / "bench" / "overlay.py")], cwd=ROOT)


def sizes(python: Path, arguments: list[str]) -> int:
    """Run the bench over sizes; it prints how time and memory grow."""
    return _run([str(python), str(ROOT / "tests" / "bench" / "sizes.py"), *arguments], cwd=ROOT)


def agree(python: Path, arguments: list[str]) -> int:
    """Compare plans between Pythons; it prints how many are the same."""
    return _run([str(python), str(ROOT / "tests" / "bench" / "agree.py"), *(arguments or [str(ROOT / "out" / "agree")])], cwd=ROOT)


def examples(python: Path, arguments: list[str]) -> int:
    """Make the example files anew from the scripts beside them."""
    scripts = [path for path in sorted((ROOT / "blend_examples").glob("*.py")) if path.stem != "shaping"]
    return max(_run([str(python), str(script), *arguments]) for script in scripts)


def words(python: Path, arguments: list[str]) -> int:
    """Print every word that a user meets, in one list built from the code."""
    return _run([str(python), str(ROOT / "tests" / "blender" / "words.py"), *arguments], cwd=ROOT)


def make_zip(python: Path, arguments: list[str]) -> int:
    """Build the extension with Blender's own tool, twice and byte-identical, and validate it with the known tags."""
    manifest = _toml(ROOT / "addon" / "blender_manifest.toml")
    target = ROOT / "dist" / f"{manifest['id']}-{manifest['version']}.zip"
    tool, tags = _extension_tool(python)
    with tempfile.TemporaryDirectory() as folder:
        built = [_build_once(python, tool, tags, Path(folder) / number) for number in ("first", "second")]
        if None in built:
            return FAILED
        first, second = (path.read_bytes() for path in built if path is not None)
        if first != second:
            print("build.py: two builds of the same source differ.", file=sys.stderr)
            return FAILED
    target.parent.mkdir(exist_ok=True)
    target.write_bytes(first)
    if _run([str(python), str(tool), "validate", str(target), "--valid-tags", str(tags)]):
        target.unlink()
        return FAILED
    with zipfile.ZipFile(target) as archive:
        count = len(archive.namelist())
    print(f"{target.relative_to(ROOT)}: {count} files, {len(first)} bytes, sha256 {hashlib.sha256(first).hexdigest()}")
    return DONE


def _extension_tool(python: Path) -> tuple[Path, Path]:
    """Blender's extension tool, plain Python within bpy, and the file of tags that it knows."""
    asked = "import bpy; print(bpy.utils.resource_path('LOCAL'))"
    shown = subprocess.run([str(python), "-c", asked], capture_output=True, text=True, check=True, env=_environment())
    scripts = Path(shown.stdout.strip().splitlines()[-1]) / "scripts"
    return scripts / "addons_core/bl_pkg/cli/blender_ext.py", scripts / "modules/_bpy_internal/extensions/tags.py"


def _build_once(python: Path, tool: Path, tags: Path, folder: Path) -> Path | None:
    """Copy the source, give all files one date and one mode, build; the zip, or None when the tool has complained."""
    source, target = folder / "source", folder / "extension.zip"
    shutil.copytree(ROOT / "addon", source, ignore=shutil.ignore_patterns("__pycache__", "*.pyc", ".*"))
    shutil.copyfile(ROOT / "LICENSE", source / "LICENSE")
    moment = time.mktime((*ZIP_DATE, 0, 0, -1))
    for path in [source, *source.rglob("*")]:
        path.chmod(0o755 if path.is_dir() else 0o644)
        os.utime(path, (moment, moment))
    words = ["build", "--source-dir", str(source), "--output-filepath", str(target), "--valid-tags", str(tags)]
    done = subprocess.run([str(python), str(tool), *words], capture_output=True, text=True, check=False)
    if done.returncode:
        print(done.stdout + done.stderr, file=sys.stderr)
        return None
    return target


def _run(command: list[str], cwd: Path | None = None) -> int:
    """Run a command to its end; returns its exit code, after Ctrl-C 130.

    The terminal sends Ctrl-C to the command as well, which then has some seconds to say so and to leave files as they were. Where the system ends
    it at once, as Linux does when there is no memory left for anybody, it can say nothing itself.
    """
    sys.stdout.flush()
    process = subprocess.Popen(command, cwd=cwd, env=_environment())
    try:
        code = process.wait()
        if os.name != "nt" and code == -signal.SIGKILL:
            print("build.py: the system has ended this, most likely for want of memory: close other programs, or use a coarser cell.", file=sys.stderr)
            return FAILED
        return code
    except KeyboardInterrupt:
        try:
            process.wait(SECONDS_TO_STOP)
        except (KeyboardInterrupt, subprocess.TimeoutExpired):
            process.kill()
        return INTERRUPTED


def _environment() -> dict[str, str]:
    """This environment, the project on the path, and a Blender profile of its own."""
    profile = VENV / "blender-profile"
    profile.mkdir(parents=True, exist_ok=True)
    return {**os.environ, "PYTHONPATH": str(ROOT), "BLENDER_USER_RESOURCES": str(profile), "PYTHONDONTWRITEBYTECODE": "1"}


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
