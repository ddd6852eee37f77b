"""The rack as a list: add, remove, move, duplicate."""

from __future__ import annotations

import bpy
from bpy.app.translations import pgettext_tip

from ..finishing.job.cutter import Cutter
from ..scene.active import active_shop
from ..scene.blender_data import present
from ..scene.properties import choice, with_properties
from ..scene.rack_settings import FinishingShop, cutter_of, fill_rack, free_name, set_record
from ..scene.row_changes import move_row, remove_row
from .conditions import Outcome

CHANGES = (
    ("add", "Add", "Add a cutter"),
    ("duplicate", "Duplicate", "Add a copy of this cutter"),
    ("remove", "Remove", "Take this cutter off the rack"),
    ("up", "Up", "Move this cutter up"),
    ("down", "Down", "Move this cutter down"),
    ("fill", "Fill", "Put the built-in cutters on an empty rack"),
)
"""What can be done with the rack: identifier, name, tooltip."""

NEW_CUTTER = Cutter("Round-nose", 16.0)
"""What a cutter that is added begins as."""


@with_properties
class FINISHING_OT_rack(bpy.types.Operator):
    """Change the rack: add, duplicate, remove or move a cutter, or put the built-in cutters on an empty rack"""

    bl_idname = "finishing.rack"
    bl_label = "Change Rack"
    bl_options = {"REGISTER", "UNDO"}

    change: str = choice(name="Change", items=CHANGES, options={"SKIP_SAVE"})

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        """Whether the scene may be changed."""
        if not present(context.scene).is_editable:
            cls.poll_message_set("The scene is linked from another file: change its rack there")
            return False
        return True

    @classmethod
    def description(cls, _context: bpy.types.Context, properties: bpy.types.OperatorProperties) -> str:
        """The tooltip of the button's own change."""
        return pgettext_tip(next(tooltip for identifier, _, tooltip in CHANGES if identifier == properties.change))

    def execute(self, context: bpy.types.Context) -> Outcome:
        """Change the rack, and make the cutter active that was added or moved."""
        shop = active_shop(context)
        at, count = shop.active_cutter, len(shop.cutters)
        if self.change == "fill":
            fill_rack(present(context.scene))
        elif self.change in ("add", "duplicate"):
            _add_cutter(shop, cutter_of(shop.cutters[at]) if self.change == "duplicate" and at < count else NEW_CUTTER)
        elif at < count and self.change == "remove":
            shop.active_cutter = remove_row(shop.cutters, at)
        elif at < count:
            to = move_row(shop.cutters, at, 1 if self.change == "down" else -1)
            if to is None:
                return {"CANCELLED"}
            shop.active_cutter = to
        return {"FINISHED"}


def _add_cutter(shop: FinishingShop, cutter: Cutter) -> None:
    """Put a cutter on the rack under a name that is free there."""
    taken = {item.name for item in shop.cutters}
    item = shop.cutters.add()
    set_record(item, cutter)
    item.name = free_name(cutter.name, taken)
    shop.active_cutter = len(shop.cutters) - 1


CLASSES = (FINISHING_OT_rack,)
