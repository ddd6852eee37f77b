"""The run log: what is kept, what its medians say, and that the next plan starts from them."""

from __future__ import annotations

import csv
import json
from dataclasses import replace
from pathlib import Path
from statistics import median

import pytest
from small_jobs import HOSTILE, two_sides
from test_command import block_triangles, write_stl

from addon.command import run
from addon.finishing.core.errors import BadFile, BadRequest
from addon.finishing.core.result_store import ResultStore
from addon.finishing.files.plan_record import plan_record, read_record, record_bytes
from addon.finishing.files.run_log_csv import COLUMNS, LOG_VARIABLE, add_run, log_bytes, log_in, read_log, run_of_record, user_log_file
from addon.finishing.job.run_log import LoggedRun, RunKind, experience_with
from addon.finishing.planning.plan import make_plan

KIND = RunKind("Shed router", "Round-nose 12", 12.0, "hardwood")


def logged(minutes: float, grit: int | None = None, remarks: str = "", **changes: object) -> LoggedRun:
    plain = LoggedRun("2026-11-27", "bass", "top", KIND.machine, KIND.cutter, KIND.diameter, KIND.wood, 0.05, 10.0, minutes, grit, remarks)
    return replace(plain, **changes)  # type: ignore[arg-type]


def test_the_medians_are_those_of_runs_of_the_same_kind() -> None:
    others = [logged(30.0, 40, machine="Other"), logged(30.0, 40, cutter="Other"), logged(30.0, 40, diameter_mm=11.8), logged(30.0, 40, wood="plywood")]
    own = [logged(12.0, 120, "chatter at the rim"), logged(11.0, 80), logged(15.0, 100), logged(11.5)]
    known = experience_with([*others, *own], KIND, 0.05)
    assert known.runs == 4 and known.time_factor == median([1.2, 1.1, 1.5, 1.15])  # the library's own median
    assert (known.least_factor, known.greatest_factor) == (1.1, 1.5)
    assert (known.grit, known.grit_runs, known.remark) == (100, 3, "chatter at the rim")
    # Of an even number the coarser grit; grits after quite other cusps say nothing, and times of another run are not believed.
    assert experience_with([logged(10.0, 80), logged(10.0, 120)], KIND, 0.05).grit == 80
    assert experience_with([logged(10.0, 80, cusp_mm=0.2)], KIND, 0.05).grit is None
    assert experience_with([logged(600.0), logged(0.5)], KIND, 0.05).time_factor is None
    assert experience_with([], KIND, 0.05).runs == 0


def test_the_log_is_a_plain_csv_that_comes_back(tmp_path: Path) -> None:
    file = tmp_path / "deep" / "log.csv"
    first, second = logged(12.0, 120, 'a "word", and a comma', body=HOSTILE), logged(1 / 3, None)
    add_run(file, first)
    assert add_run(file, second) == (first, second) == read_log(file)
    rows = list(csv.reader(file.read_text(encoding="utf-8").splitlines()))  # the standard library's reader
    assert tuple(rows[0]) == COLUMNS and rows[1][-1] == 'a "word", and a comma'
    # A spreadsheet may put a mark in front, and leave empty rows behind.
    assert log_in(b"\xef\xbb\xbf" + file.read_bytes() + b"\r\n,,,\r\n".replace(b",", b""), file) == (first, second)
    assert read_log(tmp_path / "none.csv") == ()


@pytest.mark.parametrize(
    "content, words",
    [
        (b"\xff\xfe", "not a CSV"),
        (b"day,body\r\n", "must begin with the row day,body,side"),
        (log_bytes([logged(1.0)]).replace(b"0.05", b"deep"), "Row 2 .*'deep' is not a number"),
        (log_bytes([logged(1.0)]).replace(b"0.05", b'"0\n' + 99 * b"5" + b'"'), r"Row 2 .*'0\\n5{22}\.\.\.' is not a number"),
        (log_bytes([logged(1.0)]) + b"1,2\r\n", "Row 3 .*2 columns, not 12"),
        (log_bytes([logged(1.0)]).replace(b",10.0,", b",-10.0,"), "Row 2 .*must lie between"),
    ],
)
def test_a_log_that_is_broken_is_named_by_its_row(content: bytes, words: str) -> None:
    with pytest.raises(BadFile, match=words):
        log_in(content, Path("log.csv"))


def test_blank_rows_count_as_rows_and_a_grit_is_a_whole_number() -> None:
    good = log_bytes([logged(11.0, 150)]).decode()
    head, row = good.splitlines()
    assert log_in(f"{head}\n\n{row}\n".encode(), Path("log.csv"))[0].grit == 150
    for wrong in ("inf", "120.7", "nan"):
        with pytest.raises(BadFile, match="Row 4 of"):
            log_in(f"{head}\n\n\n{row.replace(',150,', f',{wrong},')}\n".encode(), Path("log.csv"))


def test_a_run_is_logged_at_the_plain_estimate() -> None:
    plan = two_sides()[0]
    machine = replace(plan.request.machine, time_factor=1.25)
    scaled = make_plan(replace(plan.request, machine=machine), ResultStore())
    for each in (plan, scaled):
        record = read_record(record_bytes(plan_record(each)))
        run_ = run_of_record(record, "2026-11-27", 3.0, 120, "")
        assert run_.estimated_minutes == pytest.approx(plan.run_time.minutes, abs=1e-3)
        assert (run_.machine, run_.cutter, run_.diameter_mm, run_.wood, run_.cusp_mm) == ("Small router", "Round-nose 12", 12.0, "hardwood", 0.1)
    with pytest.raises(BadFile, match="not the plan.json of a plan"):
        run_of_record({"settings": {}}, "2026-11-27", 3.0, None, "")
    with pytest.raises(BadRequest, match="measured minutes"):
        run_of_record(plan_record(plan), "2026-11-27", -3.0, None, "")


def test_the_next_plan_starts_from_the_medians_and_says_so() -> None:
    plan = two_sides()[0]
    assert plan.time_factor == 1.0 and not any(finding.key.startswith("logged") for finding in plan.findings)
    own = {"machine": "Small router", "cusp_mm": 0.1}
    store = ResultStore()
    learned = make_plan(replace(plan.request, run_log=(logged(11.0, 150, **own), logged(13.0, 120, "dull", **own), logged(12.0, 180, **own))), store)
    assert learned.run_time.total_seconds == pytest.approx(1.2 * plan.run_time.total_seconds)
    # The range holds every run that was measured, seen from the median.
    low, high = learned.run_time.range_minutes
    rounding = 1e-9
    assert low <= 1.1 * plan.run_time.minutes + rounding and high >= 1.3 * plan.run_time.minutes - rounding
    assert learned.sanding.first_grit == 150 and "start with grit 150, the median" in str(learned.sanding.area_words[0])
    words = " ".join(str(finding.words) for finding in learned.findings if finding.key.startswith("logged"))
    assert "1.200 times" in words and "grit 150" in words and "dull" in words and "median of 3 logged runs" in str(learned.run_time.reason)
    # Only what follows from the minutes is made anew.
    again = make_plan(replace(learned.request, run_log=(logged(15.0, **own),)), store)
    assert again.run_time.total_seconds == pytest.approx(1.5 * plan.run_time.total_seconds)
    assert not {"route", "proof", "tip_surface", "pass_lines"} & set(again.stage_seconds)


def test_the_command_keeps_runs_and_learns_from_them(tmp_path: Path, capsys: pytest.CaptureFixture, monkeypatch: pytest.MonkeyPatch) -> None:
    log = tmp_path / "mine" / "log.csv"
    monkeypatch.setenv(LOG_VARIABLE, str(log))
    assert user_log_file() == log
    write_stl(tmp_path / "block.stl", block_triangles())
    plan = ["plan", str(tmp_path / "block.stl"), "--cutter", "12", "--start", "edge", "--cell", "1", "--replace", "--out", str(tmp_path / "out")]
    written = tmp_path / "out" / "block-top-plan.json"
    assert run(["log"]) == 0 and "Nothing is logged yet" in capsys.readouterr().out
    assert run(plan) == 0
    plain = json.loads(written.read_text())["result"]["run_minutes"]
    for minutes in (1.5, 1.4, 1.6):
        assert run(["log", str(written), "--minutes", str(minutes * plain), "--grit", "100", "--remarks", "quiet"]) == 0
    assert "1.500" in capsys.readouterr().out and len(read_log(log)) == 3
    assert run(plan) == 0
    assert "median of 3 logged runs" in capsys.readouterr().out
    assert json.loads(written.read_text())["result"]["run_minutes"] == pytest.approx(1.5 * plain, rel=1e-3)
    # A run of the plan that has learned is logged at the plain estimate again.
    assert run(["log", str(written), "--minutes", str(1.5 * plain)]) == 0
    assert read_log(log)[-1].time_factor == pytest.approx(1.5, rel=1e-3)
    assert run([*plan, "--log", "none"]) == 0
    assert json.loads(written.read_text())["result"]["run_minutes"] == pytest.approx(plain)
    capsys.readouterr()
    for words in (["log", str(written)], ["log", "--minutes", "3"], ["log", "--log", "none"], ["log", str(tmp_path / "no.json"), "--minutes", "3"]):
        assert run(words) == 2
        assert capsys.readouterr().err.count("\n") == 1
