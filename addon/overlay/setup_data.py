"""Stock box, zero, dowels, keep-out boxes and the grain's arrow as plain arrays. No gpu and no bpy in here. Lengths in job mm."""

from __future__ import annotations

import numpy as np

from ..finishing.core.array_types import Double
from ..finishing.pictures.ramps import colour
from ..scene.job_setup import JobSetup
from ..scene.setup_handles import GRAIN_SHARE
from .marks_data import ROUND, box_lines, chain, zero_lines
from .render_data import LineSet, joined_lines, plain_lines

STOCK_COLOUR = colour(0.82, 0.02, 90)
ZERO_COLOUR = colour(0.93, 0.02, 90)
DOWEL_COLOUR = colour(0.82, 0.06, 60)
BOX_COLOUR = colour(0.86, 0.12, 60)
GRAIN_COLOUR = colour(0.84, 0.09, 75)

ZERO_SHARE = 0.12
"""Length of the zero mark's axes over the longest edge of the stock."""

GRAIN_LINES, GRAIN_WIDTH, GRAIN_HEAD = 5, 0.05, 0.05
"""Lines side by side, like grain, their distance from the outermost to the middle, and the arrow's heads, over the longest edge of the stock."""

OVER_TOP = 0.2
"""mm that the grain's arrow lies over the stock's top."""


def stock_lines(setup: JobSetup) -> LineSet:
    """The stock box."""
    return box_lines(setup.low, setup.high, STOCK_COLOUR)


def zero_mark(setup: JobSetup) -> LineSet:
    """The zero mark with its axes; Z is the way the spindle stands over this side."""
    return zero_lines(np.zeros(3), ZERO_SHARE * setup.size, ZERO_COLOUR)


def dowel_lines(setup: JobSetup) -> LineSet:
    """Each dowel as a ring on the stock's top and one at its bottom, joined by four lines."""
    angle = np.linspace(0, 2 * np.pi, ROUND + 1)
    ring = setup.dowel_radius * np.column_stack([np.cos(angle), np.sin(angle)])
    pieces = []
    for place in setup.dowels:
        level = {z: np.column_stack([place + ring, np.full(len(ring), z)]) for z in (setup.low[2], setup.high[2])}
        pieces += [chain(points) for points in level.values()]
        quarters = slice(0, ROUND, ROUND // 4)
        pieces.append(np.stack([level[setup.low[2]][quarters], level[setup.high[2]][quarters]], axis=1))
    return plain_lines(np.concatenate(pieces), DOWEL_COLOUR, 0.9) if pieces else joined_lines(())


def keep_out_lines(setup: JobSetup) -> LineSet:
    """Each keep-out box with its edges and a cross on its top: the cutter must stay out."""
    sets = []
    for _, box in setup.boxes:
        low, high = np.array(box.low), np.array(box.high)
        cross = np.array([[[low[0], low[1]], [high[0], high[1]]], [[low[0], high[1]], [high[0], low[1]]]])
        top = np.concatenate([cross, np.full((2, 2, 1), high[2])], axis=2)
        sets += [box_lines(low, high, BOX_COLOUR, 0.9), plain_lines(top, BOX_COLOUR, 0.9)]
    return joined_lines(sets)


def tab_lines(setup: JobSetup) -> LineSet:
    """Each tab with its edges, and a line across its top where it is sawn through."""
    pieces = []
    for tab in setup.tabs:
        corners = tab.corners()
        low, high = (np.column_stack([corners, np.full(4, z)]) for z in (tab.low, tab.high))
        pieces += [np.stack([ring, np.roll(ring, -1, axis=0)], axis=1) for ring in (low, high)]
        pieces += [np.stack([low, high], axis=1), np.stack([high[0] + high[1], high[2] + high[3]])[None] / 2]
    return plain_lines(np.concatenate(pieces), BOX_COLOUR, 0.9) if pieces else joined_lines(())


def grain_lines(setup: JobSetup) -> LineSet:
    """The grain as lines side by side over the stock's top, the middle one an arrow at both ends; nothing where it is not known."""
    if setup.grain is None:
        return joined_lines(())
    angle = np.radians(setup.grain)
    along, across = np.array([np.cos(angle), np.sin(angle), 0.0]), np.array([-np.sin(angle), np.cos(angle), 0.0])
    middle = np.array([*((setup.low + setup.high) / 2)[:2], setup.high[2] + OVER_TOP])
    reach, head = GRAIN_SHARE * setup.size, GRAIN_HEAD * setup.size
    pieces: list[Double] = []
    for number in range(GRAIN_LINES):
        share = 2 * number / (GRAIN_LINES - 1) - 1
        aside = middle + share * GRAIN_WIDTH * setup.size * across
        own = reach * (1 - 0.35 * abs(share))
        pieces.append(np.array([aside - own * along, aside + own * along]))
    for end in (1.0, -1.0):
        tip = middle + end * reach * along
        pieces += [np.array([tip, tip - end * head * along + side * 0.5 * head * across]) for side in (1.0, -1.0)]
    return plain_lines(np.stack(pieces), GRAIN_COLOUR, 0.9)
