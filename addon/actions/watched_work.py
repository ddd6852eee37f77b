"""Work in a thread that an action watches: progress in the status bar, stopped by ESC or Cancel."""

from __future__ import annotations

import traceback
from collections.abc import Callable

import bpy

from ..finishing.core.message import Message
from ..finishing.planning.stage_words import step_words
from ..scene.background import WORK, Steps
from ..scene.blender_data import present
from ..scene.redrawing import redraw_sidebars, redraw_views
from ..screen.language import for_report, in_users_language
from .conditions import Outcome

TICK_SECONDS = 0.05
"""Time between two looks at the background work."""

STOPPED = Message("Stopped: nothing was changed")


class WatchedWork(bpy.types.Operator):
    """What actions share that run in a thread. Subclasses start the work, and say what to do with what it has made."""

    title = Message("Planning")
    _timer: bpy.types.Timer | None = None
    _shown = ""

    def ended(self, context: bpy.types.Context, result: object) -> Outcome:
        """Take what the work has made; called where Blender may be changed."""
        raise NotImplementedError

    def given_up(self) -> None:
        """The work has no result: what was there before stays as it was."""

    def while_working(self, context: bpy.types.Context) -> None:
        """Called at every tick."""

    def taken_down(self, context: bpy.types.Context) -> None:
        """Take down what the action itself has put up, whatever became of the work."""

    @classmethod
    def nothing_under_way(cls) -> bool:
        """Whether there is no other work; says so on the greyed button."""
        if WORK.running:
            cls.poll_message_set("Other work is under way: wait for it, or stop it with ESC")
        return not WORK.running

    def start(self, context: bpy.types.Context, make_steps: Callable[[], Steps]) -> Outcome:
        """Start the work and watch it."""
        WORK.start(make_steps)
        manager = present(context.window_manager)
        self._timer = manager.event_timer_add(TICK_SECONDS, window=context.window)
        self._shown = ""
        manager.modal_handler_add(self)
        self._show_progress(context)
        redraw_sidebars()
        return {"RUNNING_MODAL"}

    def modal(self, context: bpy.types.Context, event: bpy.types.Event) -> Outcome:
        """Watch the thread; everything but ESC goes on to Blender, so that the view can be turned meanwhile."""
        if event.type == "ESC" and event.value == "PRESS":
            return self._stopped(context)
        if event.type != "TIMER":
            return {"PASS_THROUGH"}
        worker = WORK.worker
        if worker is None:  # Cancel was pressed, another file was opened, or the extension was disabled
            return self._stopped(context)
        if not worker.done:
            self.while_working(context)
            self._show_progress(context)
            return {"PASS_THROUGH"}
        self._clean_up(context)
        if worker.error is not None:
            self.given_up()
            self.report({"ERROR"}, for_report(worker.error))
            if worker.defect is not None:  # no mistake of the user's: leave word for a report
                traceback.print_exception(worker.defect)
            return {"CANCELLED"}
        return self.ended(context, worker.result)

    def cancel(self, context: bpy.types.Context) -> None:
        """Blender stops the operator itself, as when another file is opened."""
        self._clean_up(context)
        self.given_up()

    def _stopped(self, context: bpy.types.Context) -> Outcome:
        self.cancel(context)
        self.report({"INFO"}, for_report(STOPPED))
        return {"CANCELLED"}

    def _show_progress(self, context: bpy.types.Context) -> None:
        worker = present(WORK.worker)
        status = Message("{work}: {stage}, {share:.0%}    ESC: Stop", work=self.title, stage=step_words(worker.stage), share=worker.share)
        shown = in_users_language(status)
        if shown != self._shown:
            self._shown = shown
            present(context.workspace).status_text_set(shown)
            redraw_sidebars()  # only when the per cent or the stage is another one

    def _clean_up(self, context: bpy.types.Context) -> None:
        """The one place where everything that the work has put up is taken down."""
        WORK.end()
        self.taken_down(context)
        if self._timer is not None:
            present(context.window_manager).event_timer_remove(self._timer)
            self._timer = None
        for workspace in bpy.data.workspaces:
            workspace.status_text_set(None)
        redraw_views()
