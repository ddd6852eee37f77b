"""What all panels of the tab share. Panels read settings and results that are there; they compute nothing."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import blf
import bpy

from ..scene.blender_data import present
from ..scene.length_properties import seen_name, stored_name
from ..scene.text_context import CONTEXT
from .language import interface_word

if TYPE_CHECKING:  # the names of all icons, which Blender itself has no type for
    from bpy.stub_internal.rna_enums import IconItems

TAB = "Body Finishing"

LETTER_PIXELS, MARGIN_LETTERS, ICON_LETTERS, LEAST_LETTERS = 6.3, 11, 3, 18
"""Mean width of a letter of Blender's own font at its usual size, letters that panel edges and an icon take, and the least of a line."""

FONT, FONT_POINTS = 0, 11.0
"""Blender's font of the interface, and its usual size at a scale of 1."""

PANEL_EDGES, TEXT_EDGES, ICON_PIXELS, MENU_ARROW = 58.0, 14.0, 20.0, 16.0
"""Pixels at a scale of 1: tabs and edges beside the rows of a panel, edges within a button, an icon, the arrow of a list to choose from."""

NAME_SHARE = 0.5
"""Share of a row's width that the name of a value may take; where it is longer, it stands above the value."""


class TabPanel(bpy.types.Panel):
    """A panel of the tab that needs a body."""

    bl_space_type = "VIEW_3D"
    bl_region_type = "UI"
    bl_category = TAB
    bl_translation_context = CONTEXT

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        """Whether the active object can be a body."""
        return context.object is not None and context.object.type == "MESH"


class MorePanel(TabPanel):
    """What fewer people need of a panel, folded; subclasses name their panel as bl_parent_id."""

    bl_label = "More"
    bl_options = {"DEFAULT_CLOSED"}


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


def optional(layout: bpy.types.UILayout, context: bpy.types.Context, settings: bpy.types.PropertyGroup, use: str, name: str) -> None:
    """A value that only counts when its box is ticked; below its box where the name is too long to stand beside it."""
    if text_width(context, shown_name(settings, use)) > room(context, NAME_SHARE, icon=True):
        row = layout.column(align=True)
    else:
        row = layout.split(factor=NAME_SHARE, align=True)
    row.prop(settings, use)
    sub = row.row()
    sub.active = getattr(settings, use)
    field(sub, context, settings, name)


def field(layout: bpy.types.UILayout, context: bpy.types.Context, settings: bpy.types.PropertyGroup, name: str, letter: str = "") -> None:
    """The field of a setting; a letter, such as that of an axis, may stand in it, and the unit where Blender knows of none."""
    seen = seen_name(settings, name, present(context.scene))
    words = [letter, "mm" if seen == stored_name(name) else ""]
    layout.prop(settings, seen, text=" ".join(word for word in words if word), translate=False)


LIST_BUTTONS: tuple[tuple[str, IconItems], ...] = (("add", "ADD"), ("remove", "REMOVE"), ("up", "TRIA_UP"), ("down", "TRIA_DOWN"))
"""What can be done with the rows of a list, and the icons of the buttons."""


def text_width(context: bpy.types.Context, text: str) -> float:
    """Width of a text in pixels, as panels write it."""
    blf.size(FONT, FONT_POINTS * present(present(context.preferences).system).ui_scale)
    return float(blf.dimensions(FONT, text)[0])


def room(context: bpy.types.Context, share: float = 1.0, *, icon: bool = False) -> float:
    """Pixels that a text has in a share of a panel's rows."""
    scale = present(present(context.preferences).system).ui_scale
    return (present(context.region).width - PANEL_EDGES * scale) * share - (TEXT_EDGES + (ICON_PIXELS if icon else 0.0)) * scale


def fits(context: bpy.types.Context, texts: Sequence[str], *, icon: bool = False) -> bool:
    """Whether buttons with these texts stand side by side without being cut off."""
    return all(text_width(context, text) <= room(context, 1 / len(texts), icon=icon) for text in texts)


def beside(layout: bpy.types.UILayout, context: bpy.types.Context, texts: Sequence[str], *, icon: bool = False) -> bpy.types.UILayout:
    """A row for buttons with these texts, or a column where the sidebar is too narrow for them side by side."""
    return layout.row(align=True) if fits(context, texts, icon=icon) else layout.column(align=True)


def shown_name(settings: bpy.types.PropertyGroup, name: str) -> str:
    """The name of a setting in the user's language."""
    return interface_word(settings.bl_rna.properties[name].name)


def _chosen_name(settings: bpy.types.PropertyGroup, name: str) -> str:
    """What stands in the field of a choice; "" for a number."""
    declared = settings.bl_rna.properties[name]
    if not isinstance(declared, bpy.types.EnumProperty):
        return ""
    chosen = declared.enum_items.get(getattr(settings, name))
    return "" if chosen is None else interface_word(chosen.name)


def value(layout: bpy.types.UILayout, context: bpy.types.Context, settings: bpy.types.PropertyGroup, name: str) -> bpy.types.UILayout:
    """A setting with its name beside it, or above it where either would be cut off; returns the layout of its field."""
    words = shown_name(settings, name)
    chosen = text_width(context, _chosen_name(settings, name)) + MENU_ARROW * present(present(context.preferences).system).ui_scale
    if text_width(context, words) > room(context, NAME_SHARE) or chosen > room(context, 1 - NAME_SHARE):
        column = layout.column(align=True)
        column.label(text=words, translate=False)
        field(column, context, settings, name)
        return column
    row = layout.split(factor=NAME_SHARE, align=True)
    named = row.row()
    named.alignment = "RIGHT"
    named.label(text=words, translate=False)
    field(row, context, settings, name)
    return row


def list_buttons(column: bpy.types.UILayout, rows: str, *, can_add: bool = True) -> None:
    """Buttons that add, remove and move the rows of a list of the active body."""
    for change, icon in LIST_BUTTONS[0 if can_add else 1 :]:
        button = present(column.operator("finishing.list", text="", icon=icon))
        button.rows, button.change = rows, change


def apply_button(layout: bpy.types.UILayout, kind: str, number: int = 0) -> None:
    """A button that applies a suggestion of the plan that is looked at. kind, number: as the action takes them."""
    button = present(layout.operator("finishing.apply"))
    button.kind, button.number = kind, number


def letters_per_line(context: bpy.types.Context) -> int:
    """Letters that fit into a line of the sidebar."""
    scale = present(present(context.preferences).system).ui_scale
    return max(LEAST_LETTERS, int(present(context.region).width / (LETTER_PIXELS * scale)) - MARGIN_LETTERS)


def paragraph(layout: bpy.types.UILayout, text: str, width: int, icon: IconItems = "NONE") -> bpy.types.UILayout:
    """A sentence over as many lines as it needs, each no wider than so many letters of mean width; returns its column."""
    column = layout.column(align=True)
    column.scale_y = 0.8
    blank: IconItems = "NONE" if icon == "NONE" else "BLANK1"
    pixels = LETTER_PIXELS * max(width - (0 if icon == "NONE" else ICON_LETTERS), LEAST_LETTERS)
    blf.size(FONT, FONT_POINTS)
    line = ""
    for word in text.split():
        longer = f"{line} {word}".strip()
        if line and blf.dimensions(FONT, longer)[0] > pixels:
            column.label(text=line, icon=icon, translate=False)
            longer, icon = word, blank
        line = longer
    column.label(text=line, icon=icon, translate=False)
    return column
