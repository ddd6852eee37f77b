"""What one cutter makes of one side: tip surface, closing and uncut height."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass, fields, replace

import numpy as np

from ..core.grid import FloatArray, Grid
from ..core.stepping import within
from ..job.cutter import Cutter
from ..surface.ground import Ground
from .tip_surface import closing_steps, tip_surface_steps


@dataclass(frozen=True)
class CutterView:
    """One cutter over one side, on the side's grid with a rim of the cutter's radius. Maps are (rows, columns).

    tip: tip surface over the planned surface. left: rolling-ball closing, the surface the ball leaves at best.
    uncut: left above the surface, 0 outside the body.
    """

    cutter: Cutter
    grid: Grid
    tip: FloatArray
    left: FloatArray
    uncut: FloatArray


def cutter_view_steps(surface: FloatArray, grid: Grid, cutter: Cutter) -> Generator[float, None, CutterView]:
    """Roll a cutter's ball over a planned surface (rows, columns) and yield shares done."""
    rim = rim_cells(cutter, grid)
    wide = np.pad(surface, rim, constant_values=-np.inf).astype(np.float32)
    tip = yield from within(tip_surface_steps(wide, cutter.radius, grid.cell), 0.0, 0.5)
    standing = wide > -np.inf
    left = yield from within(closing_steps(tip, cutter.radius, grid.cell, standing), 0.5, 1.0)
    uncut = np.maximum(np.where(standing, left - np.where(standing, wide, 0), 0), 0)
    return CutterView(cutter, grid.padded(rim), tip, np.where(standing, left, -np.inf).astype(np.float32), uncut)


def rim_cells(cutter: Cutter, grid: Grid) -> int:
    """Width of the rim in cells that lets the cutter's axis go wherever the ball still meets the body."""
    return int(np.ceil(cutter.radius / grid.cell)) + 1


def padded_ground(ground: Ground, cells: int) -> Ground:
    """The same ground on a grid with a rim of this many cells more."""
    changed = {}
    for item in fields(ground):
        value = getattr(ground, item.name)
        if isinstance(value, np.ndarray) and value.shape == ground.heights.shape:
            outside = {"heights": -np.inf, "slope_degrees": np.nan}.get(item.name, 0)
            changed[item.name] = np.pad(value, cells, constant_values=outside)
    return replace(ground, **changed)  # type: ignore[arg-type]
