"""Choosing a cutter and a cusp height by a press on the chart."""

from __future__ import annotations

import bpy

from ..scene.active import active_settings
from ..scene.blender_data import present
from ..scene.properties import number, text_line, with_properties
from ..scene.rack_settings import fill_rack
from .conditions import BodyAction, Outcome


@with_properties
class FINISHING_OT_choose_on_chart(BodyAction):
    """Take the cutter and the cusp height of a place on the chart of minutes"""

    bl_idname = "finishing.choose_on_chart"
    bl_label = "Choose on Chart"
    bl_options = {"REGISTER", "UNDO"}

    cutter: str = text_line(name="Cutter", description="Name of the cutter on the rack", options={"SKIP_SAVE"})
    cusp: float = number(name="Cusp Height (mm)", description="Cusp height in mm", default=0.05, min=0.001, max=5.0, precision=3)

    def execute(self, context: bpy.types.Context) -> Outcome:
        """Set both; the time budget says no more how fine."""
        fill_rack(present(context.scene))
        settings = active_settings(context)
        settings.cutter_name, settings.following_cutters = self.cutter, ""
        settings.finish, settings.cusp_mm, settings.meet_budget = "cusp", self.cusp, False
        return {"FINISHED"}


CLASSES = (FINISHING_OT_choose_on_chart,)
