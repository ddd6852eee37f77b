"""What all panels of the tab share. Panels read settings and results that are there; they compute nothing."""

from __future__ import annotations

import bpy

from ..finishing.core.message import Message
from ..finishing.planning.result import Plan
from ..scene.results import STORE, BodyResults

TAB = "Body Finishing"

OUT_OF_DATE = {"shape": Message("The body has changed: plan again"), "settings": Message("A setting has changed: plan again")}


class TabPanel:
    """A panel of the tab that needs a body."""

    bl_space_type = "VIEW_3D"
    bl_region_type = "UI"
    bl_category = TAB

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return context.object is not None and context.object.type == "MESH"


def results_of(context: bpy.types.Context) -> BodyResults | None:
    """What has been worked out for the active body."""
    return STORE.find(context.object)


def state_of(context: bpy.types.Context) -> str:
    """Whether the active body is planned, and what has changed since."""
    results = results_of(context)
    return "none" if results is None else results.state(context.scene, context.object)


def plan_of(context: bpy.types.Context) -> Plan | None:
    """The plan of the active body that is looked at."""
    results = results_of(context)
    return None if results is None else results.plan


def split(layout: bpy.types.UILayout) -> bpy.types.UILayout:
    """The layout with names on the left and values on the right."""
    layout.use_property_split = True
    layout.use_property_decorate = False
    return layout


def optional(layout: bpy.types.UILayout, settings: bpy.types.PropertyGroup, use: str, name: str) -> None:
    """A value that only counts when its box is ticked."""
    row = layout.row(heading=settings.bl_rna.properties[use].name, align=True)
    row.prop(settings, use, text="")
    sub = row.row()
    sub.active = getattr(settings, use)
    sub.prop(settings, name, text="")


def words_wide(context: bpy.types.Context) -> int:
    """Letters that fit into a line of the sidebar."""
    return max(22, int(context.region.width / (6.3 * context.preferences.system.ui_scale)) - 8)


def paragraph(layout: bpy.types.UILayout, text: str, width: int, icon: str = "NONE") -> bpy.types.UILayout:
    """A sentence over as many lines as it needs; returns its column."""
    column = layout.column(align=True)
    column.scale_y = 0.8
    line = ""
    blank = "NONE" if icon == "NONE" else "BLANK1"
    for word in text.split():
        if line and len(line) + 1 + len(word) > width:
            column.label(text=line, icon=icon, translate=False)
            line, icon = word, blank
        else:
            line = f"{line} {word}".strip()
    column.label(text=line, icon=icon, translate=False)
    return column
