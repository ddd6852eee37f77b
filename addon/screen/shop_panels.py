"""What the shop has: rack and fit, machine, and their presets."""

from __future__ import annotations

from types import MappingProxyType
from typing import TYPE_CHECKING

import bpy
from bl_operators.presets import AddPresetBase
from bl_ui.utils import PresetPanel

from ..finishing.core.message import Message
from ..finishing.job.cutter_names import size_words
from ..finishing.options.cutter_sets import SetTable
from ..scene.active import active_settings, active_shop, results_of
from ..scene.blender_data import present
from ..scene.length_properties import seen_name
from ..scene.preset_files import MACHINE_DEFINES, MACHINE_VALUES, PROGRAM_VALUES, RACK_DEFINES, RACK_VALUES
from .language import in_users_language
from .panel_parts import LIST_BUTTONS, NAME_SHARE, MorePanel, RowList, TabPanel, letters_per_line, paragraph, value

if TYPE_CHECKING:  # the names of all icons, which Blender itself has no type for
    from bpy.stub_internal.rna_enums import IconItems

FIT_WORDS = Message("Every cutter alone: whether it fits, mm² that it leaves uncut, least minutes. Press one to see what it leaves.")
FIT_HEAD = (Message("Cutter"), Message("Fits"), Message("mm²"), Message("min"))
"""What the fit table says, and the heads of its columns, which are narrow."""

SETS_WORDS = Message("Cutters one after the other: minutes in all (≈ predicted), mm² and mm that they leave uncut. Press a set to take it.")
SETS_HEAD = (Message("Set"), Message("min"), Message("mm²"), Message("mm"))
"""What the table of sets says, and the heads of its columns."""

RACK_BUTTONS: tuple[tuple[str, IconItems], ...] = (*LIST_BUTTONS[:2], ("duplicate", "DUPLICATE"), *LIST_BUTTONS[2:])
"""What can be done with the cutters of the rack, and the icons of the buttons."""

MACHINE_PRESETS, RACK_PRESETS = "finishing/machine", "finishing/rack"


class FINISHING_OT_machine_preset(AddPresetBase, bpy.types.Operator):  # type: ignore[misc]  # the stubs know no types of AddPresetBase
    """Save this machine as a preset, or remove a preset"""

    bl_idname = "finishing.machine_preset"
    bl_label = "Machine Preset"
    preset_menu = "FINISHING_PT_machine_presets"
    preset_subdir = MACHINE_PRESETS
    preset_defines = MACHINE_DEFINES
    preset_values = (*(f"machine.{name}" for name in MACHINE_VALUES), *(f"program.{name}" for name in PROGRAM_VALUES))


class FINISHING_OT_rack_preset(AddPresetBase, bpy.types.Operator):  # type: ignore[misc]  # the stubs know no types of AddPresetBase
    """Save this rack as a preset, or remove a preset"""

    bl_idname = "finishing.rack_preset"
    bl_label = "Rack Preset"
    preset_menu = "FINISHING_PT_rack_presets"
    preset_subdir = RACK_PRESETS
    preset_defines = RACK_DEFINES
    preset_values = tuple(f"rack.{name}" for name in RACK_VALUES)


class FINISHING_PT_machine_presets(PresetPanel, bpy.types.Panel):
    """Presets of machines."""

    bl_label = "Machine Presets"
    preset_subdir = MACHINE_PRESETS
    preset_operator = "finishing.apply_preset"
    preset_operator_defaults = MappingProxyType({"kind": "machine"})
    preset_add_operator = "finishing.machine_preset"


class FINISHING_PT_rack_presets(PresetPanel, bpy.types.Panel):
    """Presets of racks."""

    bl_label = "Rack Presets"
    preset_subdir = RACK_PRESETS
    preset_operator = "finishing.apply_preset"
    preset_operator_defaults = MappingProxyType({"kind": "rack"})
    preset_add_operator = "finishing.rack_preset"


CUTTER_VALUES = (
    "diameter", "half_angle", "top_diameter", "measured_diameter", "runout", "flutes", "usable_length", "shank_diameter", "stick_out",
    "feed", "spindle_speed",
)  # fmt: skip
"""What is shown of the active cutter."""


class FINISHING_UL_cutters(RowList):
    """The rack."""

    def draw_row(self, layout: bpy.types.UILayout, item: bpy.types.PropertyGroup) -> None:
        """Draw name and diameter."""
        row = layout.split(factor=0.64, align=True)
        row.prop(item, "name", text="", emboss=False)
        row.prop(item, seen_name(item, "diameter", present(bpy.context.scene)), text="", emboss=False)


class FINISHING_PT_cutters(TabPanel):
    """Cutters."""

    bl_label = "Cutters"
    bl_idname = "FINISHING_PT_cutters"
    bl_order = 1

    def draw_header_preset(self, _context: bpy.types.Context) -> None:
        """The presets of racks."""
        FINISHING_PT_rack_presets.draw_panel_header(present(self.layout))

    def draw(self, context: bpy.types.Context) -> None:
        """The cutter to plan with, and those that follow it."""
        layout, body = present(self.layout), active_settings(context)
        row = layout.split(factor=NAME_SHARE, align=True)
        named = row.row()
        named.alignment = "RIGHT"
        named.label(text="Cutter" if body.cutter_name else "Best Set, or")
        row.prop_search(body, "cutter_name", active_shop(context), "cutters", text="", icon="TOOL_SETTINGS")
        if body.cutter_name:
            layout.prop(body, "smaller_cutters")


class FINISHING_PT_rack(MorePanel):
    """Rack and fit."""

    bl_idname = "FINISHING_PT_rack"
    bl_parent_id = "FINISHING_PT_cutters"

    def draw(self, context: bpy.types.Context) -> None:
        """The list of cutters, the values of the active one, and how each fits."""
        layout, body = present(self.layout), active_settings(context)
        if body.cutter_name:
            value(layout, context, body, "following_cutters")
        else:
            layout.prop_search(body, "cutter_in_spindle", active_shop(context), "cutters", icon="TOOL_SETTINGS")
        if body.smaller_cutters:
            value(layout, context, body, "overlap_with_larger")
        rack = active_shop(context)
        if len(rack.cutters) == 0:
            layout.label(text="The built-in rack is used")
            present(layout.operator("finishing.rack", text="Copy Rack into This File")).change = "fill"
        else:
            row = layout.row()
            row.template_list("FINISHING_UL_cutters", "", rack, "cutters", rack, "active_cutter", rows=4)
            column = row.column(align=True)
            for change, icon in RACK_BUTTONS:
                present(column.operator("finishing.rack", text="", icon=icon)).change = change
            if rack.active_cutter < len(rack.cutters):
                for name in CUTTER_VALUES:
                    value(layout, context, rack.cutters[rack.active_cutter], name)
        self._table(context, layout)

    def _table(self, context: bpy.types.Context, layout: bpy.types.UILayout) -> None:
        results = results_of(context)
        rows = results.rack if results is not None else ()
        if not rows:
            return
        paragraph(layout, in_users_language(FIT_WORDS), letters_per_line(context))
        box = layout.column(align=True)
        head = box.row()
        for title in FIT_HEAD:
            head.label(text=in_users_language(title), translate=False)
        rack = [entry.cutter for entry in rows]
        for entry in rows:
            row = box.row()
            name = in_users_language(size_words(entry.cutter, rack))
            present(row.operator("finishing.show_fit", text=name, translate=False)).cutter = entry.cutter.name
            row.label(text="Yes" if entry.fits else "No")
            row.label(text=in_users_language(Message("{area:.0f}", area=entry.uncut_area)), translate=False)
            row.label(text=in_users_language(Message("{minutes:.1f}", minutes=entry.minutes)), translate=False)
        if results is not None and results.sets is not None:
            paragraph(layout, in_users_language(SETS_WORDS), letters_per_line(context))
            _draw_sets(context, layout.column(align=True), results.sets)


def _draw_sets(context: bpy.types.Context, box: bpy.types.UILayout, sets: SetTable) -> None:
    """The sets of cutters, the one that finishes soonest first and marked, and why cutters are in none."""
    head = box.row()
    for title in SETS_HEAD:
        head.label(text=in_users_language(title), translate=False)
    for number, entry in enumerate(sets.rows):
        row = box.row()
        icon: IconItems = "CHECKMARK" if number == 0 else "NONE" if entry.enough else "ERROR"
        present(row.operator("finishing.take_set", text=entry.name, icon=icon, translate=False)).cutters = entry.name
        # "About" has no room beside the number.
        minutes = Message("{minutes:.1f}", minutes=entry.minutes) if entry.laid else Message("≈ {minutes:.1f}", minutes=entry.minutes)
        row.label(text=in_users_language(minutes), translate=False)
        row.label(text=in_users_language(Message("{area:.0f}", area=entry.left_area)), translate=False)
        row.label(text=in_users_language(Message("{height:.2f}", height=entry.left_height)), translate=False)
    for words in sets.kept_out_words:
        paragraph(box, in_users_language(words), letters_per_line(context), "DOT")


class FINISHING_PT_tolerances(TabPanel):
    """When a cutter counts as fitting."""

    bl_label = "Tolerances"
    bl_idname = "FINISHING_PT_tolerances"
    bl_parent_id = "FINISHING_PT_rack"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        """What may stay uncut."""
        layout, body = present(self.layout), active_settings(context)
        for name in ("uncut_height", "uncut_area"):
            value(layout, context, body, name)


class FINISHING_PT_machine(TabPanel):
    """Machine."""

    bl_label = "Machine"
    bl_idname = "FINISHING_PT_machine"
    bl_parent_id = "FINISHING_PT_rack"
    bl_options = {"DEFAULT_CLOSED"}

    def draw_header_preset(self, _context: bpy.types.Context) -> None:
        """The presets of machines."""
        FINISHING_PT_machine_presets.draw_panel_header(present(self.layout))

    def draw(self, context: bpy.types.Context) -> None:
        """All values of the machine."""
        layout = present(self.layout)
        machine = active_shop(context).machine
        for names in (
            ("name",),
            ("speed_x", "speed_y", "speed_z"),
            ("acceleration_x", "acceleration_y", "acceleration_z"),
            ("corners", "corner_rounding", "blocks_ahead", "blocks_per_second", "timing_tested"),
            ("air_feed", "plunge_feed", "safe_height"),
            ("bed_x", "bed_y", "travel_z"),
            ("nut_diameter", "nut_length"),
            ("spindle_least", "spindle_greatest", "spin_up_seconds", "tool_change_minutes", "time_factor"),
        ):
            column = layout.column(align=True)
            for name in names:
                value(column, context, machine, name)
        layout.operator("finishing.timing_program", icon="EXPORT")
        layout.operator("finishing.timing_times", icon="TIME")


class FINISHING_PT_programs(TabPanel):
    """What programs say to the control."""

    bl_label = "Programs"
    bl_idname = "FINISHING_PT_programs"
    bl_parent_id = "FINISHING_PT_machine"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        """All of it."""
        layout = present(self.layout)
        program = active_shop(context).program
        for name in ("spindle_start", "first_rise", "cancel_words", "path_mode", "fusing_tolerance"):
            value(layout, context, program, name)


CLASSES = (
    FINISHING_OT_machine_preset,
    FINISHING_OT_rack_preset,
    FINISHING_PT_machine_presets,
    FINISHING_PT_rack_presets,
    FINISHING_UL_cutters,
    FINISHING_PT_cutters,
    FINISHING_PT_rack,
    FINISHING_PT_tolerances,
    FINISHING_PT_machine,
    FINISHING_PT_programs,
)
