"""Keeping plans for comparing, choosing one of them, and looking at the plan of another cutter."""

from __future__ import annotations

import bpy

from ..finishing.core.errors import FinishingError
from ..finishing.core.message import Message
from ..scene.active import active_body, active_results, active_settings
from ..scene.blender_data import present
from ..scene.kept_plans import keep_plan, kept_settings
from ..scene.properties import whole_number, with_properties
from ..scene.redrawing import redraw_views
from ..scene.request_building import settings_or_usual
from ..scene.settings_taking import take_settings
from ..screen.language import for_report
from .conditions import BodyAction, Outcome, PlanAction


class FINISHING_OT_keep_plan(PlanAction):
    """Keep the figures and settings of this plan, to set it beside others"""

    bl_idname = "finishing.keep_plan"
    bl_label = "Keep for Comparing"
    bl_options = {"REGISTER", "UNDO"}

    def execute(self, context: bpy.types.Context) -> Outcome:
        """Append the plan to those that are kept."""
        keep_plan(active_settings(context), active_results(context).plans[0])
        return {"FINISHED"}


class FINISHING_OT_choose_plan(BodyAction):
    """Choose the active one of the kept plans: its settings become those of the body, and it is marked as chosen"""

    bl_idname = "finishing.choose_plan"
    bl_label = "Choose This Plan"
    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        """Whether there is a kept plan."""
        if not super().poll(context):
            return False
        if len(active_settings(context).kept_plans) == 0:
            cls.poll_message_set("Keep a plan for comparing first")
            return False
        return True

    def execute(self, context: bpy.types.Context) -> Outcome:
        """Take the settings of the kept plan."""
        body = active_settings(context)
        at = min(body.active_kept, len(body.kept_plans) - 1)
        kept = body.kept_plans[at]
        try:
            settings = kept_settings(kept, settings_or_usual(present(context.scene), active_body(context)))
        except FinishingError as error:
            self.report({"ERROR"}, for_report(error.message))
            return {"CANCELLED"}
        for number, item in enumerate(body.kept_plans):
            item.chosen = number == at
        take_settings(present(context.scene), active_body(context), settings)
        self.report({"INFO"}, for_report(Message("The settings of {plan} are taken: plan again for its lines", plan=kept.name)))
        return {"FINISHED"}


@with_properties
class FINISHING_OT_show_plan(PlanAction):
    """Look at the plan of this cutter: its lines, maps and findings"""

    bl_idname = "finishing.show_plan"
    bl_label = "Show Plan of Cutter"
    bl_options = {"REGISTER"}

    number: int = whole_number(name="Number", description="Number of the cutter in running order, from 0", default=0, min=0, options={"SKIP_SAVE"})

    def execute(self, context: bpy.types.Context) -> Outcome:
        """Look at another plan of the side."""
        results = active_results(context)
        results.show(min(self.number, len(results.plans) - 1))
        redraw_views()
        return {"FINISHED"}


CLASSES = (FINISHING_OT_keep_plan, FINISHING_OT_choose_plan, FINISHING_OT_show_plan)
