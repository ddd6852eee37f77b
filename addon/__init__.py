"""Curved Body Finishing: plans the finishing of curved bodies with a round-nose cutter on a three-axis router."""

from __future__ import annotations


class _CommandLine:
    """`blender -c finishing ...` for as long as the extension is enabled."""

    def __init__(self) -> None:
        self._handle: object = None

    def register(self) -> None:
        """Offer the command."""
        import bpy

        from .command import run

        self._handle = bpy.utils.register_cli_command("finishing", run)

    def unregister(self) -> None:
        """Take the command back."""
        import bpy

        if self._handle is not None:
            bpy.utils.unregister_cli_command(self._handle)
            self._handle = None


COMMAND_LINE = _CommandLine()


def register() -> None:
    """Register all parts, in order."""
    from . import actions, overlay, scene, screen

    for part in (scene, screen, overlay, actions, COMMAND_LINE):
        part.register()


def unregister() -> None:
    """Take all parts back, in reverse order."""
    from . import actions, overlay, scene, screen

    for part in (COMMAND_LINE, actions, overlay, screen, scene):
        part.unregister()
