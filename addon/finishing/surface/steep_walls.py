"""Walls as the body's triangles show them: between which neighbouring cells of a height grid steep triangles lie.

Heights on cells show a slanted wall flatter than it is where it is no more than a cell or two wide, and which cells then seem to be steep
hangs on how the wall lies in the grid. The triangles know their slope. A wall that goes round a pocket crosses, in plan, every way from cell
to cell that leads out of it: no way is left open, whatever the cell and the direction.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..core.array_types import FloatArray, Indices, Mask
from ..core.grid import Grid
from ..core.ragged import run_owners, run_ranges
from ..core.triangles import twice_plan_area

STEEPEST_CONNECTED = 69.5
"""Degrees; steeper triangles are walls. Pockets that draft by 20 degrees from upright are openings, edges carved at up to 69 degrees are ground;
half a degree is left for facets and rounding."""

SHALLOWEST = 0.5
"""mm; least rise of a wall, and least depth that makes an opening: less is relief of the ground."""

NUDGE = 1e-6
"""Cells; ways are looked at this far to both sides of the cells' centres, and a wall must lie across both: the centres of a body that is drawn
in whole mm lie on the very edges of its triangles, and a way along a wall's foot leads past it."""

TOUCH = 1e-5
"""Cells; a wall that reaches no farther than this from a cell's centre to the next does not part the two."""

HIDDEN = 0.02
"""mm; steep triangles that lie deeper than this below both cells are under the surface that is seen: a cavity of the other side."""

AT_ONCE = 1 << 17
"""Triangles worked on at a time: some tens of MiB."""


@dataclass(frozen=True)
class WallSteps:
    """Where a wall lies between neighbouring cells.

    across: between a cell and the next one to its right, (rows, columns - 1); along: and the one in the next row, (rows - 1, columns).
    """

    across: Mask
    along: Mask


def wall_steps(triangles: FloatArray, heights: FloatArray, grid: Grid) -> WallSteps:
    """Where triangles (n, 3, 3) of a body part the cells of its heights (rows, columns; -inf outside)."""
    pieces = (triangles[start : start + AT_ONCE] for start in range(0, len(triangles), AT_ONCE))
    steep = np.concatenate([piece[_steep(piece)] for piece in pieces])
    x, y, z = (steep[:, :, 0] - grid.left) / grid.cell, (steep[:, :, 1] - grid.front) / grid.cell, steep[:, :, 2]
    reach = max(1, int(np.ceil(SHALLOWEST / np.tan(np.radians(STEEPEST_CONNECTED)) / grid.cell / 2)))
    return WallSteps(_parted(x, y, z, heights, reach), _parted(y, x, z, np.ascontiguousarray(heights.T), reach).T)


def _steep(triangles: FloatArray) -> Mask:
    """Which triangles (n, 3, 3) are walls, (n,)."""
    ax, ay, az = (triangles[:, 1, axis] - triangles[:, 0, axis] for axis in range(3))
    bx, by, bz = (triangles[:, 2, axis] - triangles[:, 0, axis] for axis in range(3))
    upright = (ay * bz - az * by) ** 2 + (az * bx - ax * bz) ** 2
    flat = (ax * by - ay * bx) ** 2
    steep: Mask = upright > flat * float(np.tan(np.radians(STEEPEST_CONNECTED))) ** 2
    return steep


def _parted(x: FloatArray, y: FloatArray, z: FloatArray, heights: FloatArray, reach: int) -> Mask:
    """Between which cells of a row triangles lie, (rows, columns - 1).

    x, y: corners (n, 3) in cells, so that the centre of cell [j, i] lies at x = i, y = j. reach: cells round a step within which its wall rises.
    """
    place = np.intersect1d(_crossed(x, y + NUDGE, z, heights), _crossed(x, y - NUDGE, z, heights), assume_unique=True)
    out = np.zeros((heights.shape[0], heights.shape[1] - 1), bool)
    row, step = np.divmod(place, out.shape[1])
    out[row, step] = _rise_round(heights, row, step, reach) >= SHALLOWEST
    return out


def _crossed(x: FloatArray, y: FloatArray, z: FloatArray, heights: FloatArray) -> Indices:
    """The steps along the rows that triangles lie across, numbered from left to right, row by row."""
    rows, columns = heights.shape
    owner, row, low, high, top = _on_rows(x, y, z, rows)
    first, last = np.floor(low + TOUCH).astype(np.intp), np.ceil(high - TOUCH).astype(np.intp) - 1
    # An upright wall on a centre parts that cell from the lower one beside it: the centre shows the wall's upper edge.
    upright = np.abs(twice_plan_area(x, y)) < TOUCH * TOUCH
    centre = np.flatnonzero((last < first) & upright[owner])
    first[centre] = last[centre] = _lower_side(heights, row[centre], first[centre])
    first, last = np.maximum(first, 0), np.minimum(last, columns - 2)
    count = np.maximum(last - first + 1, 0)
    crossing, step = run_owners(count), run_ranges(first, count)
    row, top = row[crossing], top[crossing]
    lowest = np.minimum(heights[row, step], heights[row, step + 1])
    seen = (lowest > -np.inf) & (top > lowest - HIDDEN)
    return np.unique(row[seen] * (columns - 1) + step[seen])


def _on_rows(x: FloatArray, y: FloatArray, z: FloatArray, rows: int) -> tuple[Indices, Indices, FloatArray, FloatArray, FloatArray]:
    """Where triangles lie on the lines through the centres of rows: triangle, row, least and greatest x, greatest z there, an entry for each."""
    first = np.maximum(np.ceil(y.min(axis=1)), 0).astype(np.intp)
    last = np.minimum(np.floor(y.max(axis=1)), rows - 1).astype(np.intp)
    count = np.maximum(last - first + 1, 0)
    owner, row = run_owners(count), run_ranges(first, count)
    low, high, top = (np.full(len(row), sign * np.inf) for sign in (1, -1, -1))
    for a, b in ((0, 1), (1, 2), (2, 0)):
        y_a, y_b = y[owner, a], y[owner, b]
        meets = np.flatnonzero((np.minimum(y_a, y_b) <= row) & (np.maximum(y_a, y_b) >= row) & (y_a != y_b))
        which, share = owner[meets], (row[meets] - y_a[meets]) / (y_b[meets] - y_a[meets])
        at = x[which, a] + share * (x[which, b] - x[which, a])
        low[meets], high[meets] = np.minimum(low[meets], at), np.maximum(high[meets], at)
        top[meets] = np.maximum(top[meets], z[which, a] + share * (z[which, b] - z[which, a]))
    met = high >= low
    return owner[met], row[met], low[met], high[met], top[met]


def _lower_side(heights: FloatArray, row: Indices, column: Indices) -> Indices:
    """The step beside some cells, by its number along the row, that leads down farther."""
    before = heights[row, np.clip(column - 1, 0, heights.shape[1] - 1)]
    after = heights[row, np.clip(column + 1, 0, heights.shape[1] - 1)]
    return np.where(before < after, column - 1, column)


def _rise_round(heights: FloatArray, row: Indices, step: Indices, reach: int) -> FloatArray:
    """How far the body's heights lie apart round some steps."""
    low, high = np.full(len(row), np.inf), np.full(len(row), -np.inf)
    for dr in range(-reach, reach + 1):
        for dc in range(-reach, reach + 2):
            z = heights[np.clip(row + dr, 0, heights.shape[0] - 1), np.clip(step + dc, 0, heights.shape[1] - 1)]
            high = np.maximum(high, z)
            low = np.minimum(low, np.where(z > -np.inf, z, np.inf))
    return high - low
