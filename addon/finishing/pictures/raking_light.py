"""A surface under a low lamp: how light or dark each cell of a grid of heights looks."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..core.array_types import FloatArray, Mask, Single
from ..core.errors import BadRequest
from .cast_shadows import cast_shadows

LOW_LAMP = 12.0
"""Degrees of a lamp over the bench, low enough that cusps of a few hundredths throw their sides into light and shade: common practice, no source."""


@dataclass(frozen=True)
class RakingLight:
    """Where the lamp stands and how heights are taken. from_degrees: direction to the lamp from X, towards Y. above_degrees: over level ground.

    heights_times: by what heights are multiplied before they are lit, 1 for the true form. Raises BadRequest for a lamp from no
    direction, or not between the ground and straight above, and for heights times nothing.
    """

    from_degrees: float
    above_degrees: float = LOW_LAMP
    heights_times: float = 1.0

    def __post_init__(self) -> None:
        if not -360 <= self.from_degrees <= 360:
            raise BadRequest("The lamp's direction must lie between -360 and 360 degrees, not at {value:g}.", value=self.from_degrees)
        if not 0 < self.above_degrees <= 90:
            raise BadRequest("The lamp must stand above 0 and up to 90 degrees over the surface, not at {value:g}.", value=self.above_degrees)
        if not 0 < self.heights_times <= 1000:
            raise BadRequest("Heights can be shown up to 1000 times, not {value:g}: give 1 for the true form.", value=self.heights_times)


@dataclass(frozen=True)
class Relief:
    """A surface as a lamp meets it, whichever way it stands. level: (rows, columns) mm, 0 where it is not known. slope_x, slope_y: mm per mm."""

    level: Single
    known: Mask
    slope_x: Single
    slope_y: Single
    cell: float


def relief_of(heights: FloatArray, cell: float) -> Relief:
    """The relief of heights (rows, columns) in mm on cells of `cell` mm; what is not finite is not there."""
    known = np.isfinite(heights)
    level = np.where(known, heights, 0.0)
    slope_y, slope_x = _slopes(level, known, cell)
    return Relief(level.astype(np.float32), known, slope_x=slope_x.astype(np.float32), slope_y=slope_y.astype(np.float32), cell=cell)


def lit(heights: FloatArray, cell: float, light: RakingLight) -> Single:
    """Brightness (rows, columns) of heights in mm on cells of `cell` mm, as `lit_relief` has it."""
    return lit_relief(relief_of(heights, cell), light)


def lit_relief(relief: Relief, light: RakingLight) -> Single:
    """Brightness (rows, columns) from 0 to 1; 0 where nothing is.

    Lambert's cosine law: brightness goes with n . l. It is shown as b / (1 + b), b over that of level ground, so that level ground is half bright
    and neither the brightest sides nor the darkest are cut off. Where crests, rims or steps stand before the lamp, their shadow is dark.
    """
    turn, above = np.radians(light.from_degrees), np.radians(light.above_degrees)
    times = light.heights_times
    toward_x, toward_y = (np.float32(times * np.cos(above) * part / np.sin(above)) for part in (np.cos(turn), np.sin(turn)))
    facing = 1 - toward_x * relief.slope_x - toward_y * relief.slope_y
    steep = np.sqrt(1 + np.float32(times**2) * (relief.slope_x**2 + relief.slope_y**2))
    facing = np.maximum(facing, 0, dtype=np.float32) / steep
    facing *= 1 - cast_shadows(relief.level * np.float32(times), relief.known, relief.cell, light.from_degrees, light.above_degrees)
    return np.asarray(np.where(relief.known, facing / (1 + facing), 0), np.float32)


def _slopes(level: FloatArray, known: Mask, cell: float) -> tuple[FloatArray, FloatArray]:
    """Slopes along rows and columns in mm per mm, from the neighbours that are known."""
    out = []
    for axis in (0, 1):
        if level.shape[axis] < 2:
            out.append(np.zeros(level.shape))
            continue
        step = np.diff(level, axis=axis) / cell
        low, high = [slice(None)] * 2, [slice(None)] * 2
        low[axis], high[axis] = slice(0, -1), slice(1, None)
        both = known[tuple(low)] & known[tuple(high)]
        total, count = np.zeros(level.shape), np.zeros(level.shape)
        for part in (low, high):
            total[tuple(part)] += np.where(both, step, 0.0)
            count[tuple(part)] += both
        out.append(total / np.maximum(count, 1))
    return out[0], out[1]
