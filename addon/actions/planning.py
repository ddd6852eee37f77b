"""Planning, surveying and rolling a cutter over the body: long work with progress, stopped by ESC."""

from __future__ import annotations

import traceback
from collections.abc import Callable, Generator
from dataclasses import replace

import bpy
from bpy.props import StringProperty

from ..finishing.core.errors import FinishingError
from ..finishing.core.message import Message, word
from ..finishing.core.result_store import ResultStore
from ..finishing.core.stage_runner import Progress
from ..finishing.core.stepping import finished
from ..finishing.job.cutter import Cutter
from ..finishing.job.request import Request
from ..finishing.planning.result import Plan
from ..finishing.planning.smaller_cutters import side_plans
from ..finishing.planning.survey import FitMap, Survey, fit_map_steps, survey_steps
from ..scene.change_watching import suspect
from ..scene.mesh_reading import body_of, read_arrays
from ..scene.request_building import scene_rack, settings_key, settings_request, stock_arrays
from ..scene.results import STORE, BodyResults, object_of
from ..screen.language import for_report, in_users_language
from ..screen.redrawing import redraw_sidebars, redraw_views
from .background import Worker
from .conditions import body_is_chosen

TICK_SECONDS = 0.05
Steps = Generator[Progress, None, object]


class Work:
    """The work that is under way, one at a time, and how far it is. Panels read it; operators start and stop it."""

    def __init__(self) -> None:
        self.worker: Worker | None = None
        self.title = Message("Planning")
        self._last: Worker | None = None

    @property
    def running(self) -> bool:
        """Whether work is under way."""
        return self.worker is not None

    def start(self, title: Message, make_steps: Callable[[], Steps]) -> Worker:
        """Start work in a thread."""
        self.title = title
        self.worker = self._last = Worker(make_steps, before=self._last)
        return self.worker

    def end(self) -> None:
        """Stop what is under way; the thread runs on to its next step, but nothing waits for it."""
        if self.worker is not None:
            self.worker.stop()
            self.worker = None

    def wait(self, seconds: float) -> None:
        """Wait for the last thread, as before the code is unloaded."""
        if self._last is not None:
            self._last.wait(seconds)
            self._last = None


WORK = Work()
"""The one piece of work of the session."""


class _LongAction:
    """What the long operators share. Subclasses say what to run and what to do with the result."""

    title = Message("Planning")
    _timer = None

    def work(self, context: bpy.types.Context) -> Callable[[Request, ResultStore], Steps]:
        """What to run; it is run in a thread, so it must hold nothing of Blender's."""
        raise NotImplementedError

    def accept(self, result: object, results: BodyResults, key: str) -> None:
        """Keep the result."""
        raise NotImplementedError

    def told(self, result: object) -> Message:
        """What to report when the work is done."""
        raise NotImplementedError

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        if WORK.running:
            cls.poll_message_set("Other work is under way: wait for it, or stop it with ESC")
            return False
        return body_is_chosen(cls, context)

    def execute(self, context: bpy.types.Context) -> set[str]:
        """Do the whole work at once, as scripts want it."""
        try:
            make_steps, results, key = self._prepared(context)
            result = finished(make_steps())
        except FinishingError as error:
            self.report({"ERROR"}, for_report(error.message))
            return {"CANCELLED"}
        self._keep(result, results, key)
        return {"FINISHED"}

    def invoke(self, context: bpy.types.Context, _event: bpy.types.Event) -> set[str]:
        """Start the work in a thread and watch it."""
        if bpy.app.background:
            return self.execute(context)
        try:
            make_steps, self._results, self._key = self._prepared(context)
        except FinishingError as error:
            self.report({"ERROR"}, for_report(error.message))
            return {"CANCELLED"}
        WORK.start(self.title, make_steps)
        manager = context.window_manager
        self._timer = manager.event_timer_add(TICK_SECONDS, window=context.window)
        self._shown = ""
        manager.modal_handler_add(self)
        self._show_progress(context)
        redraw_sidebars()  # once: the buttons are grey now; how far the work is stands in the status bar
        return {"RUNNING_MODAL"}

    def modal(self, context: bpy.types.Context, event: bpy.types.Event) -> set[str]:
        """Watch the thread; everything but ESC goes on to Blender, so that the view can be turned meanwhile."""
        if event.type == "ESC" and event.value == "PRESS":
            self._clean_up(context)
            self.report({"INFO"}, for_report(Message("Stopped: nothing was changed")))
            return {"CANCELLED"}
        if event.type != "TIMER":
            return {"PASS_THROUGH"}
        worker = WORK.worker
        if worker is None:  # a new file, or the extension was disabled
            self._clean_up(context)
            return {"CANCELLED"}
        if not worker.done:
            self._show_progress(context)
            return {"PASS_THROUGH"}
        self._clean_up(context)
        if worker.error is not None:
            self.report({"ERROR"}, for_report(worker.error))
            if worker.defect is not None:  # no mistake of the user's: leave word for a report
                traceback.print_exception(worker.defect)
            return {"CANCELLED"}
        self._keep(worker.result, self._results, self._key)
        return {"FINISHED"}

    def cancel(self, context: bpy.types.Context) -> None:
        """Blender stops the operator itself, as when another file is opened."""
        self._clean_up(context)

    def _prepared(self, context: bpy.types.Context) -> tuple[Callable[[], Steps], BodyResults, str]:
        """Read what Blender knows, now; what is left to do needs no Blender."""
        body_object = context.object
        settings = settings_request(context.scene, body_object)
        arrays = read_arrays(context, body_object)
        stock = stock_arrays(context, body_object)
        results = STORE.of(body_object)
        results.read_from(arrays)
        suspect(results)
        work, cache = self.work(context), results.cache

        def make_steps() -> Steps:
            yield 0.0, "body"
            stock_body = None if stock is None else body_of(stock)
            return (yield from work(replace(settings, body=body_of(arrays), stock_body=stock_body), cache))

        return make_steps, results, settings_key(context.scene, body_object)

    def _keep(self, result: object, results: BodyResults, key: str) -> None:
        if object_of(results) is None:
            STORE.drop(results.uid)
            self.report({"WARNING"}, for_report(Message("The body was deleted meanwhile")))
            return
        self.accept(result, results, key)
        self.report({"INFO"}, for_report(self.told(result)))
        redraw_views()

    def _show_progress(self, context: bpy.types.Context) -> None:
        worker = WORK.worker
        status = Message("{work}: {stage}, {share:.0%}    ESC: Stop", work=self.title, stage=word(worker.stage), share=worker.share)
        shown = in_users_language(status)
        if shown != self._shown:
            self._shown = shown
            context.workspace.status_text_set(shown)

    def _clean_up(self, context: bpy.types.Context) -> None:
        """The one place where everything that the work has put up is taken down."""
        WORK.end()
        if self._timer is not None:
            context.window_manager.event_timer_remove(self._timer)
            self._timer = None
        for workspace in bpy.data.workspaces:
            workspace.status_text_set(None)
        redraw_views()


class FINISHING_OT_plan(_LongAction, bpy.types.Operator):
    """Lay the pass lines, time them and prove them by a simulated cut"""

    bl_idname = "finishing.plan"
    bl_label = "Plan Finishing"
    bl_options = {"REGISTER"}

    def work(self, context: bpy.types.Context) -> Callable[[Request, ResultStore], Steps]:
        return side_plans

    def accept(self, result: tuple[Plan, ...], results: BodyResults, key: str) -> None:
        results.keep_plans(result, key)
        body_object = object_of(results)
        body_object.finishing.last_radius_mm = result[0].cutter.radius

    def told(self, result: tuple[Plan, ...]) -> Message:
        lines, minutes = sum(plan.path.line_count for plan in result), sum(plan.run_time.minutes for plan in result)
        return Message("{lines} pass lines, {minutes:.1f} minutes", lines=lines, minutes=minutes)


class FINISHING_OT_survey(_LongAction, bpy.types.Operator):
    """Measure slope and curvature and try every cutter of the rack, without laying a line"""

    bl_idname = "finishing.survey"
    bl_label = "Measure Body"
    bl_options = {"REGISTER"}
    title = Message("Measuring")

    def work(self, context: bpy.types.Context) -> Callable[[Request, ResultStore], Steps]:
        return survey_steps

    def accept(self, result: Survey, results: BodyResults, key: str) -> None:
        results.keep_survey(result, key)

    def told(self, result: Survey) -> Message:
        return Message("Measured '{body}'", body=result.body.name)


class FINISHING_OT_show_fit(_LongAction, bpy.types.Operator):
    """Show on the body what this cutter of the rack cannot reach"""

    bl_idname = "finishing.show_fit"
    bl_label = "Show Fit of Cutter"
    bl_options = {"REGISTER"}
    title = Message("Rolling the cutter")

    cutter: StringProperty(name="Cutter", description="Name of the cutter on the rack", options={"SKIP_SAVE"})

    def invoke(self, context: bpy.types.Context, event: bpy.types.Event) -> set[str]:
        results, cutter = STORE.find(context.object), self._cutter(context)
        if results is not None and cutter in results.fit_maps and not results.shape_changed:
            _show_fit_map(context, cutter.name)
            return {"FINISHED"}
        return super().invoke(context, event)

    def _cutter(self, context: bpy.types.Context) -> Cutter:
        rack = scene_rack(context.scene)
        wanted = self.cutter or context.object.finishing.cutter_name or rack[0].name
        return next((c for c in rack if c.name == wanted), rack[0])

    def work(self, context: bpy.types.Context) -> Callable[[Request, ResultStore], Steps]:
        cutter = self._cutter(context)
        return lambda request, cache: fit_map_steps(request, cutter, cache)

    def accept(self, result: FitMap, results: BodyResults, key: str) -> None:
        results.keep_fit_map(result)
        _show_fit_map(bpy.context, result.cutter.name)

    def told(self, result: FitMap) -> Message:
        return Message("{cutter}: {area:.0f} mm² higher than tolerated", cutter=result.cutter.name, area=result.fit.area)


def _show_fit_map(context: bpy.types.Context, cutter_name: str) -> None:
    view = context.window_manager.finishing_view
    view.fit_cutter = cutter_name
    view.surface_map = "fit"


CLASSES = (FINISHING_OT_plan, FINISHING_OT_survey, FINISHING_OT_show_fit)
