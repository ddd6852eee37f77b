"""Blender data to finishing data and back."""

from __future__ import annotations


def register() -> None:
    """Register settings and start watching bodies for changes."""
    from . import change_watching, former_properties, settings, shown_marks, side_turning

    settings.register()
    former_properties.register()
    change_watching.register()
    shown_marks.register()
    side_turning.register()


def unregister() -> None:
    """Stop watching and take the settings away."""
    from . import change_watching, former_properties, settings, shown_marks, side_turning

    side_turning.unregister()
    shown_marks.unregister()
    change_watching.unregister()
    former_properties.unregister()
    settings.unregister()
