"""What a job replaces: the files of earlier plans of the same body and sides, and nothing else; bodies of a batch never share a folder."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest
from small_jobs import two_sides

from addon.batch import run_batch
from addon.finishing.core.errors import BadFile
from addon.finishing.files.job_files import JobFiles, job_files, restart_file
from addon.finishing.files.replaced_files import replaced_files
from addon.finishing.files.writing import write_all
from addon.finishing.job.cutter import Cutter
from addon.finishing.planning.result import Plan

PROGRAMS = JobFiles(pictures=False, programs=True)
STEM = "cmd-c-calc-a0-script-alert-1-script-body"


@pytest.fixture(scope="module")
def plans() -> tuple[Plan, Plan]:
    top, back = two_sides()
    return replace(top, findings=()), replace(back, findings=())


def test_programs_of_an_earlier_cutter_go(tmp_path: Path, plans: tuple[Plan, Plan]) -> None:
    top, back = plans
    write_all(tmp_path, {**job_files(plans, PROGRAMS), **restart_file(top, 3, PROGRAMS), "letter.txt": b"mine", "other-top-1.nc": b"another body's"})
    finer = replace(top, cutter=Cutter("Round-nose 10", 10.0))
    files = job_files((finer, back), PROGRAMS)
    write_all(tmp_path, files, gone=replaced_files(tmp_path, (finer, back)))
    assert {path.name for path in tmp_path.iterdir()} == {*files, "letter.txt", "other-top-1.nc"}
    assert not list(tmp_path.glob("*round-nose-12*top*")) and f"{STEM}-top-2-round-nose-10.nc" in files


def test_the_other_side_stays(tmp_path: Path, plans: tuple[Plan, Plan]) -> None:
    both = job_files(plans, PROGRAMS)
    write_all(tmp_path, both)
    gone = replaced_files(tmp_path, plans[:1])
    assert gone == {name for name in both if name.startswith(f"{STEM}-top-")}


@pytest.mark.parametrize("listed", [["../letter.txt", "letter.txt", "/etc/passwd", 5, None, ""], "letter.txt", None, {"a": 1}])
def test_a_record_can_name_no_file_that_is_not_its_own(tmp_path: Path, plans: tuple[Plan, Plan], listed: object) -> None:
    record = f"{STEM}-top-plan.json"
    (tmp_path / record).write_text(json.dumps({"body": {"name": plans[0].request.body.name}, "files": listed}))
    (tmp_path / "letter.txt").write_bytes(b"mine")
    assert replaced_files(tmp_path, plans[:1]) == {record}


@pytest.mark.parametrize("content", [b"", b"[]", b"{", b"\xff\xfe", b'{"body": 3}'])
def test_a_broken_record_is_replaced_alone(tmp_path: Path, plans: tuple[Plan, Plan], content: bytes) -> None:
    (tmp_path / f"{STEM}-top-plan.json").write_bytes(content)
    assert replaced_files(tmp_path, plans[:1]) == {f"{STEM}-top-plan.json"}
    assert replaced_files(tmp_path / "missing", plans[:1]) == set()


def test_files_of_another_body_of_a_similar_name_are_not_replaced(tmp_path: Path, plans: tuple[Plan, Plan]) -> None:
    (tmp_path / f"{STEM}-top-plan.json").write_text(json.dumps({"body": {"name": "cmd c calc a0 script alert 1 script body"}, "files": []}))
    with pytest.raises(BadFile, match="another body"):
        replaced_files(tmp_path, plans[:1])


def test_files_of_a_body_that_fails_are_put_away(tmp_path: Path, plans: tuple[Plan, Plan]) -> None:
    bad = Path("bad.stl")
    fails = False

    def plan_one(file: Path, folder: Path) -> tuple[Plan, ...]:
        if fails and file == bad:
            raise BadFile("'{file}' is empty.", file=file)
        write_all(folder, job_files(plans, PROGRAMS), replace=True)
        return plans

    run_batch([bad, Path("good.stl")], tmp_path, plan_one, replace=True)
    old = {path.name: path.read_bytes() for path in (tmp_path / "bad").iterdir()}
    assert any(name.endswith(".nc") for name in old) and any(name.endswith("run-list.csv") for name in old)
    (tmp_path / "bad" / "letter.txt").write_bytes(b"mine")
    fails = True
    row = run_batch([bad, Path("good.stl")], tmp_path, plan_one, replace=True)[0]
    assert row.result == "failed" and row.reason.startswith("'bad.stl' is empty. Files of an earlier run were moved to 'earlier/bad': ")
    assert all(name in row.reason for name in old) and row.reason in (tmp_path / "batch.csv").read_text("utf-8").replace('""', '"')
    assert {path.name: path.read_bytes() for path in (tmp_path / "earlier" / "bad").iterdir()} == old
    assert [path.name for path in (tmp_path / "bad").iterdir()] == ["letter.txt"]
    assert {path.name for path in (tmp_path / "good").iterdir()} == set(old)
    # A second failure has nothing to move; a body that is called like the folder gets another one.
    assert run_batch([bad], tmp_path, plan_one, replace=True)[0].reason == "'bad.stl' is empty."
    run_batch([Path("earlier.stl")], tmp_path, plan_one, replace=True)
    assert (tmp_path / "earlier-stl").is_dir()
    # Planned again, its files come back to their place; a folder that held nothing else goes.
    fails = False
    (tmp_path / "bad" / "letter.txt").unlink()
    run_batch([bad], tmp_path, plan_one, replace=True)
    fails = True
    row = run_batch([bad], tmp_path, plan_one, replace=True)[0]
    assert not (tmp_path / "bad").exists()
    # Each failure has a folder of its own: files of two runs are never mixed.
    assert "were moved to 'earlier/bad-2': " in row.reason
    assert {path.name: path.read_bytes() for path in (tmp_path / "earlier" / "bad-2").iterdir()} == old


def test_files_beside_a_record_that_cannot_be_read_stay_and_are_named(tmp_path: Path, plans: tuple[Plan, Plan]) -> None:
    write_all(tmp_path / "bad", job_files(plans, PROGRAMS))
    record = next((tmp_path / "bad").glob("*top-plan.json"))
    record.write_text("{")
    before = {path.name for path in (tmp_path / "bad").iterdir()}

    def plan_one(file: Path, _folder: Path) -> tuple[Plan, ...]:
        raise BadFile("'{file}' is empty.", file=file)

    reason = run_batch([Path("bad.stl")], tmp_path, plan_one, replace=True)[0].reason
    assert "still in 'bad', do not run them" in reason and f"'{record.name}' in" in reason and "cannot be read as a plan" in reason
    assert {path.name for path in (tmp_path / "bad").iterdir()} == before and not (tmp_path / "earlier").exists()


def test_files_that_cannot_be_put_away_are_named(tmp_path: Path, plans: tuple[Plan, Plan]) -> None:
    write_all(tmp_path / "bad", job_files(plans, PROGRAMS))
    (tmp_path / "earlier").write_bytes(b"in the way")

    def plan_one(file: Path, _folder: Path) -> tuple[Plan, ...]:
        raise BadFile("'{file}' is empty.", file=file)

    row = run_batch([Path("bad.stl")], tmp_path, plan_one, replace=True)[0]
    assert "still in 'bad', do not run them" in row.reason and list((tmp_path / "bad").glob("*.nc"))
    # Where nothing may be replaced, nothing is moved either.
    (tmp_path / "earlier").unlink()
    (tmp_path / "batch.csv").unlink()
    assert run_batch([Path("bad.stl")], tmp_path, plan_one, replace=False)[0].reason == "'bad.stl' is empty."
    assert list((tmp_path / "bad").glob("*.nc"))


def test_bodies_of_a_batch_never_share_a_folder(tmp_path: Path) -> None:
    names = ["a b.stl", "a+b.stl", "A-B.stl", "a-b-2.stl", "a.obj", "a.stl", "a.ply", "\u7434.stl", "\u5f13.stl", "!.stl", "?.stl", "con.stl"]
    folders: list[Path] = []

    def plan_one(_file: Path, folder: Path) -> tuple[Plan, ...]:
        folders.append(folder)
        return ()

    for _ in range(2):
        folders.clear()
        run_batch([Path(name) for name in names], tmp_path, plan_one, replace=True)
        assert len({folder.name.casefold() for folder in folders}) == len(names)
    assert folders[7].name == "\u7434" and folders[0].name == "a-b"
