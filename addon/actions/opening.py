"""Bringing a body in: an example, a mesh file; and saying what one unit of the scene means."""

from __future__ import annotations

from pathlib import Path

import bpy

from ..finishing.core.array_types import FloatArray
from ..finishing.core.errors import FinishingError
from ..finishing.core.message import Message, word
from ..scene.active import active_body
from ..scene.blender_data import present
from ..scene.new_bodies import (
    SCENE_UNITS,
    add_body,
    frame_body,
    hide_what_stands_in_its_place,
    measure_in,
    read_example,
    read_mesh_file,
    show_small_lengths,
)
from ..scene.properties import choice, text_line, with_properties
from ..scene.redrawing import redraw_views
from ..screen.language import for_report
from .conditions import BodyAction, Outcome, object_mode_is_on

EXAMPLE_NAMES = {"carved_bass": "Carved Bass", "arched_plate": "Arched Plate", "scooped_seat": "Scooped Seat"}


class _NewBody(bpy.types.Operator):
    """What brings a body into the scene."""

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        """In Object Mode alone, or with nothing at all."""
        return context.object is None or object_mode_is_on(cls, context)

    def take(self, context: bpy.types.Context, name: str, triangles: FloatArray) -> None:
        """Put the body into the scene, where nothing hides it, with lengths in millimetres or inches."""
        show_small_lengths(present(context.scene))
        body_object = add_body(context, name, triangles)
        hidden = hide_what_stands_in_its_place(context, body_object)
        frame_body(body_object)
        redraw_views()
        for other in hidden:
            self.report({"INFO"}, for_report(Message("'{other}' is hidden: it stands where '{body}' is", other=other, body=body_object.name)))


@with_properties
class FINISHING_OT_open_example(_NewBody):
    """Put one of the bodies that come along into the scene, to try everything with"""

    bl_idname = "finishing.open_example"
    bl_label = "Open Example"
    bl_options = {"REGISTER", "UNDO"}

    example: str = choice(
        name="Example",
        description="Body that is opened",
        items=(
            ("carved_bass", "Carved Bass", "438 x 290 x 42 mm, with pockets and contours"),
            ("arched_plate", "Arched Plate", "An arched plate with a recurve"),
            ("scooped_seat", "Scooped Seat", "420 x 380 x 46 mm, two wide hollows"),
        ),
    )

    def execute(self, context: bpy.types.Context) -> Outcome:
        """Add it."""
        self.take(context, EXAMPLE_NAMES[self.example], read_example(self.example))
        return {"FINISHED"}


@with_properties
class FINISHING_OT_import_body(_NewBody):
    """Bring a body from an STL, OBJ or PLY file into the scene, in its true size"""

    bl_idname = "finishing.import_body"
    bl_label = "Import Body"
    bl_options = {"REGISTER", "UNDO"}

    filepath: str = text_line(name="File", description="STL, OBJ or PLY file of a body", subtype="FILE_PATH", options={"SKIP_SAVE"})
    filter_glob: str = text_line(default="*.stl;*.obj;*.ply", options={"HIDDEN"})
    unit: str = choice(
        name="Unit",
        description="What one unit of the file means",
        items=(
            ("auto", "By Size", "Millimetres, or the unit that makes a likely body of it"),
            ("mm", "Millimetres", "One unit is a millimetre"),
            ("cm", "Centimetres", "One unit is a centimetre"),
            ("m", "Metres", "One unit is a metre"),
            ("in", "Inches", "One unit is an inch"),
        ),
    )

    def invoke(self, context: bpy.types.Context, _event: bpy.types.Event) -> Outcome:
        """Ask for the file."""
        present(context.window_manager).fileselect_add(self)
        return {"RUNNING_MODAL"}

    def execute(self, context: bpy.types.Context) -> Outcome:
        """Read it and add it."""
        try:
            name, triangles, unit = read_mesh_file(Path(bpy.path.abspath(self.filepath)), self.unit)
        except FinishingError as error:
            self.report({"ERROR"}, for_report(error.message))
            return {"CANCELLED"}
        self.take(context, name, triangles)
        self.report({"INFO"}, for_report(Message("One unit of the file is taken as 1 {unit}", unit=word(unit))))
        return {"FINISHED"}


@with_properties
class FINISHING_OT_treat_as(BodyAction):
    """Let one unit of the scene mean a millimetre or an inch, so that the body has its true size"""

    bl_idname = "finishing.treat_as"
    bl_label = "Treat as Millimetres"
    bl_options = {"REGISTER", "UNDO"}

    unit: str = choice(
        name="Unit",
        description="What one unit of the scene means",
        items=(("mm", "Millimetres", "One unit is a millimetre"), ("in", "Inches", "One unit is an inch")),
    )

    def execute(self, context: bpy.types.Context) -> Outcome:
        """Set the scene's unit, and frame the body."""
        measure_in(present(context.scene), SCENE_UNITS[self.unit])
        frame_body(active_body(context))
        redraw_views()
        return {"FINISHED"}


CLASSES = (FINISHING_OT_open_example, FINISHING_OT_import_body, FINISHING_OT_treat_as)
