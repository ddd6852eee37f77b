"""The tool Move Stock and Zero in the toolbar of Object Mode: while it is active, handles stand on what can be moved."""

from __future__ import annotations

import bpy

from ..scene.setup_tool import SETUP_TOOL

KEYMAP = (
    ("finishing.move_in_view", {"type": "RET", "value": "PRESS"}, None),
    ("finishing.move_in_view", {"type": "NUMPAD_ENTER", "value": "PRESS"}, None),
)
"""Enter ends the tool; the mouse is the handles'."""


def draw_settings(_context: bpy.types.Context, layout: bpy.types.UILayout, _tool: object) -> None:
    """The button that ends the tool."""
    layout.operator("finishing.move_in_view", text="End", icon="CHECKMARK")


class FinishingStockAndZero(bpy.types.WorkSpaceTool):
    """The tool in Object Mode."""

    bl_space_type = "VIEW_3D"
    bl_context_mode = "OBJECT"
    bl_idname = SETUP_TOOL
    bl_label = "Move Stock and Zero"
    bl_description = (
        "Move stock, zero, dowels, tabs, boxes and grain by handles: Ctrl moves in steps, Shift slowly, figures are typed while the mouse is held"
    )
    bl_icon = "ops.gpencil.primitive_box"
    bl_keymap = KEYMAP
    draw_settings = staticmethod(draw_settings)


TOOLS = (FinishingStockAndZero,)
