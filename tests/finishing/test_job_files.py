"""The files of a job: their names, their running order, and what is refused."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace

import pytest
from small_jobs import two_sides, with_smaller_cutter

from addon.finishing.core.errors import BadRequest
from addon.finishing.core.result_store import ResultStore
from addon.finishing.files.job_files import PATH_FILES, JobFiles, PathFile, job_files
from addon.finishing.files.path_csv import path_csv
from addon.finishing.files.plan_programs import dowel_holes_program, finishing_program, plan_dry_run, plan_low_dry_run
from addon.finishing.job.dowels import DowelSettings
from addon.finishing.job.other_operations import OtherOperation
from addon.finishing.pictures.plan_maps import PLAN_MAPS
from addon.finishing.planning.plan import make_plan

STEM = "cmd-c-calc-a0-script-alert-1-script-body"


def run_list(files: dict[str, bytes]) -> list[list[str]]:
    """The rows of the run list among some files, without the header."""
    table = next(content for name, content in files.items() if name.endswith("-run-list.csv"))
    return list(csv.reader(io.StringIO(table.decode())))[1:]


def test_files_are_numbered_in_running_order() -> None:
    top, back = two_sides()
    files = job_files((back, top), JobFiles(pictures=False, programs=True))
    assert set(files) == {
        f"{STEM}-top-1-dowels.nc",
        f"{STEM}-top-2-round-nose-12.csv",
        f"{STEM}-top-2-round-nose-12.nc",
        f"{STEM}-top-2-round-nose-12-dry-run.nc",
        f"{STEM}-top-2-round-nose-12-low-dry-run.nc",
        f"{STEM}-top-plan.json",
        f"{STEM}-back-3-round-nose-12.csv",
        f"{STEM}-back-3-round-nose-12.nc",
        f"{STEM}-back-3-round-nose-12-dry-run.nc",
        f"{STEM}-back-3-round-nose-12-low-dry-run.nc",
        f"{STEM}-back-plan.json",
        f"{STEM}-run-list.csv",
        f"{STEM}-bench-sheet.html",
    }
    assert [row[:4] for row in run_list(files)] == [
        ["1", "top", "dowel holes", f"{STEM}-top-1-dowels.nc"],
        ["2", "top", "finishing", f"{STEM}-top-2-round-nose-12.nc"],
        ["3", "back", "finishing", f"{STEM}-back-3-round-nose-12.nc"],
    ]
    for name in files:
        assert name.isascii() and len(name) < 120 and not set(name) & set('<>:"/\\|?*') and not name.endswith((".", " "))


@pytest.mark.parametrize("unit", ["mm", "in"])
def test_every_file_holds_what_its_name_says(unit: str) -> None:
    top, back = two_sides()
    files = job_files((top, back), JobFiles(unit=unit, pictures=False, programs=True))
    assert files[f"{STEM}-top-1-dowels.nc"] == dowel_holes_program(top, unit)
    for plan, stem in ((top, f"{STEM}-top-2-round-nose-12"), (back, f"{STEM}-back-3-round-nose-12")):
        assert files[f"{stem}.csv"] == path_csv(plan.path, unit)
        assert files[f"{stem}.nc"] == finishing_program(plan, unit)
        assert files[f"{stem}-dry-run.nc"] == plan_dry_run(plan, unit)
        assert files[f"{stem}-low-dry-run.nc"] == plan_low_dry_run(plan, unit)


def test_a_record_names_the_files_written_with_it() -> None:
    top, back = two_sides()
    files = job_files((top, back), JobFiles(pictures=False, programs=True))
    named = json.loads(files[f"{STEM}-top-plan.json"])["files"]
    assert named == sorted(name for name in files if name.startswith(f"{STEM}-top-") and not name.endswith("plan.json"))
    assert set(json.loads(files[f"{STEM}-back-plan.json"])["files"]).isdisjoint(named)


def test_without_programs_the_paths_are_what_is_run() -> None:
    files = job_files(two_sides(), JobFiles(pictures=False))
    assert not any(name.endswith(".nc") for name in files)
    assert [row[3] for row in run_list(files)] == [f"{STEM}-top-1-round-nose-12.csv", f"{STEM}-back-2-round-nose-12.csv"]


def test_a_smaller_cutter_follows_on_its_side() -> None:
    files = job_files(with_smaller_cutter(), JobFiles(programs=True))
    assert [row[3] for row in run_list(files)] == ["dented-top-1-round-nose-12.nc", "dented-top-2-round-nose-6.nc"]
    assert {"dented-top-plan.json", "dented-top-round-nose-6-plan.json"} <= set(files)
    pictures = {name.removeprefix("dented-top-") for name in files if name.endswith(".png")}
    first = {"slope-map.png", "curvature-map.png", "uncut-map.png", "cusp-map.png", "pass-lines.png", "minutes-chart.png"}
    # The maps of the body itself are not drawn again for the smaller cutter.
    assert pictures == first | {f"round-nose-6-{name}.png" for name in ("uncut-map", "cusp-map", "pass-lines")}


def test_a_further_file_and_fewer_maps_can_be_asked_for() -> None:
    count = PathFile(".lines.txt", lambda plan, unit: f"{plan.path.line_count} lines in {unit}".encode())
    files = job_files(two_sides()[:1], JobFiles(path_files=(*PATH_FILES, count), maps=PLAN_MAPS[:1]))
    assert files[f"{STEM}-top-1-round-nose-12.lines.txt"] == f"{two_sides()[0].path.line_count} lines in mm".encode()
    assert f"{STEM}-top-1-round-nose-12.lines.txt" in json.loads(files[f"{STEM}-top-plan.json"])["files"]
    assert sorted(name for name in files if name.endswith(".png")) == [f"{STEM}-top-pass-lines.png", f"{STEM}-top-slope-map.png"]


def test_other_operations_take_their_turn() -> None:
    work = (
        OtherOperation("=roughing", "Flat 22", 20.0),
        OtherOperation("pocket edges", "Flat 6", 8.0, place="after", stick_out=30.0),
        OtherOperation("belly", "Flat 22", 5.0, side="back"),
    )
    plans = tuple(replace(plan, request=replace(plan.request, elsewhere=work, dowels=DowelSettings())) for plan in two_sides())
    files = job_files(plans, JobFiles(pictures=False))
    assert [(*row[:3], row[3] != "") for row in run_list(files)] == [
        ("1", "top", "'=roughing", False),
        ("2", "top", "finishing", True),
        ("3", "top", "pocket edges", False),
        ("4", "back", "belly", False),
        ("5", "back", "finishing", True),
    ]
    assert f"{STEM}-top-2-round-nose-12.csv" in files and f"{STEM}-back-5-round-nose-12.csv" in files


def test_other_operations_after_a_side_wait_for_its_smaller_cutters() -> None:
    work = (OtherOperation("roughing", "Flat 22", 20.0), OtherOperation("edges", "Flat 6", 8.0, place="after"))
    plans = tuple(replace(plan, request=replace(plan.request, elsewhere=work)) for plan in with_smaller_cutter())
    rows = run_list(job_files(plans, JobFiles(pictures=False)))
    assert [(row[2], row[4]) for row in rows] == [
        ("roughing", "Flat 22"),
        ("finishing", "Round-nose 12"),
        ("finishing", "Round-nose 6"),
        ("edges", "Flat 6"),
    ]


def test_sides_of_different_jobs_are_refused() -> None:
    top, back = two_sides()
    with pytest.raises(BadRequest, match="different bodies"):
        job_files((top, replace(back, body_digest="another")))
    with pytest.raises(BadRequest, match="different size or zeros"):
        job_files((top, replace(back, stock=replace(back.stock, high=(99.0, 99.0, 99.0)))))
    with pytest.raises(BadRequest, match="one plan for each side"):
        job_files((top, top))
    with pytest.raises(BadRequest, match="no plan"):
        job_files(())


def test_other_operations_take_their_minutes_from_the_budget() -> None:
    work = (
        OtherOperation("roughing", "Flat 22", 20.0),
        OtherOperation("pocket edges", "Flat 6", 8.0, place="after"),
        OtherOperation("belly", "Flat 22", 5.0, side="back"),
    )
    top = two_sides()[0]
    # 28 minutes of work on the top and two tool changes of 2 minutes: 32 of any budget, by hand.
    minutes = top.run_time.minutes
    store = ResultStore()

    def budget(whole: float) -> list[str]:
        asked = make_plan(replace(top.request, elsewhere=work, dowels=DowelSettings(), budget_minutes=whole), store)
        return [str(finding.sentence) for finding in asked.findings if finding.key == "budget-missed"]

    assert budget(32 + minutes + 0.1) == []
    short = budget(32 + minutes / 2)
    assert len(short) == 1 and f"{minutes:.1f} minutes" in short[0] and f"{32 + minutes / 2:g}" in short[0]
    assert len(budget(31.0)) == 1


@pytest.mark.parametrize("wrong", [{"side": "left"}, {"place": "during"}, {"minutes": -1.0}], ids=str)
def test_impossible_other_operations_are_refused(wrong: dict[str, object]) -> None:
    with pytest.raises(BadRequest):
        OtherOperation(**({"name": "x", "cutter": "y", "minutes": 1.0} | wrong))
