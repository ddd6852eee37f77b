"""How far pass lines lie from their neighbours: the least, the usual and the greatest spacing of a plan, measured on its lines."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..core.array_types import FloatArray, Indices
from ..core.polyline import all_resampled
from ..core.ragged import run_owners

CELLS_PER_SPACING = 4.0
"""Cells over one spacing on flat ground: where lines come half as close, two cells still part them."""

PLACES_PER_CELL = 2.0
"""Places along a line over one cell, so that it leaves no cell out."""

LEAST_CELL = 0.1
"""mm; lines of the smallest balls at the finest cusp heights lie some tenths of a mm apart."""

WIDEST = 3.0
"""Spacings on flat ground to either side at which a neighbour is looked for: farther off lies another piece of ground."""

ASKED_EVERY = 4
"""One of so many places asks for its neighbours: every place stands for its line, but the figures need only a part of them."""

PLACES_AT_ONCE = 1 << 16
"""Places looked up in one go."""

TAIL = 1.0
"""Per cent of the places below the least and above the greatest spacing told: there lines begin, end or part, and stray places say nothing."""


@dataclass(frozen=True)
class LineSpacing:
    """Distances in mm, in space, from pass lines to the neighbours beside them. Least and greatest leave TAIL per cent of the places out."""

    least: float
    usual: float
    greatest: float


def line_spacing(lines: Sequence[FloatArray], flat_spacing: float) -> LineSpacing | None:
    """Measure the spacing of lines (n, 3); None where no line has a neighbour.

    flat_spacing: mm, of the same passes on flat ground. Every place walks straight across its line, to the left and to the right, until a cell
    of another line is met; the distance to that line's place there, without what lies along the own line, is the spacing.
    """
    if not lines:
        return None
    cell = max(flat_spacing / CELLS_PER_SPACING, LEAST_CELL)
    fine = all_resampled([line.astype(np.float64) for line in lines], cell / PLACES_PER_CELL)
    counts = np.array([len(line) for line in fine])
    points, owner = np.concatenate(fine), run_owners(counts)
    # Of those alone that ask for their neighbours.
    ahead = np.concatenate([np.gradient(line, axis=0)[-first % ASKED_EVERY :: ASKED_EVERY] for line, first in zip(fine, _firsts(counts), strict=True)])
    del fine
    ahead /= np.maximum(np.linalg.norm(ahead, axis=1), 1e-12)[:, None]
    reach = WIDEST * flat_spacing
    low = points[:, :2].min(axis=0) - reach - 2 * cell
    columns, rows = (np.ceil((points[:, :2].max(axis=0) + reach + 2 * cell - low) / cell).astype(int) + 1).tolist()
    holds = np.full(rows * columns, -1, np.int32)

    def cell_of(places: FloatArray) -> np.ndarray:
        at = np.rint((places - low) / cell).astype(np.int64)
        return at[:, 1] * columns + at[:, 0]

    # The cell beside it too, so that nothing walks through between two cells of a line over their corners.
    for beside in (1, 0):
        for first in range(0, len(points), PLACES_AT_ONCE):
            some = points[first : first + PLACES_AT_ONCE, :2]
            holds[cell_of(some) + beside] = np.arange(first, first + len(some))
    flat = np.maximum(np.hypot(ahead[:, 0], ahead[:, 1]), 1e-12)
    found = []
    for turn in (1.0, -1.0):
        across = turn * np.column_stack([-ahead[:, 1], ahead[:, 0]]) / flat[:, None]
        walking = np.arange(0, len(points), ASKED_EVERY)
        for distance in np.arange(cell, reach, cell / 2):
            met = holds[cell_of(points[walking, :2] + distance * across[walking // ASKED_EVERY])]
            other = (met >= 0) & (owner[met] != owner[walking])
            mine, theirs = walking[other], met[other]
            apart = points[theirs] - points[mine]
            along = (apart * ahead[mine // ASKED_EVERY]).sum(axis=1)
            found.append(np.sqrt(np.maximum((apart**2).sum(axis=1) - along**2, 0.0)))
            walking = walking[~other]
    distances = np.concatenate(found)
    if not len(distances):
        return None
    least, usual, greatest = np.percentile(distances, [TAIL, 50.0, 100.0 - TAIL]).tolist()
    return LineSpacing(least, usual, greatest)


def _firsts(counts: Indices) -> list[int]:
    """Number of the first place of each line, by how many places (n,) the lines have."""
    return (np.cumsum(counts) - counts).tolist()
