"""The part of a 3D view that no toolbar, sidebar or header covers, in pixels."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import bpy

from ..scene.blender_data import present

BARS = ("HEADER", "TOOL_HEADER")
SHELVES = ("ASSET_SHELF", "ASSET_SHELF_HEADER")


@dataclass(frozen=True)
class FreeSpace:
    """Edges of the free part, from the lower left corner of the region; scale: how much larger than usual the user's interface is.

    buttons_top, buttons_right: edges of the box at the lower left in which Blender offers to adjust the last action; 0 without it.
    """

    left: float
    right: float
    bottom: float
    top: float
    scale: float
    width: float
    height: float
    buttons_top: float = 0.0
    buttons_right: float = 0.0


def free_space(context: bpy.types.Context, below: float = 0.0) -> FreeSpace:
    """The free part of the region that is drawn. below: pixels at its top that something of ours takes."""
    region, system = present(context.region), present(present(context.preferences).system)
    left, right, bottom, top = 0.0, float(region.width), 0.0, float(region.height)
    buttons_top = buttons_right = 0.0
    middle = region.y + region.height / 2
    for other in _covering(context) if system.use_region_overlap else ():
        if other.type == "HUD":
            buttons_top, buttons_right = other.y + other.height - region.y, other.x + other.width - region.x
        elif other.type == "TOOLS" and other.alignment == "LEFT":
            left = max(left, other.width)
        elif other.type == "UI" and other.alignment == "RIGHT":
            right = min(right, other.x - region.x)
        elif other.type in (*BARS, *SHELVES) and other.y < middle:
            bottom = max(bottom, other.y + other.height - region.y)
        elif other.type in BARS and other.y > middle:
            top = min(top, other.y - region.y)
    return FreeSpace(
        left=left,
        right=right,
        bottom=bottom,
        top=top - below,
        scale=system.ui_scale,
        width=region.width,
        height=region.height,
        buttons_top=buttons_top,
        buttons_right=buttons_right,
    )


def _covering(context: bpy.types.Context) -> Iterator[bpy.types.Region]:
    """Regions of the view's area that lie over it."""
    if context.area is not None:
        yield from (region for region in context.area.regions if region.width > 1 and region.height > 1)
