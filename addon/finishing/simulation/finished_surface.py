"""The surface as it will be cut: what stands after every move of a path, height by height straight above the cells of a grid.

Nothing is taken from the field that the path came from, or from the body: a cell has the lowest underside of the ball on all moves that pass
over it, or what stood before where none goes deeper. So cusps, marks of entries, steps beside flats and ground that was left are all there.
"""

from __future__ import annotations

from collections.abc import Generator, Sequence
from dataclasses import dataclass

import numpy as np

from ..core.array_types import Double, FloatArray, Mask
from ..core.grid import Grid
from ..core.stepping import within
from ..job.flank import Flank
from .swept_ball import SweptBall
from .swept_taper import swept

BIN_RADII = 0.25
"""Edge of the bins that moves are sorted into, in radii: every move within a radius is looked at, which finer bins would not make fewer."""

RAYS_AT_ONCE = 60_000
"""Cells looked at between two tellings of the progress."""


@dataclass(frozen=True)
class Run:
    """A path that a cutter runs along. tips: (n, 3) mm, in the order of motion. radius: of the ball, mm. flank: None for a straight cutter."""

    tips: FloatArray
    radius: float
    flank: Flank | None = None

    @property
    def widest(self) -> float:
        """Greatest radius of ball and flank, mm."""
        return self.radius if self.flank is None else self.flank.top_radius


def finished_heights_steps(before: FloatArray, grid: Grid, runs: Sequence[Run]) -> Generator[float, None, Double]:
    """Heights (rows, columns) float64 in mm on `grid` after all runs; yields shares done.

    before: heights before the first, -inf where nothing stands; such cells stay as they are.
    """
    heights = np.array(before, np.float64)
    standing = np.flatnonzero(heights.ravel() > -np.inf)
    row, column = np.divmod(standing, grid.columns)
    points = np.column_stack([grid.middles(row, column), heights.ravel()[standing]])
    for number, run in enumerate(runs):
        swept = _swept_over(points, run)
        parts = np.array_split(np.arange(len(points)), max(1, len(points) // RAYS_AT_ONCE))
        low, high = number / len(runs), (number + 1) / len(runs)
        for count, part in enumerate(parts):
            share = (high - low) / len(parts)
            undersides = yield from within(swept.undersides_steps(points[part]), low + count * share, low + (count + 1) * share)
            points[part, 2] = np.minimum(points[part, 2], undersides)
    heights.ravel()[standing] = points[:, 2]
    return heights


def _swept_over(points: FloatArray, run: Run) -> SweptBall:
    """The moves of a run that may come over some points (n, 3) and not above all of them."""
    starts, ends = run.tips[:-1], run.tips[1:]
    if len(points) == 0 or len(starts) == 0:
        return SweptBall(np.zeros((0, 3)), np.zeros((0, 3)), run.radius, BIN_RADII * run.radius)
    low, high = np.minimum(starts, ends), np.maximum(starts, ends)
    near: Mask = low[:, 2] < points[:, 2].max()
    for axis in (0, 1):
        near &= (low[:, axis] < points[:, axis].max() + run.widest) & (high[:, axis] > points[:, axis].min() - run.widest)
    return swept(starts[near], ends[near], run.radius, BIN_RADII * run.radius, run.flank)


@dataclass(frozen=True)
class Roughness:
    """Figures of a profile, mm. rz: mean over the sections of highest to lowest; ra: mean distance from the mean line (ISO 21920-2, unfiltered)."""

    rz: float
    ra: float


SECTIONS = 5
"""Section lengths of a profile that Rz is the mean of: ISO 21920-3's default."""


def profile_roughness(profile: FloatArray) -> Roughness:
    """Roughness of heights (n,) in mm at even steps along a line, over their straight mean line."""
    at = np.linspace(-1, 1, len(profile))
    slope, level = np.polyfit(at, profile, 1)
    rest = profile - (slope * at + level)
    sections = np.array_split(rest, SECTIONS)
    return Roughness(float(np.mean([part.max() - part.min() for part in sections])), float(np.abs(rest).mean()))
