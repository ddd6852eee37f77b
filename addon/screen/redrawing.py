"""Asking Blender to draw the 3D views anew."""

from __future__ import annotations

import bpy


def redraw_views() -> None:
    """Have all 3D views with their sidebars drawn anew."""
    manager = bpy.context.window_manager
    for window in manager.windows if manager is not None else ():
        for area in window.screen.areas:
            if area.type == "VIEW_3D":
                area.tag_redraw()
