"""Which floors lie in the ground: what they are sunk into, and what is sunk into them in turn.

The largest floor is ground. All that touches and is not ground hangs together, whatever steps it has inside, and is sunk where most of
its border lies against higher ground. Where it is not (a ledge, a boss, a second level of the top), its outermost floor is ground as
well, and what is left of it is looked at again; so pockets in a boss or a ledge are found too. Within a sunk set its own outermost
floor takes the place of the ground.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..core.array_types import FloatArray, Indices, Mask
from ..core.grid import Grid
from ..core.masks import joined_numbers
from .floors import OUTSIDE, Floors
from .lid import BRIDGE_RING, Lid, Ring, ring_round
from .steep_walls import SHALLOWEST

ENCLOSED_SHARE = 0.6
"""What has at least this share of its border against higher ground is sunk; a ledge along the outline has about half."""

FEWEST_CELLS = 4
SMALLEST_AREA = 0.75
"""mm2; what is sunk in fewer cells or less area (a hole of 1 mm) is a scrap of the mesh."""

LEVEL_RANGE = 0.2
"""mm within which nine tenths of a floor lie that counts as level: the floor of a cavity, but no dished ground."""


@dataclass(frozen=True)
class SunkSet:
    """What is sunk in one place. number: from 1, parents before what lies in them. last: the last number that lies in this one.

    parent: number of the set that it lies in, 0 for the ground. pieces: all its pieces, those of its children too; own: without
    these. ring: the ground round it.
    """

    number: int
    last: int
    parent: int
    pieces: Indices
    own: Indices
    ring: Ring


@dataclass(frozen=True)
class FloorMap:
    """Floors on their grid. heights: (rows, columns)."""

    floors: Floors
    heights: FloatArray
    grid: Grid

    def window(self, pieces: Indices, rim: float) -> tuple[tuple[slice, slice], Grid]:
        """The part of the grid that holds some pieces and a rim (mm) round them."""
        cells = int(np.ceil(rim / self.grid.cell)) + 1
        boxes = self.floors.boxes[pieces]
        top, left = max(int(boxes[:, 0].min()) - cells, 0), max(int(boxes[:, 2].min()) - cells, 0)
        bottom, right = min(int(boxes[:, 1].max()) + cells + 1, self.grid.rows), min(int(boxes[:, 3].max()) + cells + 1, self.grid.columns)
        cell = self.grid.cell
        part = Grid(self.grid.left + cell * left, self.grid.front + cell * top, cell, rows=bottom - top, columns=right - left)
        return (slice(top, bottom), slice(left, right)), part

    def cells_of(self, pieces: Indices, rim: float) -> tuple[Mask, tuple[slice, slice], Grid]:
        """Where some pieces are within their window, the window, and its grid."""
        window, part = self.window(pieces, rim)
        chosen = np.zeros(self.floors.count, bool)
        chosen[pieces] = True
        return chosen.take(self.floors.numbers[window]), window, part

    def depths_below(self, lid: Lid, pieces: Indices) -> FloatArray:
        """Depth in mm of every cell of some pieces below a lid, (cells,); infinite where no body is."""
        inside, window, part = self.cells_of(pieces, 0.0)
        row, column = np.nonzero(inside)
        return lid.at(part.left + part.cell * column, part.front + part.cell * row) - self.heights[window][row, column]


def sunk_sets(side: FloorMap) -> tuple[SunkSet, ...]:
    """Everything that is sunk, parents before what lies in them."""
    floors = side.floors
    main = _main_floor(side)
    if main is None:
        return ()
    free = np.ones(floors.count, bool)
    free[[OUTSIDE, main]] = False
    found: list[SunkSet] = []
    for pieces, ring in _sunk_among(side, free, main):
        found += _nested(side, pieces, ring, parent=0, number=len(found) + 1)
    return tuple(found)


def _main_floor(side: FloorMap) -> int | None:
    """The largest floor; but no level one that is sunk itself, as in a block that is hollowed out to its rim."""
    floors = side.floors
    flat = np.flatnonzero(~floors.walls & ~floors.holes & (np.arange(floors.count) != OUTSIDE))
    if len(flat) == 0:
        return None
    below = np.bincount(floors.lower, floors.length, floors.count)
    border = np.maximum(below + np.bincount(floors.higher, floors.length, floors.count), 1)
    by_size = flat[np.argsort(-floors.sizes[flat], kind="stable")]
    for piece in by_size.tolist():
        if below[piece] < ENCLOSED_SHARE * border[piece] or not _is_level(side, piece):
            return int(piece)
    return int(by_size[0])


def _is_level(side: FloorMap, piece: int) -> bool:
    low, high = np.percentile(side.heights[side.floors.numbers == piece], (5, 95))
    return bool(high - low < LEVEL_RANGE)


def _sunk_among(side: FloorMap, free: Mask, main: int | None) -> list[tuple[Indices, Ring]]:
    """The sunk sets among some pieces, (count,) bool, the others being ground: the pieces of each, and the ground round it.

    main: the floor that everything lies in: what lies round it is none of it. None within a set.
    """
    floors, free, found = side.floors, free.copy(), []
    while free.any():
        inner = free[floors.lower] & free[floors.higher]
        part = joined_numbers(floors.count, floors.lower[inner], floors.higher[inner])
        into, over = free[floors.lower] & ~free[floors.higher], free[floors.higher] & ~free[floors.lower]
        # What lies in the ground sees it above; a border to lower ground, or to the outside, counts against it.
        enclosed = np.bincount(part[floors.lower[into]], floors.length[into], floors.count)
        border = enclosed + np.bincount(part[floors.higher[over]], floors.length[over], floors.count)
        is_sunk = enclosed >= ENCLOSED_SHARE * np.maximum(border, 1)
        cells = np.bincount(part[free], floors.sizes[free], floors.count)
        scrap = (cells < FEWEST_CELLS) | (cells * side.grid.cell_area < SMALLEST_AREA)
        ground = free & (is_sunk & scrap)[part]
        for number in np.unique(part[free & (is_sunk & ~scrap)[part]]).tolist():
            pieces = np.flatnonzero(free & (part == number))
            if main is not None and _lies_round(floors, pieces, main):
                is_sunk[number] = False
                continue
            ring = _ring(side, pieces, free)
            level = _islands_at_the_lid(side, pieces, ring.datum())
            if len(level):
                ground[level] = True
                continue
            found.append((pieces, ring))
            free[pieces] = False
        ground[_outermost(floors, free & ~is_sunk[part], into, over, part)] = True
        free &= ~ground
    return found


def _outermost(floors: Floors, free: Mask, into: Mask, over: Mask, part: Indices) -> Indices:
    """In every part of the free pieces, the piece with the longest border to what is not free."""
    length = np.bincount(floors.lower[into], floors.length[into], floors.count) + np.bincount(floors.higher[over], floors.length[over], floors.count)
    candidates = np.flatnonzero(free)
    order = candidates[np.lexsort((-length[candidates], part[candidates]))]
    return order[np.unique(part[order], return_index=True)[1]]


def _lies_round(floors: Floors, pieces: Indices, main: int) -> bool:
    """Whether some pieces cut the main floor off from the outside: a groove round a plate is a form of the ground, no opening in it."""
    return main in _cut_off(floors, pieces)


def _ring(side: FloorMap, pieces: Indices, free: Mask) -> Ring:
    """The ground round some pieces."""
    floors = side.floors
    is_in = np.zeros(floors.count, bool)
    is_in[pieces] = True
    beside = _higher_than(floors, is_in, ~free)
    # A slanted wall between is no ground: what lies behind it is.
    walls = beside & floors.walls
    ground = (beside | _higher_than(floors, walls, ~free & ~is_in)) & ~floors.walls
    if ground.any():
        is_in |= walls
    else:
        ground = beside
    inside, window, grid = side.cells_of(np.flatnonzero(is_in), BRIDGE_RING)
    numbers = floors.numbers[window]
    return ring_round(inside, side.heights[window], ground.take(numbers), grid)


def _higher_than(floors: Floors, these: Mask, among: Mask) -> Mask:
    """Which pieces, among some, lie higher beside any of these, (count,) bool."""
    out = np.zeros(floors.count, bool)
    out[floors.higher[these[floors.lower] & among[floors.higher]]] = True
    return out


def _islands_at_the_lid(side: FloorMap, pieces: Indices, lid: Lid) -> Indices:
    """Floors that stand up from what is sunk to the level of the ground round it or above: they are ground."""
    floors = side.floors
    drops = np.bincount(floors.higher, floors.length, floors.count)
    border = np.maximum(drops + np.bincount(floors.lower, floors.length, floors.count), 1)
    raised = [p for p in pieces.tolist() if not floors.walls[p] and not floors.holes[p] and drops[p] >= ENCLOSED_SHARE * border[p]]
    return np.array([p for p in raised if np.median(side.depths_below(lid, np.array([p]))) < SHALLOWEST], np.intp)


def _with_islands(side: FloorMap, pieces: Indices, found: list[tuple[Indices, Ring]]) -> list[tuple[Indices, Ring]]:
    """Sunk sets among the pieces of one, with what stands in them, below the ground round them, and with what lies in that."""
    whole = []
    for inner, ring in found:
        island = np.setdiff1d(np.intersect1d(_cut_off(side.floors, inner), pieces), inner)
        low = [p for p in island.tolist() if side.floors.walls[p] or np.median(side.depths_below(ring.datum(), np.array([p]))) >= SHALLOWEST]
        whole.append((np.union1d(inner, np.array(low, np.intp)), ring))
    return [(own, ring) for own, ring in whole if not any(len(other) > len(own) and np.isin(own, other).all() for other, _ in whole)]


def _cut_off(floors: Floors, pieces: Indices) -> Indices:
    """What some pieces cut off from the outside."""
    others = np.ones(floors.count, bool)
    others[pieces] = False
    kept = others[floors.lower] & others[floors.higher]
    part = joined_numbers(floors.count, floors.lower[kept], floors.higher[kept])
    return np.flatnonzero(others & (part != part[OUTSIDE]))


def _nested(side: FloorMap, pieces: Indices, ring: Ring, parent: int, number: int) -> list[SunkSet]:
    """A sunk set and, after it, the sets that lie in it."""
    floors = side.floors
    is_in = np.zeros(floors.count, bool)
    is_in[pieces] = True
    free = is_in & ~floors.walls
    if free.any():
        # Walls between the floors are no floor of their own, so a border to one is a border to what lies behind it.
        beyond = ~free
        into, over = free[floors.lower] & beyond[floors.higher], free[floors.higher] & beyond[floors.lower]
        free[_outermost(floors, free, into, over, np.zeros(floors.count, np.intp))] = False
    children: list[SunkSet] = []
    for inner, inner_ring in _with_islands(side, pieces, _sunk_among(side, free, None)):
        children += _nested(side, inner, inner_ring, number, number + 1 + len(children))
    lower = np.concatenate([child.pieces for child in children if child.parent == number] or [np.zeros(0, np.intp)])
    own = np.setdiff1d(pieces, lower)
    return [SunkSet(number, number + len(children), parent, pieces=pieces, own=own, ring=ring), *children]
