"""Operators, one file a topic."""

from __future__ import annotations

import bpy


def _classes() -> tuple[type, ...]:
    from . import comparing, exporting, keeping, listing, looking, measuring, planning, racking, skipping, suggesting

    topics = (planning, skipping, suggesting, racking, listing, comparing, looking, measuring, exporting, keeping)
    return tuple(action for topic in topics for action in topic.CLASSES)


def register() -> None:
    """Register all operators and their menu, which lets the search find them."""
    from ..screen.menus import MENUS, add_menu

    for action in _classes():
        bpy.utils.register_class(action)
    for menu in MENUS:
        bpy.utils.register_class(menu)
    bpy.types.VIEW3D_MT_object.append(add_menu)


def unregister() -> None:
    """Stop what is under way, take the menu and the operators back."""
    from ..screen.menus import MENUS, add_menu
    from .planning import WORK

    WORK.end()
    WORK.wait(5.0)
    bpy.types.VIEW3D_MT_object.remove(add_menu)
    for menu in reversed(MENUS):
        bpy.utils.unregister_class(menu)
    for action in reversed(_classes()):
        bpy.utils.unregister_class(action)
