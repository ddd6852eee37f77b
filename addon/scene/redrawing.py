"""Asking Blender to draw the 3D views anew."""

from __future__ import annotations

from collections.abc import Iterator

import bpy

SOON = 0.03
"""Seconds."""


def redraw_views() -> None:
    """Have all 3D views with their sidebars drawn anew."""
    for area in views():
        area.tag_redraw()


def redraw_views_soon() -> None:
    """The same while a view is being drawn, when Blender takes no such wish: after the drawing, once."""
    if not bpy.app.timers.is_registered(redraw_views):
        bpy.app.timers.register(redraw_views, first_interval=SOON)


def redraw_no_more() -> None:
    """Drop a wish that is still to be met, as before the code is unloaded."""
    if bpy.app.timers.is_registered(redraw_views):
        bpy.app.timers.unregister(redraw_views)


def redraw_sidebars() -> None:
    """Have only the sidebars of all 3D views drawn anew."""
    for area in views():
        for region in area.regions:
            if region.type == "UI":
                region.tag_redraw()


def views() -> Iterator[bpy.types.Area]:
    """The areas of all 3D views in all windows."""
    manager = bpy.context.window_manager
    for window in manager.windows if manager is not None else ():
        yield from (area for area in window.screen.areas if area.type == "VIEW_3D")
