"""Ground that may better be skipped, to be accepted or not: flats, walls, and openings with what can be done about each."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..core.grid import FloatArray, Grid
from ..core.masks import Labels, Mask
from ..surface.openings import Opening
from .flats import level_parts, place_on

STEEPEST_AREA = 85.0
"""Degrees; walls count as no steeper when their area is worked out from cells in plan: beyond, a cell's height is not known any more."""


@dataclass(frozen=True)
class Suggestion:
    """One suggestion. kind: "flat", "walls" or "opening". number: of the opening, 0 for others. area: mm2. place: job mm.

    cells: (rows, columns) on the survey's grid, the ground it is about. words: why, as a sentence.
    """

    kind: str
    number: int
    area: float
    place: tuple[float, float, float]
    cells: Mask
    words: str


def suggestions_for(
    heights: FloatArray, slope_degrees: FloatArray, labels: Labels, openings: tuple[Opening, ...], grid: Grid, wall_limit: float
) -> tuple[Suggestion, ...]:
    """All suggestions for a side. heights, slope_degrees, labels: (rows, columns). wall_limit: degrees."""
    body = (heights > -np.inf) & (labels == 0)
    found = []
    for part, area, place in level_parts(body & (np.nan_to_num(slope_degrees, nan=90.0) < 90), slope_degrees, heights, grid):
        words = f"A flat of {area / 100:.1f} cm2: a flat cutter does it better."
        found.append(Suggestion("flat", number=0, area=area, place=place, cells=part, words=words))
    walls = body & (np.nan_to_num(slope_degrees) >= wall_limit)
    if walls.any():
        area = float((grid.cell_area / np.cos(np.radians(np.minimum(slope_degrees[walls], STEEPEST_AREA)))).sum())
        words = f"Walls steeper than {wall_limit:g} degrees, {area / 100:.1f} cm2: the side of a flat cutter does them better."
        found.append(Suggestion("walls", number=0, area=area, place=place_on(walls, heights, grid), cells=walls, words=words))
    for opening in openings:
        cells = labels == opening.number
        depth = "through" if opening.depth is None else f"{opening.depth:.1f} mm deep"
        words = f"Opening {opening.number}, a {opening.kind} {opening.width:.1f} mm wide, {depth}."
        area = float(cells.sum() * grid.cell_area)
        found.append(Suggestion("opening", number=opening.number, area=area, place=opening.place, cells=cells, words=words))
    return tuple(found)
