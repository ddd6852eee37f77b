"""The figures that README quotes, and the command that prints them; run as a script it puts today's figures into README."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
README = ROOT / "README.md"
BLOCK = re.compile(r"(?<=```text\n)(.*?)(?=```)", re.DOTALL)

RUNNER = "import sys; from addon.command import run; sys.exit(run(sys.argv[1:], 'build.py'))"


def demo_lines(out: Path) -> list[str]:
    """What `python build.py demo` prints, line by line."""
    words = ["plan", str(ROOT / "blend_examples" / "carved_bass.ply"), "--side", "top", "--replace", "--out", str(out)]
    done = subprocess.run([sys.executable, "-c", RUNNER, *words], capture_output=True, text=True, check=False, cwd=ROOT)
    assert done.returncode in (0, 3), done.stderr
    return [line.rstrip() for line in done.stdout.splitlines()]


def quoted_lines() -> list[str]:
    """The lines that README quotes."""
    return [line for block in BLOCK.findall(README.read_text(encoding="utf-8")) for line in block.splitlines() if line]


def _shape(line: str) -> str:
    return re.sub(r"[\d.]+", "#", re.sub(r"\s+", " ", line)).strip()


def main(out: Path) -> None:
    """Replace every quoted line by the one of the same words in today's output; lines of tables by their order."""
    printed = demo_lines(out)

    def renewed(block: re.Match[str]) -> str:
        used: set[int] = set()
        lines = []
        for line in block[1].splitlines():
            found = next((k for k, each in enumerate(printed) if line and k not in used and _shape(each) == _shape(line)), None)
            used |= {found} - {None} if found is not None else set()
            lines.append(line if found is None else printed[found])
        return "".join(f"{line}\n" for line in lines)

    README.write_text(BLOCK.sub(renewed, README.read_text(encoding="utf-8")), encoding="utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
