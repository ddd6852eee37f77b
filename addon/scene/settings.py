"""What the user sets: on the object what belongs to a body, on the scene the rack and the machine, on the window manager the view.

What belongs to bodies and scenes is saved with the file and follows undo. Lengths are stored in mm (see length_properties).
"""

from __future__ import annotations

import bpy

from . import body_settings, export_settings, job_settings, program_properties, rack_settings, view_settings
from .properties import attach, detach

CLASSES = (
    *program_properties.CLASSES,
    *rack_settings.CLASSES,
    *job_settings.CLASSES,
    *body_settings.CLASSES,
    *view_settings.CLASSES,
    *export_settings.CLASSES,
)

ATTACHED = (
    (bpy.types.Object, body_settings.OBJECT_PROPERTY, body_settings.FinishingBody),
    (bpy.types.Scene, rack_settings.SCENE_PROPERTY, rack_settings.FinishingShop),
    (bpy.types.Scene, export_settings.EXPORT_PROPERTY, export_settings.FinishingExport),
    (bpy.types.Object, export_settings.FOLDER_PROPERTY, export_settings.FinishingFiles),
    (bpy.types.WindowManager, view_settings.MANAGER_PROPERTY, view_settings.FinishingView),
)
"""Type of Blender's data, name of the property on it, property group."""


def register() -> None:
    """Register the property groups and hang them on Blender's data."""
    for group in CLASSES:
        bpy.utils.register_class(group)
    for owner, name, group in ATTACHED:
        attach(owner, name, group)


def unregister() -> None:
    """Take the properties away and unregister their groups."""
    for owner, name, _ in reversed(ATTACHED):
        detach(owner, name)
    for group in reversed(CLASSES):
        bpy.utils.unregister_class(group)
