"""What single pieces of ground cost in pass length: skipped ones, the overrun beyond the outline, and steep ground."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..core.array_types import FloatArray, Mask
from ..core.grid import Grid
from ..core.masks import connected_parts

SMALLEST = 25.0
"""mm2; smaller pieces are not listed: 5 mm by 5 mm cost less than a second."""


@dataclass(frozen=True)
class GroundCost:
    """A piece of ground for the axis. kind: "skip", saved; "overrun" or "steep", spent. area: mm2 in plan. length: least pass length in
    mm over it. place: x, y in job mm of its middle, None for what lies all round.
    """

    kind: str
    area: float
    length: float
    place: tuple[float, float] | None


def skip_costs(density: FloatArray, grid: Grid, without_skip: Mask, with_skip: Mask) -> tuple[GroundCost, ...]:
    """The pieces that skipping takes away, those that cost most first. density: pass length per plan area, (rows, columns), 1/mm."""
    away = without_skip & ~with_skip
    labels = connected_parts(away)
    count = int(labels.max()) if labels.size else 0
    areas = np.bincount(labels.ravel(), minlength=count + 1) * grid.cell_area
    lengths = np.bincount(labels.ravel(), weights=density.ravel(), minlength=count + 1) * grid.cell_area
    rows, columns = np.indices(away.shape)
    size = np.maximum(np.bincount(labels.ravel(), minlength=count + 1), 1)
    x = grid.left + grid.cell * np.bincount(labels.ravel(), weights=columns.ravel(), minlength=count + 1) / size
    y = grid.front + grid.cell * np.bincount(labels.ravel(), weights=rows.ravel(), minlength=count + 1) / size
    order = [k for k in np.argsort(-lengths[1:], kind="stable") + 1 if areas[k] >= SMALLEST]
    return tuple(GroundCost("skip", float(areas[k]), float(lengths[k]), (float(x[k]), float(y[k]))) for k in order)


def cost_of(kind: str, density: FloatArray, grid: Grid, cells: Mask) -> GroundCost:
    """What the passes over some cells cost together."""
    return GroundCost(kind, float(cells.sum() * grid.cell_area), float((density * cells).sum() * grid.cell_area), None)
