"""Ground that may better be skipped, to be accepted or not: flats, walls, and openings with what can be done about each."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..core.array_types import FloatArray, Labels, Mask
from ..core.grid import Grid
from ..core.message import Message
from ..surface.level_ground import level_parts, place_on
from ..surface.openings import Opening
from .opening_words import floor_words, opening_words

STEEPEST_AREA = 85.0
"""Degrees; walls count as no steeper when their area is worked out from cells in plan: beyond, a cell's height is not known any more."""


@dataclass(frozen=True)
class Suggestion:
    """One suggestion. kind: "flat", "walls" or "opening". number: of the opening, 0 for others. area: mm2. place: job mm.

    cells: (rows, columns) on the survey's grid, the ground it is about. words: why, as a sentence. floors: of an opening, number and words of
    those that may be treated by themselves.
    """

    kind: str
    number: int
    area: float
    place: tuple[float, float, float]
    cells: Mask
    words: Message
    floors: tuple[tuple[int, Message], ...] = ()


def suggestions_for(
    heights: FloatArray, slope_degrees: FloatArray, labels: Labels, openings: tuple[Opening, ...], grid: Grid, wall_limit: float
) -> tuple[Suggestion, ...]:
    """All suggestions for a side. heights, slope_degrees, labels: (rows, columns). wall_limit: degrees."""
    body = (heights > -np.inf) & (labels == 0)
    found = []
    for part, area, place in level_parts(body & (np.nan_to_num(slope_degrees, nan=90.0) < 90), slope_degrees, heights, grid):
        words = Message("A flat of {area:.1f} cm²: a flat cutter does it better.", area=area / 100)
        found.append(Suggestion("flat", number=0, area=area, place=place, cells=part, words=words))
    walls = body & (np.nan_to_num(slope_degrees) >= wall_limit)
    if walls.any():
        area = float((grid.cell_area / np.cos(np.radians(np.minimum(slope_degrees[walls], STEEPEST_AREA)))).sum())
        words = Message(
            "Walls steeper than {limit:g} degrees, {area:.1f} cm²: the side of a flat cutter does them better.", limit=wall_limit, area=area / 100
        )
        found.append(Suggestion("walls", number=0, area=area, place=place_on(walls, heights, grid), cells=walls, words=words))
    for opening in openings:
        cells = labels == opening.number
        area = float(cells.sum() * grid.cell_area)
        firsts = sorted({floor.beside for floor in opening.floors})
        floors = tuple((first, floor_words(opening, first)) for first in firsts) if len(firsts) > 1 else ()
        words = opening_words(opening)
        found.append(Suggestion("opening", number=opening.number, area=area, place=opening.place, cells=cells, words=words, floors=floors))
    return tuple(found)
