"""Operators, one file a topic."""

from __future__ import annotations

from collections.abc import Callable

import bpy

UNLOAD_SECONDS = 5.0
"""Longest wait for background work when the extension is disabled: its next step is far nearer."""


def _classes() -> tuple[type, ...]:
    """All operators; imported here, so that the extension is quick to load while it is disabled."""
    from . import (
        applying,
        applying_presets,
        choosing,
        comparing,
        coupon,
        exporting,
        finished_view,
        keeping,
        laying,
        listing,
        looking,
        measuring,
        opening,
        planning,
        racking,
        reading,
        skip_painting,
        skipping,
        suggesting,
        timing,
        tools,
    )  # fmt: skip

    topics = (
        opening, choosing, planning, applying, laying, skip_painting, skipping, suggesting, racking, applying_presets, listing, comparing, looking,
        measuring, finished_view, coupon, exporting, keeping, reading, tools,
    )  # fmt: skip
    return tuple(action for topic in (*topics, timing) for action in topic.CLASSES)


def _menu_entry() -> Callable[..., None]:
    """What is appended to Blender's menu, whose types know only functions without a menu."""
    from ..screen.menus import add_menu

    return add_menu


def register() -> None:
    """Register all operators, their menu, which lets the search find them, and the tools whose keys call them."""
    from ..overlay import setup_tool, skip_tool
    from ..screen.menus import MENUS

    for action in _classes():
        bpy.utils.register_class(action)
    for menu in MENUS:
        bpy.utils.register_class(menu)
    bpy.types.VIEW3D_MT_object.append(_menu_entry())
    for tool in (*skip_tool.TOOLS, *setup_tool.TOOLS):
        bpy.utils.register_tool(tool, separator=tool not in setup_tool.TOOLS)


def unregister() -> None:
    """Stop what is under way, take the tools, the menu and the operators back."""
    from ..overlay import setup_tool, skip_tool
    from ..scene.background import WORK
    from ..screen.menus import MENUS
    from .tools import put_tools_down

    put_tools_down(bpy.context)
    WORK.end()
    WORK.wait(UNLOAD_SECONDS)
    for tool in reversed((*skip_tool.TOOLS, *setup_tool.TOOLS)):
        bpy.utils.unregister_tool(tool)
    bpy.types.VIEW3D_MT_object.remove(_menu_entry())
    for menu in reversed(MENUS):
        bpy.utils.unregister_class(menu)
    for action in reversed(_classes()):
        bpy.utils.unregister_class(action)
