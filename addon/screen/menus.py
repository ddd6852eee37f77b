"""The menu entries, so that the search finds every action."""

from __future__ import annotations

import bpy

from ..finishing.core.message import Message
from ..finishing.job.cutter import cutter_words
from ..scene.active import active_settings, plan_of, results_of
from ..scene.blender_data import present
from ..scene.view_settings import view_of
from .language import in_users_language

ENTRIES = (
    ("import_body", "lay_flat", "leave_to_flat_cutters", "move_in_view", "place_dowels", "place_tabs"),
    ("plan", "plan_both", "survey", "show_fit", "show_finished", "set_left", "play", "view_pie"),
    ("paint_skip", "skip_selected", "clear_skip"),
    ("keep_plan", "choose_plan", "measured_run", "log_run", "write_coupon", "take_coupon"),
    ("timing_program", "timing_times"),
    ("export", "keep_lines", "read_plan"),
)
"""Actions in the menu, in groups."""


class FINISHING_MT_suggestions(bpy.types.Menu):
    """What is suggested for the active body: skipping ground, treating openings."""

    bl_idname = "FINISHING_MT_suggestions"
    bl_label = "Suggestions"

    def draw(self, context: bpy.types.Context | None) -> None:
        """An entry for every suggestion, or a grey one that says what is missing."""
        layout, results = present(self.layout), results_of(present(context))
        suggestions = results.survey.suggestions if results is not None and results.survey is not None else ()
        for number, suggestion in enumerate(suggestions):
            words = in_users_language(suggestion.words)
            if suggestion.kind == "opening":
                present(layout.operator_menu_enum("finishing.treat_opening", "treatment", text=words, translate=False)).number = suggestion.number
            else:
                entry = layout.operator("finishing.accept_skip", text=words, icon="RESTRICT_SELECT_OFF", translate=False)
                present(entry).number = number
        if not suggestions:
            layout.operator("finishing.accept_skip")


class FINISHING_MT_findings(bpy.types.Menu):
    """Places that the findings of the active body's plan are about, and the plans of its cutters."""

    bl_idname = "FINISHING_MT_findings"
    bl_label = "Findings"

    def draw(self, context: bpy.types.Context | None) -> None:
        """An entry for every plan and every place, or grey ones that say what is missing."""
        layout, results, plan = present(self.layout), results_of(present(context)), plan_of(present(context))
        for number, each in enumerate(results.plans if results is not None else ()):
            text = f"{number + 1}. {in_users_language(cutter_words(each.cutter))}"
            present(layout.operator("finishing.show_plan", text=text, icon="TOOL_SETTINGS", translate=False)).number = number
        found = [] if plan is None else [finding for finding in plan.findings if finding.place is not None]
        for finding in found:
            words = in_users_language(finding.sentence)
            present(layout.operator("finishing.look_at", text=words, icon="VIEWZOOM", translate=False)).place = finding.place
        if not found:
            layout.operator("finishing.look_at")
            layout.operator("finishing.show_plan")


class FINISHING_MT_view_pie(bpy.types.Menu):
    """What is looked at: pass lines at the left, playing at the right, side below, maps above."""

    bl_idname = "FINISHING_MT_view_pie"
    bl_label = "Finishing"

    def draw(self, context: bpy.types.Context | None) -> None:
        """Four places of the pie; without a plan playing is grey."""
        around = present(context)
        pie, view = present(self.layout).menu_pie(), view_of(around)
        pie.prop(view, "show_lines", toggle=True)
        pie.operator("finishing.play", icon="PAUSE" if view.playing else "PLAY")
        pie.row().prop(active_settings(around), "side", expand=True)
        pie.column().prop(view, "surface_map", expand=True)


class FINISHING_MT_object(bpy.types.Menu):
    """Finishing of the active body."""

    bl_idname = "FINISHING_MT_object"
    bl_label = "Body Finishing"

    def draw(self, _context: bpy.types.Context | None) -> None:
        """All actions, those with choices of their own as one entry for each choice."""
        layout = present(self.layout)
        layout.operator_menu_enum("finishing.open_example", "example")
        for group in ENTRIES:
            for action in group:
                layout.operator(f"finishing.{action}")
            layout.separator()
        layout.menu(FINISHING_MT_suggestions.bl_idname)
        layout.menu(FINISHING_MT_findings.bl_idname)
        layout.operator_menu_enum("finishing.rack", "change")
        for rows, label in (("keep_out", Message("Add Keep-Out Box")), ("elsewhere", Message("Add Other Operation"))):
            button = present(layout.operator("finishing.list", text=in_users_language(label), translate=False))
            button.rows, button.change = rows, "add"


def add_menu(menu: bpy.types.Menu, _context: bpy.types.Context) -> None:
    """Hang the menu into Blender's Object menu."""
    layout = present(menu.layout)
    layout.separator()
    layout.menu(FINISHING_MT_object.bl_idname)


MENUS = (FINISHING_MT_view_pie, FINISHING_MT_suggestions, FINISHING_MT_findings, FINISHING_MT_object)
