"""What is seen in the sidebar: panels, lists, menus. Nothing is computed here."""

from __future__ import annotations

import bpy


def register() -> None:
    """Register lists and panels."""
    from .panels import CLASSES

    for part in CLASSES:
        bpy.utils.register_class(part)


def unregister() -> None:
    """Take lists and panels back."""
    from .panels import CLASSES

    for part in reversed(CLASSES):
        bpy.utils.unregister_class(part)
