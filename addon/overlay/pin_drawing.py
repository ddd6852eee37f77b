"""Where the pins of findings are on the screen, so that they can be clicked, and a ring about the one that the mouse is on."""

from __future__ import annotations

import bpy
import numpy as np

from ..scene.blender_data import present
from ..scene.results import BodyResults
from .batches import draw_plain
from .depth import ui_scale
from .layers import PIN_SIZE, pinned
from .lettering_on_screen import ink, paper
from .places_that_matter import pixels_of
from .setup_places import PINS

HEAD = 1.3
"""Height of the middle of a pin's head, in sizes of the pin."""

RING, ROUND = 12.0, 24
"""Pixels at a scale of 1: radius of the ring; straight pieces of it."""


def draw_pins(context: bpy.types.Context, results: BodyResults, body_object: bpy.types.Object) -> None:
    """Note the pins of the plan that is looked at, by the numbers of their findings; the pins themselves are drawn in space."""
    plan, place = results.plan, results.world_from_job(body_object)
    numbers = [] if plan is None else pinned(plan)
    if plan is None or place is None or not numbers:
        return
    heads = np.array([plan.findings[number].place for number in numbers], float) + (0.0, 0.0, HEAD * PIN_SIZE)
    scale, drawn = ui_scale(), []
    for number, (x, y) in zip(numbers, pixels_of(context, heads, place).tolist(), strict=True):
        if not np.isfinite((x, y)).all():
            continue
        drawn.append((str(number), x, y))
        if PINS.hot == str(number):
            angle = np.linspace(0, 2 * np.pi, ROUND + 1)
            ring = np.array([x, y]) + RING * scale * np.column_stack([np.cos(angle), np.sin(angle)])
            draw_plain("LINE_STRIP", ring, paper(), 5.0 * scale)
            draw_plain("LINE_STRIP", ring, ink(), 2.0 * scale)
    PINS.drawn[present(context.region).as_pointer()] = drawn
