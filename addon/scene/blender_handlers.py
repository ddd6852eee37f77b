"""Functions that Blender calls when something was evaluated anew, undone or loaded: put on its lists together, and taken off together."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import bpy


@dataclass(frozen=True)
class Handlers:
    """What is called. updated: after every evaluation; undone: after undo and redo; loaded: before and after another file is opened.

    Each must be persistent, as bpy.app.handlers calls it, to outlive the opening of a file.
    """

    updated: Callable[..., None]
    undone: Callable[..., None]
    loaded: Callable[..., None]

    def put_on(self) -> None:
        """Have them called from now on."""
        for called, function in self._lists():
            called.append(function)

    def take_off(self) -> None:
        """Have them called no longer."""
        for called, function in self._lists():
            if function in called:
                called.remove(function)

    def _lists(self) -> tuple[tuple[list[Callable[..., None]], Callable[..., None]], ...]:
        lists = bpy.app.handlers
        return (
            (lists.depsgraph_update_post, self.updated),
            (lists.undo_post, self.undone),
            (lists.redo_post, self.undone),
            (lists.load_pre, self.loaded),
            (lists.load_post, self.loaded),
        )
