"""Programs that would hit something known: not written unless that is asked for by name, and what must be seen stands at their heads."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace

import numpy as np
import pytest
from program_reader import read
from small_jobs import two_sides

from addon.finishing.core.errors import BadRequest
from addon.finishing.core.finding import Finding
from addon.finishing.core.message import Message
from addon.finishing.files.job_files import JobFiles, job_files, restart_file
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.dowels import DowelSettings, dowel_findings
from addon.finishing.job.keep_out import KeepOut, keep_out_findings
from addon.finishing.planning.hazards import known_hits, refusal
from addon.finishing.planning.result import Plan
from addon.finishing.tooling.clearance import Contact, clearance_findings

CLAMPED = (
    Finding("keep-out", Message("The cutter runs 3.0 mm into the clamp."), Message("Move it."), must_see=True, hits=True),
    Finding("budget-missed", Message("Too long."), must_see=True),
    Finding("walls", Message("Walls are left out.")),
)


@pytest.fixture(scope="module")
def clamped() -> Plan:
    return replace(two_sides()[0], findings=CLAMPED)


def names(files: dict[str, bytes]) -> set[str]:
    """What the names end with, after the body's name, side and number."""
    return {name.split("-body-")[1] for name in files}


def test_no_program_goes_into_a_clamp_but_paths_and_record_are_written(clamped: Plan) -> None:
    files = job_files((clamped,), JobFiles(pictures=False, programs=True))
    assert names(files) == {
        "top-2-round-nose-12.csv",
        "top-2-round-nose-12-dry-run.nc",
        "top-plan.json",
        "run-list.csv",
        "bench-sheet.html",
    }
    table = next(content for name, content in files.items() if name.endswith("run-list.csv"))
    rows = list(csv.DictReader(io.StringIO(table.decode(), newline="")))
    assert [row["work"] for row in rows] == ["dowel holes", "finishing"] and rows[1]["file"].endswith(".csv") and rows[0]["file"] == ""
    for row in rows:
        assert "No program was written" in row["read_first"] and "keep-out" in row["read_first"] and "into the clamp" in row["read_first"]
    sheet = next(content for name, content in files.items() if name.endswith("sheet.html")).decode()
    assert sheet.count("No program was written") == 1 and sheet.index("No program was written") < sheet.index("The cutter runs 3.0 mm into the clamp")
    record = json.loads(next(content for name, content in files.items() if name.endswith("plan.json")))
    assert [finding["hits"] for finding in record["findings"]] == [True, False, False]


def test_asked_for_by_name_it_is_written_and_says_so_at_its_head(clamped: Plan) -> None:
    files = job_files((clamped,), JobFiles(pictures=False, programs=True, despite=("keep-out",)))
    programs = {name: content for name, content in files.items() if name.endswith(".nc")}
    assert len(programs) == 4
    for program in programs.values():
        notes = read(program).notes
        assert notes[0] == "READ FIRST" and notes[1] == "The cutter runs 3.0 mm into the clamp. Move it." and "Too long." in notes[:4]
        assert "Walls are left out." not in notes
    others = job_files((clamped,), JobFiles(pictures=False, programs=True, despite=("channel", "keepout")))
    assert sum(name.endswith(".nc") for name in others) == 1


def test_a_restart_goes_by_the_same_rule(clamped: Plan) -> None:
    with pytest.raises(BadRequest, match="No program was written"):
        restart_file(clamped, 2, JobFiles(programs=True))
    assert len(restart_file(clamped, 2, JobFiles(programs=True, despite=("keep-out",)))) == 1


def test_without_hits_nothing_is_held_back(clamped: Plan) -> None:
    plain = replace(clamped, findings=CLAMPED[1:])
    assert refusal(plain) is None and known_hits(plain) == ()


def test_what_counts_as_a_hit() -> None:
    # A box in the way, shank and nut in wood, and a channel that is too narrow for the cutter itself hit; one that leaves less than the room hits not.
    cutter = Cutter("Round-nose 12", 12.0)
    found = clearance_findings((Contact("shank", "stock", 1.0, (0, 0, 0)), Contact("cutter", "stock", 0.3, (0, 0, 0))), cutter, 12.5)
    assert [finding.hits for finding in found] == [True, False]
    plan = two_sides()[0]
    middle = plan.path.points[len(plan.path) // 2]
    low, high = tuple((middle - 3).tolist()), tuple((middle + 3).tolist())
    assert [finding.hits for finding in keep_out_findings(plan.path, 6.0, (KeepOut("Tab", low, high),))] == [True]  # type: ignore[arg-type]
    # A dowel nearer to the path than its clearance is told; one that the cutter runs over is a hit.
    stock, dowels = plan.stock, DowelSettings(count=2)
    place = (55.0, 77.5)
    for away, hit in ((9.5, True), (11.0, False)):
        axis = [[place[0], place[1] - away]]
        found = dowel_findings(dowels, stock, "top", np.array(axis), np.zeros((0, 2)), 6.0, ())
        assert [(finding.key, finding.hits) for finding in found] == [("dowel-in-path", hit)]
