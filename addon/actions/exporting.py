"""Writing the finishing paths of a planned body."""

from __future__ import annotations

from pathlib import Path

import bpy

from ..finishing.core.errors import FinishingError
from ..finishing.core.message import Message
from ..finishing.files.job_files import JobFiles, job_files
from ..finishing.files.writing import write_all
from ..scene.active import active_results, plan_of, state_of
from ..scene.blender_data import present
from ..scene.properties import choice, switch, text_line, with_properties
from ..screen.language import for_report
from .conditions import Outcome


@with_properties
class FINISHING_OT_export(bpy.types.Operator):
    """Write the finishing paths of the planned side, or of both once both are planned, with run list, bench sheet, record and pictures"""

    bl_idname = "finishing.export"
    bl_label = "Export Finishing Paths"
    bl_options = {"REGISTER"}

    directory: str = text_line(name="Folder", description="Folder to write into", subtype="DIR_PATH")
    unit: str = choice(
        name="Unit",
        description="Unit of the lengths in the CSV",
        items=(("mm", "Millimetres", "Lengths in mm"), ("in", "Inches", "Lengths in inches")),
    )
    pictures: bool = switch(name="Pictures", description="Write pictures of the maps and the pass lines too", default=True)
    programs: bool = switch(name="Programs", description="Write part programs in plain ISO 6983 words, and a dry run, beside the CSV", default=False)
    replace: bool = switch(name="Replace Files", description="Replace files of the same names", default=False)

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        """Whether there is a plan that still holds."""
        if plan_of(context) is None:
            cls.poll_message_set("Plan the active body first: there is nothing to write yet")
            return False
        if state_of(context) != "current":
            cls.poll_message_set("The body or a setting has changed since: plan again first")
            return False
        return True

    def invoke(self, context: bpy.types.Context, _event: bpy.types.Event) -> Outcome:
        """Ask for the folder."""
        present(context.window_manager).fileselect_add(self)
        return {"RUNNING_MODAL"}

    def execute(self, context: bpy.types.Context) -> Outcome:
        """Write all files of the job."""
        plans = active_results(context).job()
        try:
            folder = Path(bpy.path.abspath(self.directory or "//"))
            files = job_files(plans, JobFiles(self.unit, self.pictures, self.programs))
            written = write_all(folder, files, replace=self.replace)
        except FinishingError as error:
            self.report({"ERROR"}, for_report(error.message))
            return {"CANCELLED"}
        where = {"count": len(written), "folder": folder}
        done = {
            ("top",): Message("{count} files written to {folder}, for the top side", **where),
            ("back",): Message("{count} files written to {folder}, for the back side", **where),
            ("back", "top"): Message("{count} files written to {folder}, for both sides", **where),
        }[tuple(sorted({plan.request.side for plan in plans}))]
        self.report({"INFO"}, for_report(done))
        return {"FINISHED"}


CLASSES = (FINISHING_OT_export,)
