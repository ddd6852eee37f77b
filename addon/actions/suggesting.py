"""Accepting what is suggested to be skipped, and settling how an opening is treated."""

from __future__ import annotations

import bpy
import numpy as np
from bpy.props import EnumProperty, IntProperty

from ..finishing.core.message import Message
from ..finishing.planning.survey import Survey
from ..scene.mesh_reading import SKIP_ATTRIBUTE
from ..scene.results import STORE, BodyResults
from ..screen.language import for_report
from .conditions import object_mode_is_on, survey_is_there


class FINISHING_OT_accept_skip(bpy.types.Operator):
    """Skip the ground of this suggestion: mark its faces on the body"""

    bl_idname = "finishing.accept_skip"
    bl_label = "Skip Suggested Ground"
    bl_options = {"REGISTER", "UNDO"}

    number: IntProperty(name="Number", description="Number of the suggestion, from 0", default=0, min=0, options={"SKIP_SAVE"})

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return survey_is_there(cls, context) and object_mode_is_on(cls, context)

    def execute(self, context: bpy.types.Context) -> set[str]:
        results = STORE.find(context.object)
        survey = results.survey
        if self.number >= len(survey.suggestions):
            self.report({"ERROR"}, for_report(Message("There is no such suggestion any more: measure the body again")))
            return {"CANCELLED"}
        marked = _mark_faces(context.object, results, survey, survey.suggestions[self.number].cells)
        self.report({"INFO"}, for_report(Message("{count} faces are skipped now", count=marked)))
        return {"FINISHED"}


def _mark_faces(body_object: bpy.types.Object, results: BodyResults, survey: Survey, cells: np.ndarray) -> int:
    """Mark the faces that look up and whose middle lies over some cells of the survey; returns how many."""
    mesh = body_object.data
    count = len(mesh.polygons)
    centres, normals = np.empty(3 * count, np.float32), np.empty(3 * count, np.float32)
    mesh.polygons.foreach_get("center", centres)
    mesh.polygons.foreach_get("normal", normals)
    matrix = np.array(body_object.matrix_world, float)
    world = (centres.reshape(-1, 3) @ matrix[:3, :3].T + matrix[:3, 3]) * results.scale
    job = world @ survey.job_from_body[:3, :3].T + survey.job_from_body[:3, 3]
    turned = normals.reshape(-1, 3) @ np.linalg.inv(matrix[:3, :3]) @ survey.job_from_body[:3, :3].T
    row, column = survey.grid.nearest(job)
    seen = np.abs(job[:, 2] - np.where(np.isfinite(survey.heights[row, column]), survey.heights[row, column], np.inf)) < SEEN
    chosen = cells[row, column] & (turned[:, 2] > 0) & seen
    attribute = mesh.attributes.get(SKIP_ATTRIBUTE) or mesh.attributes.new(SKIP_ATTRIBUTE, "BOOLEAN", "FACE")
    marked = np.zeros(count, bool)
    attribute.data.foreach_get("value", marked)
    attribute.data.foreach_set("value", marked | chosen)
    mesh.update()
    return int(chosen.sum())


SEEN = 3.0
"""mm that a face's middle may lie off the height map: walls are steep within a cell."""


class FINISHING_OT_treat_opening(bpy.types.Operator):
    """Settle how this opening is treated: skipped, bridged, followed, or as all openings are"""

    bl_idname = "finishing.treat_opening"
    bl_label = "Treat Opening"
    bl_options = {"REGISTER", "UNDO"}

    number: IntProperty(name="Opening", description="Number of the opening", default=1, min=1, options={"SKIP_SAVE"})
    treatment: EnumProperty(
        name="Treatment",
        description="What to do with this opening",
        items=(
            ("auto", "As Set Above", "Treat it as all openings are treated"),
            ("skip", "Skip", "Leave it out, with a margin"),
            ("bridge", "Bridge", "Run over it at the level of the ground round it"),
            ("follow", "Follow", "Finish its floor too"),
        ),
        options={"SKIP_SAVE"},
    )

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return survey_is_there(cls, context)

    def execute(self, context: bpy.types.Context) -> set[str]:
        choices = context.object.finishing.opening_choices
        choice = next((item for item in choices if item.number == self.number), None)
        if choice is None:
            choice = choices.add()
            choice.number = self.number
        choice.treatment = self.treatment
        return {"FINISHED"}


CLASSES = (FINISHING_OT_accept_skip, FINISHING_OT_treat_opening)
