"""What one cutter makes of one side: tip surface, closing and uncut height."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass, fields, replace

import numpy as np

from ..core.array_types import FloatArray, Mask
from ..core.grid import Grid
from ..core.stepping import within
from ..job.flank import Flank
from ..surface.ground import Ground
from .flank_dilation import flank_raised_steps
from .tip_surface import closing_steps, tip_surface_steps

HELD = 0.001
"""mm by which a flank must hold the tip above where the ball would: less is the rounding of cells."""


@dataclass(frozen=True)
class CutterView:
    """One cutter over one side, on the side's grid with a rim of its radius. Maps are (rows, columns).

    radius: of the ball, mm. rim: width of the rim in cells. tip: tip surface over the planned surface. closing: rolling-ball closing, the
    surface the cutter leaves at best. uncut: left above the surface, 0 outside the body. flank: of a tapered cutter. held: axis positions where the
    flank keeps its ball off the surface.
    """

    radius: float
    rim: int
    grid: Grid
    tip: FloatArray
    closing: FloatArray
    uncut: FloatArray
    flank: Flank | None = None
    held: Mask | None = None


def cutter_view_steps(surface: FloatArray, grid: Grid, radius: float, flank: Flank | None = None) -> Generator[float, None, CutterView]:
    """Roll a cutter over a planned surface and yield shares done.

    surface: (rows, columns) on the side's grid with a rim of the ball's radius (`padded_ground`). grid: the side's own. radius: of the ball.
    """
    wide = surface.astype(np.float32)
    standing = wide > -np.inf
    ball_tip = yield from within(tip_surface_steps(wide, radius, grid.cell), 0.0, 0.4 if flank else 0.5)
    tip = ball_tip if flank is None else (yield from within(flank_raised_steps(wide, ball_tip, flank, grid.cell), 0.4, 0.5))
    closing = yield from within(closing_steps(tip, radius, grid.cell, standing), 0.5, 0.9 if flank else 1.0)
    if flank is not None:
        # Upside down, what the cutter leaves is its own dilation of the underside of its tip surface.
        under = np.where(tip > -np.inf, -tip, -np.inf)
        closing = -(yield from within(flank_raised_steps(under, -closing, flank, grid.cell, standing), 0.9, 1.0))
    uncut = np.maximum(np.where(standing, closing - np.where(standing, wide, 0), 0), 0)
    rim = rim_cells(radius, grid)
    return CutterView(
        radius=radius,
        rim=rim,
        grid=grid.padded(rim),
        tip=tip,
        closing=np.where(standing, closing, -np.inf).astype(np.float32),
        uncut=uncut,
        flank=flank,
        held=None if flank is None else tip - np.where(tip > -np.inf, ball_tip, 0) > HELD,
    )


def rim_cells(radius: float, grid: Grid) -> int:
    """Width of the rim in cells that lets the cutter's axis go wherever the ball still meets the body."""
    return int(np.ceil(radius / grid.cell)) + 1


def padded_ground(ground: Ground, cells: int) -> Ground:
    """The same ground on a grid with a rim of this many cells more."""
    changed = {}
    for item in fields(ground):
        value = getattr(ground, item.name)
        if isinstance(value, np.ndarray) and value.shape == ground.heights.shape:
            outside = {"heights": -np.inf, "slope_degrees": np.nan}.get(item.name, 0)
            changed[item.name] = np.pad(value, cells, constant_values=outside)
    return replace(ground, **changed)  # type: ignore[arg-type]
