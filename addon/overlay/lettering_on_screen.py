"""Words and filled boxes in pixels, as legend, readout and chart need them."""

from __future__ import annotations

from typing import cast

import blf
import bpy
import numpy as np

from ..scene.blender_data import present
from .batches import Ink, draw_plain

FONT = 0
PAPER_OPACITY = 0.85
FAINTNESS = 0.8
"""Share of the ink in faint letters; the rest is paper."""


def ink() -> Ink:
    """Colour of letters in the user's theme: that of menus."""
    letters = _menu_colours().text
    red, green, blue = letters[0], letters[1], letters[2]
    return (red, green, blue, 1.0)


def paper() -> Ink:
    """Colour of the boxes behind letters in the user's theme: that of menus."""
    red, green, blue = cast("tuple[float, ...]", _menu_colours().inner)[:3]
    return (red, green, blue, PAPER_OPACITY)


def faint() -> Ink:
    """Colour of lesser letters: between ink and paper."""
    red, green, blue = (FAINTNESS * dark + (1 - FAINTNESS) * pale for dark, pale in zip(ink()[:3], paper()[:3], strict=True))
    return (red, green, blue, 1.0)


def _menu_colours() -> bpy.types.ThemeWidgetColors:
    return present(bpy.context.preferences).themes[0].user_interface.wcol_menu_back


def write(text: str, x: float, y: float, size: float, own_ink: Ink | None = None) -> None:
    """Write a line of text; x, y: left end of its base line. own_ink: None for the theme's."""
    blf.size(FONT, size)
    blf.color(FONT, *(ink() if own_ink is None else own_ink))
    blf.position(FONT, x, y, 0)
    blf.draw(FONT, text)


def width_of(text: str, size: float) -> float:
    """Width of a line of text in pixels."""
    blf.size(FONT, size)
    return blf.dimensions(FONT, text)[0]


def fill_box(left: float, bottom: float, right: float, top: float, own_ink: Ink | None = None) -> None:
    """Fill a rectangle. own_ink: None for the theme's paper."""
    corners = np.array([[left, bottom], [right, bottom], [right, top], [left, bottom], [right, top], [left, top]])
    draw_plain("TRIS", corners, paper() if own_ink is None else own_ink)
