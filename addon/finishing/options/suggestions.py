"""Ground that may better be skipped, to be accepted or not: flats, walls, and openings with what can be done about each."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..core.grid import Grid
from ..core.masks import Mask
from ..core.message import Message, word
from ..surface.openings import Opening
from .flats import level_parts


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
    words: Message


def suggestions_for(
    heights: np.ndarray, slope_degrees: np.ndarray, labels: np.ndarray, openings: tuple[Opening, ...], grid: Grid, wall_limit: float
) -> tuple[Suggestion, ...]:
    """All suggestions for a side. heights, slope_degrees, labels: (rows, columns). wall_limit: degrees."""
    body = (heights > -np.inf) & (labels == 0)
    found = []
    for part, area, place in level_parts(body & (np.nan_to_num(slope_degrees, nan=90.0) < 90), slope_degrees, heights, grid):
        words = Message("A flat of {area:.1f} cm²: a flat cutter does it better.", area=area / 100)
        found.append(Suggestion("flat", 0, area, place, part, words))
    walls = body & (np.nan_to_num(slope_degrees) >= wall_limit)
    if walls.any():
        area = float((grid.cell_area / np.cos(np.radians(np.minimum(slope_degrees[walls], 85.0)))).sum())
        row, column = np.argwhere(walls)[int(walls.sum()) // 2]
        place = (grid.left + grid.cell * float(column), grid.front + grid.cell * float(row), float(heights[row, column]))
        words = Message(
            "Walls steeper than {limit:g} degrees, {area:.1f} cm²: the side of a flat cutter does them better.", limit=wall_limit, area=area / 100
        )
        found.append(Suggestion("walls", 0, area, place, walls, words))
    for opening in openings:
        cells = labels == opening.number
        words = Message("Opening {number}, a through hole {width:.1f} mm wide.", number=opening.number, width=opening.width)
        if opening.depth is not None:
            words = Message(
                "Opening {number}, a {kind} {width:.1f} mm wide and {depth:.1f} mm deep.",
                number=opening.number,
                kind=word(opening.kind),
                width=opening.width,
                depth=opening.depth,
            )
        found.append(Suggestion("opening", opening.number, float(cells.sum() * grid.cell_area), opening.place, cells, words))
    return tuple(found)
