"""Ground that a cut leaves standing higher than tolerated: what is left to hand work, piece by piece."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..ball.rest_ground import LEAST_PART
from ..core.array_types import FloatArray, Indices, Mask
from ..core.grid import Grid
from ..core.masks import connected_parts
from ..core.place import Place


@dataclass(frozen=True)
class HandPart:
    """One piece of ground left. area: mm2 of plan. height: mm, the most that stands there. volume: mm3. place: of the highest, job mm."""

    area: float
    height: float
    volume: float
    place: Place


@dataclass(frozen=True)
class Strip:
    """Ground beside hollows and edges in which the ball cannot rest, and which is no piece of hand work: it stands no higher than that, or is small.

    rows, columns: of its cells; heights: mm that stand there, along the normal; volumes: mm3. missed: (rows, columns), all planned ground that the
    cutter does not rest on.
    """

    rows: Indices
    columns: Indices
    heights: FloatArray
    volumes: FloatArray
    missed: Mask


@dataclass(frozen=True)
class HandWork:
    """What a cutter leaves to the hand. parts: pieces that stand higher than tolerated, the largest first; strip: beside them."""

    parts: tuple[HandPart, ...]
    strip: Strip


def hand_cells(standing: FloatArray, grid: Grid, tolerance: float) -> Mask:
    """The cells of the pieces that `hand_parts` finds, (rows, columns)."""
    labels = connected_parts(np.nan_to_num(standing, nan=0.0) > tolerance)
    kept = np.bincount(labels.ravel()) * grid.cell_area >= LEAST_PART
    kept[0] = False
    return np.asarray(kept[labels])


def hand_parts(standing: FloatArray, heights: FloatArray, grid: Grid, tolerance: float) -> tuple[HandPart, ...]:
    """The pieces that stand higher than a tolerance in mm, the largest first.

    standing: (rows, columns) mm above the planned surface after the cut, nan where nothing is known to stand. heights: of that surface.
    """
    left: Mask = np.nan_to_num(standing, nan=0.0) > tolerance
    labels = connected_parts(left).ravel()
    count = int(labels.max()) if labels.size else 0
    if count == 0:
        return ()
    cells = np.flatnonzero(labels)
    part, height = labels[cells] - 1, np.asarray(standing, float).ravel()[cells]
    area = np.bincount(part, minlength=count) * grid.cell_area
    volume = np.bincount(part, weights=height, minlength=count) * grid.cell_area
    # The highest cell of each part stands last among those of the part.
    order = np.lexsort((height, part))
    highest = order[np.flatnonzero(np.append(np.diff(part[order]) != 0, True))]
    found = []
    for k in np.argsort(-area, kind="stable"):
        if area[k] >= LEAST_PART:
            row, column = divmod(int(cells[highest[k]]), grid.columns)
            place = (grid.left + grid.cell * column, grid.front + grid.cell * row, float(heights[row, column]))
            found.append(HandPart(area=float(area[k]), height=float(height[highest[k]]), volume=float(volume[k]), place=place))
    return tuple(found)
