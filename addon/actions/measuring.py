"""Entering how long a run really took, so that later estimates follow this machine."""

from __future__ import annotations

import bpy

from ..finishing.core.errors import FinishingError
from ..finishing.core.message import Message
from ..finishing.motion.run_time import calibrated
from ..scene.active import active_plan, active_shop
from ..scene.blender_data import present
from ..scene.properties import number, with_properties
from ..screen.language import for_report
from .conditions import Outcome, PlanAction


@with_properties
class FINISHING_OT_measured_run(PlanAction):
    """Enter how long the planned run really took on this machine: later run times are estimated with it"""

    bl_idname = "finishing.measured_run"
    bl_label = "Enter Measured Run"
    bl_options = {"REGISTER", "UNDO"}

    minutes: float = number(
        name="Minutes",
        description="Run time in minutes as it was measured, without spindle start and tool change",
        default=0.0,
        min=0.0,
        max=6000.0,
        precision=2,
        step=10,
    )

    def invoke(self, context: bpy.types.Context, _event: bpy.types.Event) -> Outcome:
        """Ask for the minutes, beginning with the estimate."""
        self.minutes = active_plan(context).run_time.minutes
        return present(context.window_manager).invoke_props_dialog(self)

    def execute(self, context: bpy.types.Context) -> Outcome:
        """Keep the factor with the machine."""
        plan = active_plan(context)
        if self.minutes <= 0:
            self.report({"ERROR"}, for_report(Message("The measured run time must be above 0 minutes")))
            return {"CANCELLED"}
        try:
            measured = calibrated(plan.request.machine, plan.run_time.total_seconds, 60 * self.minutes)
        except FinishingError as error:
            self.report({"ERROR"}, for_report(error.message))
            return {"CANCELLED"}
        machine = active_shop(context).machine
        machine.time_factor = measured.time_factor
        self.report({"INFO"}, for_report(Message("Time factor {factor:.3f}: plan again to see it", factor=machine.time_factor)))
        return {"FINISHED"}


CLASSES = (FINISHING_OT_measured_run,)
