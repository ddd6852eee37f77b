"""The menu entries, so that the search finds every action."""

from __future__ import annotations

import bpy

from ..finishing.core.message import Message
from ..scene.results import STORE
from .language import in_users_language


class FINISHING_MT_suggestions(bpy.types.Menu):
    """What is suggested for the active body: skipping ground, treating openings."""

    bl_idname = "FINISHING_MT_suggestions"
    bl_label = "Suggestions"

    def draw(self, context: bpy.types.Context) -> None:
        layout, results = self.layout, STORE.find(context.object)
        suggestions = results.survey.suggestions if results is not None and results.survey is not None else ()
        for number, suggestion in enumerate(suggestions):
            if suggestion.kind == "opening":
                button = layout.operator_menu_enum("finishing.treat_opening", "treatment", text=in_users_language(suggestion.words), translate=False)
                button.number = suggestion.number
            else:
                words = in_users_language(suggestion.words)
                layout.operator("finishing.accept_skip", text=words, icon="RESTRICT_SELECT_OFF", translate=False).number = number
        if not suggestions:
            layout.operator("finishing.accept_skip")


class FINISHING_MT_findings(bpy.types.Menu):
    """Places that the findings of the active body's plan are about, and the plans of its cutters."""

    bl_idname = "FINISHING_MT_findings"
    bl_label = "Findings"

    def draw(self, context: bpy.types.Context) -> None:
        layout, results = self.layout, STORE.find(context.object)
        plans = results.plans if results is not None else ()
        for number, plan in enumerate(plans):
            text = f"{number + 1}. {plan.cutter.name}"
            layout.operator("finishing.show_plan", text=text, icon="TOOL_SETTINGS", translate=False).number = number
        found = [f for f in results.plan.findings if f.place is not None] if plans else []
        for finding in found:
            words = in_users_language(finding.sentence)
            layout.operator("finishing.look_at", text=words, icon="VIEWZOOM", translate=False).place = finding.place
        if not found:
            layout.operator("finishing.look_at")
            layout.operator("finishing.show_plan")


class FINISHING_MT_object(bpy.types.Menu):
    """Finishing of the active body."""

    bl_idname = "FINISHING_MT_object"
    bl_label = "Body Finishing"

    def draw(self, _context: bpy.types.Context) -> None:
        layout = self.layout
        for actions in (
            ("plan", "survey", "show_fit", "play"), ("paint_skip", "skip_selected", "clear_skip"), ("keep_plan", "choose_plan", "measured_run"),
            ("export", "keep_lines", "read_plan"),
        ):  # fmt: skip
            for action in actions:
                layout.operator(f"finishing.{action}")
            layout.separator()
        layout.menu(FINISHING_MT_suggestions.bl_idname)
        layout.menu(FINISHING_MT_findings.bl_idname)
        # Actions with choices of their own: one entry for each, so that the search finds all of them.
        layout.operator_menu_enum("finishing.rack", "change")
        for rows, label in (("keep_out", Message("Add Keep-Out Box")), ("elsewhere", Message("Add Work Made Elsewhere"))):
            button = layout.operator("finishing.list", text=in_users_language(label), translate=False)
            button.rows, button.change = rows, "add"


def add_menu(menu: bpy.types.Menu, _context: bpy.types.Context) -> None:
    """Hang the menu into Blender's Object menu."""
    menu.layout.separator()
    menu.layout.menu(FINISHING_MT_object.bl_idname)


MENUS = (FINISHING_MT_suggestions, FINISHING_MT_findings, FINISHING_MT_object)
