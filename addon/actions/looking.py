"""Turning the view to a finding's place, and playing the run."""

from __future__ import annotations

import time

import bpy
import numpy as np

from ..finishing.core.message import Message
from ..scene.active import active_body, active_plan, active_results
from ..scene.blender_data import present
from ..scene.properties import triple, with_properties
from ..scene.redrawing import redraw_views
from ..scene.results import STORE
from ..scene.view_settings import view_of
from ..screen.language import for_report
from .conditions import Outcome, PlanAction

CLOSE_MM = 90.0
"""How much of the ground the view shows round a place."""

TICK_SECONDS = 0.025
"""Time between two pictures of a run that is played."""

END_SECONDS = 1e-3
"""A playhead as near as this to the end has reached it: Blender keeps it in single precision."""


@with_properties
class FINISHING_OT_look_at(PlanAction):
    """Turn the view to the place that this finding is about"""

    bl_idname = "finishing.look_at"
    bl_label = "Look at Place"
    bl_options = {"REGISTER"}

    place: tuple[float, float, float] = triple(name="Place", description="Place in job mm", size=3, options={"SKIP_SAVE"})

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        """Whether there is a plan, in a 3D view."""
        if not super().poll(context):
            return False
        if context.region_data is None:
            cls.poll_message_set("Use this in a 3D view")
            return False
        return True

    def execute(self, context: bpy.types.Context) -> Outcome:
        """Turn the view about the place and come close to it."""
        results, body_object = active_results(context), active_body(context)
        world_from_job = results.world_from_job(body_object)
        if world_from_job is None:
            self.report({"ERROR"}, for_report(Message("'{body}' is scaled to nothing: give it a size first.", body=body_object.name)))
            return {"CANCELLED"}
        x, y, z = world_from_job[:3] @ np.array([*self.place, 1.0])
        view = present(context.region_data)
        view.view_location = (float(x), float(y), float(z))
        view.view_distance = CLOSE_MM / results.source.scale
        redraw_views()
        return {"FINISHED"}


class FINISHING_OT_play(PlanAction):
    """Play the run: the cutter moves along the lines with the elapsed run time. Play again or ESC stops it"""

    bl_idname = "finishing.play"
    bl_label = "Play Run"
    bl_options = {"REGISTER"}

    _timer: bpy.types.Timer | None = None
    _uid = 0
    _last = 0.0

    def execute(self, context: bpy.types.Context) -> Outcome:
        """Without a window the run goes to its end at once."""
        view = view_of(context)
        view.show_cutter = True
        view.playhead = active_plan(context).run_time.total_seconds
        return {"FINISHED"}

    def invoke(self, context: bpy.types.Context, _event: bpy.types.Event) -> Outcome:
        """Start to play, or stop a run that is being played."""
        view = view_of(context)
        if bpy.app.background:
            return self.execute(context)
        if view.playing:
            view.playing = False
            return {"FINISHED"}
        self._uid = active_body(context).session_uid
        view.show_cutter, view.playing = True, True
        if view.playhead >= active_plan(context).run_time.total_seconds - END_SECONDS:
            view.playhead = 0.0
        self._last = time.perf_counter()
        manager = present(context.window_manager)
        self._timer = manager.event_timer_add(TICK_SECONDS, window=context.window)
        manager.modal_handler_add(self)
        return {"RUNNING_MODAL"}

    def modal(self, context: bpy.types.Context, event: bpy.types.Event) -> Outcome:
        """Move the playhead with every tick of the timer; all else goes on to Blender."""
        view = view_of(context)
        if event.type == "ESC" and event.value == "PRESS":
            view.playing = False
        results = STORE.with_uid(self._uid)
        plan = None if results is None else results.plan
        if not view.playing or plan is None:
            return self._stop(context)
        if event.type != "TIMER":
            return {"PASS_THROUGH"}
        now = time.perf_counter()
        view.playhead = min(view.playhead + (now - self._last) * view.play_speed, plan.run_time.total_seconds)
        self._last = now
        if view.playhead >= plan.run_time.total_seconds - END_SECONDS:
            return self._stop(context)
        return {"PASS_THROUGH"}

    def cancel(self, context: bpy.types.Context) -> None:
        """Blender stops the operator itself, as when another file is opened."""
        self._stop(context)

    def _stop(self, context: bpy.types.Context) -> Outcome:
        view_of(context).playing = False
        if self._timer is not None:
            present(context.window_manager).event_timer_remove(self._timer)
            self._timer = None
        redraw_views()
        return {"FINISHED"}


CLASSES = (FINISHING_OT_look_at, FINISHING_OT_play)
