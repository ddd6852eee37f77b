"""Rows of a body's lists: work made elsewhere and keep-out boxes."""

from __future__ import annotations

import bpy
from bpy.props import EnumProperty

from .conditions import body_is_chosen

LISTS = {"elsewhere": "active_elsewhere", "keep_out": "active_keep_out", "kept_plans": "active_kept"}


class FINISHING_OT_list(bpy.types.Operator):
    """Add a row to a list of the active body, take one away, or move it"""

    bl_idname = "finishing.list"
    bl_label = "Change List"
    bl_options = {"REGISTER", "UNDO"}

    rows: EnumProperty(
        name="List",
        items=(
            ("elsewhere", "Work Made Elsewhere", "Work on the side that is planned elsewhere"),
            ("keep_out", "Keep-Out Boxes", "Boxes that the cutter must stay out of"),
            ("kept_plans", "Kept Plans", "Plans kept for comparing"),
        ),
        options={"SKIP_SAVE"},
    )
    change: EnumProperty(
        name="Change",
        items=(
            ("add", "Add", "Add a row"), ("remove", "Remove", "Take this row away"), ("up", "Up", "Move this row up"),
            ("down", "Down", "Move this row down"),
        ),
        options={"SKIP_SAVE"},
    )  # fmt: skip

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return body_is_chosen(cls, context)

    @classmethod
    def description(cls, _context: bpy.types.Context, properties: bpy.types.OperatorProperties) -> str:
        return cls.bl_rna.properties["change"].enum_items[properties.change].description

    def execute(self, context: bpy.types.Context) -> set[str]:
        body = context.object.finishing
        rows, active = getattr(body, self.rows), LISTS[self.rows]
        at = getattr(body, active)
        if self.change == "add":
            rows.add()
            setattr(body, active, len(rows) - 1)
        elif at >= len(rows):
            return {"CANCELLED"}
        elif self.change == "remove":
            rows.remove(at)
            setattr(body, active, max(0, min(at, len(rows) - 1)))
        else:
            to = at + (1 if self.change == "down" else -1)
            if not 0 <= to < len(rows):
                return {"CANCELLED"}
            rows.move(at, to)
            setattr(body, active, to)
        return {"FINISHED"}


CLASSES = (FINISHING_OT_list,)
