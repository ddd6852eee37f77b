"""Applying what a plan suggests: findings, the answer to a time budget, and measures against missing it."""

from __future__ import annotations

import bpy

from ..finishing.core.errors import FinishingError
from ..finishing.core.finding import Change
from ..finishing.core.message import Message
from ..finishing.planning.result import Plan
from ..scene.active import active_body, active_plan
from ..scene.blender_data import present
from ..scene.change_applying import apply_changes
from ..scene.properties import choice, whole_number, with_properties
from ..screen.language import for_report
from .conditions import Outcome, PlanAction, object_mode_is_on

KINDS = (
    ("finding", "Finding", "What a finding suggests"),
    ("budget", "Time Budget", "What the time budget speaks for"),
    ("measure", "Measure", "A measure that changes the run time"),
)
"""What suggests something: identifier, name, tooltip."""


@with_properties
class FINISHING_OT_apply(PlanAction):
    """Set what is suggested here: plan again to see what it does"""

    bl_idname = "finishing.apply"
    bl_label = "Apply"
    bl_options = {"REGISTER", "UNDO"}

    kind: str = choice(name="Kind", description="What suggests it", items=KINDS, options={"SKIP_SAVE"})
    number: int = whole_number(name="Number", description="Number of the finding or measure, from 0", default=0, min=0, options={"SKIP_SAVE"})

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        """Whether the active body has a plan, in Object Mode."""
        return super().poll(context) and object_mode_is_on(cls, context)

    def execute(self, context: bpy.types.Context) -> Outcome:
        """Put the suggested settings on the body."""
        changes = suggested(active_plan(context), self.kind, self.number)
        if not changes:
            self.report({"ERROR"}, for_report(Message("There is no such suggestion any more: plan the body again")))
            return {"CANCELLED"}
        try:
            apply_changes(present(context.scene), active_body(context), changes)
        except FinishingError as error:
            self.report({"ERROR"}, for_report(error.message))
            return {"CANCELLED"}
        return {"FINISHED"}


def suggested(plan: Plan, kind: str, number: int) -> tuple[Change, ...]:
    """The changes of one suggestion of a plan; none where there is no such suggestion."""
    if kind == "finding":
        return plan.findings[number].changes if number < len(plan.findings) else ()
    if plan.budget is None:
        return ()
    if kind == "budget":
        return plan.budget.changes
    return plan.budget.measures[number].changes if number < len(plan.budget.measures) else ()


CLASSES = (FINISHING_OT_apply,)
