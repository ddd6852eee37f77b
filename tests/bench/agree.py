"""Plans a few bodies from every start, and holds each path against those that other Pythons have left in a folder.

python tests/bench/agree.py FOLDER      1 when a path of another Python has other rows, or a point further off than LIMIT

What is compared: everything that a program is written from, as it is before it is rounded.
"""

from __future__ import annotations

import platform
import sys
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "finishing")]

from random_bodies import KINDS, random_body  # noqa: E402

from addon.finishing.job.body import make_body  # noqa: E402
from addon.finishing.job.cutter import Cutter  # noqa: E402
from addon.finishing.job.request import LINES_FROM, Request  # noqa: E402
from addon.finishing.planning.plan import make_plan  # noqa: E402
from addon.finishing.reading.mesh_file import read_mesh_body  # noqa: E402

LIMIT = 1e-6
"""mm that a point may be off: a hundredth of the last digit of a path's file."""

NEW_SEED = 1000
"""First of the random bodies: none of those that the tests of gouges plan."""


def requests() -> dict[str, Request]:
    """What is planned, by name: a body of every kind, and the demo's, from every start."""
    wanted = {}
    for seed in range(NEW_SEED, NEW_SEED + len(KINDS)):
        body = random_body(seed)
        made = make_body(body.kind, body.triangles)
        for lines_from in LINES_FROM:
            wanted[f"{body.kind}, {lines_from}"] = Request(made, cutter=Cutter("Round-nose", 2 * body.radius), lines_from=lines_from, rack_table=False)
    demo = read_mesh_body(ROOT / "blend_examples" / "carved_bass.ply")
    for lines_from in LINES_FROM:
        wanted[f"demo, {lines_from}"] = Request(demo, cutter=Cutter("Round-nose", 16.0), lines_from=lines_from, cell=1.0, rack_table=False)
    return wanted


def planned() -> dict[str, np.ndarray]:
    """Rows (n, 6) of every path: x, y, z, kind, line and feed."""
    rows = {}
    for name, request in requests().items():
        path = make_plan(request).path
        rows[name] = np.column_stack([path.points, path.kind, path.line, path.feed])
    return rows


def differences(ours: dict[str, np.ndarray], theirs: dict[str, np.ndarray]) -> list[str]:
    """One line for every plan that is not the same within LIMIT."""
    said = [f"{name}: only one of them has it" for name in sorted(ours.keys() ^ theirs.keys())]
    for name in sorted(ours.keys() & theirs.keys()):
        one, other = ours[name], theirs[name]
        if one.shape != other.shape:
            said.append(f"{name}: {len(one)} rows and {len(other)}")
        elif (most := float(np.abs(one - other).max(initial=0.0))) > LIMIT:
            said.append(f"{name}: {most:.2g} mm apart")
    return said


def main(folder: Path) -> int:
    """Plan, leave the paths in the folder and compare them with all others there; returns the exit code."""
    folder.mkdir(parents=True, exist_ok=True)
    own = folder / f"python-{platform.python_version()}-numpy-{np.__version__}.npz"
    ours = planned()
    np.savez_compressed(own, **ours)
    failed = 0
    for path in sorted(folder.glob("*.npz")):
        with np.load(path) as kept:
            theirs = {name: kept[name] for name in kept.files}
        if path == own:
            continue
        said = differences(ours, theirs)
        failed = max(failed, bool(said))
        print(f"{own.stem} and {path.stem}: {len(ours) - len(said)} of {len(ours)} plans are the same within {LIMIT:g} mm", *said, sep="\n  ")
    return int(failed)


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1])))
