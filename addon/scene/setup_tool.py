"""The tool Move Stock and Zero: whether it is on."""

from __future__ import annotations

import bpy

from .skip_brush import active_tool

SETUP_TOOL = "finishing.setup_tool"
"""Name of the tool in the toolbar."""


def setup_tool_is_on(context: bpy.types.Context) -> bool:
    """Whether the tool is the active one of the 3D views in the mode that Blender is in."""
    return active_tool(context) == SETUP_TOOL
