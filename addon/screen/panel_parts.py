"""What all panels of the tab share. Panels read settings and results that are there; they compute nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING

import bpy

from ..finishing.core.message import Message
from ..scene.active import state_of
from ..scene.blender_data import present
from .language import in_users_language

if TYPE_CHECKING:  # the names of all icons, which Blender itself has no type for
    from bpy.stub_internal.rna_enums import IconItems

TAB = "Body Finishing"

OUT_OF_DATE = {"shape": Message("The body has changed: plan again"), "settings": Message("A setting has changed: plan again")}

LETTER_PIXELS, MARGIN_LETTERS, LEAST_LETTERS = 6.3, 8, 22
"""Mean width of a letter of Blender's own font at its usual size, letters that panel edges and icon take, and the least of a line."""


class TabPanel(bpy.types.Panel):
    """A panel of the tab that needs a body."""

    bl_space_type = "VIEW_3D"
    bl_region_type = "UI"
    bl_category = TAB

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        """Whether the active object can be a body."""
        return context.object is not None and context.object.type == "MESH"


class RowList(bpy.types.UIList):
    """A list whose rows are drawn from their own item alone."""

    def draw_item(  # noqa: PLR0913  this is how Blender calls it
        self,
        context: bpy.types.Context | None,
        layout: bpy.types.UILayout,
        data: object,
        item: bpy.types.PropertyGroup | None,
        icon: int | None,
        active_data: object,
        active_property: str | None,
        index: int | None = 0,
        flt_flag: int | None = 0,
    ) -> None:
        """Draw one row."""
        if item is not None:
            self.draw_row(layout, item)

    def draw_row(self, layout: bpy.types.UILayout, item: bpy.types.PropertyGroup) -> None:
        """Draw the item of a row."""
        raise NotImplementedError


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


LIST_BUTTONS: tuple[tuple[str, IconItems], ...] = (("add", "ADD"), ("remove", "REMOVE"), ("up", "TRIA_UP"), ("down", "TRIA_DOWN"))
"""What can be done with the rows of a list, and the icons of the buttons."""


def list_buttons(column: bpy.types.UILayout, rows: str, *, can_add: bool = True) -> None:
    """Buttons that add, remove and move the rows of a list of the active body."""
    for change, icon in LIST_BUTTONS[0 if can_add else 1 :]:
        button = present(column.operator("finishing.list", text="", icon=icon))
        button.rows, button.change = rows, change


def out_of_date(layout: bpy.types.UILayout, context: bpy.types.Context) -> None:
    """Say that the plan of the active body is not up to date, when it is not."""
    state = state_of(context)
    if state in OUT_OF_DATE:
        paragraph(layout, in_users_language(OUT_OF_DATE[state]), letters_per_line(context), "INFO")


def apply_button(layout: bpy.types.UILayout, kind: str, number: int = 0) -> None:
    """A button that applies a suggestion of the plan that is looked at. kind, number: as the action takes them."""
    button = present(layout.operator("finishing.apply"))
    button.kind, button.number = kind, number


def letters_per_line(context: bpy.types.Context) -> int:
    """Letters that fit into a line of the sidebar."""
    scale = present(present(context.preferences).system).ui_scale
    return max(LEAST_LETTERS, int(present(context.region).width / (LETTER_PIXELS * scale)) - MARGIN_LETTERS)


def paragraph(layout: bpy.types.UILayout, text: str, width: int, icon: IconItems = "NONE") -> bpy.types.UILayout:
    """A sentence over as many lines as it needs; returns its column."""
    column = layout.column(align=True)
    column.scale_y = 0.8
    line = ""
    blank: IconItems = "NONE" if icon == "NONE" else "BLANK1"
    for word in text.split():
        if line and len(line) + 1 + len(word) > width:
            column.label(text=line, icon=icon, translate=False)
            line, icon = word, blank
        else:
            line = f"{line} {word}".strip()
    column.label(text=line, icon=icon, translate=False)
    return column
