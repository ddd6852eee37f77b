"""What the shop has: rack and fit, machine, and their presets."""

from __future__ import annotations

import bpy
from bl_operators.presets import AddPresetBase
from bl_ui.utils import PresetPanel

from ..finishing.core.message import Message
from .language import in_users_language
from .panel_parts import TabPanel, results_of, split

MACHINE_VALUES = (
    "name", "speed_x", "speed_y", "speed_z", "acceleration_x", "acceleration_y", "acceleration_z", "junction_deviation_mm", "air_feed",
    "plunge_feed", "safe_height_mm", "bed_x_mm", "bed_y_mm", "travel_z_mm", "spindle_least", "spindle_greatest", "spin_up_seconds",
    "tool_change_minutes", "nut_diameter_mm", "nut_length_mm", "time_factor", "corners", "blocks_ahead", "timing_tested",
)  # fmt: skip
"""What a preset of a machine holds: lengths in mm, whatever the scene's unit."""

FIT_HEAD = (Message("Show Fit"), Message("Fits"), Message("Left mm²"), Message("Least min"))
"""Columns of the fit table."""

MACHINE_PRESETS, RACK_PRESETS = "finishing/machine", "finishing/rack"


class FINISHING_OT_machine_preset(AddPresetBase, bpy.types.Operator):
    """Save this machine as a preset, or remove a preset"""

    bl_idname = "finishing.machine_preset"
    bl_label = "Machine Preset"
    preset_menu = "FINISHING_PT_machine_presets"
    preset_subdir = MACHINE_PRESETS
    preset_defines = ("machine = bpy.context.scene.finishing.machine",)
    preset_values = tuple(f"machine.{name}" for name in MACHINE_VALUES)


class FINISHING_OT_rack_preset(AddPresetBase, bpy.types.Operator):
    """Save this rack as a preset, or remove a preset"""

    bl_idname = "finishing.rack_preset"
    bl_label = "Rack Preset"
    preset_menu = "FINISHING_PT_rack_presets"
    preset_subdir = RACK_PRESETS
    preset_defines = ("rack = bpy.context.scene.finishing",)
    preset_values = ("rack.as_text",)


class FINISHING_PT_machine_presets(PresetPanel, bpy.types.Panel):
    """Presets of machines."""

    bl_label = "Machine Presets"
    preset_subdir = MACHINE_PRESETS
    preset_operator = "script.execute_preset"
    preset_add_operator = "finishing.machine_preset"


class FINISHING_PT_rack_presets(PresetPanel, bpy.types.Panel):
    """Presets of racks."""

    bl_label = "Rack Presets"
    preset_subdir = RACK_PRESETS
    preset_operator = "script.execute_preset"
    preset_add_operator = "finishing.rack_preset"


class FINISHING_UL_cutters(bpy.types.UIList):
    """The rack."""

    def draw_item(self, _context, layout, _data, item, _icon, _active, _property, _index=0, _flags=0) -> None:  # noqa: ANN001
        row = layout.split(factor=0.64, align=True)
        row.prop(item, "name", text="", emboss=False)
        row.prop(item, "diameter", text="", emboss=False)


class FINISHING_PT_rack(TabPanel, bpy.types.Panel):
    """Rack and fit."""

    bl_label = "Rack and Fit"
    bl_idname = "FINISHING_PT_rack"

    def draw_header_preset(self, _context: bpy.types.Context) -> None:
        FINISHING_PT_rack_presets.draw_panel_header(self.layout)

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.layout
        rack = context.scene.finishing
        if len(rack.cutters) == 0:
            layout.label(text="The built-in rack is used")
            layout.operator("finishing.rack", text="Make It My Own").change = "fill"
        else:
            row = layout.row()
            row.template_list("FINISHING_UL_cutters", "", rack, "cutters", rack, "active_cutter", rows=4)
            column = row.column(align=True)
            for change, icon in (("add", "ADD"), ("remove", "REMOVE"), ("duplicate", "DUPLICATE"), ("up", "TRIA_UP"), ("down", "TRIA_DOWN")):
                column.operator("finishing.rack", text="", icon=icon).change = change
            if rack.active_cutter < len(rack.cutters):
                column = split(layout.column())
                for name in ("diameter", "flutes", "usable_length", "shank_diameter", "stick_out", "feed", "spindle_speed"):
                    column.prop(rack.cutters[rack.active_cutter], name)
        self._table(context, layout)

    def _table(self, context: bpy.types.Context, layout: bpy.types.UILayout) -> None:
        results = results_of(context)
        rows = results.rack if results is not None else ()
        if not rows:
            return
        box = layout.column(align=True)
        head = box.row()
        for title in FIT_HEAD:
            head.label(text=in_users_language(title), translate=False)
        for entry in rows:
            row = box.row()
            diameter = in_users_language(Message("{diameter:g} mm", diameter=entry.cutter.diameter))
            row.operator("finishing.show_fit", text=diameter, translate=False).cutter = entry.cutter.name
            row.label(text="Yes" if entry.fits else "No")
            row.label(text=in_users_language(Message("{area:.0f}", area=entry.uncut_area)), translate=False)
            row.label(text=in_users_language(Message("{minutes:.1f}", minutes=entry.minutes)), translate=False)


class FINISHING_PT_machine(TabPanel, bpy.types.Panel):
    """Machine."""

    bl_label = "Machine"
    bl_idname = "FINISHING_PT_machine"
    bl_options = {"DEFAULT_CLOSED"}

    def draw_header_preset(self, _context: bpy.types.Context) -> None:
        FINISHING_PT_machine_presets.draw_panel_header(self.layout)

    def draw(self, context: bpy.types.Context) -> None:
        layout = split(self.layout)
        machine = context.scene.finishing.machine
        for names in (
            ("name",), ("speed_x", "speed_y", "speed_z"), ("acceleration_x", "acceleration_y", "acceleration_z"),
            ("corners", "junction_deviation", "blocks_ahead", "timing_tested"),
            ("air_feed", "plunge_feed", "safe_height"), ("bed_x", "bed_y", "travel_z"), ("nut_diameter", "nut_length"),
            ("spindle_least", "spindle_greatest", "spin_up_seconds", "tool_change_minutes", "time_factor"),
        ):  # fmt: skip
            column = layout.column(align=True)
            for name in names:
                column.prop(machine, name)


CLASSES = (
    FINISHING_OT_machine_preset, FINISHING_OT_rack_preset, FINISHING_PT_machine_presets, FINISHING_PT_rack_presets, FINISHING_UL_cutters,
    FINISHING_PT_rack, FINISHING_PT_machine,
)  # fmt: skip
