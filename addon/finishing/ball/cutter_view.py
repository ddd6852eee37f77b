"""What one cutter makes of one side: tip surface, closing and uncut height."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass, fields, replace

import numpy as np

from ..core.array_types import FloatArray
from ..core.grid import Grid
from ..core.stepping import within
from ..surface.ground import Ground
from .tip_surface import closing_steps, tip_surface_steps


@dataclass(frozen=True)
class CutterView:
    """One ball over one side, on the side's grid with a rim of its radius. Maps are (rows, columns).

    radius: of the ball, mm. rim: width of the rim in cells. tip: tip surface over the planned surface. closing: rolling-ball closing, the
    surface the ball leaves at best. uncut: left above the surface, 0 outside the body.
    """

    radius: float
    rim: int
    grid: Grid
    tip: FloatArray
    closing: FloatArray
    uncut: FloatArray


def cutter_view_steps(surface: FloatArray, grid: Grid, radius: float) -> Generator[float, None, CutterView]:
    """Roll a ball over a planned surface and yield shares done.

    surface: (rows, columns) on the side's grid with a rim of the ball's radius (`padded_ground`). grid: the side's own.
    """
    wide = surface.astype(np.float32)
    tip = yield from within(tip_surface_steps(wide, radius, grid.cell), 0.0, 0.5)
    standing = wide > -np.inf
    closing = yield from within(closing_steps(tip, radius, grid.cell, standing), 0.5, 1.0)
    uncut = np.maximum(np.where(standing, closing - np.where(standing, wide, 0), 0), 0)
    rim = rim_cells(radius, grid)
    closing = np.where(standing, closing, -np.inf).astype(np.float32)
    return CutterView(radius=radius, rim=rim, grid=grid.padded(rim), tip=tip, closing=closing, uncut=uncut)


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
