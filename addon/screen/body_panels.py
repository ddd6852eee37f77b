"""Body and side, maps, skip: what is looked at before a cutter is chosen."""

from __future__ import annotations

import bpy
import numpy as np

from ..finishing.core.message import Message
from ..finishing.job.orientation import laid_corners, laid_matrix, upward_axis
from ..finishing.job.plausible_size import unit_hint
from ..finishing.planning.flat_work import minutes_of_planned_flats
from ..scene.active import active_settings, active_shop, plan_of, results_of
from ..scene.blender_data import present
from ..scene.body_settings import settings_of
from ..scene.laying import world_corners
from ..scene.mesh_reading import millimetres_per_unit
from ..scene.rack_settings import machine_of
from ..scene.view_settings import view_of
from .language import in_users_language
from .panel_parts import TabPanel, letters_per_line, optional, out_of_date, paragraph, split

SMALLEST_BODY = 5.0
"""mm; a smaller body has been modelled in other units."""

DRAWN = (
    "show_lines",
    "show_links",
    "show_lifts",
    "show_skip",
    "show_stock",
    "show_zero",
    "show_findings",
    "show_legend",
    "show_readout",
    "show_trade_off",
)
"""What can be drawn beside the map, and hidden."""


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
    unlikely = max(lying[:2]) > max(machine.bed_x, machine.bed_y) or max(lying) < SMALLEST_BODY
    doubt = unit_hint(lying, machine) if unlikely else None
    if doubt is not None:
        paragraph(layout, in_users_language(doubt), width, "INFO")
    elif unlikely:
        paragraph(layout, in_users_language(Message("This size does not suit the machine")), width, "INFO")
    axis = upward_axis("auto", size)
    if axis != "z":
        stands = Message("It stands on its edge, and is planned as it would lie, {axis} up", axis=upward_axis(settings.up, size).upper())
        if settings.up == "z":
            stands = Message("It stands on its edge, and is planned so")
        paragraph(layout, in_users_language(stands), width, "INFO")
        layout.operator("finishing.lay_flat", icon="ORIENTATION_GLOBAL")
    layout.label(text="Axis Up")
    layout.row().prop(settings, "up", expand=True)


class FINISHING_PT_body(TabPanel):
    """Body and side."""

    bl_label = "Body and Side"
    bl_idname = "FINISHING_PT_body"

    @classmethod
    def poll(cls, _context: bpy.types.Context) -> bool:
        """Always: it says what to select when no body is."""
        return True

    def draw(self, context: bpy.types.Context) -> None:
        """Show name, size and side of the body, and the two buttons that begin everything."""
        layout = present(self.layout)
        body = context.object
        if body is None or body.type != "MESH":
            layout.label(text="Select a body (a mesh object)", icon="INFO")
            return
        layout.label(text=body.name, icon="MESH_DATA", translate=False)
        _draw_size(layout, context, body)
        layout.row().prop(settings_of(body), "side", expand=True)
        layout.prop(settings_of(body), "smoothing")
        if settings_of(body).smoothing == "given":
            layout.prop(settings_of(body), "smooth")
        layout.operator("finishing.survey", icon="VIEWZOOM")
        # Here as well as beside its settings, so that it is in sight whatever is unfolded.
        row = layout.row()
        row.scale_y = 1.3
        row.operator("finishing.plan", icon="PLAY")
        out_of_date(layout, context)


class FINISHING_PT_maps(TabPanel):
    """Maps."""

    bl_label = "Maps"
    bl_idname = "FINISHING_PT_maps"

    def draw_header(self, context: bpy.types.Context) -> None:
        """A box that hides all that is drawn."""
        present(self.layout).prop(view_of(context), "show", text="")

    def draw(self, context: bpy.types.Context) -> None:
        """Choose the map and what the colour of lines means."""
        layout = split(present(self.layout))
        view = view_of(context)
        layout.active = view.show
        for name in ("surface_map", "opacity", "lines_by"):
            layout.prop(view, name)


class FINISHING_PT_drawn(TabPanel):
    """What is drawn beside the map."""

    bl_label = "Drawn"
    bl_idname = "FINISHING_PT_drawn"
    bl_parent_id = "FINISHING_PT_maps"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        """Choose what is drawn beside the map."""
        view = view_of(context)
        column = present(self.layout).column()
        column.active = view.show
        for name in DRAWN:
            column.prop(view, name)


class FINISHING_PT_skip(TabPanel):
    """Skip."""

    bl_label = "Skip"
    bl_idname = "FINISHING_PT_skip"

    def draw(self, context: bpy.types.Context) -> None:
        """Mark ground to be skipped, and say what else is left out."""
        layout = present(self.layout)
        body = active_settings(context)
        column = layout.column(align=True)
        column.operator("finishing.paint_skip", icon="BRUSH_DATA")
        column.operator("finishing.skip_selected", icon="RESTRICT_SELECT_OFF")
        column.operator("finishing.clear_skip", icon="X")
        split(layout)
        layout.prop(body, "skip_margin")
        layout.prop(body, "wall_limit")
        optional(layout, body, "use_overrun", "overrun")
        optional(layout, body, "use_lowest_depth", "lowest_depth")
        layout.prop(body, "openings")
        layout.prop(body, "flats")
        layout.prop(body, "flat_margin")
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
    bl_parent_id = "FINISHING_PT_skip"
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
                present(box.operator("finishing.accept_skip", text="Skip This Ground")).number = number
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


CLASSES = (FINISHING_PT_body, FINISHING_PT_maps, FINISHING_PT_drawn, FINISHING_PT_skip, FINISHING_PT_suggestions)
