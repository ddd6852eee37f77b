"""Asking Blender to draw the 3D views anew."""

from __future__ import annotations

import bpy


def redraw_views(sidebar_only: bool = False) -> None:
    """Have all 3D views, or only their sidebars, drawn anew."""
    manager = bpy.context.window_manager
    for window in manager.windows if manager is not None else ():
        for area in window.screen.areas:
            if area.type != "VIEW_3D":
                continue
            if not sidebar_only:
                area.tag_redraw()
                continue
            for region in area.regions:
                if region.type == "UI":
                    region.tag_redraw()
