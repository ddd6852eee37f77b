"""Body and side, maps, skip: what is looked at before a cutter is chosen."""

from __future__ import annotations

import bpy

from ..finishing.core.message import Message
from .language import in_users_language
from .panel_parts import OUT_OF_DATE, TabPanel, optional, paragraph, results_of, split, state_of, words_wide


class FINISHING_PT_body(TabPanel, bpy.types.Panel):
    """Body and side."""

    bl_label = "Body and Side"
    bl_idname = "FINISHING_PT_body"

    @classmethod
    def poll(cls, _context: bpy.types.Context) -> bool:
        return True

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.layout
        body = context.object
        if body is None or body.type != "MESH":
            layout.label(text="Select a body (a mesh object)", icon="INFO")
            return
        scale = context.scene.unit_settings.scale_length * 1000.0
        size = [value * scale for value in body.dimensions]
        layout.label(text=body.name, icon="MESH_DATA", translate=False)
        measured = Message("{x:.1f} x {y:.1f} x {z:.1f} mm", x=size[0], y=size[1], z=size[2])
        layout.label(text=in_users_language(measured), icon="BLANK1", translate=False)
        machine = context.scene.finishing.machine
        if max(size[:2]) > max(machine.bed_x_mm, machine.bed_y_mm) or max(size) < 5.0:
            doubt = Message("This size does not suit the machine: check the scene's units")
            paragraph(layout, in_users_language(doubt), words_wide(context), "INFO")
        layout.row().prop(body.finishing, "side", expand=True)
        layout.operator("finishing.survey", icon="VIEWZOOM")
        # Here as well as beside its settings, so that it is in sight whatever is unfolded.
        row = layout.row()
        row.scale_y = 1.3
        row.operator("finishing.plan", icon="PLAY")
        state = state_of(context)
        if state in OUT_OF_DATE:
            paragraph(layout, in_users_language(OUT_OF_DATE[state]), words_wide(context), "INFO")


class FINISHING_PT_maps(TabPanel, bpy.types.Panel):
    """Maps."""

    bl_label = "Maps"
    bl_idname = "FINISHING_PT_maps"

    def draw_header(self, context: bpy.types.Context) -> None:
        self.layout.prop(context.window_manager.finishing_view, "show", text="")

    def draw(self, context: bpy.types.Context) -> None:
        layout = split(self.layout)
        view = context.window_manager.finishing_view
        layout.active = view.show
        for name in ("surface_map", "opacity", "lines_by"):
            layout.prop(view, name)


class FINISHING_PT_drawn(TabPanel, bpy.types.Panel):
    """What is drawn beside the map."""

    bl_label = "Drawn"
    bl_idname = "FINISHING_PT_drawn"
    bl_parent_id = "FINISHING_PT_maps"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        view = context.window_manager.finishing_view
        column = self.layout.column()
        column.active = view.show
        for name in (
            "show_lines", "show_links", "show_lifts", "show_skip", "show_stock", "show_zero", "show_findings", "show_legend", "show_readout",
            "show_trade_off",
        ):  # fmt: skip
            column.prop(view, name)


class FINISHING_PT_skip(TabPanel, bpy.types.Panel):
    """Skip."""

    bl_label = "Skip"
    bl_idname = "FINISHING_PT_skip"

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.layout
        body = context.object.finishing
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


TREATMENTS = {"auto": Message("As Set"), "skip": Message("Skip"), "bridge": Message("Bridge"), "follow": Message("Follow")}
"""What may be done with an opening."""


class FINISHING_PT_suggestions(TabPanel, bpy.types.Panel):
    """What may better be skipped."""

    bl_label = "Suggestions"
    bl_idname = "FINISHING_PT_suggestions"
    bl_parent_id = "FINISHING_PT_skip"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        layout, results = self.layout, results_of(context)
        if results is None or results.survey is None:
            layout.label(text="Measure the body first")
            return
        width = words_wide(context)
        chosen = {item.number: item.treatment for item in context.object.finishing.opening_choices}
        for number, suggestion in enumerate(results.survey.suggestions):
            box = layout.box()
            paragraph(box, in_users_language(suggestion.words), width - 2)
            if suggestion.kind != "opening":
                box.operator("finishing.accept_skip", text="Skip This Ground").number = number
                continue
            row = box.row(align=True)
            for treatment, label in TREATMENTS.items():
                pressed = chosen.get(suggestion.number, "auto") == treatment
                button = row.operator("finishing.treat_opening", text=in_users_language(label), depress=pressed, translate=False)
                button.number, button.treatment = suggestion.number, treatment
        if not results.survey.suggestions:
            layout.label(text="Nothing to suggest")


CLASSES = (FINISHING_PT_body, FINISHING_PT_maps, FINISHING_PT_drawn, FINISHING_PT_skip, FINISHING_PT_suggestions)
