"""Words and filled boxes in pixels, as legend and readout need them."""

from __future__ import annotations

import blf
import gpu
from gpu_extras.batch import batch_for_shader

FONT = 0
INK = (0.95, 0.95, 0.95, 1.0)
FAINT = (0.78, 0.78, 0.78, 1.0)
PAPER = (0.07, 0.07, 0.08, 0.8)


def write(text: str, x: float, y: float, size: float, ink: tuple[float, float, float, float] = INK) -> None:
    """Write a line of text; x, y: left end of its base line."""
    blf.size(FONT, size)
    blf.color(FONT, *ink)
    blf.position(FONT, x, y, 0)
    blf.draw(FONT, text)


def width_of(text: str, size: float) -> float:
    """Width of a line of text in pixels."""
    blf.size(FONT, size)
    return blf.dimensions(FONT, text)[0]


def fill_box(left: float, bottom: float, right: float, top: float, ink: tuple[float, float, float, float] = PAPER) -> None:
    """Fill a rectangle."""
    shader = gpu.shader.from_builtin("UNIFORM_COLOR")
    corners = [(left, bottom), (right, bottom), (right, top), (left, top)]
    batch = batch_for_shader(shader, "TRIS", {"pos": corners}, indices=[(0, 1, 2), (0, 2, 3)])
    gpu.state.blend_set("ALPHA")
    shader.bind()
    shader.uniform_float("color", ink)
    batch.draw(shader)
