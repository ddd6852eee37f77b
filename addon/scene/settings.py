"""What the user sets: on the object what belongs to a body, on the scene the rack and the machine.

All of it is saved with the file and follows undo. Lengths are stored in mm (see length_properties).
"""

from __future__ import annotations

import bpy
from bpy.props import PointerProperty

from . import body_settings, job_settings, rack_settings

CLASSES = (*rack_settings.CLASSES, *job_settings.CLASSES, *body_settings.CLASSES)


def register() -> None:
    """Register the property groups and put them on objects and scenes."""
    for group in CLASSES:
        bpy.utils.register_class(group)
    bpy.types.Object.finishing = PointerProperty(type=body_settings.FinishingBody)
    bpy.types.Scene.finishing = PointerProperty(type=rack_settings.FinishingRack)


def unregister() -> None:
    """Take the properties away and unregister their groups."""
    del bpy.types.Scene.finishing
    del bpy.types.Object.finishing
    for group in reversed(CLASSES):
        bpy.utils.unregister_class(group)
