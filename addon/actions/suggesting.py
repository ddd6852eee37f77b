"""Accepting what is suggested to be skipped, and settling how an opening is treated."""

from __future__ import annotations

import bpy
import numpy as np

from ..finishing.core.array_types import Mask
from ..finishing.core.errors import FinishingError
from ..finishing.core.message import Message
from ..finishing.planning.survey import Survey
from ..scene.active import active_body, active_results, active_settings, results_of
from ..scene.blender_data import mesh_of, present, values_of, world_matrix
from ..scene.change_applying import name_set
from ..scene.job_settings import TREATMENT_ITEMS
from ..scene.properties import choice, text_line, whole_number, with_properties
from ..scene.skip_marks import mark_faces
from ..screen.language import for_report
from .conditions import Outcome, SurveyAction, object_mode_is_on

OFF_GROUND = 3.0
"""mm that a face's middle may lie off the height map: walls are steep within a cell."""


@with_properties
class FINISHING_OT_take_set(bpy.types.Operator):
    """Plan with this set of cutters: the largest takes all of the surface, each smaller one what remains"""

    bl_idname = "finishing.take_set"
    bl_label = "Take Set of Cutters"
    bl_options = {"REGISTER", "UNDO"}

    cutters: str = text_line(
        name="Cutters", description="Diameters in mm or names of cutters on the rack, with commas between them", options={"SKIP_SAVE"}
    )

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        """Whether sets of cutters have been weighed for the active body."""
        results = results_of(context)
        if results is None or results.sets is None:
            cls.poll_message_set("Measure or plan the active body first: no sets of cutters are weighed yet")
            return False
        return True

    def execute(self, context: bpy.types.Context) -> Outcome:
        """Name the cutters in the body's settings."""
        try:
            name_set(present(context.scene), active_body(context), self.cutters)
        except FinishingError as error:
            self.report({"ERROR"}, for_report(error.message))
            return {"CANCELLED"}
        return {"FINISHED"}


@with_properties
class FINISHING_OT_accept_skip(SurveyAction):
    """Skip the surface of this suggestion: mark its faces on the body"""

    bl_idname = "finishing.accept_skip"
    bl_label = "Skip Suggested Surface"
    bl_options = {"REGISTER", "UNDO"}

    number: int = whole_number(name="Number", description="Number of the suggestion, from 0", default=0, min=0, options={"SKIP_SAVE"})

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        """Whether the body has been measured, in Object Mode."""
        return super().poll(context) and object_mode_is_on(cls, context)

    def execute(self, context: bpy.types.Context) -> Outcome:
        """Mark the faces over the suggested ground."""
        results, body_object = active_results(context), active_body(context)
        survey = present(results.survey)
        if self.number >= len(survey.suggestions):
            self.report({"ERROR"}, for_report(Message("There is no such suggestion any more: measure the body again")))
            return {"CANCELLED"}
        faces = faces_over(body_object, results.survey_reading.scale, survey, survey.suggestions[self.number].cells)
        try:
            mark_faces(mesh_of(body_object), faces)
        except FinishingError as error:
            self.report({"ERROR"}, for_report(error.message))
            return {"CANCELLED"}
        self.report({"INFO"}, for_report(Message("{count} faces are skipped now", count=int(faces.sum()))))
        return {"FINISHED"}


def faces_over(body_object: bpy.types.Object, scale: float, survey: Survey, cells: Mask) -> Mask:
    """The faces that look up and whose middle lies over some cells (rows, columns) of a survey, (faces,). scale: mm for one Blender unit."""
    mesh = mesh_of(body_object)
    centres = values_of(mesh.polygons, "center", np.float32, width=3).reshape(-1, 3)
    normals = values_of(mesh.polygons, "normal", np.float32, width=3).reshape(-1, 3)
    matrix = world_matrix(body_object)
    world = (centres @ matrix[:3, :3].T + matrix[:3, 3]) * scale
    job = world @ survey.job_from_body[:3, :3].T + survey.job_from_body[:3, 3]
    turned = normals @ np.linalg.inv(matrix[:3, :3]) @ survey.job_from_body[:3, :3].T
    row, column = survey.grid.nearest(job)
    heights = survey.heights[row, column]
    on_ground = np.abs(job[:, 2] - np.where(np.isfinite(heights), heights, np.inf)) < OFF_GROUND
    return np.asarray(cells[row, column] & (turned[:, 2] > 0) & on_ground)


@with_properties
class FINISHING_OT_treat_opening(SurveyAction):
    """Settle how this opening, or this floor of it, is treated: skipped, bridged, followed, or as all openings are"""

    bl_idname = "finishing.treat_opening"
    bl_label = "Treat Opening"
    bl_options = {"REGISTER", "UNDO"}

    number: int = whole_number(name="Opening", description="Number of the opening", default=1, min=1, options={"SKIP_SAVE"})
    floor: int = whole_number(name="Floor", description="Number of the floor, 0 for the whole opening", default=0, min=0, options={"SKIP_SAVE"})
    treatment: str = choice(name="Treatment", description="What to do with this opening", items=TREATMENT_ITEMS, options={"SKIP_SAVE"})

    def execute(self, context: bpy.types.Context) -> Outcome:
        """Keep the treatment with the body."""
        choices = active_settings(context).opening_choices
        chosen = next((item for item in choices if (item.number, item.floor) == (self.number, self.floor)), None)
        if chosen is None:
            chosen = choices.add()
            chosen.number, chosen.floor = self.number, self.floor
        chosen.treatment = self.treatment
        return {"FINISHED"}


CLASSES = (FINISHING_OT_take_set, FINISHING_OT_accept_skip, FINISHING_OT_treat_opening)
