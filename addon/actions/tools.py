"""Switching the tools of the toolbar on, and off again to the tool before."""

from __future__ import annotations

from collections.abc import Sequence

import bpy

from ..scene.redrawing import redraw_views
from ..scene.setup_tool import SETUP_TOOL
from ..scene.skip_brush import SKIP_TOOL, active_tool
from ..scene.view_settings import view_of
from .conditions import BodyAction, Outcome

USUAL_TOOLS = {"OBJECT": ("builtin.select_box",), "EDIT_MESH": ("builtin.select_box",), "PAINT_WEIGHT": ("builtin.brush", "builtin_brush.Draw")}
"""What becomes active when a tool ends and none is known that was active before; names differ between versions of Blender."""


def turn_tool(context: bpy.types.Context, name: str, modes: Sequence[str]) -> None:
    """Make a tool active, from a mode that is not one of these in Object Mode; where it is active, end it."""
    view, before = view_of(context), active_tool(context)
    if before == name:
        known = (view.tool_before,) if view.tool_before else ()
        _activate(*known, *USUAL_TOOLS.get(context.mode, USUAL_TOOLS["OBJECT"]))
        view.tool_before = ""
    else:
        if context.mode not in modes:
            bpy.ops.object.mode_set(mode="OBJECT")
            before = active_tool(context)
        if before not in (SKIP_TOOL, SETUP_TOOL):
            view.tool_before = before
        _activate(name)
    redraw_views()


def put_tools_down(context: bpy.types.Context) -> None:
    """End whichever of our tools is active: the extension is about to go."""
    if active_tool(context) in (SKIP_TOOL, SETUP_TOOL):
        _activate(*USUAL_TOOLS.get(context.mode, USUAL_TOOLS["OBJECT"]))


def _activate(*names: str) -> None:
    """Make the first of some tools active that this Blender has in this mode."""
    for name in names:
        try:
            if bpy.ops.wm.tool_set_by_id(name=name, space_type="VIEW_3D") == {"FINISHED"}:
                return
        except RuntimeError:  # as Blender says that it knows no such tool
            continue


class FINISHING_OT_move_in_view(BodyAction):
    """Move stock, zero, dowels, tabs, keep-out boxes and grain by handles in the view. Press again, or Enter in the view, to end"""

    bl_idname = "finishing.move_in_view"
    bl_label = "Move Stock and Zero"
    bl_options = {"REGISTER"}

    def execute(self, context: bpy.types.Context) -> Outcome:
        """Switch the tool on or off."""
        turn_tool(context, SETUP_TOOL, ("OBJECT",))
        return {"FINISHED"}


CLASSES = (FINISHING_OT_move_in_view,)
