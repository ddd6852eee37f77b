"""Curved Body Finishing: plans the finishing of curved bodies with a round-nose cutter on a three-axis router."""

from __future__ import annotations


def register() -> None:
    """Register all parts, in order."""
    from . import actions, overlay, scene, screen

    for part in (scene, screen, overlay, actions):
        part.register()


def unregister() -> None:
    """Take all parts back, in reverse order."""
    from . import actions, overlay, scene, screen

    for part in (actions, overlay, screen, scene):
        part.unregister()
