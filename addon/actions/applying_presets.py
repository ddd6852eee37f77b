"""Taking a preset of a rack or a machine. Blender's own action for this would run the file."""

from __future__ import annotations

from pathlib import Path

import bpy

from ..finishing.core.errors import FinishingError
from ..finishing.core.message import Message
from ..finishing.reading.faults import printable
from ..scene.active import active_shop
from ..scene.blender_data import present
from ..scene.preset_files import apply_machine_preset, apply_rack_preset
from ..scene.properties import choice, text_line, with_properties
from ..screen.language import for_report
from .conditions import Outcome


@with_properties
class FINISHING_OT_apply_preset(bpy.types.Operator):
    """Take the values of this preset. They are read as data: nothing in the file is run"""

    bl_idname = "finishing.apply_preset"
    bl_label = "Apply Preset"
    bl_options = {"REGISTER", "UNDO"}

    filepath: str = text_line(name="File", description="A preset as Blender writes it", subtype="FILE_PATH", options={"SKIP_SAVE"})
    kind: str = choice(
        name="Kind",
        description="What the preset is of",
        items=(("machine", "Machine", "Machine and its control"), ("rack", "Rack", "Cutters of the rack")),
        options={"SKIP_SAVE"},
    )

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        """Whether the scene may be changed."""
        if not present(context.scene).is_editable:
            cls.poll_message_set("The scene is linked from another file: change its rack and machine there")
            return False
        return True

    def execute(self, context: bpy.types.Context) -> Outcome:
        """Take all values of the preset, or none."""
        path = Path(bpy.path.abspath(self.filepath))
        try:
            (apply_machine_preset if self.kind == "machine" else apply_rack_preset)(path, active_shop(context))
        except FinishingError as error:
            self.report({"ERROR"}, for_report(error.message))
            return {"CANCELLED"}
        self.report({"INFO"}, for_report(Message("Preset '{name}' taken", name=printable(bpy.path.display_name(path.name)))))
        return {"FINISHED"}


CLASSES = (FINISHING_OT_apply_preset,)
