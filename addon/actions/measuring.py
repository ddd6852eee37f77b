"""Entering how long a run really took, and keeping it in the run log, so that later estimates follow this machine."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import bpy

from ..finishing.core.errors import FinishingError
from ..finishing.core.message import Message
from ..finishing.files.plan_record import plan_record
from ..finishing.files.run_log_csv import add_run, run_of_record, user_log_file
from ..finishing.motion.run_time import calibrated
from ..scene.active import active_plan, active_shop
from ..scene.blender_data import present
from ..scene.properties import number, text_line, whole_number, with_properties
from ..screen.language import for_report
from .conditions import Outcome, PlanAction


def _run_minutes() -> float:
    """Minutes that a run really took."""
    words = "Run time in minutes as it was measured, without spindle start and tool change"
    return number(name="Minutes", description=words, default=0.0, min=0.0, max=6000.0, precision=2, step=10)


class _RunAction(PlanAction):
    """What asks for the minutes of a run; Blender wants the property on the action itself."""

    minutes: float

    def invoke(self, context: bpy.types.Context, _event: bpy.types.Event) -> Outcome:
        """Ask for the minutes, beginning with the estimate."""
        self.minutes = active_plan(context).run_time.minutes
        return present(context.window_manager).invoke_props_dialog(self)


@with_properties
class FINISHING_OT_measured_run(_RunAction):
    """Enter how long the planned run really took on this machine: later run times are estimated with it"""

    bl_idname = "finishing.measured_run"
    bl_label = "Enter Measured Run"
    bl_options = {"REGISTER", "UNDO"}

    minutes: float = _run_minutes()

    def execute(self, context: bpy.types.Context) -> Outcome:
        """Keep the factor with the machine."""
        plan = active_plan(context)
        if self.minutes <= 0:
            self.report({"ERROR"}, for_report(Message("The measured run time must be above 0 minutes")))
            return {"CANCELLED"}
        try:
            measured = calibrated(replace(plan.request.machine, time_factor=plan.time_factor), plan.run_time.total_seconds, 60 * self.minutes)
        except FinishingError as error:
            self.report({"ERROR"}, for_report(error.message))
            return {"CANCELLED"}
        machine = active_shop(context).machine
        machine.time_factor = measured.time_factor
        self.report({"INFO"}, for_report(Message("Time factor {factor:.3f}: plan again to see it", factor=machine.time_factor)))
        return {"FINISHED"}


@with_properties
class FINISHING_OT_log_run(_RunAction):
    """Keep the planned run in the log: the next plan for this machine, cutter and wood takes the medians of minutes and grit"""

    bl_idname = "finishing.log_run"
    bl_label = "Log Run"
    bl_options = {"REGISTER"}

    minutes: float = _run_minutes()
    grit: int = whole_number(name="Grit", description="Grit that sanding began with, 0 where it is not known", default=0, min=0, max=1000)
    remarks: str = text_line(name="Remarks", description="What is worth knowing next time", default="")

    def execute(self, context: bpy.types.Context) -> Outcome:
        """Write the run into the log."""
        file = user_log_file()
        try:
            record = plan_record(active_plan(context))
            add_run(file, run_of_record(record, date.today().isoformat(), round(self.minutes, 3), self.grit or None, self.remarks))
        except FinishingError as error:
            self.report({"ERROR"}, for_report(error.message))
            return {"CANCELLED"}
        self.report({"INFO"}, for_report(Message("Kept in {file}: the next plan learns from it", file=str(file))))
        return {"FINISHED"}


CLASSES = (FINISHING_OT_measured_run, FINISHING_OT_log_run)
