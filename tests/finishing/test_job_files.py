"""The files of a job: names, run list, bench sheet, reading back."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest
from shapes import block

from addon.finishing.core.errors import BadFile, BadRequest
from addon.finishing.core.result_store import ResultStore
from addon.finishing.files.job_files import RUN_LIST_HEADER, JobFiles, job_files
from addon.finishing.files.path_csv import path_csv
from addon.finishing.files.read_back import changes_since, read_written
from addon.finishing.files.tables import table_csv
from addon.finishing.files.writing import RESERVED, safe_name, write_all
from addon.finishing.job.body import Body, make_body
from addon.finishing.job.cautions import CAUTIONS
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.dowels import DowelSettings
from addon.finishing.job.keep_out import KeepOut
from addon.finishing.job.other_operations import OtherOperation
from addon.finishing.job.request import Request
from addon.finishing.planning.plan import make_plan

HOSTILE = '=cmd|"/C calc"!A0<script>alert(1)</script> & "Body"'


def arched(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    return 12 + 3 * np.sin(np.pi * x / 60) * np.sin(np.pi * y / 40)


@pytest.fixture(scope="module")
def body() -> Body:
    return make_body(HOSTILE, block(arched, 60, 40, 1.0))


@pytest.fixture(scope="module")
def plans(body: Body):  # noqa: ANN201
    request = Request(
        body, cutter=Cutter("Round-nose 12", 12.0), start="edge", start_angle=0.0, rack_table=False, cell=0.5, cusp=0.1,
        dowels=DowelSettings(count=2), keep_out=(KeepOut("<clamp>", (-8.0, 30.0, 0.0), (2.0, 50.0, 40.0)),),
    )  # fmt: skip
    cache = ResultStore()
    return tuple(make_plan(replace(request, side=side), cache) for side in ("top", "back"))


def test_files_are_numbered_in_running_order(plans) -> None:  # noqa: ANN001
    files = job_files(plans[::-1], JobFiles(pictures=False, programs=True))
    stem = "cmd-c-calc-a0-script-alert-1-script-body"
    assert sorted(files) == sorted(
        f"{stem}-{rest}"
        for rest in (
            "top-1-dowels.nc", "top-2-round-nose-12.csv", "top-2-round-nose-12.nc", "top-2-round-nose-12-dry-run.nc", "top-plan.json",
            "back-3-round-nose-12.csv", "back-3-round-nose-12.nc", "back-3-round-nose-12-dry-run.nc", "back-plan.json",
            "run-list.csv", "bench-sheet.html",
        )
    )  # fmt: skip
    assert files[f"{stem}-top-2-round-nose-12.csv"] == path_csv(plans[0].path)
    rows = list(csv.reader(io.StringIO(files[f"{stem}-run-list.csv"].decode())))
    assert rows[0] == list(RUN_LIST_HEADER)
    assert [(row[0], row[1], row[2], row[3]) for row in rows[1:]] == [
        ("1", "top", "dowel holes", f"{stem}-top-1-dowels.nc"),
        ("2", "top", "finishing", f"{stem}-top-2-round-nose-12.nc"),
        ("3", "back", "finishing", f"{stem}-back-3-round-nose-12.nc"),
    ]
    assert float(rows[2][9]) == pytest.approx(plans[0].run_time.minutes, abs=0.01)
    assert rows[2][8] == "spoilboard under the stock" and rows[3][8] == "top of the stock (not of the body)"
    for name in files:
        assert name.isascii() and len(name) < 120 and not set(name) & set('<>:"/\\|?*') and not name.endswith((".", " "))


def test_programs_say_their_zero(plans) -> None:  # noqa: ANN001
    files = job_files(plans, JobFiles(pictures=False, programs=True))
    for side, words in (("top", "Z zero: spoilboard under the stock"), ("back", "Z zero: top of the stock not of the body")):
        programs = [content.decode("ascii") for name, content in files.items() if f"-{side}-" in name and name.endswith(".nc")]
        assert len(programs) == (3 if side == "top" else 2)
        for program in programs:
            assert f"({words})" in program and "(X Y zero: lower left corner of the stock, seen from above)" in program


def test_sides_of_different_jobs_are_refused(plans, body: Body) -> None:  # noqa: ANN001
    other = replace(plans[1], body_digest="another")
    with pytest.raises(BadRequest, match="different bodies"):
        job_files((plans[0], other))
    with pytest.raises(BadRequest, match="different size or zeros"):
        job_files((plans[0], replace(plans[1], stock=replace(plans[1].stock, high=(99.0, 99.0, 99.0)))))
    with pytest.raises(BadRequest, match="one plan for each side"):
        job_files((plans[0], plans[0]))
    with pytest.raises(BadRequest, match="no plan"):
        job_files(())


class Reader(HTMLParser):
    """Tags, texts and attribute values of a page."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.open: list[str] = []
        self.text = ""
        self.links: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        if tag not in ("meta", "br", "rect", "polyline", "circle", "path"):
            self.open.append(tag)
        self.links += [value or "" for name, value in attrs if name in ("src", "href", "onload", "onclick")]

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.text += data


def test_the_bench_sheet_is_one_whole_page(plans) -> None:  # noqa: ANN001
    page = next(content for name, content in job_files(plans, JobFiles(pictures=False, programs=True)).items() if name.endswith(".html"))
    reader = Reader()
    reader.feed(page.decode("utf-8"))
    assert reader.open == [] and "script" not in reader.tags and reader.links == []  # self-contained, nothing runs
    assert HOSTILE in reader.text and "<clamp>" in reader.text
    for text in CAUTIONS:
        assert text in reader.text
    assert reader.tags.count("svg") == 2 and "dowel 1" in reader.text and "dowel 2" in reader.text
    minutes = sum(plan.run_time.minutes for plan in plans)
    assert f"{minutes:.1f} minutes of cutting, and 2 tool changes" not in reader.text  # the cutter stays from side to side
    assert f"{minutes:.1f} minutes of cutting, and 1 tool change of 2 minutes" in reader.text
    assert plans[0].body_digest in reader.text and "top of the stock (not of the body)" in reader.text
    for finding in plans[0].findings:
        assert str(finding.words) in reader.text


def test_cells_never_become_formulas() -> None:
    # Common practice, no source: spreadsheets run cells that begin with = + - @ or a tab.
    texts = ["=1+1", "+1", "-1", "@SUM(A1)", "\tx", "\rx", "plain", 'quo"te', "a,b", "two\nlines"]
    rows = list(csv.reader(io.StringIO(table_csv(("a", "b"), [(text, -1.5) for text in texts]).decode(), newline="")))
    for text, row in zip(texts, rows[1:], strict=True):
        assert row[0] == (text if text[0] not in "=+-@\t\r" else "'" + text)
        assert float(row[1]) == -1.5  # a number stays a number


@pytest.fixture
def folder(plans, tmp_path: Path) -> Path:  # noqa: ANN001
    write_all(tmp_path, job_files(plans, JobFiles(pictures=False)))
    return tmp_path


def test_a_written_plan_is_read_back(plans, folder: Path, body: Body) -> None:  # noqa: ANN001
    for plan, pattern in ((plans[0], "*top-plan.json"), (plans[0], "*top-1-*.csv"), (plans[1], "*back-plan.json"), (plans[1], "*back-2-*.csv")):
        written = read_written(next(folder.glob(pattern)))
        np.testing.assert_allclose(written.path.points, plan.path.points, atol=5.1e-5)
        np.testing.assert_array_equal(written.path.kind, plan.path.kind)
        assert written.side == plan.request.side
        np.testing.assert_allclose(written.job_from_body, plan.job_from_body)
        assert changes_since(written, body, plan.request) == ()


def test_what_has_changed_since_is_told(plans, folder: Path, body: Body) -> None:  # noqa: ANN001
    written = read_written(next(folder.glob("*top-plan.json")))
    skip = np.zeros(len(body.skip), bool)
    skip[3] = True
    for other in (replace(body, triangles=body.triangles * 1.001), replace(body, skip=skip)):
        assert "is not as it was" in str(changes_since(written, other)[0])
    changed = replace(plans[0].request, cusp=0.2, dowels=DowelSettings(count=4))
    assert [str(change) for change in changes_since(written, body, changed)] == ["These settings have changed: cusp, dowels."]


def test_files_that_are_no_plan_are_refused(plans, folder: Path, tmp_path: Path, body: Body) -> None:  # noqa: ANN001
    lone = tmp_path / "elsewhere"
    lone.mkdir()
    (lone / "path.csv").write_bytes(path_csv(plans[0].path))
    alone = read_written(lone / "path.csv")
    assert alone.record is None and "is on its own" in str(changes_since(alone, body)[0])
    (lone / "settings.json").write_text('{"cusp": 0.1}')
    (lone / "broken.json").write_text("{")
    record = json.loads(next(folder.glob("*top-plan.json")).read_text())
    (lone / "lost-plan.json").write_text(json.dumps(record))
    (lone / "unnamed-plan.json").write_text(json.dumps(record | {"files": []}))
    for name in ("settings.json", "broken.json", "lost-plan.json", "unnamed-plan.json", "nowhere.csv"):
        with pytest.raises(BadFile):
            read_written(lone / name)


def test_work_made_elsewhere_takes_its_place_and_its_minutes(plans) -> None:  # noqa: ANN001
    work = (
        OtherOperation("=roughing", "Flat 22", 20.0), OtherOperation("pocket edges", "Flat 6", 8.0, place="after", stick_out=30.0),
        OtherOperation("belly", "Flat 22", 5.0, side="back"),
    )  # fmt: skip
    together = tuple(replace(plan, request=replace(plan.request, elsewhere=work, dowels=DowelSettings())) for plan in plans)
    files = job_files(together, JobFiles(pictures=False))
    rows = list(csv.reader(io.StringIO(next(v for k, v in files.items() if k.endswith("run-list.csv")).decode())))
    assert [(row[0], row[1], row[2], row[3] != "") for row in rows[1:]] == [
        ("1", "top", "'=roughing", False), ("2", "top", "finishing", True), ("3", "top", "pocket edges", False),
        ("4", "back", "belly", False), ("5", "back", "finishing", True),
    ]  # fmt: skip
    assert any("-top-2-round-nose-12.csv" in name for name in files) and any("-back-5-round-nose-12.csv" in name for name in files)
    # 28 minutes of work and two tool changes of 2 leave 8 of 40: by hand.
    minutes = plans[0].run_time.minutes

    store = ResultStore()

    def budget(whole: float) -> list[str]:
        asked = make_plan(replace(plans[0].request, elsewhere=work, budget_minutes=whole), store)
        return [str(f.sentence) for f in asked.findings if f.key == "budget-missed"]

    assert budget(32 + minutes + 0.1) == []
    short = budget(32 + minutes / 2)[0]
    assert f"The run takes {minutes:.1f} minutes" in short and f"that other operations leave of the budget of {32 + minutes / 2:g}." in short
    assert "none are left" in budget(31.0)[0]
    for wrong in ({"side": "left"}, {"place": "during"}, {"minutes": -1.0}):
        with pytest.raises(BadRequest):
            OtherOperation(**({"name": "x", "cutter": "y", "minutes": 1.0} | wrong))


@pytest.mark.parametrize("name", ["CON", "com1", "a.b.", "..", "x" * 300, "K\u00f6rper/\\:*?", " ", "nul.txt", "Aux"])
def test_names_are_safe_on_every_system(name: str) -> None:
    # Names that Windows reserves, and signs it refuses: Microsoft, "Naming Files, Paths, and Namespaces".
    safe = safe_name(name)
    assert safe and safe.isascii() and safe not in RESERVED and len(safe) <= 90
    assert all(c.isalnum() or c in "-_" for c in safe) and safe == safe_name(safe)
