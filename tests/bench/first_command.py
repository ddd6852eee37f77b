"""What the first command gives on bodies that are no examples: `python tests/bench/first_command.py [FOLDER]`.

Every setting is the default but the body. Prints a table; with a folder, writes the pictures of all pass lines there to be looked at.
"""

from __future__ import annotations

import pathlib
import sys

from bench_bodies import BODIES

from addon.finishing.core.path import LIFT
from addon.finishing.core.result_store import ResultStore
from addon.finishing.core.stepping import finished
from addon.finishing.job.body import make_body
from addon.finishing.job.request import Request
from addon.finishing.pictures.plan_pictures import pass_lines_picture
from addon.finishing.planning.result import Plan
from addon.finishing.planning.smaller_cutters import side_plans, total_minutes

AIR = ("lift", "entry", "exit")
COLUMNS = ("body", "set, mm", "minutes laid (predicted)", "air", "lifts", "ground left, mm2, most mm", "gouge, mm", "findings")


def row(name: str, plans: tuple[Plan, ...]) -> tuple[str, ...]:
    """The row of one body. Air and lifts are of all cutters together, the way to the first line and from the last one too."""
    sets, last = plans[0].sets, plans[-1]
    running = sum(plan.run_time.total_seconds for plan in plans)
    air = sum(plan.run_time.seconds_by_kind[kind] for plan in plans for kind in AIR)
    said = f" ({sets.best.minutes:.1f})" if sets is not None else ""
    return (
        name,
        ",".join(f"{plan.cutter.diameter:g}" for plan in plans),
        f"{total_minutes(plans):.1f}{said}",
        f"{100 * air / running:.1f} %",
        str(sum(int((plan.path.kind == LIFT).sum()) - 1 for plan in plans)),
        f"{last.fit.area:.0f}, {last.fit.height:.2f}",
        f"{max(plan.proof.worst_gouge for plan in plans):.4f}",
        ", ".join(sorted({finding.key for plan in plans for finding in plan.findings})),
    )


def main(folder: pathlib.Path | None) -> None:
    """Plan every body and print its row."""
    print("| " + " | ".join(COLUMNS) + " |\n|" + " --- |" * len(COLUMNS))
    for name, triangles in BODIES.items():
        plans = finished(side_plans(Request(make_body(name, triangles())), ResultStore()))
        print("| " + " | ".join(row(name, plans)) + " |", flush=True)
        if folder is not None:
            folder.mkdir(parents=True, exist_ok=True)
            for plan in plans:
                words = "".join(letter if letter.isalnum() else "_" for letter in name)
                (folder / f"{words}_{plan.cutter.diameter:g}.png").write_bytes(pass_lines_picture(plan))


if __name__ == "__main__":
    main(pathlib.Path(sys.argv[1]) if len(sys.argv) > 1 else None)
