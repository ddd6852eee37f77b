"""The menu entries, so that the search finds every action."""

from __future__ import annotations

import bpy


class FINISHING_MT_object(bpy.types.Menu):
    """Finishing of the active body."""

    bl_idname = "FINISHING_MT_object"
    bl_label = "Body Finishing"

    def draw(self, _context: bpy.types.Context) -> None:
        layout = self.layout
        for actions in (
            ("plan", "survey", "show_fit", "play"), ("paint_skip", "skip_selected", "clear_skip"), ("keep_plan", "choose_plan"),
            ("export", "keep_lines", "read_plan"),
        ):  # fmt: skip
            for action in actions:
                layout.operator(f"finishing.{action}")
            layout.separator()
        # Actions with choices of their own: one entry for each, so that the search finds all of them.
        layout.operator_menu_enum("finishing.rack", "change")
        for number, word in enumerate(("Add Keep-Out Box", "Add Work Made Elsewhere")):
            button = layout.operator("finishing.list", text=word)
            button.rows, button.change = ("keep_out", "elsewhere")[number], "add"


def add_menu(menu: bpy.types.Menu, _context: bpy.types.Context) -> None:
    """Hang the menu into Blender's Object menu."""
    menu.layout.separator()
    menu.layout.menu(FINISHING_MT_object.bl_idname)
