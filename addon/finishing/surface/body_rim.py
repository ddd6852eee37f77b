"""The rim of a body as it lies: its outline in plan, and between which heights wood stands behind it. The same whichever side looks up."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..core.array_types import FloatArray, Mask
from ..core.filters import blur
from ..core.grid import Grid
from ..core.level_lines import level_lines
from ..core.polyline import all_resampled, travelled
from .height_map import height_map, top_marks

CELL = 1.0
"""mm, cells that heights behind the outline are read from."""

FINER = 4
"""Of how many finer cells to each edge a cell's share of the body is told: of cells alone, the outline would be off by half of one where it runs
all but along them.
"""

MOST_CELLS = 1 << 22
"""Finer cells that are filled at a time: 32 MiB."""

BLUR = 2.0
"""Cells of the blur that takes the stairs out of the outline: it rounds off corners by about as much."""

STEP = 1.0
"""mm between the points of the outline."""

BEHIND = (1.5, 3.0, 4.5, 6.0, 8.0)
"""mm inwards of the outline at which wood must stand for the rim to hold a tab: common practice, no source. Rounded edges lie in front of them."""

SKIP_REACH = 6.0
"""mm inwards of the outline within which skipped surface counts as being at the rim: a tab's stub is cleaned up with what is finished beside it."""

LEAST_POINTS = 16
"""Points of an outline; a shorter one is a crumb."""


@dataclass(frozen=True)
class BodyRim:
    """The outline of a body and what stands behind it, in the axes of the body as it lies.

    points: (n, 2) mm, anticlockwise, at equal steps; the first is not repeated. low, high: (n,) between which heights all wood behind a point
    stands; low above high where there is none. skipped: (n,) whether surface is skipped there, on either side. body_low, body_high: (3,) corners.
    """

    points: FloatArray
    low: FloatArray
    high: FloatArray
    skipped: Mask
    body_low: FloatArray
    body_high: FloatArray

    @property
    def step(self) -> float:
        """mm between neighbouring points."""
        return self.length / len(self.points)

    @property
    def length(self) -> float:
        """Length of the outline in mm."""
        return float(travelled(np.concatenate([self.points, self.points[:1]]))[-1])


@dataclass(frozen=True)
class RimMap:
    """The body from both sides, (rows, columns) on the grid: z of its top surface, and of its lower one turned up (-z); -inf beside it."""

    grid: Grid
    top: FloatArray
    under: FloatArray


def body_rim(triangles: FloatArray, skip: Mask) -> tuple[BodyRim, RimMap] | None:
    """The rim of a body, triangles (n, 3, 3) as it lies, and what it was read from; None where its outline is shorter than a few cells.
    skip: (n,) faces that are left out.
    """
    low, high = triangles.reshape(-1, 3).min(axis=0), triangles.reshape(-1, 3).max(axis=0)
    grid = Grid.over(low, high, CELL, margin=4 * BLUR * CELL)
    top = height_map(triangles, grid, upward_only=False)
    turned = triangles * np.array([1.0, 1.0, -1.0])
    under = height_map(turned, grid, upward_only=False)
    outline = _outline(_shares(triangles, grid), grid)
    if outline is None:
        return None
    skipped = top_marks(triangles, skip, grid, top) | top_marks(turned, skip, grid, under)
    inwards = _inwards(outline)
    rim_low, rim_high, near_skip = np.full(len(outline), -np.inf), np.full(len(outline), np.inf), np.zeros(len(outline), bool)
    for depth in BEHIND:
        place = grid.nearest(outline + depth * inwards)
        rim_low, rim_high = np.maximum(rim_low, -under[place]), np.minimum(rim_high, top[place])
        if depth <= SKIP_REACH:
            near_skip |= skipped[place]
    rim = BodyRim(points=outline, low=rim_low, high=rim_high, skipped=near_skip, body_low=low, body_high=high)
    return rim, RimMap(grid, top, under)


def _inwards(points: FloatArray) -> FloatArray:
    """Unit vectors (n, 2) into the body at the points of an outline that runs anticlockwise."""
    along = np.roll(points, -1, axis=0) - np.roll(points, 1, axis=0)
    along /= np.linalg.norm(along, axis=1)[:, None]
    return np.column_stack([-along[:, 1], along[:, 0]])


def _shares(triangles: FloatArray, grid: Grid) -> FloatArray:
    """Share of every cell (rows, columns) that the body covers."""
    bands = max(1, min(-(-grid.rows * grid.columns * FINER**2 // MOST_CELLS), grid.rows))
    ends = np.linspace(0, grid.rows, bands + 1).astype(int).tolist()
    out = []
    for first, last in zip(ends[:-1], ends[1:], strict=True):
        shift = (FINER - 1) / 2 * grid.cell / FINER
        fine = Grid(
            left=grid.left - shift,
            front=grid.front + grid.cell * first - shift,
            cell=grid.cell / FINER,
            rows=(last - first) * FINER,
            columns=grid.columns * FINER,
        )
        covered = height_map(triangles, fine, upward_only=False) > -np.inf
        out.append(covered.reshape(last - first, FINER, grid.columns, FINER).mean(axis=(1, 3)))
    return np.concatenate(out)


def _outline(shares: FloatArray, grid: Grid) -> FloatArray | None:
    """The outline (n, 2) of the largest piece of a body, anticlockwise, at equal steps. shares: of every cell that it covers."""
    lines = [line for line in level_lines(blur(shares, BLUR), grid, 0.5) if line.level == 0 and line.closed]
    if not lines:
        return None
    # The body lies on the left of every line, so that outlines enclose a positive area, and openings a negative one.
    whole = max(lines, key=lambda line: enclosed_area(line.points)).whole
    if len(whole) < LEAST_POINTS:
        return None
    return all_resampled([whole], STEP)[0][:-1]


def enclosed_area(points: FloatArray) -> float:
    """Area in mm2 within a closed line (n, 2), positive where it runs anticlockwise."""
    after = np.roll(points, -1, axis=0)
    return float((points[:, 0] * after[:, 1] - points[:, 1] * after[:, 0]).sum()) / 2
