"""Entering how long a run really took, so that later estimates follow this machine."""

from __future__ import annotations

import bpy
from bpy.props import FloatProperty

from ..finishing.core.errors import FinishingError
from ..finishing.core.message import Message
from ..finishing.motion.run_time import calibrated
from ..scene.results import STORE
from ..screen.language import for_report
from .conditions import plan_is_there


class FINISHING_OT_measured_run(bpy.types.Operator):
    """Enter how long the planned run really took on this machine: later run times are estimated with it"""

    bl_idname = "finishing.measured_run"
    bl_label = "Enter Measured Run"
    bl_options = {"REGISTER", "UNDO"}

    minutes: FloatProperty(
        name="Minutes", description="Run time in minutes as it was measured, without spindle start and tool change", default=0.0, min=0.0,
        max=6000.0, precision=2, step=10,
    )  # fmt: skip

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return plan_is_there(cls, context)

    def invoke(self, context: bpy.types.Context, _event: bpy.types.Event) -> set[str]:
        self.minutes = STORE.find(context.object).plan.run_time.minutes
        return context.window_manager.invoke_props_dialog(self)

    def execute(self, context: bpy.types.Context) -> set[str]:
        plan = STORE.find(context.object).plan
        if self.minutes <= 0:
            self.report({"ERROR"}, for_report(Message("The measured run time must be above 0 minutes")))
            return {"CANCELLED"}
        try:
            measured = calibrated(plan.request.machine, plan.run_time.total_seconds, 60 * self.minutes)
        except FinishingError as error:
            self.report({"ERROR"}, for_report(error.message))
            return {"CANCELLED"}
        machine = context.scene.finishing.machine
        machine.time_factor = measured.time_factor
        self.report({"INFO"}, for_report(Message("Time factor {factor:.3f}: plan again to see it", factor=machine.time_factor)))
        return {"FINISHED"}


CLASSES = (FINISHING_OT_measured_run,)
