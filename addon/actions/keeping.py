"""Keeping pass lines as an object, and reading a written plan again."""

from __future__ import annotations

from pathlib import Path

import bpy
import numpy as np

from ..finishing.core.errors import FinishingError
from ..finishing.core.message import Message
from ..finishing.files.read_back import changes_since, read_written
from ..scene.active import active_body, active_plan, active_results
from ..scene.blender_data import mesh_of, present
from ..scene.line_objects import add_lines_object
from ..scene.mesh_reading import millimetres_per_unit
from ..scene.properties import text_line, with_properties
from ..scene.request_building import build_request
from ..screen.language import for_report
from .conditions import Outcome, PlanAction, object_mode_is_on


class FINISHING_OT_keep_lines(PlanAction):
    """Keep the pass lines of the active body as a mesh object of edges that is saved with the file"""

    bl_idname = "finishing.keep_lines"
    bl_label = "Keep Pass Lines as Object"
    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        """Whether there is a plan, in Object Mode."""
        return super().poll(context) and object_mode_is_on(cls, context)

    def execute(self, context: bpy.types.Context) -> Outcome:
        """Add the object."""
        body_object, plan = active_body(context), active_plan(context)
        name = f"{body_object.name} {plan.request.side} pass lines"
        body_from_job = np.linalg.inv(plan.job_from_body)
        lines = add_lines_object(context, name, plan.path, body_from_job, active_results(context).source.scale, body_object)
        self.report({"INFO"}, for_report(Message("{count} edges kept as {name}", count=len(mesh_of(lines).edges), name=lines.name)))
        return {"FINISHED"}


@with_properties
class FINISHING_OT_read_plan(bpy.types.Operator):
    """Read a written plan again: show its lines on the active body as an object, and say what has changed since"""

    bl_idname = "finishing.read_plan"
    bl_label = "Read Written Plan"
    bl_options = {"REGISTER", "UNDO"}

    filepath: str = text_line(name="File", description="A plan.json, or the CSV that was written with it", subtype="FILE_PATH")
    filter_glob: str = text_line(default="*.json;*.csv", options={"HIDDEN"})

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        """Whether a body is active, in Object Mode."""
        if context.object is None or context.object.type != "MESH" or context.mode != "OBJECT":
            cls.poll_message_set("Select the body that the plan was made for, in Object Mode")
            return False
        return True

    def invoke(self, context: bpy.types.Context, _event: bpy.types.Event) -> Outcome:
        """Ask for the file."""
        present(context.window_manager).fileselect_add(self)
        return {"RUNNING_MODAL"}

    def execute(self, context: bpy.types.Context) -> Outcome:
        """Add the lines as an object and report every change."""
        body_object = active_body(context)
        try:
            written = read_written(Path(bpy.path.abspath(self.filepath)))
            request = build_request(context, body_object)
            changes = changes_since(written, request.body, request)
        except FinishingError as error:
            self.report({"ERROR"}, for_report(error.message))
            return {"CANCELLED"}
        body_from_job = np.eye(4) if written.job_from_body is None else np.linalg.inv(written.job_from_body)
        name = f"{body_object.name} {written.side} lines read".replace("  ", " ")
        add_lines_object(context, name, written.path, body_from_job, millimetres_per_unit(present(context.scene)), body_object)
        for change in changes:
            self.report({"WARNING"}, for_report(change))
        if not changes:
            self.report({"INFO"}, for_report(Message("Body and settings are as they were when the plan was written")))
        return {"FINISHED"}


CLASSES = (FINISHING_OT_keep_lines, FINISHING_OT_read_plan)
