"""Turning the view to a finding's place, and playing the run."""

from __future__ import annotations

import time

import bpy
import numpy as np
from bpy.props import FloatVectorProperty

from ..overlay.drawing import world_from_job
from ..scene.results import STORE
from ..screen.redrawing import redraw_views
from .conditions import plan_is_there

CLOSE_MM = 90.0
"""How much of the ground the view shows round a place."""

TICK_SECONDS = 0.05


class FINISHING_OT_look_at(bpy.types.Operator):
    """Turn the view to the place that this finding is about"""

    bl_idname = "finishing.look_at"
    bl_label = "Look at Place"
    bl_options = {"REGISTER"}

    place: FloatVectorProperty(name="Place", description="Place in job mm", size=3, options={"SKIP_SAVE"})

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        if not plan_is_there(cls, context):
            return False
        if context.region_data is None:
            cls.poll_message_set("Use this in a 3D view")
            return False
        return True

    def execute(self, context: bpy.types.Context) -> set[str]:
        results = STORE.find(context.object)
        world = np.array(world_from_job(results, context.object)) @ [*self.place, 1.0]
        view = context.region_data
        view.view_location = world[:3]
        view.view_distance = CLOSE_MM / results.scale
        redraw_views()
        return {"FINISHED"}


class FINISHING_OT_play(bpy.types.Operator):
    """Play the run: the cutter moves along the lines with the elapsed run time. Play again or ESC stops it"""

    bl_idname = "finishing.play"
    bl_label = "Play Run"
    bl_options = {"REGISTER"}

    _timer = None

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return plan_is_there(cls, context)

    def execute(self, context: bpy.types.Context) -> set[str]:
        """Without a window the run goes to its end at once."""
        view = context.window_manager.finishing_view
        view.show_cutter = True
        view.playhead = STORE.find(context.object).plan.run_time.total_seconds
        return {"FINISHED"}

    def invoke(self, context: bpy.types.Context, _event: bpy.types.Event) -> set[str]:
        view = context.window_manager.finishing_view
        if bpy.app.background:
            return self.execute(context)
        if view.playing:
            view.playing = False
            return {"FINISHED"}
        self._uid = context.object.session_uid
        end = STORE.find(context.object).plan.run_time.total_seconds
        view.show_cutter, view.playing = True, True
        if view.playhead >= end - 1e-3:
            view.playhead = 0.0
        self._last = time.perf_counter()
        self._timer = context.window_manager.event_timer_add(TICK_SECONDS, window=context.window)
        context.window_manager.modal_handler_add(self)
        return {"RUNNING_MODAL"}

    def modal(self, context: bpy.types.Context, event: bpy.types.Event) -> set[str]:
        view = context.window_manager.finishing_view
        if event.type == "ESC" and event.value == "PRESS":
            view.playing = False
        plan = next((results.plan for results in STORE if results.uid == self._uid), None)
        if not view.playing or plan is None:
            return self._stop(context)
        if event.type != "TIMER":
            return {"PASS_THROUGH"}
        now = time.perf_counter()
        view.playhead = min(view.playhead + (now - self._last) * view.play_speed, plan.run_time.total_seconds)
        self._last = now
        if view.playhead >= plan.run_time.total_seconds - 1e-3:
            return self._stop(context)
        return {"PASS_THROUGH"}

    def cancel(self, context: bpy.types.Context) -> None:
        """Blender stops the operator itself, as when another file is opened."""
        self._stop(context)

    def _stop(self, context: bpy.types.Context) -> set[str]:
        context.window_manager.finishing_view.playing = False
        if self._timer is not None:
            context.window_manager.event_timer_remove(self._timer)
            self._timer = None
        redraw_views()
        return {"FINISHED"}


CLASSES = (FINISHING_OT_look_at, FINISHING_OT_play)
