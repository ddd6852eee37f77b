"""What is seen in the sidebar: panels, lists, menus. Nothing is computed here."""

from __future__ import annotations

from pathlib import Path

import bpy

from . import translations

HOME = str(Path(__file__).parent.parent)
"""Folder that holds the presets that come with the extension."""


def _classes() -> tuple[type, ...]:
    from . import body_panels, outcome_panels, plan_panels, result_panels, shop_panels

    return (*body_panels.CLASSES, *shop_panels.CLASSES, *plan_panels.CLASSES, *result_panels.CLASSES, *outcome_panels.CLASSES)


def register() -> None:
    """Register lists, panels and the presets that come along."""
    for part in _classes():
        bpy.utils.register_class(part)
    bpy.utils.register_preset_path(HOME)
    translations.register()


def unregister() -> None:
    """Take presets, lists and panels back."""
    translations.unregister()
    bpy.utils.unregister_preset_path(HOME)
    for part in reversed(_classes()):
        bpy.utils.unregister_class(part)
