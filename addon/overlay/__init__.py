"""What is drawn over the 3D views."""

from __future__ import annotations

import bpy


def register() -> None:
    """Register what can be chosen and begin to draw."""
    from ..scene.change_watching import on_change
    from . import readout, view_settings
    from .drawing import OVERLAY

    view_settings.register()
    for thing in readout.CLASSES:
        bpy.utils.register_class(thing)
    OVERLAY.start()
    on_change(OVERLAY.forget)


def unregister() -> None:
    """Stop drawing and take the choices away."""
    from . import readout, view_settings
    from .drawing import OVERLAY

    OVERLAY.stop()
    for thing in reversed(readout.CLASSES):
        bpy.utils.unregister_class(thing)
    view_settings.unregister()
