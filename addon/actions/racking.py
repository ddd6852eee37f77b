"""The rack as a list: add, remove, move, duplicate."""

from __future__ import annotations

import bpy
from bpy.props import EnumProperty

from ..finishing.job.cutter import Cutter
from ..scene.rack_settings import cutter_of, fill_rack, free_name, set_record


class FINISHING_OT_rack(bpy.types.Operator):
    """Change the rack: add, duplicate, remove or move a cutter, or put the built-in cutters on an empty rack"""

    bl_idname = "finishing.rack"
    bl_label = "Change Rack"
    bl_options = {"REGISTER", "UNDO"}

    change: EnumProperty(
        name="Change",
        items=(
            ("add", "Add", "Add a cutter"),
            ("duplicate", "Duplicate", "Add a copy of this cutter"),
            ("remove", "Remove", "Take this cutter off the rack"),
            ("up", "Up", "Move this cutter up"),
            ("down", "Down", "Move this cutter down"),
            ("fill", "Fill", "Put the built-in cutters on an empty rack"),
        ),
        options={"SKIP_SAVE"},
    )

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        if not context.scene.is_editable:
            cls.poll_message_set("The scene is linked from another file: its rack cannot be changed here")
            return False
        return True

    @classmethod
    def description(cls, _context: bpy.types.Context, properties: bpy.types.OperatorProperties) -> str:
        return cls.bl_rna.properties["change"].enum_items[properties.change].description

    def execute(self, context: bpy.types.Context) -> set[str]:
        rack = context.scene.finishing
        at, count = rack.active_cutter, len(rack.cutters)
        if self.change == "fill":
            fill_rack(context.scene)
        elif self.change in ("add", "duplicate"):
            source = cutter_of(rack.cutters[at]) if self.change == "duplicate" and at < count else Cutter("Round-nose", 16.0)
            taken = {item.name for item in rack.cutters}
            set_record(rack.cutters.add(), source)
            rack.cutters[count].name = free_name(source.name, taken)
            rack.active_cutter = count
        elif at < count and self.change == "remove":
            rack.cutters.remove(at)
            rack.active_cutter = max(0, min(at, count - 2))
        elif at < count:
            to = at + (1 if self.change == "down" else -1)
            if not 0 <= to < count:
                return {"CANCELLED"}
            rack.cutters.move(at, to)
            rack.active_cutter = to
        return {"FINISHED"}


CLASSES = (FINISHING_OT_rack,)
