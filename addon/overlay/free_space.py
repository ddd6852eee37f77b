"""The part of a 3D view that no toolbar, sidebar or header covers, in pixels."""

from __future__ import annotations

import bpy


def _covering(context: bpy.types.Context) -> list[bpy.types.Region]:
    """Regions of the view's area that lie over it."""
    if not context.preferences.system.use_region_overlap or context.area is None:
        return []
    return [region for region in context.area.regions if region.width > 1 and region.height > 1]


def free_left(context: bpy.types.Context) -> float:
    """Left end: where the toolbar ends."""
    return max((r.width for r in _covering(context) if r.type == "TOOLS" and r.alignment == "LEFT"), default=0.0)


def free_right(context: bpy.types.Context) -> float:
    """Right end: where the sidebar begins."""
    sidebars = (r.x - context.region.x for r in _covering(context) if r.type == "UI" and r.alignment == "RIGHT")
    return float(min(sidebars, default=context.region.width))


def free_bottom(context: bpy.types.Context) -> float:
    """Lower end: above headers and shelves that lie in the lower half."""
    low = (
        r.y + r.height - context.region.y
        for r in _covering(context)
        if r.type in ("ASSET_SHELF", "ASSET_SHELF_HEADER", "HEADER", "TOOL_HEADER") and r.y < context.region.y + context.region.height / 2
    )
    return float(max(low, default=0.0))


def free_top(context: bpy.types.Context) -> float:
    """Upper end: below headers that lie in the upper half."""
    high = (
        r.y - context.region.y for r in _covering(context) if r.type in ("HEADER", "TOOL_HEADER") and r.y > context.region.y + context.region.height / 2
    )
    return float(min(high, default=context.region.height))
