"""Background work: what its worker says of results, errors, defects and stopping, and that two never work at once."""

from __future__ import annotations

import threading
from collections.abc import Generator

import pytest

from addon.finishing.core.errors import BadRequest
from addon.scene.background import Steps, Work, Worker

LONG = 20.0
"""Seconds after which a test gives up; no test waits for them."""


class Gate:
    """Steps that stand still at a gate until the test opens it, and note what has become of them."""

    def __init__(self, result: object = None) -> None:
        self.began, self.open, self.closed = threading.Event(), threading.Event(), threading.Event()
        self.result = result

    def steps(self) -> Steps:
        """One step before the gate, and steps without end after it unless there is a result."""
        try:
            self.began.set()
            yield 0.25, "before the gate"
            assert self.open.wait(LONG)
            yield 0.5, "behind the gate"
            while self.result is None:
                yield 0.75, "without end"
            return self.result
        finally:
            self.closed.set()


def three_steps() -> Generator[tuple[float, str], None, object]:
    yield 0.0, "body"
    yield 0.4, "heights"
    return "the plan"


def test_a_result_is_there_once_the_work_is_done() -> None:
    worker = Worker(three_steps)
    assert worker.wait(LONG) and worker.done
    assert worker.result == "the plan" and worker.error is None and worker.defect is None
    assert (worker.share, worker.stage) == (0.4, "heights")


def test_progress_is_that_of_the_step_under_way() -> None:
    gate = Gate(result="done")
    worker = Worker(gate.steps)
    assert gate.began.wait(LONG)
    while worker.stage != "before the gate":  # the step has been yielded, its progress is noted at once
        assert not worker.done
    assert worker.share == 0.25 and not worker.done and worker.result is None
    assert not worker.wait(0.01)
    gate.open.set()
    assert worker.wait(LONG) and worker.result == "done"


def test_an_error_is_one_message() -> None:
    def steps() -> Steps:
        yield 0.1, "body"
        raise BadRequest("There is no cutter '{cutter}' on the rack: choose another one.", cutter="22")

    worker = Worker(steps)
    assert worker.wait(LONG)
    assert str(worker.error) == "There is no cutter '22' on the rack: choose another one."
    assert worker.defect is None and worker.result is None


def test_a_defect_names_its_stage_and_is_kept_for_a_report() -> None:
    def steps() -> Steps:
        yield 0.6, "pass lines"
        raise ZeroDivisionError("division by zero")

    worker = Worker(steps)
    assert worker.wait(LONG)
    assert (
        str(worker.error)
        == "The work stopped at 'pass lines' (ZeroDivisionError: division by zero). Plan again; if it stops again, report it with these words."
    )
    assert isinstance(worker.defect, ZeroDivisionError) and worker.defect.__traceback__ is not None


def test_work_that_cannot_even_begin_is_a_defect_too() -> None:
    def steps() -> Steps:
        raise OSError("no room")

    worker = Worker(steps)
    assert worker.wait(LONG)
    assert isinstance(worker.defect, OSError) and "OSError: no room" in str(worker.error)


def test_stopping_ends_the_work_at_its_next_step_and_closes_it() -> None:
    gate = Gate()
    worker = Worker(gate.steps)
    assert gate.began.wait(LONG)
    worker.stop()
    assert not worker.done  # it stands at the gate: stopping waits for nothing
    gate.open.set()
    assert worker.wait(LONG) and gate.closed.is_set()
    assert worker.result is None and worker.error is None and worker.defect is None


def test_the_next_work_waits_for_the_one_before() -> None:
    first, second = Gate(), Gate(result="second")
    before = Worker(first.steps)
    assert first.began.wait(LONG)
    before.stop()
    after = Worker(second.steps, before=before)
    second.open.set()
    assert not second.began.wait(0.1)
    first.open.set()
    assert after.wait(LONG) and after.result == "second"
    assert first.closed.is_set() and before.done


def test_work_that_is_stopped_while_it_waits_lets_no_third_one_in() -> None:
    first, third = Gate(), Gate(result="third")
    before = Worker(first.steps)
    assert first.began.wait(LONG)
    before.stop()
    never = Gate()
    waiting = Worker(never.steps, before=before)
    waiting.stop()
    after = Worker(third.steps, before=waiting)
    third.open.set()
    assert not third.began.wait(0.1) and not waiting.done
    first.open.set()
    assert after.wait(LONG) and after.result == "third"
    assert waiting.done and not never.began.is_set() and waiting.result is None


@pytest.mark.parametrize("fails", [True, False])
def test_the_next_work_runs_whatever_became_of_the_one_before(fails: bool) -> None:
    def steps() -> Steps:
        yield 0.5, "body"
        if fails:
            raise ValueError("broken")

    assert Worker(three_steps, before=Worker(steps)).wait(LONG)


def test_one_work_at_a_time() -> None:
    work, gate = Work(), Gate()
    assert not work.running
    worker = work.start(gate.steps)
    assert work.running and work.worker is worker
    work.end()
    assert not work.running and work.worker is None
    second = work.start(three_steps)
    assert work.worker is second and not second.done
    gate.open.set()
    assert second.wait(LONG) and second.result == "the plan" and worker.done
    work.end()
    work.wait(LONG)
    work.end()  # nothing is under way: nothing happens
    assert not work.running
