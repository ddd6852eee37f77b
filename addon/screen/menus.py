"""The menu entries, so that the search finds every action."""

from __future__ import annotations

import bpy


class FINISHING_MT_object(bpy.types.Menu):
    """Finishing of the active body."""

    bl_idname = "FINISHING_MT_object"
    bl_label = "Body Finishing"

    def draw(self, _context: bpy.types.Context) -> None:
        layout = self.layout
        for action in ("plan", "survey", "show_fit"):
            layout.operator(f"finishing.{action}")
        layout.separator()
        for action in ("paint_skip", "skip_selected", "clear_skip"):
            layout.operator(f"finishing.{action}")
        layout.separator()
        for action in ("export", "keep_lines", "read_plan"):
            layout.operator(f"finishing.{action}")


def add_menu(menu: bpy.types.Menu, _context: bpy.types.Context) -> None:
    """Hang the menu into Blender's Object menu."""
    menu.layout.separator()
    menu.layout.menu(FINISHING_MT_object.bl_idname)
