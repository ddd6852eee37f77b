"""Finding the openings of a side, and measuring them and their floors.

They are looked for on cells of half a millimetre or less (DETAIL_CELL), whatever the plan's own cell is: a coarser one would hide narrow
recesses, and an upright wall would look no steeper than ground.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ..core.array_types import FloatArray, Indices, Mask
from ..core.grid import Grid
from ..core.masks import distance_to, grown
from .floors import OUTSIDE, find_floors
from .lid import WALL_CELLS, Lid
from .openings import FoundOpenings, Opening, OpeningFloor, OpeningSet
from .steep_walls import SHALLOWEST, WallSteps
from .sunk_ground import FloorMap, SunkSet, sunk_sets

DETAIL_CELL = 0.5
"""mm; greatest cell on which openings are looked for."""

MOST_DETAIL_CELLS = 4_000_000
"""Cells that are looked at for them at the most: a large body on coarse cells is not worth more memory than its plan."""

THROUGH_SHARE = 0.5
"""An opening that shows no body under more than this share of its cells is a hole."""

SLOT_SHARE = 0.25
"""An opening that is open to the outline over more than this share of its width is a slot."""

WIDEST = 200.0
"""mm; inscribed circles are measured up to this radius: no round-nose cutter comes near it."""

RECESS_SHARE = 0.2
"""A floor that has at least this share of its border against lower floors is a recess round them."""

ISLAND_SHARE = 0.6
"""A floor that has at least this share of its border against lower floors stands up from them."""

BULK = (5, 95)
"""Percentiles between which nine tenths of a floor's depths lie: the rest may be the fillet at its foot."""


def detail_grid(grid: Grid) -> tuple[Grid, int]:
    """The grid to look for openings on, and how many of its cells lie across one of the plan's: an odd number, so that centres coincide."""
    every = 1
    while grid.cell / every > DETAIL_CELL and grid.rows * grid.columns * (every + 2) ** 2 <= MOST_DETAIL_CELLS:
        every += 2
    cell, shift = grid.cell / every, every // 2
    finer = Grid(grid.left - shift * cell, grid.front - shift * cell, cell, rows=grid.rows * every, columns=grid.columns * every)
    return finer, every


def find_openings(heights: FloatArray, grid: Grid, every: int = 1, steep: WallSteps | None = None) -> FoundOpenings:
    """The openings of a height grid (-inf outside the body), of whose cells `every` lie across one of the plan's. steep: walls by the
    triangles; None where they are not known.
    """
    side = FloorMap(find_floors(heights, grid.cell, steep), heights, grid)
    sets = sunk_sets(side)
    measured = [_measured(side, sets[first.number - 1 : first.last]) for first in sets if first.parent == 0]
    kept = sorted((one for one in measured if one is not None), key=lambda one: -one.opening.area)
    # Sets are numbered anew: those of the largest opening first.
    numbers = np.zeros(side.floors.count, np.int32)
    out: list[OpeningSet] = []
    for rank, one in enumerate(kept, 1):
        shift = len(out) + 1 - one.sets[0].number
        for each, floor in zip(one.sets, one.first_floors, strict=True):
            numbers[each.own] = each.number + shift
            out.append(
                OpeningSet(each.last + shift, parent=each.parent + shift if each.parent else 0, opening=rank, floor=floor, lid=each.ring.bridge())
            )
    openings = tuple(replace(one.opening, number=rank) for rank, one in enumerate(kept, 1))
    return FoundOpenings(grid, heights, within=numbers.take(side.floors.numbers), sets=tuple(out), openings=openings, every=every)


@dataclass(frozen=True)
class _Measured:
    """An opening, its sets, and the number of the first floor in each of them."""

    opening: Opening
    sets: tuple[SunkSet, ...]
    first_floors: tuple[int, ...]


def _measured(side: FloorMap, sets: tuple[SunkSet, ...]) -> _Measured | None:
    """Measure one opening; None where all of it is too shallow. sets: the outermost first."""
    floors, whole = side.floors, sets[0]
    circle, datum = _circle(side, whole.pieces), whole.ring.datum()
    numbered: list[OpeningFloor] = []
    first_of = {whole.parent: 0}
    for each in sets:
        mouth, inside = circle.width if each is whole else _circle(side, each.pieces).width, first_of[each.parent]
        first_of[each.number] = len(numbered) + 1
        flat = [np.array([piece]) for piece in each.own.tolist() if not floors.walls[piece]]
        # What is too narrow for a floor is nothing but walls.
        for pieces in flat or [each.own]:
            numbered.append(
                _floor(side, pieces, datum, replace(_EMPTY, number=len(numbered) + 1, inside=inside, beside=first_of[each.number], mouth=mouth))
            )
    holes = floors.holes[whole.pieces]
    depths = [floor.deepest for floor in numbered if floor.deepest is not None]
    if not holes.any() and max(depths) < SHALLOWEST:
        return None
    sizes = floors.sizes[whole.pieces]
    largest = max((floor for floor in numbered if floor.depth is not None), key=lambda floor: floor.area, default=None)
    through = largest is None or int(sizes[holes].sum()) > THROUGH_SHARE * int(sizes.sum())
    opening = Opening(
        number=0,
        kind="hole" if through else "slot" if _open_length(side, whole.pieces) > SLOT_SHARE * circle.width else "pocket",
        area=float(sizes.sum() * side.grid.cell_area),
        width=circle.width,
        depth=None if through or largest is None else largest.depth,
        place=(circle.x, circle.y, float(datum.at(np.array([circle.x]), np.array([circle.y]))[0])),
        treatment="auto",
        floors=tuple(numbered),
    )
    return _Measured(opening, sets, tuple(first_of[each.number] for each in sets))


_EMPTY = OpeningFloor(
    number=0, inside=0, beside=0, kind="floor", area=0.0, width=0.0, mouth=0.0, depth=None, shallowest=None, deepest=None, treatment="auto"
)  # fmt: skip


def _floor(side: FloorMap, pieces: Indices, datum: Lid, known: OpeningFloor) -> OpeningFloor:
    """One floor of an opening, of which number, place and mouth are known. datum: of the opening."""
    floors = side.floors
    kind = "hole" if floors.holes[pieces].all() else _kind(side, pieces)
    to_border = _to_border(side, pieces)[0]
    width = 2 * (_usual(to_border) if kind == "recess" else float(to_border.max()))
    known = replace(known, kind=kind, area=float(floors.sizes[pieces].sum() * side.grid.cell_area), width=width)
    if kind == "hole":
        return known
    depths = side.depths_below(datum, pieces)
    depths = depths[np.isfinite(depths)]
    shallowest, depth, deepest = np.percentile(depths, (BULK[0], 50, BULK[1])).tolist()
    return replace(known, depth=depth, shallowest=shallowest, deepest=deepest)


def _usual(to_border: FloatArray) -> float:
    """The usual distance in mm from the middle of a strip to its borders: the median along the cells that no neighbour exceeds."""
    inner = to_border[1:-1, 1:-1]
    middle = inner > 0
    for dr, dc in ((0, 1), (2, 1), (1, 0), (1, 2)):
        middle &= inner >= to_border[dr : dr + inner.shape[0], dc : dc + inner.shape[1]]
    return float(np.median(inner[middle]))


def _kind(side: FloorMap, pieces: Indices) -> str:
    """What a floor with a body under it is, by how much of its border lies against lower ones."""
    own = np.zeros(side.floors.count, bool)
    own[pieces] = True
    down = int(side.floors.length[own[side.floors.higher] & (side.floors.lower != OUTSIDE)].sum())
    share = down / max(down + int(side.floors.length[own[side.floors.lower]].sum()), 1)
    return "island" if share >= ISLAND_SHARE else "recess" if share >= RECESS_SHARE else "floor"


@dataclass(frozen=True)
class _Circle:
    """The largest circle on some pieces: its width and the x, y of its middle, mm."""

    width: float
    x: float
    y: float


def _to_border(side: FloorMap, pieces: Indices) -> tuple[FloatArray, Grid]:
    """Distance in mm from every cell of some pieces to the nearest one of all others, and the grid of the window that holds them."""
    inside, _, part = side.cells_of(pieces, 0.0)
    # No circle is wider than the pieces: their window has a rim of one cell.
    return distance_to(~inside, part.cell, min(WIDEST, part.cell * (min(inside.shape) // 2 + 1))), part


def _circle(side: FloorMap, pieces: Indices) -> _Circle:
    to_border, part = _to_border(side, pieces)
    row, column = np.unravel_index(int(to_border.argmax()), to_border.shape)
    return _Circle(2 * float(to_border.max()), part.left + part.cell * float(column), part.front + part.cell * float(row))


def _open_length(side: FloorMap, pieces: Indices) -> float:
    """Length in mm over which some pieces are open to the outline."""
    inside, window, part = side.cells_of(pieces, WALL_CELLS * side.grid.cell)
    outside: Mask = side.floors.numbers[window] == OUTSIDE
    return float((grown(inside, part.cell, WALL_CELLS * part.cell) & outside).sum() * part.cell)
