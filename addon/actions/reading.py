"""Reading a finding whose pin was clicked, and the pie menu of the view."""

from __future__ import annotations

import bpy

from ..scene.active import active_plan, plan_of
from ..scene.blender_data import present
from ..scene.properties import whole_number, with_properties
from ..screen.menus import FINISHING_MT_view_pie
from ..screen.outcome_panels import draw_finding
from ..screen.panel_parts import apply_button
from .conditions import BodyAction, Outcome, PlanAction

POPUP_PIXELS, POPUP_LETTERS = 360, 50
"""Width of the box that a finding is read in, and the letters of mean width in a line of it."""


@with_properties
class FINISHING_OT_read_finding(PlanAction):
    """Read the finding that this pin stands for"""

    bl_idname = "finishing.read_finding"
    bl_label = "Read Finding"
    bl_options = {"REGISTER"}

    number: int = whole_number(name="Number", description="Number of the finding of the plan that is looked at, from 0", min=0, options={"SKIP_SAVE"})

    def invoke(self, context: bpy.types.Context, _event: bpy.types.Event) -> Outcome:
        """Show the finding beside the mouse."""
        if bpy.app.background or self.number >= len(active_plan(context).findings):
            return {"CANCELLED"}
        return present(context.window_manager).invoke_popup(self, width=POPUP_PIXELS)

    def draw(self, context: bpy.types.Context) -> None:
        """The finding with what to do, a button that turns the view to it, and one that applies it where it can be applied."""
        plan = plan_of(context)
        if plan is None or self.number >= len(plan.findings):  # planned anew meanwhile
            return
        layout, finding = present(self.layout), plan.findings[self.number]
        draw_finding(layout, finding, POPUP_LETTERS)
        if finding.changes:
            apply_button(layout, "finding", self.number)

    def execute(self, _context: bpy.types.Context) -> Outcome:
        """Nothing but reading."""
        return {"FINISHED"}


class FINISHING_OT_view_pie(BodyAction):
    """Choose map, pass lines, side and playing from a pie menu; right-click this entry to give it a key of your own"""

    bl_idname = "finishing.view_pie"
    bl_label = "Finishing Pie Menu"
    bl_options = {"REGISTER"}

    def execute(self, _context: bpy.types.Context) -> Outcome:
        """Open the pie about the mouse."""
        if not bpy.app.background:
            bpy.ops.wm.call_menu_pie(name=FINISHING_MT_view_pie.bl_idname)
        return {"FINISHED"}


CLASSES = (FINISHING_OT_read_finding, FINISHING_OT_view_pie)
