"""Changes the code in one place at a time and looks whether the tests notice: `.venv/bin/python tests/bench/mutants.py [NAME ...]`.

Mutants are those of Cosmic Ray, which pip puts into .venv for this alone. They are made in a copy of the project, one after the other; a
mutant that the tests of its module let pass survives, and is printed with its line. Names: those of MODULES; without any, all of them are
taken, which takes hours.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]

MODULES = {
    "cusp": ("addon/finishing/core/cusp_formulas.py", ("test_cusp.py",)),
    "tip": ("addon/finishing/ball/ball_on_triangle.py", ("test_ball_on_triangle.py", "test_exact_tip.py")),
    "route": ("addon/finishing/motion/running_order.py", ("test_order.py", "test_order_search.py", "test_running_free.py")),
    "program": ("addon/finishing/files/program_writer.py", ("test_program.py", "test_program_parts.py")),
}
"""By name: a module, and the tests that are to notice when it is changed."""

LONGEST = 300
"""Seconds that the tests of a module may take: a mutant that never ends counts as noticed."""


def survivors(name: str, copy: Path) -> tuple[int, list[str]]:
    """How many mutants of a module there are, and the changes that nobody noticed, as differences of text."""
    module, tests = MODULES[name]
    words = " ".join(f"tests/finishing/{test}" for test in tests)
    config, session = copy / f"{name}.toml", copy / f"{name}.sqlite"
    config.write_text(
        "[cosmic-ray]\n"
        f'module-path = "{module}"\n'
        f"timeout = {LONGEST}.0\n"
        "excluded-modules = []\n"
        f'test-command = "{sys.executable} -m pytest -q -x -p no:cacheprovider {words}"\n'
        '[cosmic-ray.distributor]\nname = "local"\n',
        encoding="utf-8",
    )
    tool = [sys.executable, "-m", "cosmic_ray.cli"]
    environment = {**os.environ, "PYTHONDONTWRITEBYTECODE": "1"}
    for step in (["baseline", config], ["init", config, session], ["exec", config, session]):
        subprocess.run([*tool, *map(str, step)], cwd=copy, check=True, env=environment, stdout=subprocess.DEVNULL)
    told = subprocess.run([*tool, "dump", str(session)], cwd=copy, check=True, capture_output=True, text=True, env=environment).stdout
    rows = [json.loads(line) for line in told.splitlines()]
    return len(rows), [result["diff"] for _, result in rows if result is not None and result["test_outcome"] == "survived"]


def main(names: list[str]) -> int:
    """Look at some modules; returns 0: survivors are for people to judge."""
    for name in names or list(MODULES):
        with tempfile.TemporaryDirectory() as folder:
            copy = Path(folder) / "project"
            shutil.copytree(ROOT, copy, ignore=shutil.ignore_patterns(".git", ".venv", "out", "dist", "__pycache__"))
            count, left = survivors(name, copy)
        print(f"{name}: {count} mutants, {len(left)} survived", *left, sep="\n", flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
