"""Exact dilation of a height grid by a large ball, by branch and bound: the cost hardly grows with the radius.

The tip height at a cell is the greatest of z(source) - sag(source - cell) over all source cells within the ball. On smooth ground nearly
all of these lie far below the greatest, and whole blocks of them can be dropped unseen:

1. Every block of ball positions finds one good source cell (a contact) by climbing from the block that promises most. The ball resting on
   that cell alone lies at or below the tip surface everywhere; over the small block it is concave, so a plane through its lowest corner
   lies below it: a lower plane of what is known (`_lower_planes`). Planes of larger blocks follow from their quarters'.
2. Every block of heights lies under an upper plane (`block_bounds.upper_planes`).
3. A pair of a block of heights and a block of positions is kept only if the one may raise the other above what is known
   (`PairBounds.may_raise`), first for blocks of 16 cells, then for the quarters of those that remain, down to 4 cells.
4. What remains is measured cell by cell (`_measure`), which makes the result exact: dropped pairs could not have changed it.

White noise defeats the bounds: there, and for small balls, `ball_dilation` is better.
"""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass

import numpy as np

from ..core.array_types import Indices, Mask, Single
from ..core.grid import NEIGHBOURS
from ..core.stepping import within
from ..core.threads import in_threads
from .block_bounds import FAR_AWAY, BlockGrid, PairBounds, Planes, merged_lower, upper_planes
from .sag import ball_sag, radius_in_cells, touching_offset

SIZES = (16, 8, 4)
"""Edges of blocks in cells, from the largest to the finest."""

BLOCKS_AT_ONCE = 700
"""Largest blocks worked on at a time: so many that two threads do not wait for each other between short calls."""

PAIRS_AT_ONCE = 1 << 13
"""Pairs of finest blocks measured at a time: their cells and sags stay in the processor's cache."""

FIRST_CLIMB, LATER_CLIMB, LAST_CLIMB = (8, 4, 2, 1), (2, 1), (1,)
"""Steps in cells in which contacts are moved to better cells nearby: of the largest blocks, which may start a block's width away, of
their quarters, which inherit good ones, and of the finest."""

NO_CORNER = np.float32(-1e6)
"""mm; height of a block's corner where the ball on the block's contact does not come, below all bodies."""

ABOVE_FLOOR = np.float32(0.5)
"""mm; a tip height less than this above the floor is none: the floor lies 1 mm below the lowest true one."""


def bounded_dilation_steps(heights: Single, radius: float, cell: float, wanted: Mask | None = None) -> Generator[float, None, Single]:
    """max over offsets of heights - sag, (rows, columns) float32, as `symmetric_dilation_steps`; yields progress from 0 to 1.

    wanted: cells, (rows, columns) bool, that matter (None: all); the others may hold anything.
    """
    standing = heights > -np.inf
    if not standing.any():
        return np.full(heights.shape, -np.inf, np.float32)
    search = _Search(heights, float(heights[standing].min()), radius, cell)
    yield 0.05
    blocks = search.targets(wanted)
    jobs = np.array_split(blocks, max(1, len(blocks) // BLOCKS_AT_ONCE))
    yield from within(in_threads(search.solve, jobs), 0.05, 1.0)
    return search.result()


@dataclass
class _Contacts:
    """For some ball positions (row, column in cells, float32) the best source cell known, and the tip height it gives."""

    row: Single
    column: Single
    source_row: Single
    source_column: Single
    best: Single


class _Search:
    """The heights on blocks with all tables, and the surface as far as it is found."""

    def __init__(self, heights: Single, lowest: float, radius: float, cell: float) -> None:
        largest, finest = SIZES[0], SIZES[-1]
        self._shape, self._radius, self._cell = heights.shape, np.float32(radius), np.float32(cell)
        self._square = np.float32(radius * radius)
        # Stands for no ground at all: it may lie below everything without being infinite.
        self._floor = np.float32(lowest - radius - 1)
        self._ball_cells = radius_in_cells(radius, cell)
        self._ball = ball_sag(radius, cell)
        self._rim = (-(-(self._ball_cells + largest) // largest) + 1) * largest
        down, across = (-(-n // largest) for n in heights.shape)
        padded = np.full((down * largest + 2 * self._rim, across * largest + 2 * self._rim), self._floor, np.float32)
        inside = (slice(self._rim, self._rim + heights.shape[0]), slice(self._rim, self._rim + heights.shape[1]))
        padded[inside] = np.maximum(heights, self._floor)
        self._flat, self._width = padded.ravel(), padded.shape[1]
        self._across = {size: padded.shape[1] // size for size in SIZES}
        self._above, self._cells = upper_planes(padded, cell, SIZES)
        around = (self._ball_cells + largest - 1) // largest
        self._pairs: dict[int, PairBounds] = {}
        self._quarters: dict[int, list[PairBounds]] = {}
        for size in SIZES:
            grid = BlockGrid(size, cell, self._across[size], around)
            self._pairs[size] = PairBounds(radius, grid)
            if size != finest:
                self._quarters[size] = [PairBounds(radius, grid, quarter) for quarter in range(4)]
                around = 2 * around + 1
        self._sag = self._sag_table(around)
        self._out = np.full(self._cells.shape, self._floor, np.float32)

    def targets(self, wanted: Mask | None) -> Indices:
        """Indices of the largest blocks that hold wanted ball positions of the grid (None: all)."""
        largest = SIZES[0]
        first = self._rim // largest
        down, across = (-(-n // largest) for n in self._shape)
        blocks = (np.arange(down)[:, None] + first) * self._across[largest] + np.arange(across) + first
        if wanted is None:
            return blocks.ravel()
        padded = np.zeros((down * largest, across * largest), bool)
        padded[: self._shape[0], : self._shape[1]] = wanted
        return blocks[padded.reshape(down, largest, across, largest).any(axis=(1, 3))]

    def result(self) -> Single:
        """The surface, -inf where nothing lies within reach."""
        finest = SIZES[-1]
        rows, columns = len(self._flat) // self._width // finest, self._width // finest
        whole = self._out.reshape(finest, finest, rows, columns).transpose(2, 0, 3, 1).reshape(rows * finest, columns * finest)
        out = np.ascontiguousarray(whole[self._rim : self._rim + self._shape[0], self._rim : self._rim + self._shape[1]])
        out[out < self._floor + ABOVE_FLOOR] = -np.inf
        return out

    def _sag_table(self, around: int) -> Single:
        """Sag between the cells of two finest blocks up to `around` apart: ((2 size - 1)^2, keys), FAR_AWAY outside the ball."""
        size = SIZES[-1]
        pairs, across = self._pairs[size], self._across[size]
        steps = np.arange(-around, around + 1)
        inner = np.arange(-(size - 1), size)
        index = (steps * size + inner[:, None]) + self._ball_cells  # (2 size - 1, steps), the same along rows and columns
        ball = np.where(np.isfinite(self._ball), self._ball, FAR_AWAY).astype(np.float32)
        inside = (index >= 0) & (index < len(ball))
        index = np.where(inside, index, 0)
        near = ball[index[:, None, :, None], index[None, :, None, :]]
        near[~(inside[:, None, :, None] & inside[None, :, None, :])] = FAR_AWAY
        table = np.full(((2 * size - 1) ** 2, len(pairs.sag)), FAR_AWAY, np.float32)
        table[:, ((steps * across)[:, None] + steps + pairs.base).ravel()] = near.reshape((2 * size - 1) ** 2, -1)
        return table

    def solve(self, targets: Indices) -> None:
        """Find the surface over some of the largest blocks."""
        numbers, known = self._known(targets)
        pairs = self._pairs[SIZES[0]]
        lower = known[SIZES[0]]
        source = targets[:, None] + pairs.in_range[None]
        kept = np.flatnonzero(pairs.may_raise(self._above[SIZES[0]], source, (pairs.in_range + pairs.base)[None], lower.for_many()))
        target, source = kept // len(pairs.in_range), source.ravel()[kept]
        for size in SIZES[1:]:
            target, source = self._halved(size, target, source, numbers, known[size])
        self._measure(numbers[SIZES[-1]], target, source)

    def _halved(self, size: int, target: Indices, source: Indices, numbers: dict[int, Indices], known: Planes) -> tuple[Indices, Indices]:
        """The pairs of quarters that remain of pairs of blocks twice the size: positions in `numbers[size]`, source numbers.

        The targets' quarters are tried first, each against the whole source block, then the source's quarters against each of those.
        """
        twice, across = 2 * size, self._across[size]
        quarter_of = np.array([0, 1, across, across + 1])
        row = source // self._across[twice]
        first = row * (2 * across) + (source - row * self._across[twice]) * 2
        key = source - numbers[twice].take(target) + self._quarters[twice][0].base
        targets, sources = [], []
        for quarter in range(4):
            own = target * 4 + quarter
            kept = np.flatnonzero(self._quarters[twice][quarter].may_raise(self._above[twice], source, key, known.at(own)))
            own = own.take(kept)
            four = first.take(kept)[:, None] + quarter_of
            pairs = self._pairs[size]
            keys = four - numbers[size].take(own)[:, None] + pairs.base
            raising = np.flatnonzero(pairs.may_raise(self._above[size], four, keys, known.at(own).for_many()))
            targets.append(own.take(raising >> 2))
            sources.append(four.ravel().take(raising))
        target, source = np.concatenate(targets), np.concatenate(sources)
        order = np.argsort(target, kind="stable")
        return target.take(order), source.take(order)

    def _measure(self, numbers: Indices, target: Indices, source: Indices) -> None:
        """Raise the surface by the pairs of finest blocks that remain, cell by cell; pairs of one target follow one another."""
        if len(target) == 0:
            return
        size = SIZES[-1]
        width = 2 * size - 1
        start = np.flatnonzero(np.concatenate([[True], np.diff(target) != 0]))
        owner = numbers[target[start]]
        key = source - numbers[target] + self._pairs[size].base
        ends = np.concatenate([start, [len(source)]])
        cuts = np.unique(np.concatenate([np.searchsorted(start, np.arange(0, len(source), PAIRS_AT_ONCE)), [len(start)]]))
        for low, high in zip(cuts[:-1], cuts[1:], strict=True):
            some = slice(ends[low], ends[high])
            # `take` lays the pairs side by side in memory, which plain indexing does not.
            cells = np.take(self._cells, source[some], axis=1).reshape(size, size, -1)
            sag = np.take(self._sag, key[some], axis=1).reshape(width, width, -1)
            groups = start[low:high] - ends[low]
            lowered = np.empty_like(cells)
            for row in range(size):
                for column in range(size):
                    corner = sag[size - 1 - row : width - row, size - 1 - column : width - column]
                    np.subtract(cells, corner, out=lowered)
                    best = np.maximum.reduce(lowered.reshape(size * size, -1), axis=0)
                    self._out[row * size + column, owner[low:high]] = np.maximum.reduceat(best, groups)

    def _known(self, targets: Indices) -> tuple[dict[int, Indices], dict[int, Planes]]:
        """Indices of all blocks inside some of the largest, by size, quarters one after the other; and their lower planes."""
        size = SIZES[0]
        pairs = self._pairs[size]
        source = targets[None] + pairs.in_range[:, None]
        promise = self._above[size].height[source] - pairs.sag[pairs.in_range + pairs.base][:, None]
        best = source[promise.argmax(axis=0), np.arange(len(targets))]
        contacts = self._contacts(*self._middles(targets, size), *self._middle_cells(best, size))
        self._climb(contacts, FIRST_CLIMB)
        numbers = {size: targets}
        for size in SIZES[1:]:
            across = self._across[size]
            wide = numbers[2 * size]
            first = wide // self._across[2 * size] * (2 * across) + wide % self._across[2 * size] * 2
            numbers[size] = (first[:, None] + np.array([0, 1, across, across + 1])).ravel()
            contacts = self._inherited(contacts, *self._middles(numbers[size], size))
            self._climb(contacts, LATER_CLIMB if size > SIZES[-1] else LAST_CLIMB)
        known = {SIZES[-1]: self._lower_planes(contacts)}
        for size in SIZES[-2::-1]:
            known[size] = merged_lower(known[size // 2], float(self._cell), size)
        return numbers, known

    def _middles(self, blocks: Indices, size: int) -> tuple[Single, Single]:
        """Row and column of the middles of blocks, half-way between cells."""
        across = self._across[size]
        half = (size - 1) / 2
        return (blocks // across * size + half).astype(np.float32), (blocks % across * size + half).astype(np.float32)

    def _middle_cells(self, blocks: Indices, size: int) -> tuple[Single, Single]:
        """Row and column of one whole cell in the middle of blocks."""
        across = self._across[size]
        return (blocks // across * size + size // 2).astype(np.float32), (blocks % across * size + size // 2).astype(np.float32)

    def _contacts(self, row: Single, column: Single, source_row: Single, source_column: Single) -> _Contacts:
        """Contacts of ball positions with source cells, and what these give."""
        best = self._resting(row, column, source_row, source_column)
        return _Contacts(row=row, column=column, source_row=source_row, source_column=source_column, best=best)

    def _resting(self, row: Single, column: Single, source_row: Single, source_column: Single) -> Single:
        """Tip height of the ball at a position when it rests on one cell alone."""
        x, y = (source_column - column) * self._cell, (source_row - row) * self._cell
        room = self._square - x * x - y * y
        z = self._flat.take(source_row.astype(np.int64) * self._width + source_column.astype(np.int64)) - self._radius
        z += np.sqrt(np.maximum(room, 0))
        z[room < 0] = self._floor
        return z

    def _offer(self, contacts: _Contacts, source_row: Single, source_column: Single) -> None:
        """Let contacts change to other source cells where these lift the ball higher."""
        value = self._resting(contacts.row, contacts.column, source_row, source_column)
        higher = value > contacts.best
        np.copyto(contacts.best, value, where=higher)
        np.copyto(contacts.source_row, source_row, where=higher)
        np.copyto(contacts.source_column, source_column, where=higher)

    def _climb(self, contacts: _Contacts, steps: tuple[int, ...]) -> None:
        """Move every contact to a better cell nearby, some cells at a time."""
        low_row, high_row = np.ceil(contacts.row - self._ball_cells), np.floor(contacts.row + self._ball_cells)
        low_column, high_column = np.ceil(contacts.column - self._ball_cells), np.floor(contacts.column + self._ball_cells)
        for step in steps:
            for down, across in NEIGHBOURS:
                self._offer(
                    contacts,
                    np.clip(contacts.source_row + np.float32(down * step), low_row, high_row),
                    np.clip(contacts.source_column + np.float32(across * step), low_column, high_column),
                )

    def _inherited(self, wide: _Contacts, row: Single, column: Single) -> _Contacts:
        """Contacts of the quarters: that of the whole block, or the cell that lies as the whole block's lay."""
        own = [np.repeat(a, 4) for a in (wide.row, wide.column, wide.source_row, wide.source_column)]
        contacts = self._contacts(row, column, own[2], own[3])
        self._offer(contacts, own[2] + np.rint(row - own[0]), own[3] + np.rint(column - own[1]))
        return contacts

    def _lower_planes(self, contacts: _Contacts) -> Planes:
        """A plane over every finest block that the ball resting on the block's contact cell never lies below.

        The plane has the slope of that resting surface in the middle; what lies between is concave, so the corners decide.
        """
        x = (contacts.source_column - contacts.column) * self._cell
        y = (contacts.source_row - contacts.row) * self._cell
        half = np.float32((SIZES[-1] - 1) / 2) * self._cell
        at_x, at_y, centre = touching_offset(x, y, float(self._radius))
        slope_x, slope_y = at_x / centre, at_y / centre
        source = contacts.source_row.astype(np.int64) * self._width + contacts.source_column.astype(np.int64)
        level = self._flat[source] - self._radius
        low = np.full(len(level), np.inf, np.float32)
        for down in (-half, half):
            for across in (-half, half):
                room = self._square - (x - across) ** 2 - (y - down) ** 2
                corner = np.where(room > 0, level + np.sqrt(np.maximum(room, 0)) - slope_x * across - slope_y * down, NO_CORNER)
                np.minimum(low, corner, out=low)
        unknown = low < self._floor
        low[unknown], slope_x[unknown], slope_y[unknown] = self._floor, 0, 0
        return Planes(low, np.asarray(slope_x, np.float32), np.asarray(slope_y, np.float32))
