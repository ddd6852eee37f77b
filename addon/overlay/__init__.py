"""What is drawn over the 3D views."""

from __future__ import annotations

import bpy


def register() -> None:
    """Follow the mouse and begin to draw."""
    from ..scene.change_watching import on_change
    from . import divider, mouse_following, setup_gizmos
    from .drawing import OVERLAY

    for thing in (*mouse_following.CLASSES, *setup_gizmos.CLASSES, *divider.CLASSES):
        bpy.utils.register_class(thing)
    OVERLAY.start()
    on_change(OVERLAY.forget)


def unregister() -> None:
    """Stop drawing and following the mouse."""
    from . import divider, mouse_following, setup_gizmos
    from .drawing import OVERLAY

    OVERLAY.stop()
    for thing in reversed((*mouse_following.CLASSES, *setup_gizmos.CLASSES, *divider.CLASSES)):
        bpy.utils.unregister_class(thing)
