"""Where legend and chart lie in a 3D view: in a corner where they cover nothing that matters, or where the user has dragged them.

What is drawn notes its box, so that the gizmo which follows the mouse knows what lies under it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..finishing.core.array_types import FloatArray
from .free_space import FreeSpace

CORNER = 14.0
"""Pixels between a box and the edges of the view."""

BLENDERS_WORDS, BLENDERS_KNOBS = 64.0, 100.0
"""Pixels at the top left in which Blender writes the names of view and object; at the right, of its knobs that turn the view."""

AIR = 8.0
"""Pixels that a box keeps from what it must not cover."""


@dataclass(frozen=True)
class ViewBox:
    """A rectangle in pixels of a region, from its lower left corner."""

    left: float
    bottom: float
    right: float
    top: float

    def holds(self, x: float, y: float) -> bool:
        """Whether a place lies within."""
        return self.left <= x <= self.right and self.bottom <= y <= self.top

    def covered(self, points: FloatArray, air: float) -> int:
        """How many of some points (n, 2) it covers, or nearly."""
        x, y = points[:, 0], points[:, 1]
        inside = (x > self.left - air) & (x < self.right + air) & (y > self.bottom - air) & (y < self.top + air)
        return int(inside.sum())

    def meets(self, other: ViewBox) -> bool:
        """Whether two boxes overlap."""
        return self.left < other.right and other.left < self.right and self.bottom < other.top and other.bottom < self.top


class ViewBoxes:
    """Boxes by region and name as they were drawn last, and how far the user has dragged each, by name.

    folded: names of boxes that have folded by themselves, since they would cover what matters; kept_open: of those that the user has opened again.
    """

    def __init__(self) -> None:
        self.drawn: dict[tuple[int, str], ViewBox] = {}
        self.dragged: dict[str, tuple[float, float]] = {}
        self.folded: set[str] = set()
        self.kept_open: set[str] = set()

    def covers(self, name: str, box: ViewBox, points: FloatArray) -> bool:
        """Whether a box that stands where it chose to itself covers any of some points (n, 2), and the user has not opened it there."""
        return name not in self.dragged and name not in self.kept_open and box.covered(points, 0.0) > 0

    def press(self, name: str, folded: bool) -> bool:
        """A box is clicked that the user has folded or not: one that has folded by itself opens for good. Returns whether it is folded from now on."""
        if name in self.folded and not folded:
            self.kept_open.add(name)
            return False
        self.kept_open.discard(name)
        return not folded

    def under(self, region: int, x: float, y: float) -> str | None:
        """Name of the box under a place of a region, None where there is none."""
        return next((name for (owner, name), box in self.drawn.items() if owner == region and box.holds(x, y)), None)

    def forget(self, region: int | None = None) -> None:
        """Nothing is drawn in a region; without one, in none."""
        for key in [key for key in self.drawn if region in (None, key[0])]:
            del self.drawn[key]

    def drag(self, name: str, by_x: float, by_y: float) -> None:
        """Move a box from the corner that it chooses itself."""
        x, y = self.dragged.get(name, (0.0, 0.0))
        self.dragged[name] = (x + by_x, y + by_y)

    def place(self, region: int, name: str, free: FreeSpace, size: tuple[float, float], points: FloatArray) -> ViewBox:
        """Choose the place of a box of a size in pixels, and note it. points: (n, 2), what it should not cover."""
        taken = [box for (owner, other), box in self.drawn.items() if owner == region and other != name]
        chosen = free_corner(free, size, points, taken)
        by_x, by_y = self.dragged.get(name, (0.0, 0.0))
        left = min(max(chosen.left + by_x, free.left), max(free.right - size[0], free.left))
        bottom = min(max(chosen.bottom + by_y, free.bottom), max(free.top - size[1], free.bottom))
        box = ViewBox(left, bottom, left + size[0], bottom + size[1])
        self.drawn[region, name] = box
        return box


def free_corner(free: FreeSpace, size: tuple[float, float], points: FloatArray, taken: Sequence[ViewBox] = ()) -> ViewBox:
    """The corner of the free part of a view where a box covers the fewest points (n, 2) and no other box; of equals the first: lower left,
    upper left, lower right, upper right; the middles of its edges after them.
    """
    width, height = size
    edge = CORNER * free.scale
    left, right = free.left + edge, free.right - edge - width
    bottom, top = free.bottom + edge, free.top - edge - height
    corners = (
        (left, max(bottom, free.buttons_top + edge)),
        (left, top - (BLENDERS_WORDS - CORNER) * free.scale),
        (right, bottom),
        (right - BLENDERS_KNOBS * free.scale, top),
        (left, (bottom + top) / 2),
        (right - BLENDERS_KNOBS * free.scale, (bottom + top) / 2),
        ((left + right) / 2, bottom),
        ((left + right) / 2, top),
    )
    boxes = [ViewBox(x, y, x + width, y + height) for x, y in corners]
    worth = [sum(1000 for other in taken if box.meets(other)) + box.covered(points, AIR * free.scale) for box in boxes]
    return boxes[int(np.argmin(worth))]


BOXES = ViewBoxes()
"""The boxes of the session: drawing notes them, the gizmo reads them; Blender makes both itself and hands them nothing of ours."""
