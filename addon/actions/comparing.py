"""Keeping plans for comparing, choosing one of them, and looking at the plan of another cutter."""

from __future__ import annotations

import json

import bpy
import numpy as np
from bpy.props import IntProperty

from ..finishing.core.message import Message
from ..finishing.files.plan_record import settings_record
from ..finishing.planning.comparison import figures_of, figures_record
from ..scene.rack_settings import free_name
from ..scene.results import STORE
from ..scene.settings_taking import take_settings
from ..screen.language import for_report
from ..screen.redrawing import redraw_views
from .conditions import body_is_chosen, plan_is_there


class FINISHING_OT_keep_plan(bpy.types.Operator):
    """Keep the figures and settings of this plan, to set it beside others"""

    bl_idname = "finishing.keep_plan"
    bl_label = "Keep for Comparing"
    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return plan_is_there(cls, context)

    def execute(self, context: bpy.types.Context) -> set[str]:
        body, plan = context.object.finishing, STORE.find(context.object).plans[0]
        name = free_name(f"{plan.cutter.diameter:g} mm, cusp {plan.request.cusp:g}", {item.name for item in body.kept_plans})
        kept = {"figures": figures_record(figures_of(plan, name)), "settings": settings_record(plan.request)}
        item = body.kept_plans.add()
        item.name, item.text = name, json.dumps(kept, default=lambda value: value.item() if isinstance(value, np.generic) else str(value))
        body.active_kept = len(body.kept_plans) - 1
        return {"FINISHED"}


class FINISHING_OT_choose_plan(bpy.types.Operator):
    """Choose the active one of the kept plans: its settings become those of the body, and it is marked as chosen"""

    bl_idname = "finishing.choose_plan"
    bl_label = "Choose This Plan"
    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        if not body_is_chosen(cls, context):
            return False
        if len(context.object.finishing.kept_plans) == 0:
            cls.poll_message_set("Keep a plan for comparing first")
            return False
        return True

    def execute(self, context: bpy.types.Context) -> set[str]:
        body = context.object.finishing
        at = min(body.active_kept, len(body.kept_plans) - 1)
        for number, item in enumerate(body.kept_plans):
            item.chosen = number == at
        kept = body.kept_plans[at]
        take_settings(context.scene, context.object, json.loads(kept.text)["settings"])
        self.report({"INFO"}, for_report(Message("The settings of {plan} are taken: plan again for its lines", plan=kept.name)))
        return {"FINISHED"}


class FINISHING_OT_show_plan(bpy.types.Operator):
    """Look at the plan of this cutter: its lines, maps and findings"""

    bl_idname = "finishing.show_plan"
    bl_label = "Show Plan of Cutter"
    bl_options = {"REGISTER"}

    number: IntProperty(name="Number", description="Number of the cutter in running order, from 0", default=0, min=0, options={"SKIP_SAVE"})

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return plan_is_there(cls, context)

    def execute(self, context: bpy.types.Context) -> set[str]:
        results = STORE.find(context.object)
        results.show(min(self.number, len(results.plans) - 1))
        redraw_views()
        return {"FINISHED"}


CLASSES = (FINISHING_OT_keep_plan, FINISHING_OT_choose_plan, FINISHING_OT_show_plan)
