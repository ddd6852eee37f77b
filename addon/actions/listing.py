"""Rows of a body's lists: other operations, keep-out boxes and kept plans."""

from __future__ import annotations

import bpy
from bpy.app.translations import pgettext_tip

from ..finishing.core.message import Message
from ..scene.active import active_settings
from ..scene.properties import Rows, choice, with_properties
from ..scene.row_changes import move_row, remove_row
from ..screen.language import in_users_language
from .conditions import BodyAction, Outcome

LISTS = {"elsewhere": "active_elsewhere", "keep_out": "active_keep_out", "kept_plans": "active_kept"}
"""Property of a list, and the property that holds the number of its active row."""

FIRST_NAMES = {"keep_out": Message("Clamp"), "elsewhere": Message("Roughing")}
"""What a new row is called before its user names it."""

CHANGES = (
    ("add", "Add", "Add a row"),
    ("remove", "Remove", "Take this row away"),
    ("up", "Up", "Move this row up"),
    ("down", "Down", "Move this row down"),
)
"""What can be done with a list: identifier, name, tooltip."""


@with_properties
class FINISHING_OT_list(BodyAction):
    """Add a row to a list of the active body, take one away, or move it"""

    bl_idname = "finishing.list"
    bl_label = "Change List"
    bl_options = {"REGISTER", "UNDO"}

    rows: str = choice(
        name="List",
        items=(
            ("elsewhere", "Other Operations", "Operations on the side that are planned elsewhere"),
            ("keep_out", "Keep-Out Boxes", "Boxes that the cutter must stay out of"),
            ("kept_plans", "Kept Plans", "Plans kept for comparing"),
        ),
        options={"SKIP_SAVE"},
    )
    change: str = choice(name="Change", items=CHANGES, options={"SKIP_SAVE"})

    @classmethod
    def description(cls, _context: bpy.types.Context, properties: bpy.types.OperatorProperties) -> str:
        """The tooltip of the button's own change."""
        return pgettext_tip(next(tooltip for identifier, _, tooltip in CHANGES if identifier == properties.change))

    def execute(self, context: bpy.types.Context) -> Outcome:
        """Change the list, and make the row active that was added or moved."""
        body = active_settings(context)
        rows: Rows[bpy.types.PropertyGroup] = getattr(body, self.rows)
        at: int = getattr(body, LISTS[self.rows])
        if self.change == "add":
            row = rows.add()
            if self.rows in FIRST_NAMES:
                row.name = in_users_language(FIRST_NAMES[self.rows])
            active: int | None = len(rows) - 1
        elif at >= len(rows):
            active = None
        elif self.change == "remove":
            active = remove_row(rows, at)
        else:
            active = move_row(rows, at, 1 if self.change == "down" else -1)
        if active is None:
            return {"CANCELLED"}
        setattr(body, LISTS[self.rows], active)
        return {"FINISHED"}


class FINISHING_OT_place_dowels(BodyAction):
    """Put the dowels back into the margin of the stock, where they were before they were moved"""

    bl_idname = "finishing.place_dowels"
    bl_label = "Place Dowels Anew"
    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        """Whether any dowel was moved."""
        if not super().poll(context):
            return False
        if not active_settings(context).dowel_places:
            cls.poll_message_set("Move a dowel first: all are where they were placed")
            return False
        return True

    def execute(self, context: bpy.types.Context) -> Outcome:
        """Forget the places that were given."""
        active_settings(context).dowel_places.clear()
        return {"FINISHED"}


class FINISHING_OT_place_tabs(BodyAction):
    """Spread the tabs round the outline again, as they were before they were moved"""

    bl_idname = "finishing.place_tabs"
    bl_label = "Place Tabs Anew"
    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        """Whether any tab was moved."""
        if not super().poll(context):
            return False
        if not active_settings(context).tab_places:
            cls.poll_message_set("Move a tab first: all are where they were placed")
            return False
        return True

    def execute(self, context: bpy.types.Context) -> Outcome:
        """Forget the places that were given."""
        active_settings(context).tab_places.clear()
        return {"FINISHED"}


CLASSES = (FINISHING_OT_list, FINISHING_OT_place_dowels, FINISHING_OT_place_tabs)
