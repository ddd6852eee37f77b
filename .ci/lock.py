"""Renews the releases in requirements-*.txt for the Python that it runs with: `python build.py lock`."""

from __future__ import annotations

import json
import re
import subprocess
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import build


def lock() -> int:
    """Renew the releases of all packages for this Python, the newest within the ranges of pyproject.toml; those for other Pythons stay."""
    taken: dict[str, str] = {}
    # Blender goes first: its bpy says which numpy may stand beside it, and numpy alone must be that one.
    for packages in sorted(build.LOCKED, key=lambda each: each != build.BLENDER):
        found = _newest(build.LOCKED[packages], taken)
        if found is None:
            return build.FAILED
        taken |= found
        _write_locked(packages, found)
    if sys.version_info[:2] != build.BPY_PYTHONS[0]:
        return build.DONE
    found = _newest((build.OLDEST,), {})
    if found is None:
        return build.FAILED
    _write_locked(build.OLDEST, found)
    return build.DONE


def _newest(groups: tuple[str, ...], taken: dict[str, str]) -> dict[str, str] | None:
    """Packages and releases that pip would install for some dependency groups, where some are taken already; None when it finds none."""
    wanted = build.ranges(groups)
    with tempfile.TemporaryDirectory() as folder:
        report, constraints = Path(folder) / "report.json", Path(folder) / "constraints.txt"
        constraints.write_text("".join(f"{name}=={release}\n" for name, release in taken.items()), encoding="utf-8")
        words = ["install", "--quiet", "--disable-pip-version-check", "--dry-run", "--ignore-installed", "--constraint", str(constraints)]
        if subprocess.run([sys.executable, "-m", "pip", *words, "--report", str(report), *wanted], check=False).returncode:
            return None
        installed = json.loads(report.read_text(encoding="utf-8"))["install"]
    return {_plain_name(each["metadata"]["name"]): each["metadata"]["version"] for each in installed}


def _plain_name(name: str) -> str:
    """The name of a package as package indexes compare it."""
    return re.sub(r"[-_.]+", "-", name).lower()


def _write_locked(packages: str, releases: dict[str, str]) -> None:
    """Write the releases for this Python into requirements-<set>.txt, beside those for others that stand there."""
    path, own = build.locked_file(packages), ".".join(str(number) for number in sys.version_info[:2])
    kept = path.read_text(encoding="utf-8").splitlines() if path.is_file() else []
    lines = [line for line in kept if line and not line.startswith("#") and f'"{own}"' not in line]
    lines += [f'{name}=={release}; python_version == "{own}"' for name, release in releases.items()]
    head = "# Made by `python build.py lock` from the ranges in pyproject.toml, once with each Python.\n"
    path.write_text(head + "".join(f"{line}\n" for line in sorted(lines)), encoding="utf-8")
    print(f"{path.name}: {len(releases)} packages for Python {own}")


if __name__ == "__main__":
    sys.exit(lock())
