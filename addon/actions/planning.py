"""Planning, surveying and rolling a cutter over the body: long work with progress, stopped by ESC."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Generic, TypeVar, cast

import bpy

from ..finishing.core.errors import FinishingError
from ..finishing.core.message import Message
from ..finishing.core.path import Path
from ..finishing.core.result_store import ResultStore
from ..finishing.core.stepping import between, finished
from ..finishing.files.run_log_csv import read_log, user_log_file
from ..finishing.job.cutter import Cutter, cutter_words
from ..finishing.job.request import Request
from ..finishing.job.stock import other_side
from ..finishing.planning.both_sides import BothSides, both_sides_steps
from ..finishing.planning.result import Plan
from ..finishing.planning.smaller_cutters import side_plans
from ..finishing.planning.survey import FitMap, Survey, first_fit_steps, first_maps_steps, fit_map_steps, survey_steps
from ..scene.active import active_body, active_settings, results_of
from ..scene.background import WORK, Steps
from ..scene.blender_data import present
from ..scene.body_settings import settings_of
from ..scene.change_watching import suspect
from ..scene.mesh_reading import body_of, known_body_steps, read_arrays
from ..scene.properties import text_line, with_properties
from ..scene.redrawing import redraw_views
from ..scene.request_building import scene_rack, settings_key, settings_request, stock_arrays
from ..scene.results import STORE, BodyResults, object_of
from ..scene.view_settings import view_of
from ..screen.language import for_report
from .conditions import BodyAction, Outcome
from .watched_work import WatchedWork

FIRST_MAPS_SHARE, FIRST_FIT_SHARE = 0.05, 0.2
"""Shares of the progress by the end of the first maps and of the first fit; they only weigh what is shown."""

LINES = "path"
"""Stage whose lines are shown as soon as it has made them."""

Result = TypeVar("Result")


class LongAction(WatchedWork, BodyAction, Generic[Result]):
    """What the long operators share. Subclasses say what to run and what to do with the result."""

    maps_first = False
    _results: BodyResults | None = None
    _first: list[Survey | FitMap] | None = None
    _lent_map = ""

    def work(self, context: bpy.types.Context) -> Callable[[Request, ResultStore], Steps]:
        """What to run; it is run in a thread, so it must hold nothing of Blender's."""
        raise NotImplementedError

    def accept(self, result: Result, results: BodyResults, key: str) -> None:
        """Keep the result."""
        raise NotImplementedError

    def summary(self, result: Result) -> Message:
        """What to report when the work is done."""
        raise NotImplementedError

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        """Whether a body is active and no other work is under way."""
        return cls.nothing_under_way() and super().poll(context)

    def execute(self, context: bpy.types.Context) -> Outcome:
        """Do the whole work at once, as scripts want it."""
        try:
            make_steps, self._results, key = self._prepared(context)
            result = cast(Result, finished(make_steps()))
        except FinishingError as error:
            self.given_up()
            self.report({"ERROR"}, for_report(error.message))
            return {"CANCELLED"}
        self.keep(result, present(self._results), key)
        return {"FINISHED"}

    def invoke(self, context: bpy.types.Context, _event: bpy.types.Event) -> Outcome:
        """Start the work in a thread and watch it."""
        if bpy.app.background:
            return self.execute(context)
        try:
            make_steps, self._results, self._key = self._prepared(context)
        except FinishingError as error:
            self.report({"ERROR"}, for_report(error.message))
            return {"CANCELLED"}
        return self.start(context, make_steps)

    def ended(self, context: bpy.types.Context, result: object) -> Outcome:
        """Keep the result."""
        self.keep(cast(Result, result), present(self._results), self._key)
        return {"FINISHED"}

    def given_up(self) -> None:
        """What was there before stays as it was, out of date or not."""
        if self._results is not None:
            self._results.drop_reading()

    def _prepared(self, context: bpy.types.Context) -> tuple[Callable[[], Steps], BodyResults, str]:
        """Read what Blender knows, now; what is left to do needs no Blender."""
        body_object, scene = active_body(context), present(context.scene)
        settings = settings_request(scene, body_object)
        arrays = read_arrays(context, body_object)
        stock = stock_arrays(context, body_object)
        log = read_log(user_log_file())
        results = STORE.of(body_object)
        results.begin_reading(arrays)
        suspect(results)
        work, cache = self.work(context), results.cache
        first: list[Survey | FitMap] = []
        self._first = first
        wanted = self.maps_first and results.newest is None
        cache.watch(*((LINES,) if wanted else ()))

        def make_steps() -> Steps:
            yield 0.0, "body"
            stock_body = None if stock is None else body_of(stock)
            body = yield from known_body_steps(arrays, cache)
            whole = replace(settings, body=body, stock_body=stock_body, run_log=log)
            if wanted:
                first.append((yield from between(first_maps_steps(whole, cache), 0.0, FIRST_MAPS_SHARE)))
                first.append((yield from between(first_fit_steps(whole, cache), FIRST_MAPS_SHARE, FIRST_FIT_SHARE)))
            return (yield from between(work(whole, cache), FIRST_FIT_SHARE if wanted else 0.0, 1.0))

        return make_steps, results, settings_key(scene, body_object)

    def keep(self, result: Result, results: BodyResults, key: str) -> None:
        """Take the result, unless the body is gone."""
        if self.body_is_gone(results):
            return
        results.take_reading()
        self.accept(result, results, key)
        self.report({"INFO"}, for_report(self.summary(result)))
        redraw_views()

    def body_is_gone(self, results: BodyResults) -> bool:
        """Whether the body was deleted during the work; says so, and forgets its results."""
        if object_of(results) is not None:
            return False
        STORE.drop(results.uid)
        self.report({"WARNING"}, for_report(Message("The body was deleted meanwhile")))
        return True

    def while_working(self, context: bpy.types.Context) -> None:
        """Show what is there already, as long as there is no other result: slope and curvature, then what the cutter leaves, then lines. Where no
        map is chosen, slope and fit are shown until there are lines.
        """
        results = self._results
        if results is None:
            return
        while self._first:
            picture = self._first.pop(0)
            if isinstance(picture, Survey):
                results.show_preview(picture)
                self._lend(context, "slope")
            else:
                results.keep_fit_map(picture)
                self._lend(context, "fit", picture.cutter.name)
        made = results.cache.newest(LINES) if results.preview is not None else None
        if made is not None and results.preview is not None:
            request, path = cast("tuple[Request, Path]", made)
            # Both sides are planned from one store, and smaller cutters after the first.
            if request.side == results.preview.request.side and request.remaining is None:
                results.show_lines(path)
                self._lend(context, "none")

    def _lend(self, context: bpy.types.Context, name: str, cutter: str = "") -> None:
        """Show a map for as long as there is nothing better, unless the user has chosen one."""
        view = view_of(context)
        if view.surface_map == (self._lent_map or "none"):
            view.surface_map, view.fit_cutter, self._lent_map = name, cutter, name
        redraw_views()

    def taken_down(self, context: bpy.types.Context) -> None:
        """The map that was lent until the work was done."""
        if self._lent_map and view_of(context).surface_map == self._lent_map:
            view_of(context).surface_map = "none"
        self._lent_map = ""
        if self._results is not None:
            self._results.cache.watch()


class FINISHING_OT_plan(LongAction[tuple[Plan, ...]]):
    """Lay the pass lines, time them and prove them by a simulated cut"""

    bl_idname = "finishing.plan"
    bl_label = "Plan Finishing"
    bl_options = {"REGISTER"}
    maps_first = True

    def work(self, context: bpy.types.Context) -> Callable[[Request, ResultStore], Steps]:
        """Plan the side with the chosen cutter, and with smaller ones where they are wanted."""
        return side_plans

    def accept(self, result: tuple[Plan, ...], results: BodyResults, key: str) -> None:
        """Keep the plans; spacing on flat ground is shown for the cutter of the first."""
        results.keep_plans(result, key)
        _after_plans(results)

    def summary(self, result: tuple[Plan, ...]) -> Message:
        """Lines and minutes of all plans."""
        return _lines_and_minutes(result)


class FINISHING_OT_plan_both(LongAction[BothSides]):
    """Plan both sides, the one that is set and the other one, as one job"""

    bl_idname = "finishing.plan_both"
    bl_label = "Plan Both Sides"
    bl_options = {"REGISTER"}
    maps_first = True
    _other_key = ""

    def work(self, context: bpy.types.Context) -> Callable[[Request, ResultStore], Steps]:
        """Plan one side after the other."""
        side = other_side(active_settings(context).side)
        self._other_key = settings_key(present(context.scene), active_body(context), side)
        return both_sides_steps

    def accept(self, result: BothSides, results: BodyResults, key: str) -> None:
        """Keep the plans of both; the side that is set is looked at."""
        results.forget_plans()
        if result.others:
            results.keep_plans(result.others, self._other_key)
        results.keep_plans(result.plans, key)
        _after_plans(results)
        if result.why_none is not None:
            self.report({"WARNING"}, for_report(result.why_none))

    def summary(self, result: BothSides) -> Message:
        """Lines and minutes of all plans."""
        return _lines_and_minutes((*result.plans, *result.others))


def _after_plans(results: BodyResults) -> None:
    """What new plans change beside themselves: the fit that is shown is that of their cutter, as is the radius that spacings are shown for."""
    view_of(bpy.context).fit_cutter = ""
    settings_of(present(object_of(results))).last_radius_mm = results.plans[0].cutter.radius


def _lines_and_minutes(plans: Sequence[Plan]) -> Message:
    """Lines and minutes of plans in all."""
    lines, minutes = sum(plan.path.line_count for plan in plans), sum(plan.run_time.minutes for plan in plans)
    return Message("{lines} pass lines, {minutes:.1f} minutes", lines=lines, minutes=minutes)


class FINISHING_OT_cancel(bpy.types.Operator):
    """Stop the work that is under way; what was there before stays"""

    bl_idname = "finishing.cancel"
    bl_label = "Cancel"
    bl_options = {"REGISTER"}

    @classmethod
    def poll(cls, _context: bpy.types.Context) -> bool:
        """Whether any work is under way."""
        if not WORK.running:
            cls.poll_message_set("No work is under way")
            return False
        return True

    def execute(self, _context: bpy.types.Context) -> Outcome:
        """Stop it; the action that watches it cleans up at its next tick."""
        WORK.end()
        return {"FINISHED"}


class FINISHING_OT_survey(LongAction[Survey]):
    """Measure slope and curvature and try every cutter of the rack, without laying a line"""

    bl_idname = "finishing.survey"
    bl_label = "Measure Body"
    bl_options = {"REGISTER"}
    title = Message("Measuring")

    def work(self, context: bpy.types.Context) -> Callable[[Request, ResultStore], Steps]:
        """Measure the side."""
        return survey_steps

    def accept(self, result: Survey, results: BodyResults, key: str) -> None:
        """Keep the survey."""
        results.keep_survey(result, key)
        view = view_of(bpy.context)
        if view.surface_map == "none":
            view.surface_map = "curvature"

    def summary(self, result: Survey) -> Message:
        """What was measured."""
        return Message("Measured '{body}'", body=result.body.name)


@with_properties
class FINISHING_OT_show_fit(LongAction[FitMap]):
    """Show on the body what this cutter of the rack cannot reach"""

    bl_idname = "finishing.show_fit"
    bl_label = "Show Fit of Cutter"
    bl_options = {"REGISTER"}
    title = Message("Rolling the cutter")

    cutter: str = text_line(name="Cutter", description="Name of the cutter on the rack", options={"SKIP_SAVE"})

    def invoke(self, context: bpy.types.Context, event: bpy.types.Event) -> Outcome:
        """Show the map at once when it is there."""
        results, cutter = results_of(context), self._cutter(context)
        if results is not None and cutter in results.fit_maps and not results.last_reading.changed:
            _show_fit_map(context, cutter.name)
            return {"FINISHED"}
        return super().invoke(context, event)

    def _cutter(self, context: bpy.types.Context) -> Cutter:
        rack = scene_rack(present(context.scene))
        wanted = self.cutter or active_settings(context).cutter_name or rack[0].name
        return next((c for c in rack if c.name == wanted), rack[0])

    def work(self, context: bpy.types.Context) -> Callable[[Request, ResultStore], Steps]:
        """Roll the cutter over the side."""
        cutter = self._cutter(context)
        return lambda request, cache: fit_map_steps(request, cutter, cache)

    def accept(self, result: FitMap, results: BodyResults, key: str) -> None:
        """Keep the map and show it."""
        results.keep_fit_map(result)
        _show_fit_map(bpy.context, result.cutter.name)

    def summary(self, result: FitMap) -> Message:
        """How much is left."""
        return Message("{cutter}: {area:.0f} mm² higher than tolerated", cutter=cutter_words(result.cutter), area=result.fit.area)


def _show_fit_map(context: bpy.types.Context, cutter_name: str) -> None:
    view = view_of(context)
    view.fit_cutter = cutter_name
    view.surface_map = "fit"


CLASSES = (FINISHING_OT_plan, FINISHING_OT_plan_both, FINISHING_OT_cancel, FINISHING_OT_survey, FINISHING_OT_show_fit)
