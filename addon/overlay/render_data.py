"""What the viewport draws of maps and paths, as plain arrays: positions, colours, indices. No gpu and no bpy in here.

Positions are float32 in job mm; they are drawn under one matrix from job to world, so nothing is rebuilt when the body
moves. Colours are float32 sRGB with opacity.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..finishing.core.array_types import FloatArray, Single
from ..finishing.core.grid import Grid
from ..finishing.core.path import CUT, ENTRY, EXIT, LIFT, LINK, Path
from ..finishing.pictures.dashes import dashes, travelled
from ..finishing.pictures.legend import Legend
from ..finishing.surface.edges import WALL_SLOPE

IndexArray = NDArray[np.int32]
MaskArray = NDArray[np.bool_]
Rgb = tuple[float, float, float]

LIGHT = np.array([-0.43, 0.53, 0.73])
"""Direction to the light of the built-in shading, in job axes: from the upper left."""
SHADING = 0.5
"""How far the built-in shading darkens ground that faces away from the light."""
HATCH_LIFT = 0.1
"""mm that hatching lies above its ground."""
LINK_PATTERN = (2.4, 1.4)
LIFT_PATTERN = (1.0, 2.4)
"""Dash and gap in mm."""


@dataclass(frozen=True)
class SurfaceMesh:
    """The upper surface of a body as triangles to colour.

    positions: (n, 3). triangles: (m, 3) int32. cells: (n,) index of each position's cell in the raveled grid. shade: (n,), the
    factor of the built-in shading, 1 on flat ground.
    """

    positions: Single
    triangles: IndexArray
    cells: NDArray[np.intp]
    shade: Single


@dataclass(frozen=True)
class LineSet:
    """Straight pieces: positions (2n, 3) in pairs, colours (2n, 4), and the path row (n,) that each piece belongs to (-1: none)."""

    positions: Single
    colours: Single
    rows: IndexArray


def surface_mesh(heights: FloatArray, grid: Grid, most_points: int = 250_000, lift: float = 0.05) -> SurfaceMesh:
    """Triangles over all cells with a body, thinned evenly to at most about `most_points`, lifted by `lift` mm.

    Walls are left open, so that no curtain hangs across a pocket's wall.
    """
    exists = np.isfinite(heights)
    stride = max(1, int(np.ceil(np.sqrt(exists.sum() / most_points))))
    rows, columns = np.arange(0, grid.rows, stride), np.arange(0, grid.columns, stride)
    level = heights[np.ix_(rows, columns)].astype(np.float32)
    known = np.isfinite(level)
    number = np.cumsum(known.ravel()).reshape(known.shape).astype(np.int32) - 1
    row, column = np.nonzero(known)
    positions = np.stack([grid.left + grid.cell * columns[column], grid.front + grid.cell * rows[row], level[known] + lift], axis=1).astype(np.float32)
    triangles = _quads(level, known, number, WALL_SLOPE * stride * grid.cell)
    shade = _shade(np.where(known, level, 0), known, stride * grid.cell)[known]
    cells = (rows[row] * grid.columns + columns[column]).astype(np.intp)
    return SurfaceMesh(positions, triangles, cells, shade)


def ground_shade(heights: FloatArray, grid: Grid) -> Single:
    """Factor of the built-in shading of every cell, 1 on flat ground, (rows, columns); nan outside the body."""
    known = np.isfinite(heights)
    shade = _shade(np.where(known, heights, 0).astype(np.float32), known, grid.cell)
    return np.where(known, shade, np.nan).astype(np.float32)


def _quads(level: Single, known: MaskArray, number: IndexArray, steepest: float) -> IndexArray:
    """Two triangles for every square of four known points that no wall crosses."""
    corners = [np.s_[:-1, :-1], np.s_[:-1, 1:], np.s_[1:, 1:], np.s_[1:, :-1]]
    heights = np.stack([level[c] for c in corners])
    whole = np.logical_and.reduce([known[c] for c in corners])
    with np.errstate(invalid="ignore"):
        whole &= heights.max(axis=0) - heights.min(axis=0) < steepest
    a, b, c, d = (number[corner][whole] for corner in corners)
    return np.concatenate([np.stack([a, b, c], axis=1), np.stack([a, c, d], axis=1)]).astype(np.int32)


def _shade(level: Single, known: MaskArray, step: float) -> Single:
    """Shading factor of every point, 1 on flat ground; over an edge the slope is that of the known side."""
    slopes = []
    for axis in (1, 0):
        rise = np.diff(level, axis=axis) / np.float32(step)
        low, high = [slice(None), slice(None)], [slice(None), slice(None)]
        low[axis], high[axis] = slice(0, -1), slice(1, None)
        fine = known[tuple(low)] & known[tuple(high)] & (np.abs(rise) < WALL_SLOPE)
        rise, weight = np.where(fine, rise, 0), fine.astype(np.float32)
        width = [[(0, 0), (0, 0)], [(0, 0), (0, 0)]]
        width[0][axis], width[1][axis] = (1, 0), (0, 1)
        total = np.pad(rise, width[0]) + np.pad(rise, width[1])
        count = np.pad(weight, width[0]) + np.pad(weight, width[1])
        slopes.append(total / np.maximum(count, 1))
    light = LIGHT / np.linalg.norm(LIGHT)
    facing = (light[2] - slopes[0] * light[0] - slopes[1] * light[1]) / np.sqrt(1 + slopes[0] ** 2 + slopes[1] ** 2)
    return np.clip(1 + SHADING * (facing / light[2] - 1), 0.35, 1.15).astype(np.float32)


def map_colours(mesh: SurfaceMesh, values: FloatArray, legend: Legend, opacity: float = 1.0) -> Single:
    """Colours (n, 4) of the points of a mesh from a map (rows, columns); clear where the map is nan.

    The legend's colours are mixed with the built-in shading, so that the form stays readable at full opacity.
    """
    colours = legend.colours(values.ravel()[mesh.cells])
    colours[:, :3] = np.clip(colours[:, :3] * mesh.shade[:, None], 0, 1)
    colours[:, 3] *= np.float32(opacity)
    return colours


def with_hatched_ground(colours: Single, mesh: SurfaceMesh, hatched: MaskArray, ground: Rgb, opacity: float) -> Single:
    """Colours (n, 4) of the points of a mesh with those on hatched ground (rows, columns) in the colour below its lines."""
    points = hatched.ravel()[mesh.cells]
    out = colours.copy()
    out[points, :3] = np.clip(np.array(ground, np.float32) * mesh.shade[points, None], 0, 1)
    out[points, 3] = np.float32(opacity)
    return out


def plain_lines(pieces: FloatArray, colour: Rgb, opacity: float) -> LineSet:
    """A LineSet of pieces (n, 2, 3) in one colour."""
    positions = pieces.reshape(-1, 3).astype(np.float32)
    return LineSet(positions, _even(colour, opacity, len(positions)), np.full(len(pieces), -1, np.int32))


def joined_lines(sets: Iterable[LineSet]) -> LineSet:
    """Several sets of lines as one."""
    every = [_no_lines(), *sets]
    return LineSet(*(np.concatenate([getattr(one, name) for one in every]) for name in ("positions", "colours", "rows")))


def path_lines(path: Path, legend: Legend, values: FloatArray | None = None, opacity: float = 1.0) -> LineSet:
    """The pass lines, coloured by a legend.

    values: one per path row, such as path.line, path.points[:, 2] or path.feed; None: running order.
    """
    rows = np.flatnonzero((path.kind[1:] == CUT) & (path.kind[:-1] == CUT) & (path.line[1:] == path.line[:-1])) + 1
    shown = np.asarray(path.line if values is None else values, np.float32)
    positions = np.stack([path.points[rows - 1], path.points[rows]], axis=1).reshape(-1, 3).astype(np.float32)
    # Both ends have their own value, so that heights shade along a piece.
    pairs = np.stack([rows - 1, rows], axis=1).ravel()
    colours = legend.colours(shown[pairs])
    colours[:, 3] *= np.float32(opacity)
    return LineSet(positions, colours, rows.astype(np.int32))


def link_lines(path: Path, colour: Rgb, opacity: float = 0.9) -> LineSet:
    """Links on the surface, dashed."""
    return _dashed_kinds(path, (LINK,), LINK_PATTERN, colour, opacity)


def lift_lines(path: Path, colour: Rgb, opacity: float = 0.6) -> LineSet:
    """Entries, exits and lifts, with short dashes far apart."""
    return _dashed_kinds(path, (ENTRY, EXIT, LIFT), LIFT_PATTERN, colour, opacity)


def _dashed_kinds(path: Path, kinds: tuple[int, ...], pattern: tuple[float, float], colour: Rgb, opacity: float) -> LineSet:
    """Dashes along all moves of some kinds; the pattern runs on along a run of moves and begins anew with the next."""
    rows = np.flatnonzero(np.isin(path.kind[1:], kinds)) + 1
    starts, ends = path.points[rows - 1], path.points[rows]
    along = travelled(starts, ends, np.diff(rows, prepend=-1) != 1)
    pieces, owner = dashes(starts, ends, along, *pattern)
    return LineSet(pieces.reshape(-1, 3).astype(np.float32), _even(colour, opacity, 2 * len(pieces)), rows[owner].astype(np.int32))


def hatch_lines(
    mask: MaskArray, heights: FloatArray, grid: Grid, colour: Rgb, opacity: float = 0.8, spacing: float = 4.0, *, rising: bool = False
) -> LineSet:
    """Slanting lines that lie on the ground of a mask (rows, columns), spacing mm apart, for ground that a map has no values for.

    The lines run along the diagonals x + y = constant, or x - y = constant where rising, and follow the heights from cell to cell; they break at
    walls.
    """
    if not mask.any():
        return _no_lines()
    # Along a diagonal the next cell is one to the right and one down or up: walk all diagonals that are on the hatch at once.
    apart, lift, step = max(round(spacing * np.sqrt(2) / grid.cell), 1), HATCH_LIFT, 1 if rising else -1
    row, column = np.nonzero(mask)
    chosen = (row - step * column) % apart == 0
    row, column = row[chosen], column[chosen]
    inside = (row + step >= 0) & (row + step < grid.rows) & (column < grid.columns - 1)
    row, column = row[inside], column[inside]
    joined = mask[row + step, column + 1]
    row, column = row[joined], column[joined]
    low, high = heights[row, column], heights[row + step, column + 1]
    with np.errstate(invalid="ignore"):
        fine = np.isfinite(low) & np.isfinite(high) & (np.abs(low - high) < WALL_SLOPE * np.sqrt(2) * grid.cell)
    row, column, low, high = row[fine], column[fine], low[fine], high[fine]
    x, y = grid.x(), grid.y()
    start = np.stack([x[column], y[row], low + lift], axis=1)
    stop = np.stack([x[column + 1], y[row + step], high + lift], axis=1)
    positions = np.stack([start, stop], axis=1).reshape(-1, 3).astype(np.float32)
    return LineSet(positions, _even(colour, opacity, len(positions)), np.full(len(start), -1, np.int32))


def tip_at(path: Path, at: FloatArray, seconds: float) -> tuple[NDArray[np.float64], int]:
    """Where the tip is after some seconds, (3,) in job mm, and how many path rows have been reached by then.

    at: (n,) seconds when each row is reached. Between two rows the tip runs evenly.
    """
    reached = int(np.searchsorted(at, seconds, side="right"))
    if reached == 0:
        return path.points[0], 0
    if reached == len(at):
        return path.points[-1], reached
    share = (seconds - at[reached - 1]) / (at[reached] - at[reached - 1])
    return path.points[reached - 1] + share * (path.points[reached] - path.points[reached - 1]), reached


def pieces_reached(lines: LineSet, reached: int) -> int:
    """How many pieces of a LineSet lie before the given number of path rows: what is cut already during playback."""
    return int(np.searchsorted(lines.rows, reached, side="left"))


def readout(x: float, y: float, grid: Grid, layers: dict[str, FloatArray]) -> dict[str, float]:
    """Values of several maps under a point in job mm; nan outside the grid."""
    row, column = round((y - grid.front) / grid.cell), round((x - grid.left) / grid.cell)
    if not (0 <= row < grid.rows and 0 <= column < grid.columns):
        return dict.fromkeys(layers, float("nan"))
    return {name: float(values[row, column]) for name, values in layers.items()}


def _even(colour: Rgb, opacity: float, count: int) -> Single:
    """One colour for all points."""
    return np.broadcast_to(np.array([*colour, opacity], np.float32), (count, 4)).copy()


def _no_lines() -> LineSet:
    """An empty set of lines."""
    return LineSet(np.zeros((0, 3), np.float32), np.zeros((0, 4), np.float32), np.zeros(0, np.int32))
