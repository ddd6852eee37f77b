"""Uncut height at single places, with the ball's axis free to stand anywhere and not only on cells.

A closing on a grid lets the axis stand on cells only. In a hollow that is just wide enough the ball must stand nearly
exactly, and half a cell aside lifts it by hundredths of a millimetre: enough to judge a cutter wrongly. Here the best
place of the axis is searched for.
"""

from __future__ import annotations

from collections.abc import Generator
from concurrent.futures import ThreadPoolExecutor

import numpy as np
from numpy.typing import NDArray

from .grid import FloatArray, Grid
from .stepping import within

FIRST_STEP, LAST_STEP = 0.4, 0.01
"""mm; the search looks round the best axis so far at this distance, and halves it when nothing is better there."""
AROUND = np.array([[1, 0], [0.5, 0.866], [-0.5, 0.866], [-1, 0], [-0.5, -0.866], [0.5, -0.866]])
PAIRS_AT_ONCE = 500_000
"""Pairs of axis and cell that are looked at in one go."""
THREADS = 2

Indices = NDArray[np.intp]


class FreeBall:
    """A ball over a surface of cells (rows, columns), -inf outside, with its axis anywhere. All mm."""

    def __init__(self, surface: FloatArray, grid: Grid, radius: float) -> None:
        self.radius, self.grid = radius, grid
        self._reach = int(np.ceil(radius / grid.cell)) + 1
        known = surface > -np.inf
        self._low = float(surface[known].min()) if known.any() else 0.0
        self._surface = surface
        span = np.arange(-self._reach, self._reach + 1)
        rows, columns = (a.ravel() for a in np.meshgrid(span, span, indexing="ij"))
        near = np.hypot(rows, columns) <= radius / grid.cell + 0.75
        self._rows, self._columns = rows[near], columns[near]

    def tip_heights_steps(self, axes: FloatArray) -> Generator[float, None, FloatArray]:
        """Tip heights (n,) of the ball resting with its axis at (n, 2), -inf over nothing; yields shares done."""
        out = np.full(len(axes), -np.inf)
        size = max(1, PAIRS_AT_ONCE // len(self._rows))
        pieces = [slice(k, k + size) for k in range(0, len(axes), size)]
        with ThreadPoolExecutor(THREADS) as pool:
            for k in range(0, len(pieces), THREADS):
                some = pieces[k : k + THREADS]
                for piece, tip in zip(some, pool.map(self._tips, [axes[p] for p in some]), strict=True):
                    out[piece] = tip
                yield min(1.0, (k + THREADS) / len(pieces))
        return out

    def _tips(self, axes: FloatArray) -> FloatArray:
        at_row, at_column = self.grid.position(axes)
        row, column = np.rint(at_row).astype(np.intp), np.rint(at_column).astype(np.intp)
        rows, columns = row[:, None] + self._rows, column[:, None] + self._columns
        inside = (rows >= 0) & (rows < self.grid.rows) & (columns >= 0) & (columns < self.grid.columns)
        rows, columns = np.clip(rows, 0, self.grid.rows - 1), np.clip(columns, 0, self.grid.columns - 1)
        heights = (self._surface[rows, columns] - self._low).astype(np.float32)
        cell = self.grid.cell
        down = (((row - at_row) * cell).astype(np.float32)[:, None] + (self._rows * cell).astype(np.float32)) ** 2
        aside = ((column - at_column) * cell).astype(np.float32)[:, None] + (self._columns * cell).astype(np.float32)
        room = np.float32(self.radius**2) - down - aside * aside
        heights += np.sqrt(np.maximum(room, 0))
        heights[~inside | (room < 0)] = -np.inf
        return heights.max(axis=1).astype(np.float64) + self._low - self.radius

    def uncut_heights_steps(self, places: FloatArray, axes: FloatArray, enough: float) -> Generator[float, None, FloatArray]:
        """Height (n,), straight up, at which the lowest ball over each place passes; 0 where the ball touches it.

        places: (n, 3) points of the surface. axes: (n, k, 2) where to begin looking for the ball's axis. enough: places are
        done with once their height falls to this. The search may miss the very best axis, so the height is at least the
        true one over these cells. Yields shares done.
        """
        best = np.full(len(places), np.inf)
        axis = axes[:, 0].astype(np.float64)
        for start in range(axes.shape[1]):
            heights = yield from within(self._passing_steps(places, axes[:, start]), 0.0, 0.2)
            better = heights < best
            best[better], axis[better] = heights[better], axes[better, start]
        step = np.full(len(places), FIRST_STEP)
        share = 0.2
        while True:
            todo = np.flatnonzero((best > enough) & (step >= LAST_STEP))
            if len(todo) == 0:
                break
            tried = axis[todo, None] + step[todo, None, None] * AROUND
            next_share = share + 0.25 * (1 - share)
            steps = self._passing_steps(np.repeat(places[todo], len(AROUND), axis=0), tried.reshape(-1, 2))
            heights = (yield from within(steps, share, next_share)).reshape(len(todo), len(AROUND))
            share = next_share
            lowest = heights.argmin(axis=1)
            value = heights[np.arange(len(todo)), lowest]
            better = value < best[todo] - 1e-5
            moved = todo[better]
            best[moved], axis[moved] = value[better], tried[better, lowest[better]]
            step[todo[~better]] /= 2
        return np.maximum(best, 0.0)

    def _passing_steps(self, places: FloatArray, axes: FloatArray) -> Generator[float, None, FloatArray]:
        """How high above each place a ball passes that rests with its axis at (n, 2); inf where it stands too far aside."""
        tip = yield from self.tip_heights_steps(axes)
        room = self.radius**2 - ((axes - places[:, :2]) ** 2).sum(axis=1)
        height = tip + self.radius - np.sqrt(np.maximum(room, 0)) - places[:, 2]
        return np.where(room >= 0, height, np.inf)
