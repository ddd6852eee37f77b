"""Work broken off at any moment: exports by kill -9, plans by ESC. What was there stays, and the next try is as if nothing had been."""

from __future__ import annotations

import os
import random
import signal
import time
import warnings
from dataclasses import replace
from pathlib import Path

import pytest
from mesh_files import binary_stl
from shapes import block
from small_jobs import TWELVE, arched, arched_body

from addon.command import run
from addon.finishing.core.result_store import ResultStore
from addon.finishing.files import job_files as files_of_a_job
from addon.finishing.files.job_files import JobFiles, job_files
from addon.finishing.job.request import Request
from addon.finishing.planning.plan import make_plan, plan_steps

MOMENTS = 50


def contents(folder: Path) -> dict[str, bytes]:
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def without_seconds(files: dict[str, bytes]) -> dict[str, bytes]:
    """The files but the plan.json, which tells how long its stages took."""
    return {name: content for name, content in files.items() if not name.endswith("plan.json")}


def export(body: Path, out: Path, cusp: float, killed_after: float | None = None) -> int | None:
    """Plan and write a body into a folder by the command line, in a process of its own; the exit code, None where it was killed first."""
    words = ["plan", str(body), "--unit", "mm", "--cutter", "6", "--lines-from", "edge", "--cell", "1", "--cusp", str(cusp), "--programs", "--replace"]
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)  # from 3.12 on where threads run; the child holds none of their locks
        child = os.fork()
    if child == 0:
        try:
            with open(os.devnull, "w") as nowhere:
                os.dup2(nowhere.fileno(), 1)
                os.dup2(nowhere.fileno(), 2)
            os._exit(run([*words, "--out", str(out)], "build.py"))
        finally:
            os._exit(99)
    until = None if killed_after is None else time.perf_counter() + killed_after
    while until is None or time.perf_counter() < until:
        done, status = os.waitpid(child, 0 if until is None else os.WNOHANG)
        if done:
            return os.waitstatus_to_exitcode(status)
        time.sleep(0.001)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return None


@pytest.mark.skipif(not hasattr(os, "fork"), reason="no fork on this system")
def test_an_export_killed_at_any_moment_leaves_the_old_set_or_the_new_one(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    # Pictures take most of the time and have no moments of their own: their files are written, but nothing is drawn.
    pictures = [(name, name.encode() * 20_000) for name in ("slope", "cusp", "lines")]
    monkeypatch.setattr(files_of_a_job, "plan_pictures", lambda *_: pictures)
    body = tmp_path / "arch.stl"
    body.write_bytes(binary_stl(block(lambda x, y: arched(2 * x, 2 * y), 30, 20, 2.0)))
    old, new, out = tmp_path / "old", tmp_path / "new", tmp_path / "out"
    assert export(body, old, 0.2) in (0, 3)
    at = time.perf_counter()
    assert export(body, new, 0.15) in (0, 3)
    whole = time.perf_counter() - at
    sets = without_seconds(contents(old)), without_seconds(contents(new))
    assert sets[0].keys() == sets[1].keys() and sets[0] != sets[1] and len(sets[0]) > 8
    assert export(body, out, 0.2) in (0, 3)
    moments = random.Random(17)
    killed = 0
    for number in range(MOMENTS):
        # Half of the moments fall into the last fifth, in which the files are written.
        share = moments.uniform(0, 1) if number % 2 else moments.uniform(0.8, 1.1)
        at = time.perf_counter()
        code = export(body, out, (0.2, 0.15)[(number // 2) % 2], share * whole)
        assert code in (None, 0, 3)
        if code is None:
            killed += 1
        else:
            whole = time.perf_counter() - at  # the machine has less to do than before, or more
        if out.exists():  # while two folders change places there is none for a moment; the next export puts it back
            assert without_seconds(contents(out)) in sets
    assert killed > MOMENTS // 4
    assert export(body, out, 0.15) in (0, 3)
    assert without_seconds(contents(out)) == sets[1]
    assert sorted(path.name for path in tmp_path.iterdir()) == ["arch.stl", "new", "old", "out"]


def test_a_plan_stopped_at_any_moment_leaves_its_store_whole() -> None:
    plain = Request(arched_body(), cutter=TWELVE, rack=(TWELVE,), lines_from="best", cell=1.0, cusp=0.2)
    changes = [replace(plain, cusp=cusp, feed=feed) for cusp in (0.2, 0.15, 0.1) for feed in (None, 2000.0)]
    expected = [job_files([make_plan(request)], JobFiles(pictures=False)) for request in changes]
    moments, store = random.Random(17), ResultStore()
    steps = sum(1 for _ in plan_steps(plain, ResultStore()))
    assert steps > 20
    for number in range(MOMENTS):
        work = plan_steps(changes[number % len(changes)], store)
        for _ in range(moments.randrange(steps)):
            if next(work, None) is None:
                break
        work.close()
        if number % 5 == 4:
            which = moments.randrange(len(changes))
            found = job_files([make_plan(changes[which], store)], JobFiles(pictures=False))
            assert without_seconds(dict(found)) == without_seconds(dict(expected[which]))
