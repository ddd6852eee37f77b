"""Body and side, and the ground that is skipped."""

from __future__ import annotations

from pathlib import Path

import bpy
import numpy as np
from numpy.typing import NDArray

from ..finishing.core.message import Message
from ..finishing.job.orientation import laid_corners, laid_matrix, upward_axis
from ..finishing.job.plausible_size import is_likely
from ..finishing.planning.flat_work import minutes_of_planned_flats
from ..scene.active import active_settings, active_shop, plan_of, results_of
from ..scene.blender_data import present
from ..scene.body_settings import settings_of
from ..scene.laying import world_corners
from ..scene.mesh_reading import millimetres_per_unit
from ..scene.new_bodies import INCHES, MILLIMETRES
from ..scene.rack_settings import machine_of
from ..scene.skip_brush import skip_tool_is_on
from .language import in_users_language, interface_word
from .panel_parts import MorePanel, TabPanel, beside, letters_per_line, optional, paragraph, value

GUIDES = Path(__file__).parent.parent / "guide"
"""Folder of the guide in every language that has one."""

SMALLEST_BODY = 5.0
"""mm; a smaller body has been modelled in other units."""


def _draw_size(layout: bpy.types.UILayout, context: bpy.types.Context, body: bpy.types.Object) -> None:
    """How large the body is as it will lie, whether that can be, and what to do when it stands on its edge."""
    low, high = world_corners(body)
    size = (high - low) * millimetres_per_unit(present(context.scene))
    settings, machine = settings_of(body), machine_of(active_shop(context).machine)
    laid_low, laid_high = laid_corners(laid_matrix(settings.up, size), np.zeros(3), size)
    lying = laid_high - laid_low
    measured = Message("{x:.1f} x {y:.1f} x {z:.1f} mm", x=lying[0], y=lying[1], z=lying[2])
    layout.label(text=in_users_language(measured), icon="BLANK1", translate=False)
    width = letters_per_line(context)
    if max(lying[:2]) > max(machine.bed_x, machine.bed_y) or max(lying) < SMALLEST_BODY:
        _draw_doubt(layout, high - low, width)
        _draw_sources(layout)
    axis = upward_axis("auto", size)
    if axis != "z":
        stands = Message("It stands on its edge, and is planned as it would lie, {axis} up", axis=upward_axis(settings.up, size).upper())
        if settings.up == "z":
            stands = Message("It stands on its edge, and is planned so")
        paragraph(layout, in_users_language(stands), width, "INFO")
        layout.operator("finishing.lay_flat", icon="ORIENTATION_GLOBAL")


def _draw_doubt(layout: bpy.types.UILayout, units: NDArray[np.float64], width: int) -> None:
    """What would make a likely body of this extent (3,) in Blender's units, with a button that does it."""
    if is_likely(units * MILLIMETRES.millimetres):
        paragraph(layout, in_users_language(Message("One unit of this scene is not a millimetre: the size cannot be")), width, "ERROR")
        present(layout.operator("finishing.treat_as", text="Treat as Millimetres")).unit = "mm"
    elif is_likely(units * INCHES.millimetres):
        paragraph(layout, in_users_language(Message("One unit of this scene is not an inch: the size cannot be")), width, "ERROR")
        present(layout.operator("finishing.treat_as", text="Treat as Inches")).unit = "in"
    else:
        paragraph(layout, in_users_language(Message("This size does not suit the machine: check unit and bed")), width, "ERROR")


def _draw_start(layout: bpy.types.UILayout, context: bpy.types.Context) -> None:
    """What to do first, in three lines, with buttons that do it."""
    width = letters_per_line(context)
    for words in (
        Message("1. Select the body, a mesh object"),
        Message("2. Press Plan Finishing"),
        Message("3. Export pass lines and programs"),
    ):
        paragraph(layout, in_users_language(words), width)
    _draw_sources(layout)


def _draw_sources(layout: bpy.types.UILayout) -> None:
    """Where a body may come from, and the guide."""
    layout = layout.column(align=True)
    layout.operator("finishing.import_body", icon="IMPORT")
    layout.operator_menu_enum("finishing.open_example", "example", icon="MESH_MONKEY")
    present(layout.operator("wm.path_open", text="Open Guide", icon="HELP")).filepath = str(GUIDES / in_users_language(Message("guide.html")))


class FINISHING_PT_body(TabPanel):
    """Body and side."""

    bl_label = "Body"
    bl_idname = "FINISHING_PT_body"
    bl_order = 0

    @classmethod
    def poll(cls, _context: bpy.types.Context) -> bool:
        """Always: it says what to select when no body is."""
        return True

    def draw(self, context: bpy.types.Context) -> None:
        """Show name, size and side of the body."""
        layout = present(self.layout)
        body = context.object
        if body is None or body.type != "MESH":
            _draw_start(layout, context)
            return
        layout.label(text=body.name, icon="MESH_DATA", translate=False)
        others = sum(1 for other in context.selected_objects if other.type == "MESH" and other != body)
        if others:
            words = Message("{count} other bodies are selected: '{body}' is planned", count=others, body=body.name)
            if others == 1:
                words = Message("Another body is selected too: '{body}' is planned", body=body.name)
            paragraph(layout, in_users_language(words), letters_per_line(context), "INFO")
        _draw_size(layout, context, body)
        layout.row().prop(settings_of(body), "side", expand=True)


class FINISHING_PT_body_more(MorePanel):
    """How the body lies, whether it is smoothed, what is measured of it."""

    bl_idname = "FINISHING_PT_body_more"
    bl_parent_id = "FINISHING_PT_body"

    def draw(self, context: bpy.types.Context) -> None:
        """Axis up, smoothing, measuring."""
        layout, body = present(self.layout), active_settings(context)
        layout.operator("finishing.survey", icon="VIEWZOOM")
        value(layout, context, body, "up")
        value(layout, context, body, "smoothing")
        if body.smoothing == "given":
            value(layout, context, body, "smooth")


class FINISHING_PT_skip(TabPanel):
    """Skip."""

    bl_label = "Skip"
    bl_idname = "FINISHING_PT_skip"
    bl_order = 3

    def draw(self, context: bpy.types.Context) -> None:
        """Mark ground to be skipped."""
        layout = present(self.layout)
        painting = skip_tool_is_on(context)
        row = beside(layout, context, [interface_word("Paint Skip"), interface_word("Clear Skip")], icon=True)
        row.operator("finishing.paint_skip", text="End" if painting else "Paint Skip", icon="CHECKMARK" if painting else "BRUSH_DATA", depress=painting)
        row.operator("finishing.clear_skip", icon="X")


class FINISHING_PT_skip_more(MorePanel):
    """What else is left out, and with what margins."""

    bl_idname = "FINISHING_PT_skip_more"
    bl_parent_id = "FINISHING_PT_skip"

    def draw(self, context: bpy.types.Context) -> None:
        """Selected faces, margins, openings, flats."""
        layout, body = present(self.layout), active_settings(context)
        layout.operator("finishing.skip_selected", icon="RESTRICT_SELECT_OFF")
        for name in ("wall_limit", "skip_margin"):
            value(layout, context, body, name)
        optional(layout, context, body, "use_overrun", "overrun")
        optional(layout, context, body, "use_deepest_tip", "deepest_tip")
        for name in ("openings", "opening_margin", "flats", "flat_margin"):
            value(layout, context, body, name)
        layout.operator("finishing.leave_to_flat_cutters", icon="MOD_EDGESPLIT")
        plan = plan_of(context)
        if plan is not None:
            saved = minutes_of_planned_flats(plan)
            words = Message("Leaving out the flats that are planned saves about {minutes:.1f} minutes", minutes=saved)
            if saved == 0:
                words = Message("No flats are planned")
            paragraph(layout, in_users_language(words), letters_per_line(context), "TIME")


TREATMENTS = {"auto": Message("As Set"), "skip": Message("Skip"), "bridge": Message("Bridge"), "follow": Message("Follow")}
"""What may be done with an opening."""


class FINISHING_PT_suggestions(TabPanel):
    """What may better be skipped."""

    bl_label = "Suggestions"
    bl_idname = "FINISHING_PT_suggestions"
    bl_parent_id = "FINISHING_PT_skip_more"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        """List the suggestions, each with buttons that accept it."""
        layout, results = present(self.layout), results_of(context)
        if results is None or results.survey is None:
            layout.label(text="Measure the body first")
            return
        width = letters_per_line(context)
        chosen = {(item.number, item.floor): item.treatment for item in active_settings(context).opening_choices}
        for number, suggestion in enumerate(results.survey.suggestions):
            box = layout.box()
            paragraph(box, in_users_language(suggestion.words), width - 2)
            if suggestion.kind != "opening":
                present(box.operator("finishing.accept_skip", text="Skip This Surface")).number = number
                continue
            _treatments(box, chosen, suggestion.number, 0)
            for floor, words in suggestion.floors:
                paragraph(box, in_users_language(words), width - 2)
                _treatments(box, chosen, suggestion.number, floor)
        if not results.survey.suggestions:
            layout.label(text="Nothing to suggest")


def _treatments(box: bpy.types.UILayout, chosen: dict[tuple[int, int], str], opening: int, floor: int) -> None:
    """A row of buttons for what may be done with an opening, or with one floor of it."""
    row = box.row(align=True)
    for treatment, label in TREATMENTS.items():
        pressed = chosen.get((opening, floor), "auto") == treatment
        button = present(row.operator("finishing.treat_opening", text=in_users_language(label), depress=pressed, translate=False))
        button.number, button.floor, button.treatment = opening, floor, treatment


CLASSES = (FINISHING_PT_body, FINISHING_PT_body_more, FINISHING_PT_skip, FINISHING_PT_skip_more, FINISHING_PT_suggestions)
