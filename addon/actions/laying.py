"""Laying a body flat that stands on its edge."""

from __future__ import annotations

import bpy

from ..scene.active import active_body
from ..scene.body_settings import settings_of
from ..scene.laying import lay_flat, standing_axis
from .conditions import BodyAction, Outcome, object_mode_is_on


class FINISHING_OT_lay_flat(BodyAction):
    """Turn the body by a quarter, so that it lies as it will on the machine"""

    bl_idname = "finishing.lay_flat"
    bl_label = "Lay Flat"
    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        """Whether the active body stands on its edge."""
        if not super().poll(context) or not object_mode_is_on(cls, context):
            return False
        if standing_axis(active_body(context)) is None:
            cls.poll_message_set("The body lies flat already")
            return False
        return True

    def execute(self, context: bpy.types.Context) -> Outcome:
        """Turn the object; the axis that looks up is found by its size again."""
        body_object = active_body(context)
        lay_flat(body_object)
        settings_of(body_object).up = "auto"
        return {"FINISHED"}


CLASSES = (FINISHING_OT_lay_flat,)
