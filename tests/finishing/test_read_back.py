"""Written plans read again, and what has changed since they were written."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from small_jobs import arched_body, two_sides

from addon.finishing.core.errors import BadFile
from addon.finishing.files.job_files import JobFiles, job_files
from addon.finishing.files.path_csv import path_csv, read_csv
from addon.finishing.files.plan_record import read_record
from addon.finishing.files.read_back import changes_since, read_written
from addon.finishing.files.writing import write_all
from addon.finishing.job.dowels import DowelSettings
from addon.finishing.planning.comparison import comparison_text, figures_from


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    write_all(tmp_path, job_files(two_sides(), JobFiles(pictures=False)))
    return tmp_path


@pytest.mark.parametrize("side, pattern", [(0, "*top-plan.json"), (0, "*top-1-*.csv"), (1, "*back-plan.json"), (1, "*back-2-*.csv")])
def test_a_written_plan_is_read_back(folder: Path, side: int, pattern: str) -> None:
    plan = two_sides()[side]
    written = read_written(next(folder.glob(pattern)))
    # Coordinates are written with 4 decimals.
    np.testing.assert_allclose(written.path.points, plan.path.points, atol=5.1e-5)
    np.testing.assert_array_equal(written.path.kind, plan.path.kind)
    np.testing.assert_array_equal(written.path.line, plan.path.line)
    assert written.side == plan.request.side and written.job_from_body is not None
    np.testing.assert_allclose(written.job_from_body, plan.job_from_body)
    assert changes_since(written, arched_body(), plan.request) == ()


def test_a_body_that_has_changed_is_reported(folder: Path) -> None:
    body = arched_body()
    written = read_written(next(folder.glob("*top-plan.json")))
    skip = np.zeros(len(body.skip), bool)
    skip[3] = True
    for other in (replace(body, triangles=body.triangles * 1.001), replace(body, skip=skip)):
        found = changes_since(written, other)
        assert len(found) == 1 and "is not as it was" in str(found[0])


def test_settings_that_have_changed_are_named(folder: Path) -> None:
    written = read_written(next(folder.glob("*top-plan.json")))
    changed = replace(two_sides()[0].request, cusp=0.2, dowels=DowelSettings(count=4))
    assert [str(change) for change in changes_since(written, arched_body(), changed)] == ["These settings have changed: cusp, dowels."]


def test_a_csv_on_its_own_is_read_without_its_body(tmp_path: Path) -> None:
    (tmp_path / "path.csv").write_bytes(path_csv(two_sides()[0].path))
    (tmp_path / "broken-plan.json").write_text("{")  # a record that cannot be read is none of this CSV's
    written = read_written(tmp_path / "path.csv")
    assert (written.record, written.side, written.job_from_body) == (None, "", None)
    assert len(written.path) == len(two_sides()[0].path)
    assert len(changes_since(written, arched_body())) == 1


@pytest.mark.parametrize(
    "record, said",
    [
        ('{"cusp": 0.1}', "settings but no plan"),
        ("{", "not JSON"),
        ("[]", "one JSON object"),
        ('{"schema": 99}', "newer"),
        (b"\xff\xfe", "not JSON"),
        (None, "cannot be read"),
        ({"files": []}, "names no CSV"),
        ({"files": ["gone.csv"]}, "gone.csv"),
    ],
    ids=["settings", "broken", "list", "newer", "not text", "missing", "no csv named", "csv gone"],
)
def test_files_that_are_not_a_plan_are_refused(folder: Path, tmp_path: Path, record: object, said: str) -> None:
    file = tmp_path / "other.json"
    if isinstance(record, dict):
        file.write_text(json.dumps(json.loads(next(folder.glob("*top-plan.json")).read_text()) | record))
    elif isinstance(record, bytes):
        file.write_bytes(record)
    elif isinstance(record, str):
        file.write_text(record)
    with pytest.raises(BadFile, match=said):
        read_written(file)


SPOILT = (None, True, 0, -1, 1e999, "", "text", [], [1], {}, {"top": 1}, {"top": [[1, 2], [3, 4]]}, {"left": 1}, [[]], "\x00", 10**400, [None])
"""Values that stand nowhere in a plan.json where they are put."""


def leaves(value: object, at: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    """Every key of a record, down to the third level."""
    if isinstance(value, dict) and len(at) < 3:
        for key, item in value.items():
            yield (*at, key)
            yield from leaves(item, (*at, key))


@pytest.mark.parametrize("spoilt", SPOILT, ids=range(len(SPOILT)))
def test_a_spoilt_record_is_read_or_refused_in_one_sentence(folder: Path, spoilt: object) -> None:
    # Every key of the record in turn becomes something else: never a traceback, never a path turned by a matrix that is none.
    file = next(folder.glob("*top-plan.json"))
    good = json.loads(file.read_text())
    for keys in leaves({key: good[key] for key in ("digest", "job_from_body", "files", "settings", "figures", "schema")}):
        record = json.loads(file.read_text())
        part = record
        for key in keys[:-1]:
            part = part[key]
        part[keys[-1]] = spoilt
        file.with_name("spoilt.json").write_text(json.dumps(record).replace("Infinity", "1e999"))
        try:
            written = read_written(file.with_name("spoilt.json"))
            assert written.job_from_body is not None and written.job_from_body.shape == (4, 4) and np.isfinite(written.job_from_body).all()
            changes_since(written, arched_body(), two_sides()[0].request)
        except BadFile as error:
            assert "\n" not in str(error)
        try:
            comparison_text([figures_from(read_record(file.with_name("spoilt.json").read_bytes()))])
        except BadFile as error:
            assert "\n" not in str(error)


@pytest.mark.parametrize("column", range(7))
@pytest.mark.parametrize("value", ["", " 1", "1_0", "nan", "inf", "1e400", "-1", "9" * 30, "\u0661", "0x10", "cut", "1.5", "x" * 200000])
def test_a_spoilt_csv_is_read_or_refused_naming_its_row(column: int, value: str) -> None:
    rows = path_csv(two_sides()[0].path).decode().split("\r\n")
    cells = rows[5].split(",")
    good = (
        (column in (3, 4, 5, 6) and value in (" 1", "-1", "1.5")) or column == 1 or (column == 2 and value == "cut")
    )  # the point's number is for people: it is not read
    rows[5] = ",".join([*cells[:column], value, *cells[column + 1 :]])
    content = "\r\n".join(rows).encode()
    if good and len(value) < 1000:
        assert np.isfinite(read_csv(content).points).all()
    else:
        with pytest.raises(BadFile, match=r"^Row 6 of the CSV cannot be read|^This is not a CSV") as raised:
            read_csv(content)
        assert len(str(raised.value)) < 200
