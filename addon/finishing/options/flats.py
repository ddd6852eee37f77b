"""Flat ground, which a flat cutter finishes better than a round-nose one."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ..core.array_types import FloatArray, Mask
from ..core.finding import Finding
from ..core.grid import Grid
from ..core.masks import connected_parts, shrunk
from ..core.message import Message
from ..surface.ground import Ground

LEVEL_DEGREES = 0.3
"""Ground less steep than this is level: half a millimetre in a hundred."""

LEAST_AREA = 400.0
"""mm2 of one flat from which it is worth a tool change: common practice, no source."""

RIM = 2.0
"""mm; a level strip must be wider than twice this, so that it is more than the line along a crown."""


def place_on(cells: Mask, heights: FloatArray, grid: Grid) -> tuple[float, float, float]:
    """A place in job mm on some cells (rows, columns) that stands for them: the middle one of their list, row after row."""
    row, column = np.argwhere(cells)[int(cells.sum()) // 2]
    return grid.left + grid.cell * float(column), grid.front + grid.cell * float(row), float(heights[row, column])


def level_parts(ground: Mask, slope_degrees: FloatArray, heights: FloatArray, grid: Grid) -> Iterator[tuple[Mask, float, tuple[float, float, float]]]:
    """The flats within some ground, the largest first: cells, area in mm2, and a place on each in job mm."""
    level = ground & (np.where(np.isfinite(slope_degrees), slope_degrees, 90.0) < LEVEL_DEGREES)
    if not shrunk(level, grid.cell, RIM).any():
        return
    labels = connected_parts(level)
    areas = np.bincount(labels.ravel())[1:] * grid.cell_area
    for k in np.argsort(-areas):
        if areas[k] < LEAST_AREA:
            return
        part = labels == k + 1
        wide = shrunk(part, grid.cell, RIM)
        if wide.any():
            yield part, float(areas[k]), place_on(wide, heights, grid)


@dataclass(frozen=True)
class Flat:
    """A flat on the planned ground. area: mm2. place: on it, job mm."""

    area: float
    place: tuple[float, float, float]


def flats_of(ground: Ground, grid: Grid) -> tuple[Flat, ...]:
    """The flats of the planned ground, the largest first."""
    return tuple(Flat(area, place) for _, area, place in level_parts(ground.planned, ground.slope_degrees, ground.heights, grid))


def flat_findings(flats: tuple[Flat, ...]) -> list[Finding]:
    """Name the flats that are planned, with their area."""
    return [
        Finding(
            "flat",
            Message("A flat of {area:.1f} cm² is planned with the round-nose cutter.", area=flat.area / 100),
            Message("It is work for a flat cutter: skip it, and finish it in the same run as the other flat work."),
            flat.place,
        )
        for flat in flats
    ]
