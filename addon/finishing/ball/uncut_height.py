"""Uncut height at single places, with the ball's axis free to stand anywhere and not only on cells.

A closing on a grid lets the axis stand on cells only. In a hollow that is just wide enough the ball must stand nearly
exactly, and half a cell aside lifts it by hundredths of a millimetre: enough to judge a cutter wrongly. Here the best
position of the axis is searched for: the ball that passes lowest over a place is looked for from a first guess by trying six positions
round the best one so far, moving to the lowest, and halving the distance when none is lower.
"""

from __future__ import annotations

from collections.abc import Generator

import numpy as np

from ..core.array_types import FloatArray
from ..core.grid import Grid
from ..core.stepping import within
from ..core.threads import in_threads
from ..job.flank import Flank

FIRST_STEP = 0.4
"""mm; the search looks round the best axis so far at this distance, and halves it when nothing is better there."""
LAST_STEP = 0.02
"""mm; finest step: beside the lowest position by that much, a ball of 2 mm passes 0.0001 mm higher over level ground."""
AROUND = np.array([[1, 0], [0.5, 0.866], [-0.5, 0.866], [-1, 0], [-0.5, -0.866], [0.5, -0.866]])
"""Corners of a hexagon: one of them always lies within 30 degrees of the steepest descent."""
BETTER = 3e-6
"""mm by which a position must be lower: less is the rounding of heights in single precision."""
WIDENED = 0.75
"""Cells by which the disc of cells looked at is larger than the ball: the axis may stand half a diagonal (0.71) off its cell's middle."""
PAIRS_AT_ONCE = 200_000
"""Pairs of axis and cell that are looked at at a time."""
NOTHING = np.float32(-1e6)
"""Height where there is no surface."""


class FreeBall:
    """A ball over a surface of cells (rows, columns), -inf outside, with its axis anywhere. flank: what is above it, if it is tapered. All mm."""

    def __init__(self, surface: FloatArray, grid: Grid, radius: float, flank: Flank | None = None) -> None:
        self.radius, self.grid, self.flank = radius, grid, flank
        widest = radius if flank is None else flank.top_radius
        most = int(np.ceil(widest / grid.cell)) + 1
        known = surface > -np.inf
        self._low = float(surface[known].min()) if known.any() else 0.0
        lowered = np.where(known, surface - self._low, NOTHING).astype(np.float32)
        # A rim on which any axis over the grid finds all its cells, so that no look-up leaves the array.
        self._rim = 2 * most
        wide = np.pad(lowered, self._rim, constant_values=NOTHING)
        self._columns = wide.shape[1]
        self._flat = wide.ravel()
        span = np.arange(-most, most + 1)
        down, aside = (a.ravel() for a in np.meshgrid(span, span, indexing="ij"))
        near = np.hypot(down, aside) <= widest / grid.cell + WIDENED
        self._offset = down[near] * self._columns + aside[near]
        self._down = (down[near] * grid.cell).astype(np.float32)
        self._aside = (aside[near] * grid.cell).astype(np.float32)

    def tip_heights_steps(self, axes: FloatArray) -> Generator[float, None, FloatArray]:
        """Tip heights (n,) of the ball resting with its axis at (n, 2), -inf over nothing; yields progress from 0 to 1."""
        size = max(1, PAIRS_AT_ONCE // len(self._offset))
        found = yield from in_threads(self._tips, [axes[k : k + size] for k in range(0, len(axes), size)])
        return np.concatenate([*found, np.zeros(0)])

    def _tips(self, axes: FloatArray) -> FloatArray:
        """Tip heights (n,) at some axes (n, 2): the greatest over the disc of cells round the cell nearest to each."""
        at_row, at_column = self.grid.position(axes)
        row = np.clip(np.rint(at_row), -self._rim // 2, self.grid.rows + self._rim // 2 - 1)
        column = np.clip(np.rint(at_column), -self._rim // 2, self.grid.columns + self._rim // 2 - 1)
        number = ((row + self._rim) * self._columns + column + self._rim).astype(np.intp)
        heights = self._flat.take(number[:, None] + self._offset)
        cell = self.grid.cell
        room = ((row - at_row) * cell).astype(np.float32)[:, None] + self._down
        room *= room
        aside = ((column - at_column) * cell).astype(np.float32)[:, None] + self._aside
        aside *= aside
        room += aside
        if self.flank is not None:
            heights -= self.flank.height(np.sqrt(room)).astype(np.float32)
            tip = heights.max(axis=1).astype(np.float64)
            return np.where(tip > NOTHING / 2, tip + self._low, -np.inf)
        np.subtract(np.float32(self.radius**2), room, out=room)
        np.copyto(heights, NOTHING, where=room < 0)
        np.maximum(room, 0, out=room)
        np.sqrt(room, out=room)
        heights += room
        tip = heights.max(axis=1).astype(np.float64)
        return np.where(tip > NOTHING / 2, tip + self._low - self.radius, -np.inf)

    def uncut_heights_steps(
        self, places: FloatArray, axes: FloatArray, enough: float, last_step: float = LAST_STEP
    ) -> Generator[float, None, FloatArray]:
        """Height (n,), straight up, at which the lowest ball over each place passes; 0 where the ball touches it.

        places: (n, 3) points of the surface. axes: (n, k, 2) where to begin looking for the ball's axis. enough: places are
        done with once their height falls to this. last_step: finest step of the search, mm. The search may miss the very
        best axis, so the height is at least the true one over these cells. Yields progress from 0 to 1.
        """
        best = np.full(len(places), np.inf)
        axis = axes[:, 0].astype(np.float64)
        for start in range(axes.shape[1]):
            heights = yield from within(self._passing_steps(places, axes[:, start]), 0.0, 0.2)
            better = heights < best
            best[better], axis[better] = heights[better], axes[better, start]
        step = np.full(len(places), FIRST_STEP)
        done = 0.2
        while True:
            todo = np.flatnonzero((best > enough) & (step >= last_step))
            if len(todo) == 0:
                break
            tried = axis[todo, None] + step[todo, None, None] * AROUND
            # How many rounds there will be is not known: each takes a quarter of the progress that remains.
            done, before = done + 0.25 * (1 - done), done
            steps = self._passing_steps(np.repeat(places[todo], len(AROUND), axis=0), tried.reshape(-1, 2))
            heights = (yield from within(steps, before, done)).reshape(len(todo), len(AROUND))
            lowest = heights.argmin(axis=1)
            value = heights[np.arange(len(todo)), lowest]
            better = value < best[todo] - BETTER
            moved = todo[better]
            best[moved], axis[moved] = value[better], tried[better, lowest[better]]
            step[todo[~better]] /= 2
        return np.maximum(best, 0.0)

    def _passing_steps(self, places: FloatArray, axes: FloatArray) -> Generator[float, None, FloatArray]:
        """How high above each place a ball passes that rests with its axis at (n, 2); inf where it stands too far aside."""
        tip = yield from self.tip_heights_steps(axes)
        if self.flank is not None:
            underside = tip + self.flank.height(np.linalg.norm(axes - places[:, :2], axis=1))
            return np.where(np.isfinite(underside), underside - places[:, 2], np.inf)
        room = self.radius**2 - ((axes - places[:, :2]) ** 2).sum(axis=1)
        height = tip + self.radius - np.sqrt(np.maximum(room, 0)) - places[:, 2]
        return np.where(room >= 0, height, np.inf)
