"""Export from the panel: files are made in a thread, ESC leaves everything as it was, and they are written all at once at the end."""

from __future__ import annotations

import time
from pathlib import Path
from types import SimpleNamespace

import pytest
from small_jobs import two_sides

from addon.actions import exporting
from addon.actions.exporting import FINISHING_OT_export, _Export
from addon.actions.watched_work import WatchedWork
from addon.finishing.core.errors import BadRequest
from addon.finishing.core.stepping import finished
from addon.finishing.files.job_files import JobFiles, job_files
from addon.finishing.planning.result import Plan
from addon.scene.background import WORK

ESC, TICK, MOUSE = (SimpleNamespace(type=kind, value="PRESS") for kind in ("ESC", "TIMER", "MOUSEMOVE"))
LONG = 60.0
"""Seconds after which a test gives up."""


class Button:
    """The action without Blender's side of it: Blender alone can make one of its actions."""

    replace, from_line = False, 0
    _begin, ended, given_up, taken_down = (getattr(FINISHING_OT_export, name) for name in ("_begin", "ended", "given_up", "taken_down"))
    start, modal, cancel, while_working = (getattr(WatchedWork, name) for name in ("start", "modal", "cancel", "while_working"))
    _stopped, _show_progress, _clean_up = WatchedWork._stopped, WatchedWork._show_progress, WatchedWork._clean_up
    title, _timer, _shown, _work = FINISHING_OT_export.title, None, "", None

    def __init__(self, work: _Export | BadRequest) -> None:
        self.said: list[tuple[set[str], str]] = []
        self.prepared = work

    def report(self, kind: set[str], words: str) -> None:
        """Keep what is said."""
        self.said.append((kind, words))

    def _prepared(self, _context: object) -> _Export:
        if isinstance(self.prepared, BadRequest):
            raise self.prepared
        return self.prepared


@pytest.fixture(scope="module")
def plans() -> tuple[Plan, ...]:
    return two_sides()


@pytest.fixture
def context():  # noqa: ANN201
    """A window that keeps what is shown in its status bar, and counts its timers."""
    shown: list[str | None] = []
    timers: list[str] = []
    manager = SimpleNamespace(
        event_timer_add=lambda *_args, **_more: timers.append("timer") or "timer",
        event_timer_remove=timers.remove,
        modal_handler_add=lambda _action: None,
    )
    yield SimpleNamespace(window_manager=manager, window=None, workspace=SimpleNamespace(status_text_set=shown.append), shown=shown, timers=timers)
    WORK.end()
    WORK.wait(LONG)


def export_of(plans: tuple[Plan, ...], folder: Path, from_line: int = 0) -> _Export:
    return _Export(SimpleNamespace(name="gone", uid=0), plans, JobFiles(programs=True), folder, from_line)  # type: ignore[arg-type]


def run_until_done(button: Button, context: SimpleNamespace) -> set[str]:
    """Tick until the action ends; what it ends with."""
    end = time.monotonic() + LONG
    while (outcome := button.modal(context, TICK)) == {"PASS_THROUGH"}:
        assert time.monotonic() < end
        time.sleep(0.01)
    return outcome


def test_files_are_those_of_a_script_and_progress_is_shown(tmp_path: Path, plans: tuple[Plan, ...], context: SimpleNamespace) -> None:
    button = Button(export_of(plans, tmp_path / "out"))
    assert button._begin(context) == {"RUNNING_MODAL"} and context.timers == ["timer"] and WORK.running
    assert button.modal(context, MOUSE) == {"PASS_THROUGH"} and not (tmp_path / "out").exists()
    assert run_until_done(button, context) == {"FINISHED"}
    assert {path.name: path.read_bytes() for path in (tmp_path / "out").iterdir()} == job_files(plans, JobFiles(programs=True))
    assert context.timers == [] and not WORK.running and "ESC" in str(context.shown[0])
    assert any(kind == {"INFO"} and str(tmp_path / "out") in words for kind, words in button.said)


@pytest.mark.parametrize("steps", [0, 1, 5, 12])
def test_esc_leaves_everything_as_it_was(tmp_path: Path, plans: tuple[Plan, ...], context: SimpleNamespace, steps: int) -> None:
    (tmp_path / "letter.txt").write_bytes(b"mine")
    button = Button(export_of(plans, tmp_path))
    button._begin(context)
    worker = WORK.worker
    assert worker is not None
    share = finished_shares(plans)[steps]
    while worker.share < share and not worker.done:
        time.sleep(0.001)
    assert button.modal(context, ESC) == {"CANCELLED"}
    assert worker.wait(LONG) and not WORK.running and context.timers == []
    assert [path.name for path in tmp_path.iterdir()] == ["letter.txt"]
    assert button.said[-1][0] == {"INFO"} and len(button.said) == 1


def finished_shares(plans: tuple[Plan, ...]) -> list[float]:
    """The shares that the work tells, in order."""
    shares: list[float] = []
    steps = export_of(plans, Path()).steps()
    try:
        while True:
            shares.append(next(steps)[0])
    except StopIteration:
        return shares


def test_shares_rise_and_stay_within_the_work(plans: tuple[Plan, ...]) -> None:
    shares = finished_shares(plans)
    assert shares == sorted(shares) and shares[0] == 0.0 and 0.8 < shares[-1] < 1.0 and len(shares) >= 12


def test_cancel_of_the_panel_and_errors(tmp_path: Path, plans: tuple[Plan, ...], context: SimpleNamespace) -> None:
    button = Button(export_of(plans, tmp_path / "out"))
    button._begin(context)
    WORK.end()  # as the button Cancel does
    assert button.modal(context, TICK) == {"CANCELLED"} and not (tmp_path / "out").exists()
    several = Button(export_of(plans, tmp_path / "out", from_line=3))
    several._begin(context)
    assert run_until_done(several, context) == {"CANCELLED"}
    assert several.said[-1][0] == {"ERROR"} and not (tmp_path / "out").exists()
    (tmp_path / "taken").write_bytes(b"a file in the way")
    taken = Button(export_of(plans[:1], tmp_path / "taken"))
    taken._begin(context)
    assert run_until_done(taken, context) == {"CANCELLED"} and taken.said[-1][0] == {"ERROR"}
    refused = Button(BadRequest("No."))
    assert refused._begin(context) == {"CANCELLED"} and refused.said == [({"ERROR"}, "No.")]


def test_the_program_from_a_line_on_is_made_in_steps_too(tmp_path: Path, plans: tuple[Plan, ...]) -> None:
    assert list(finished(export_of(plans[:1], tmp_path, from_line=2).steps()))[0].endswith("-from-line-2.nc")


def test_a_folder_that_was_asked_for_starts_another_action(monkeypatch: pytest.MonkeyPatch) -> None:
    begun: list[dict[str, object]] = []
    blender = SimpleNamespace(
        app=SimpleNamespace(background=False),
        ops=SimpleNamespace(finishing=SimpleNamespace(export=lambda how, **chosen: begun.append({"how": how} | chosen) or {"RUNNING_MODAL"})),
    )
    monkeypatch.setattr(exporting, "bpy", blender)
    chosen = {name: name for name in exporting.CHOSEN}
    assert FINISHING_OT_export.execute(SimpleNamespace(ask=True, **chosen), None) == {"RUNNING_MODAL"}  # type: ignore[arg-type]
    assert begun == [{"how": "INVOKE_DEFAULT"} | chosen]
