"""Marking ground that is skipped: from the selection, or cleared."""

from __future__ import annotations

import math

import bpy
import numpy as np

from ..finishing.core.errors import FinishingError
from ..finishing.core.message import Message
from ..finishing.job.ground_settings import LEFT_TO_FLAT_CUTTERS, RegionSettings, left_to_flat_cutters
from ..scene.active import active_body, active_settings
from ..scene.blender_data import mesh_of, values_of
from ..scene.properties import switch, with_properties
from ..scene.skip_marks import clear_marks, mark_faces
from ..screen.language import for_report
from .conditions import BodyAction, Outcome


@with_properties
class FINISHING_OT_skip_selected(BodyAction):
    """Skip the faces that are selected in Edit Mode, or take them back"""

    bl_idname = "finishing.skip_selected"
    bl_label = "Skip Selected Faces"
    bl_options = {"REGISTER", "UNDO"}

    clear: bool = switch(name="Take Back", description="Plan the selected faces again instead of skipping them")

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        """Whether faces can be selected. In Edit Mode Blender keeps count of them; else execute looks, since counting takes time."""
        if not super().poll(context):
            return False
        mesh = mesh_of(active_body(context))
        if (mesh.total_face_sel if context.mode == "EDIT_MESH" else len(mesh.polygons)) == 0:
            cls.poll_message_set("No faces are selected: select some in Edit Mode first")
            return False
        return True

    def execute(self, context: bpy.types.Context) -> Outcome:
        """Mark the selected faces, or take their marks away."""
        body_object = active_body(context)
        mode = body_object.mode
        bpy.ops.object.mode_set(mode="OBJECT")
        mesh = mesh_of(body_object)
        try:
            selected = values_of(mesh.polygons, "select", np.bool_)
            if not selected.any():
                self.report({"WARNING"}, for_report(Message("No faces are selected: select some in Edit Mode first")))
                return {"CANCELLED"}
            mark_faces(mesh, selected, skip=not self.clear)
        except FinishingError as error:
            self.report({"ERROR"}, for_report(error.message))
            return {"CANCELLED"}
        finally:
            bpy.ops.object.mode_set(mode=mode)
        return {"FINISHED"}


class FINISHING_OT_clear_skip(BodyAction):
    """Plan the whole surface again: take away skip marks, skip weights and the sculpt mask"""

    bl_idname = "finishing.clear_skip"
    bl_label = "Clear Skip"
    bl_options = {"REGISTER", "UNDO"}

    def execute(self, context: bpy.types.Context) -> Outcome:
        """Take all marks away. Edit Mode is left meanwhile: it has a copy of the mesh."""
        body_object = active_body(context)
        editing = body_object.mode == "EDIT"
        if editing:
            bpy.ops.object.mode_set(mode="OBJECT")
        clear_marks(body_object)
        if editing:
            bpy.ops.object.mode_set(mode="EDIT")
        return {"FINISHED"}


class FINISHING_OT_leave_to_flat_cutters(BodyAction):
    """Leave flats, walls and openings out, as work for flat cutters"""

    bl_idname = "finishing.leave_to_flat_cutters"
    bl_label = "Leave to Flat Cutters"
    bl_options = {"REGISTER", "UNDO"}

    def execute(self, context: bpy.types.Context) -> Outcome:
        """Set all three to be left out."""
        body = active_settings(context)
        region = left_to_flat_cutters(RegionSettings(wall_limit=math.degrees(body.wall_limit)), LEFT_TO_FLAT_CUTTERS)
        body.flats, body.openings = region.flats, region.openings
        body.opening_choices.clear()
        if region.wall_limit < math.degrees(body.wall_limit):
            body.wall_limit = math.radians(region.wall_limit)
        return {"FINISHED"}


CLASSES = (FINISHING_OT_skip_selected, FINISHING_OT_clear_skip, FINISHING_OT_leave_to_flat_cutters)
