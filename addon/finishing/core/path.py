"""The path of one cutter over one side: what the machine does, row after row."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .array_types import Double, Indices
from .ragged import run_owners, run_places

KINDS = ("cut", "link", "entry", "exit", "lift")
"""Kinds of motion, by number: on the surface along a pass line; on the surface between lines; down to it; up from it; in the air."""
CUT, LINK, ENTRY, EXIT, LIFT = range(5)

NO_LENGTH = 1e-9
"""mm; shorter moves go nowhere."""


@dataclass(frozen=True)
class Path:
    """Motion of the cutter tip in job coordinates; row i is reached from row i - 1 in a straight move.

    points: (n, 3) float64, tip in mm. kind: (n,) uint8, index into KINDS, of the move that ends at the row.
    line: (n,) int32, pass line from 1 in running order; a link, lift or entry carries the line it leads to,
    an exit its own. feed: (n,) float64, mm/min asked for on the move that ends at the row.
    The first row is where the motion starts, in the air at safe height, and takes no time. The first `cut` row
    of a line stands where its entry or link has ended (a move of no length), so that consecutive `cut` rows of
    one line are the whole polyline.
    """

    points: Double
    kind: NDArray[np.uint8]
    line: NDArray[np.int32]
    feed: Double

    def __len__(self) -> int:
        return len(self.points)

    @property
    def line_count(self) -> int:
        """Number of pass lines."""
        return int(self.line.max()) if len(self.line) else 0

    def lengths(self) -> Double:
        """Length of the move that ends at each row, (n,), mm; 0 for the first row."""
        moves = np.linalg.norm(np.diff(self.points, axis=0), axis=1)
        return np.concatenate([[0.0], moves]) if len(self.points) else np.zeros(0)

    def length_of(self, kind: int) -> float:
        """Length in mm of all moves of one kind."""
        return float(self.lengths()[self.kind == kind].sum())

    def lines(self) -> list[Double]:
        """The pass lines as polylines (m, 3): the consecutive `cut` rows of each line."""
        cut = np.flatnonzero(self.kind == CUT)
        if len(cut) == 0:
            return []
        breaks = np.flatnonzero((np.diff(cut) != 1) | (np.diff(self.line[cut]) != 0)) + 1
        return [self.points[rows] for rows in np.split(cut, breaks)]


@dataclass(frozen=True)
class EntryCounts:
    """How often the cutter comes down, by the way it reaches the surface: level from beside the work, on a ramp, or straight down onto it."""

    beside: int
    ramped: int
    straight: int


def entry_counts(path: Path) -> EntryCounts:
    """Count the entries of a path by their last moves: a level run in, a ramp, or a move straight down."""
    last = np.flatnonzero((path.kind[:-1] == ENTRY) & (path.kind[1:] != ENTRY))
    move = path.points[last] - path.points[last - 1]
    straight = np.hypot(move[:, 0], move[:, 1]) <= NO_LENGTH
    level = ~straight & (np.abs(move[:, 2]) <= NO_LENGTH)
    return EntryCounts(int(level.sum()), int((~straight & ~level).sum()), int(straight.sum()))


@dataclass(frozen=True)
class PathPlaces:
    """Points along moves of a path.

    points: (n, 3) mm. row: (n,) row that the move ends at. share: (n,) how much of the move has been done there, 0 to 1.
    """

    points: Double
    row: Indices
    share: Double


def places_along(path: Path, kinds: tuple[int, ...], step: float) -> PathPlaces:
    """The middles of equal pieces, at most `step` mm long, of all moves of some kinds that have a length."""
    rows = np.flatnonzero(np.isin(path.kind[1:], kinds)) + 1
    start, end = path.points[rows - 1], path.points[rows]
    length = np.linalg.norm(end - start, axis=1)
    real = length > NO_LENGTH
    rows, start, end, length = rows[real], start[real], end[real], length[real]
    count = np.maximum(np.ceil(length / step).astype(int), 1)
    move = run_owners(count)
    share = (run_places(count) + 0.5) / count[move]
    return PathPlaces(start[move] + share[:, None] * (end - start)[move], rows[move], share)
