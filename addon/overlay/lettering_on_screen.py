"""Words and filled boxes in pixels, as legend, readout and chart need them."""

from __future__ import annotations

import blf
import numpy as np

from .batches import Ink, draw_plain

FONT = 0
INK: Ink = (0.95, 0.95, 0.95, 1.0)
FAINT: Ink = (0.78, 0.78, 0.78, 1.0)
PAPER: Ink = (0.07, 0.07, 0.08, 0.8)


def write(text: str, x: float, y: float, size: float, ink: Ink = INK) -> None:
    """Write a line of text; x, y: left end of its base line."""
    blf.size(FONT, size)
    blf.color(FONT, *ink)
    blf.position(FONT, x, y, 0)
    blf.draw(FONT, text)


def width_of(text: str, size: float) -> float:
    """Width of a line of text in pixels."""
    blf.size(FONT, size)
    return blf.dimensions(FONT, text)[0]


def fill_box(left: float, bottom: float, right: float, top: float, ink: Ink = PAPER) -> None:
    """Fill a rectangle."""
    corners = np.array([[left, bottom], [right, bottom], [right, top], [left, bottom], [right, top], [left, top]])
    draw_plain("TRIS", corners, ink)
