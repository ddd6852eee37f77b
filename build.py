"""Plan, test and package Curved Body Finishing; makes its own .venv the first time. Run with Python 3.11 or 3.13.

    python build.py demo                 plan a shipped example into out/
    python build.py plan FILE [...]      plan a body (see: python build.py plan --help)
    python build.py test [...]           set up and run all tests that this machine can run
    python build.py check                ruff and the type checker
    python build.py zip                  build and validate the extension into dist/
    python build.py bench                print ratios of time against library calls
    python build.py examples             make the .blend files in blend_examples anew
"""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
import tempfile
import time
import tomllib
import zipfile
from pathlib import Path

ROOT = Path(__file__).resolve().parent
VENV = ROOT / ".venv"
GROUPS = {"demo": ("run",), "plan": ("run",), "zip": ("run",), "examples": ("run",)}
EVERYTHING = ("run", "test")
ZIP_DATE = (2026, 1, 1, 0, 0, 0)


def main(arguments: list[str]) -> int:
    """Run one command; returns its exit code."""
    commands = {"demo": demo, "plan": plan, "test": test, "check": check, "zip": make_zip, "bench": bench, "examples": examples}
    if not arguments or arguments[0] not in commands:
        print(__doc__, file=sys.stderr if arguments else sys.stdout)
        return 2 if arguments else 0
    if sys.version_info[:2] not in ((3, 11), (3, 13)):
        print("build.py: run me with Python 3.11 or 3.13: Blender's bpy exists for these.", file=sys.stderr)
        return 2
    python = set_up(GROUPS.get(arguments[0], EVERYTHING))
    return commands[arguments[0]](python, arguments[1:])


def set_up(groups: tuple[str, ...]) -> Path:
    """Make or mend .venv with the dependency groups of pyproject.toml; returns its Python.

    A stamp is written last, so that a half-made .venv is noticed and made anew.
    """
    python = VENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    wanted = [line for group in groups for line in project["dependency-groups"][group]]
    mark = hashlib.sha256("\n".join([sys.version, *wanted]).encode()).hexdigest()
    whole = hashlib.sha256(
        "\n".join([sys.version, *(x for g in EVERYTHING for x in project["dependency-groups"][g])]).encode()
    ).hexdigest()
    stamp = VENV / "ready"
    if python.exists() and stamp.exists() and stamp.read_text() in (mark, whole):
        return python
    if not (python.exists() and stamp.exists() and _same_python(python)):
        shutil.rmtree(VENV, ignore_errors=True)
        print("build.py: making .venv ...", file=sys.stderr)
        subprocess.run([sys.executable, "-m", "venv", str(VENV)], check=True)
    print("build.py: installing (bpy is large, this takes a few minutes the first time) ...", file=sys.stderr)
    stamp.unlink(missing_ok=True)
    subprocess.run([str(python), "-m", "pip", "install", "--quiet", "--disable-pip-version-check", *wanted], check=True)
    stamp.write_text(mark)
    return python


def _same_python(python: Path) -> bool:
    shown = subprocess.run([str(python), "-c", "import sys; print(sys.version)"], capture_output=True, text=True, check=False)
    return shown.stdout.strip() == sys.version


def plan(python: Path, arguments: list[str]) -> int:
    """Plan a body with bpy from .venv; the command line is the extension's own."""
    runner = "import sys, bpy; from addon.command import run; sys.exit(run(sys.argv[1:], 'build.py'))"
    done = subprocess.run([str(python), "-c", runner, "plan", *arguments], env=_environment(), check=False)
    return done.returncode


def demo(python: Path, arguments: list[str]) -> int:
    """Plan the carved bass example into out/."""
    return plan(python, [str(ROOT / "blend_examples" / "carved_bass.blend"), "--out", str(ROOT / "out"), *arguments])


def test(python: Path, arguments: list[str]) -> int:
    """Run all tests that this machine can; pytest's summary says which were skipped, and why."""
    return subprocess.run([str(python), "-m", "pytest", "-rs", *arguments], cwd=ROOT, env=_environment(), check=False).returncode


def check(python: Path, arguments: list[str]) -> int:
    """Run ruff and the type checker."""
    codes = [
        subprocess.run([str(python), "-m", *words], cwd=ROOT, check=False).returncode
        for words in (["ruff", "check", "."], ["mypy"])
    ]
    return max(codes)


def bench(python: Path, arguments: list[str]) -> int:
    """Run the bench; it prints ratios within one run."""
    script = ROOT / "tests" / "bench" / "run.py"
    return subprocess.run([str(python), str(script), *arguments], cwd=ROOT, env=_environment(), check=False).returncode


def examples(python: Path, arguments: list[str]) -> int:
    """Make the example files anew from the scripts beside them."""
    for script in sorted((ROOT / "blend_examples").glob("*.py")):
        if script.stem != "shaping":
            subprocess.run([str(python), str(script), *arguments], env=_environment(), check=True)
    return 0


def make_zip(python: Path, arguments: list[str]) -> int:
    """Build the extension with Blender's own tool, twice and byte-identical, and validate it with the known tags."""
    manifest = tomllib.loads((ROOT / "addon" / "blender_manifest.toml").read_text(encoding="utf-8"))
    target = ROOT / "dist" / f"{manifest['id']}-{manifest['version']}.zip"
    target.parent.mkdir(exist_ok=True)
    found = subprocess.run(
        [str(python), "-c", "import bpy; print(bpy.utils.resource_path('LOCAL'))"], capture_output=True, text=True, check=True
    )
    scripts = Path(found.stdout.strip().splitlines()[-1]) / "scripts"
    tool = scripts / "addons_core" / "bl_pkg" / "cli" / "blender_ext.py"
    tags = scripts / "modules" / "_bpy_internal" / "extensions" / "tags.py"
    with tempfile.TemporaryDirectory() as folder:
        built = [_build_once(python, tool, tags, Path(folder) / str(n)) for n in (1, 2)]
        if built[0].read_bytes() != built[1].read_bytes():
            print("build.py: two builds of the same source differ.", file=sys.stderr)
            return 1
        shutil.copyfile(built[0], target)
    subprocess.run([str(python), str(tool), "validate", str(target), "--valid-tags", str(tags)], check=True)
    print(f"{target.relative_to(ROOT)}  sha256 {hashlib.sha256(target.read_bytes()).hexdigest()}")
    with zipfile.ZipFile(target) as archive:
        print(f"{len(archive.namelist())} files, {target.stat().st_size} bytes")
    return 0


def _build_once(python: Path, tool: Path, tags: Path, folder: Path) -> Path:
    """Copy the source, give all files one date, build."""
    source = folder / "source"
    shutil.copytree(ROOT / "addon", source, ignore=shutil.ignore_patterns("__pycache__", "*.pyc", ".*"))
    shutil.copyfile(ROOT / "LICENSE", source / "LICENSE")
    moment = time.mktime((*ZIP_DATE, 0, 0, -1))
    for path in [source, *source.rglob("*")]:
        path.chmod(0o755 if path.is_dir() else 0o644)
        os.utime(path, (moment, moment))
    target = folder / "extension.zip"
    command = [str(python), str(tool), "build", "--source-dir", str(source), "--output-filepath", str(target), "--valid-tags", str(tags)]
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
    return target


def _environment() -> dict[str, str]:
    """This environment, the project on the path, and a Blender profile of its own."""
    profile = VENV / "blender-profile"
    profile.mkdir(exist_ok=True)
    return {**os.environ, "PYTHONPATH": str(ROOT), "BLENDER_USER_RESOURCES": str(profile), "PYTHONDONTWRITEBYTECODE": "1"}


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
