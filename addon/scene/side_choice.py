"""Tells that a side was chosen: settings know of nothing that shows them, so what shows them asks to be told."""

from __future__ import annotations

from collections.abc import Callable

import bpy


class SideChoice:
    """Who is told when another side of a body is chosen."""

    def __init__(self) -> None:
        self.listeners: list[Callable[[bpy.types.Object], None]] = []

    def tell(self, body_object: bpy.types.Object) -> None:
        """Tell all listeners."""
        for listener in self.listeners:
            listener(body_object)


SIDE_CHOICE = SideChoice()
"""The one of the session: Blender calls the update of a property without anything of ours."""
