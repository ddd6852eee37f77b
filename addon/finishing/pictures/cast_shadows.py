"""Shadows that crests, rims and steps of a grid of heights throw under a low lamp."""

from __future__ import annotations

import numpy as np

from ..core.array_types import Mask, Single

FAR_BELOW = np.float32(-1e9)
"""mm; stands for what is not there: nothing that low throws a shadow."""


def cast_shadows(level: Single, known: Mask, cell: float, from_degrees: float, above_degrees: float) -> Single:
    """How much of each cell (rows, columns) lies in the shadow of others, 0 to 1: whole from where the light passes a cell's width above it.

    level: heights in mm on cells of `cell` mm, only where `known`. from_degrees: direction to a far lamp from X, towards Y; above_degrees: its height
    over level ground. A cell is dark where anything between it and the lamp stands above the ray that goes up to the lamp from it. Rays that run alike
    share one sweep, from the lamp on: the greatest of height - way * tan(above) is carried along. Between rows heights lie on straight lines.
    """
    turn = np.radians(from_degrees)
    to_lamp = np.array([np.cos(turn), np.sin(turn)])
    along, across = (0, 1) if abs(to_lamp[0]) >= abs(to_lamp[1]) else (1, 0)
    # Swept line by line, each a column of the grid where the lamp stands rather along X, a row of it else; the lamp beyond the last line.
    lines = np.where(known, level, FAR_BELOW).astype(np.float32)
    lines = lines.T if along == 0 else lines
    backward = to_lamp[along] < 0
    lines = np.ascontiguousarray(lines[::-1] if backward else lines)
    slant = float(to_lamp[across] / abs(to_lamp[along]))
    found = _swept(lines, slant, np.float32(cell * np.hypot(1.0, slant) * np.tan(np.radians(above_degrees))))
    found = found[::-1] if backward else found
    return np.ascontiguousarray(found.T if along == 0 else found)


def _swept(lines: Single, slant: float, rise: np.float32) -> Single:
    """Shadows on lines (n, m) with the lamp beyond the last. slant: cells sideways that a ray goes from line to line; rise: mm up."""
    count, width = lines.shape
    reach = slant * (count - 1)
    first = int(np.floor(min(-reach, 0.0))) - 1
    rays = width - first + int(np.ceil(max(-reach, 0.0))) + 2
    padded = np.full(width + 2 * rays, FAR_BELOW, np.float32)  # a ray may begin and end beside the grid
    highest = np.full(rays, FAR_BELOW, np.float32)
    dark = np.zeros_like(lines)
    for number in range(count - 1, -1, -1):
        shift = slant * number
        whole = int(np.floor(shift))
        share = np.float32(shift - whole)
        # Ray k passes this line at place first + k + shift; the cell at place i lies between rays i - first - whole - 1 and the next.
        own = highest[-first - whole - 1 : -first - whole + width]
        horizon = share * own[:-1] + (1 - share) * own[1:] + number * rise
        dark[number] = np.clip((horizon - lines[number]) / rise, 0.0, 1.0)
        padded[rays : rays + width] = lines[number]
        one = padded[rays + first + whole : rays + first + whole + rays]
        other = padded[rays + first + whole + 1 : rays + first + whole + 1 + rays]
        both = (1 - share) * one + share * other
        both = np.where(np.minimum(one, other) > FAR_BELOW, both, one if share < 0.5 else other)  # the nearer along a border
        np.maximum(highest, both - number * rise, out=highest)
    return dark
