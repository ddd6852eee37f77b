"""What large files take by the plain command: `python tests/bench/large_files.py [FOLDER] [CASE ...]`.

Writes an arched plate with a hollow, a channel and waves as a binary STL file of five million triangles, once as it is and once with the noise of a
scan at every point, and plans each by `plan FILE --unit mm`, with rack, tables and pictures, in a process of its own; the scan also with --smooth
auto, as its first plan advises, and with a cutter of 6 mm that is named. Prints a table: the triangles planned on, the set that was chosen, minutes,
seconds of the whole command, and the peak of its memory above what it takes once its modules are loaded. Cases are clean, rough, smoothed and named.
Needs Linux or macOS and 500 MB in the folder.
"""

from __future__ import annotations

import pathlib
import re
import resource
import subprocess
import sys
import tempfile
import time

import numpy as np

ROOT = pathlib.Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))
sys.path.insert(0, str(ROOT / "tests" / "finishing"))

from shapes import block  # noqa: E402

from addon.command import run  # noqa: E402
from addon.finishing.core.array_types import FloatArray  # noqa: E402

LENGTH, WIDTH, STEP = 460.0, 350.0, 0.36
"""mm: a body and a grid of points that make five million triangles with sides and bottom."""

NOISE = 0.05
"""mm; standard deviation of a scan's points in height."""

RECORD = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])
"""A triangle of a binary STL file."""

CASES = {
    "clean": ("clean.stl", ()),
    "rough": ("rough.stl", ()),
    "smoothed": ("rough.stl", ("--smooth", "auto")),
    "named": ("rough.stl", ("--cutter", "6")),
}
PEAK = "Peak above idle, MiB: "
TO_MIB = 2**20 if sys.platform == "darwin" else 2**10
"""What `ru_maxrss` counts in: bytes on macOS, KiB on Linux."""


def plate(x: FloatArray, y: FloatArray) -> FloatArray:
    """Heights of an arched plate with a hollow, a round channel and gentle waves."""
    x, y = x - LENGTH / 2, y - WIDTH / 2
    arch = 30 + 12 * np.cos(np.pi * x / LENGTH) * np.cos(np.pi * y / WIDTH) + 2 * np.sin(x / 20) * np.cos(y / 17)
    return arch - 6 * np.exp(-((x - 60) ** 2 + (y - 50) ** 2) / 40**2) - 4 * np.exp(-(((np.hypot(x + 80, y) - 60) / 8) ** 2))


def write_stl(path: pathlib.Path, noise: float) -> None:
    """Write the plate, with so much noise in mm at its points."""
    corners = block(plate, LENGTH, WIDTH, STEP).astype(np.float32)
    if noise:
        row, column = (np.rint(corners[..., axis] / STEP).astype(np.int64) for axis in (1, 0))
        above = corners[..., 2] > 1.0
        errors = np.random.default_rng(5).normal(0.0, noise, (2, int(row.max()) + 1, int(column.max()) + 1)).astype(np.float32)
        corners[..., 2] += errors[above.astype(np.int64), row, column]
    records = np.zeros(len(corners), RECORD)
    records["corners"] = corners
    path.write_bytes(bytes(80) + len(records).to_bytes(4, "little") + records.tobytes())


def row(case: str, folder: pathlib.Path) -> tuple[str, ...]:
    """Plan one file in a process of its own; returns its row. Raises SystemExit where that fails."""
    name, options = CASES[case]
    out = folder / f"planned-{case}"
    began = time.perf_counter()
    command = [sys.executable, __file__, "--plan", "plan", str(folder / name), *options, "--unit", "mm", "--out", str(out), "--replace"]
    done = subprocess.run(command, capture_output=True, text=True)
    seconds = time.perf_counter() - began
    if PEAK not in done.stdout:
        raise SystemExit(f"{case}: {done.stderr.strip()}")
    cutters = re.findall(r"^Cutter Round-nose ([\d.]+)", done.stdout, re.MULTILINE)
    minutes = re.findall(r"^(?:Run time|All together) ([\d.]+) minutes", done.stdout, re.MULTILINE)[-1]
    triangles = re.findall(r"([\d,]+) triangles", done.stdout)[0]
    return case, triangles, ",".join(cutters), minutes, f"{seconds:.0f}", done.stdout.split(PEAK)[1].split()[0]


def planned_here(arguments: list[str]) -> None:
    """Run the command in this process and print the peak of its memory above what it took before."""
    idle = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    run(arguments)
    print(f"{PEAK}{(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - idle) / TO_MIB:.0f}")


def main(arguments: list[str]) -> None:
    """Write what is not there, plan all cases, print the table."""
    if arguments[:1] == ["--plan"]:
        return planned_here(arguments[1:])
    if arguments[:1] == ["--write"]:
        return write_stl(pathlib.Path(arguments[1]), float(arguments[2]))
    cases = [argument for argument in arguments if argument in CASES] or list(CASES)
    folders = [argument for argument in arguments if argument not in CASES]
    with tempfile.TemporaryDirectory() as own:
        folder = pathlib.Path(folders[0] if folders else own)
        folder.mkdir(parents=True, exist_ok=True)
        for name, noise in (("clean.stl", 0.0), ("rough.stl", NOISE)):
            if not (folder / name).exists() and any(CASES[case][0] == name for case in cases):
                # In a process of its own: the system counts the peak of a process to those that it starts.
                subprocess.run([sys.executable, __file__, "--write", str(folder / name), str(noise)], check=True)
        print("| file | triangles planned on | set, mm | minutes | seconds | peak above idle, MiB |\n| --- | --- | --- | --- | --- | --- |", flush=True)
        for case in cases:
            print("| " + " | ".join(row(case, folder)) + " |", flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
