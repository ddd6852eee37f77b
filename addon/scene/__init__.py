"""Blender data to finishing data and back."""

from __future__ import annotations


def register() -> None:
    """Register settings and start watching bodies for changes."""
    from . import change_watching, settings, side_turning

    settings.register()
    change_watching.register()
    side_turning.register()


def unregister() -> None:
    """Stop watching and take the settings away."""
    from . import change_watching, settings, side_turning

    side_turning.unregister()
    change_watching.unregister()
    settings.unregister()
