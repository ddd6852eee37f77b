"""Marking ground that is skipped: painted, from the selection, or cleared."""

from __future__ import annotations

import bpy
import numpy as np

from ..finishing.core.message import Message
from ..scene.mesh_reading import SKIP_ATTRIBUTE, SKIP_GROUP, SKIP_MASK
from ..screen.language import for_report
from .conditions import body_is_chosen


class FINISHING_OT_paint_skip(bpy.types.Operator):
    """Paint skipped ground with Blender's weight brushes: half weight and more is skipped"""

    bl_idname = "finishing.paint_skip"
    bl_label = "Paint Skip"
    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return body_is_chosen(cls, context)

    def execute(self, context: bpy.types.Context) -> set[str]:
        body = context.object
        group = body.vertex_groups.get(SKIP_GROUP) or body.vertex_groups.new(name=SKIP_GROUP)
        body.vertex_groups.active_index = group.index
        bpy.ops.object.mode_set(mode="WEIGHT_PAINT")
        return {"FINISHED"}


class FINISHING_OT_skip_selected(bpy.types.Operator):
    """Skip the faces that are selected in Edit Mode, or take them back"""

    bl_idname = "finishing.skip_selected"
    bl_label = "Skip Selected Faces"
    bl_options = {"REGISTER", "UNDO"}

    clear: bpy.props.BoolProperty(name="Take Back", description="Plan the selected faces again instead of skipping them")

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        if not body_is_chosen(cls, context):
            return False
        # In Edit Mode Blender keeps count; else the marks of the mesh itself are asked, which is quick for a few and needs no count.
        selected = context.object.data.total_face_sel if context.mode == "EDIT_MESH" else len(context.object.data.polygons)
        if selected == 0:
            cls.poll_message_set("No faces are selected: select some in Edit Mode first")
            return False
        return True

    def execute(self, context: bpy.types.Context) -> set[str]:
        body, mode = context.object, context.object.mode
        bpy.ops.object.mode_set(mode="OBJECT")
        mesh = body.data
        selected = np.zeros(len(mesh.polygons), bool)
        mesh.polygons.foreach_get("select", selected)
        if selected.any():
            attribute = mesh.attributes.get(SKIP_ATTRIBUTE) or mesh.attributes.new(SKIP_ATTRIBUTE, "BOOLEAN", "FACE")
            marked = np.zeros(len(mesh.polygons), bool)
            attribute.data.foreach_get("value", marked)
            attribute.data.foreach_set("value", marked & ~selected if self.clear else marked | selected)
            mesh.update()
        bpy.ops.object.mode_set(mode=mode)
        if not selected.any():
            self.report({"WARNING"}, for_report(Message("No faces are selected: select some in Edit Mode first")))
            return {"CANCELLED"}
        return {"FINISHED"}


class FINISHING_OT_clear_skip(bpy.types.Operator):
    """Plan all ground again: take away skip marks, skip weights and the sculpt mask"""

    bl_idname = "finishing.clear_skip"
    bl_label = "Clear Skip"
    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return body_is_chosen(cls, context)

    def execute(self, context: bpy.types.Context) -> set[str]:
        body, mode = context.object, context.object.mode
        if mode == "EDIT":
            bpy.ops.object.mode_set(mode="OBJECT")
        for name in (SKIP_ATTRIBUTE, SKIP_MASK):
            attribute = body.data.attributes.get(name)
            if attribute is not None:
                body.data.attributes.remove(attribute)
        group = body.vertex_groups.get(SKIP_GROUP)
        if group is not None:
            body.vertex_groups.remove(group)
        body.data.update()
        if mode == "EDIT":
            bpy.ops.object.mode_set(mode="EDIT")
        return {"FINISHED"}


CLASSES = (FINISHING_OT_paint_skip, FINISHING_OT_skip_selected, FINISHING_OT_clear_skip)
