"""What must be known of the picture as a whole, at the top of the view: that it is out of date."""

from __future__ import annotations

import bpy

from ..finishing.core.message import Message
from ..screen.language import in_users_language
from .free_space import free_space
from .lettering_on_screen import fill_box, ink, width_of, write

NOTES = {
    "shape": Message("Out of date: the body has changed"),
    "settings": Message("Out of date: a setting has changed"),
    "planning": Message("The old plan, until the new one is ready"),
}
"""By the state of the results."""

SIZE, EDGE, BELOW_TOP = 12.0, 10.0, 14.0
"""Pixels: letters, margin of the box, distance from the header."""


def draw_banner(context: bpy.types.Context, state: str) -> float:
    """Say it in the middle below the header, where Blender writes nothing; returns the pixels that this takes at the top of the view.

    state: as BodyResults.state tells it, or "planning".
    """
    if state not in NOTES:
        return 0.0
    free = free_space(context)
    scale = free.scale
    words = in_users_language(NOTES[state])
    width, height = width_of(words, SIZE * scale) + 2 * EDGE * scale, 2.2 * SIZE * scale
    left, top = (free.left + free.right - width) / 2, free.top - BELOW_TOP * scale
    fill_box(left, top - height, left + width, top)
    fill_box(left, top - height, left + 3 * scale, top, ink())
    write(words, left + EDGE * scale, top - height + 0.75 * SIZE * scale, SIZE * scale)
    return height + BELOW_TOP * scale
