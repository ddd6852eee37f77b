"""Proof of a plan by a simulated cut: it reads the path alone, not the field the path came from.

Every straight move sweeps the ball. On sample points of the surface that the ball could leave at best, the material that
still stands is measured along the surface normal after all sweeps. Where the lines are sparse the search widens until no
nearer move can have been missed.
"""

from __future__ import annotations

from collections.abc import Generator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .cells import Mask, shrunk
from .cusp import spacing_on_flat
from .grid import FloatArray, Grid
from .path import CUT, LINK, Path
from .smoothing import blur, gradient
from .stepping import within
from .touch import TipFinder, lower_bounds

PERCENTILES = (50.0, 90.0, 99.0, 99.9, 100.0)

BORDER_SHARE = 0.6
"""Width of the border that is reported apart, as a share of the flat-ground spacing: lines end there."""

SAMPLES = 250_000
GOUGE_PROBES = 40_000
SAMPLES_AT_ONCE = 8192
THREADS = 2


@dataclass(frozen=True)
class Proof:
    """What a simulated cut has shown; lengths in mm, areas in mm2, volume in mm3.

    cusp_percentiles: (percent, cusp height) pairs on the planned ground without its border; border_percentiles: on the
    border. cusp: (rows, columns) float32 map, nan where nothing was measured. worst_gouge: how far the tip runs below where
    the ball would touch the body, with its place. left_area, left_volume: planned ground that the ball cannot reach within
    the tolerance, and what stands on it. samples: number of points measured.
    """

    cusp_percentiles: tuple[tuple[float, float], ...]
    border_percentiles: tuple[tuple[float, float], ...]
    cusp: NDArray[np.float32]
    worst_cusp_place: tuple[float, float, float] | None
    worst_gouge: float
    worst_gouge_place: tuple[float, float, float] | None
    left_area: float
    left_volume: float
    cut_length: float
    samples: int

    @property
    def worst_cusp(self) -> float:
        """Greatest cusp height on the planned ground without its border."""
        return self.cusp_percentiles[-1][1]


@dataclass(frozen=True)
class ProvedGround:
    """What the proof is held against. Maps are (rows, columns) on `grid`: left, the rolling-ball closing; surface, the planned
    surface; tip, the grid's tip surface (bounds for exact heights only); planned. tolerance: uncut height in mm that counts.
    """

    grid: Grid
    left: FloatArray
    surface: FloatArray
    tip: FloatArray
    planned: Mask
    tolerance: float


def prove_steps(
    path: Path, radius: float, cusp: float, ground: ProvedGround, finder: TipFinder
) -> Generator[float, None, Proof]:
    """Simulate the cut of a path by a ball and measure cusp, gouge and what is left; yields shares done.

    cusp: the height that was asked for. finder: the true triangles.
    """
    grid = ground.grid
    spacing = float(spacing_on_flat(radius, cusp))
    reached = ground.planned & (ground.left > -np.inf)
    inner = shrunk(reached, grid.cell, BORDER_SHARE * spacing)
    stride = max(1, int(np.ceil(np.sqrt(reached.sum() / SAMPLES))))
    chosen = np.zeros(grid.shape, bool)
    chosen[stride // 2 :: stride, stride // 2 :: stride] = True
    row, column = np.nonzero(reached & chosen)
    standing = yield from within(_standing_steps(path, radius, cusp, ground, row, column), 0.0, 0.7)
    if stride > 1 and len(row):
        # Look at every cell round the worst ones, so that the greatest cusp is not missed between samples.
        high = np.argsort(standing)[-200:]
        near = np.zeros(grid.shape, bool)
        for dr in range(-stride, stride + 1):
            for dc in range(-stride, stride + 1):
                near[np.clip(row[high] + dr, 0, grid.rows - 1), np.clip(column[high] + dc, 0, grid.columns - 1)] = True
        more_row, more_column = np.nonzero(near & reached & ~chosen)
        more = yield from within(_standing_steps(path, radius, cusp, ground, more_row, more_column), 0.7, 0.75)
        picture = _picture(grid.shape, row, column, standing, stride, reached)
        picture[more_row, more_column] = more
        # The extra cells count for the greatest value only: percentiles belong to the even samples.
        worst_more = inner[more_row, more_column]
        greatest_extra = float(more[worst_more].max()) if worst_more.any() else 0.0
    else:
        picture = _picture(grid.shape, row, column, standing, stride, reached)
        greatest_extra = 0.0
    is_inner = inner[row, column]
    gouge, gouge_place = yield from within(_gouge_steps(path, radius, ground, finder), 0.75, 1.0)
    uncut = np.where(reached, ground.left - np.where(reached, ground.surface, 0), 0)
    over = uncut > ground.tolerance
    inner_only = np.where(inner, picture, np.nan)
    return Proof(
        _percentiles(standing[is_inner], greatest_extra),
        _percentiles(standing[~is_inner], 0.0),
        picture,
        _place_of_greatest(inner_only, grid, ground.left),
        gouge,
        gouge_place,
        float(over.sum() * grid.cell_area),
        float(uncut[over].sum() * grid.cell_area),
        path.length_of(CUT),
        len(row),
    )


def _percentiles(values: FloatArray, greatest_extra: float) -> tuple[tuple[float, float], ...]:
    if len(values) == 0:
        return tuple((p, 0.0) for p in PERCENTILES)
    shown = np.percentile(values, PERCENTILES)
    shown[-1] = max(float(shown[-1]), greatest_extra)
    return tuple((p, float(v)) for p, v in zip(PERCENTILES, shown, strict=True))


def _picture(
    shape: tuple[int, int], row: NDArray[np.intp], column: NDArray[np.intp], values: FloatArray, stride: int, reached: Mask
) -> NDArray[np.float32]:
    """A map in which every sample stands for the cells round it."""
    out = np.full(shape, np.nan, np.float32)
    for dr in range(stride):
        for dc in range(stride):
            r = np.clip(row + dr - stride // 2, 0, shape[0] - 1)
            c = np.clip(column + dc - stride // 2, 0, shape[1] - 1)
            out[r, c] = values
    out[~reached] = np.nan
    return out


def _place_of_greatest(values: FloatArray, grid: Grid, heights: FloatArray) -> tuple[float, float, float] | None:
    if not np.isfinite(values).any():
        return None
    row, column = np.unravel_index(int(np.nanargmax(values)), values.shape)
    return float(grid.left + grid.cell * column), float(grid.front + grid.cell * row), float(heights[row, column])


@dataclass(frozen=True)
class _Moves:
    """Moves on the surface as the ball's centre makes them, sorted into square bins in plan.

    start, way: (n, 3) mm. member: numbers of moves, bin after bin; first: (bins + 1,) where each bin's members begin.
    """

    start: FloatArray
    way: FloatArray
    member: NDArray[np.intp]
    first: NDArray[np.intp]
    bin_size: float
    left: float
    front: float
    bin_rows: int
    bin_columns: int


def _binned_moves(path: Path, radius: float, bin_size: float) -> _Moves | None:
    on_surface = np.flatnonzero(((path.kind[1:] == CUT) | (path.kind[1:] == LINK))) + 1
    # The move that reaches a line's first point from the air is no cut; between two surface rows it is.
    start = path.points[on_surface - 1].copy()
    way = path.points[on_surface] - start
    if len(start) == 0:
        return None
    start[:, 2] += radius
    length = np.hypot(way[:, 0], way[:, 1])
    count = np.maximum(1, np.ceil(length / (bin_size / 2))).astype(np.intp) + 1
    owner = np.repeat(np.arange(len(start)), count)
    share = (np.arange(len(owner)) - np.repeat(np.cumsum(count) - count, count)) / (count[owner] - 1)
    x = start[owner, 0] + share * way[owner, 0]
    y = start[owner, 1] + share * way[owner, 1]
    left, front = float(x.min()) - 2 * bin_size, float(y.min()) - 2 * bin_size
    columns = int((x.max() - left) / bin_size) + 3
    rows = int((y.max() - front) / bin_size) + 3
    number = ((y - front) / bin_size).astype(np.intp) * columns + ((x - left) / bin_size).astype(np.intp)
    pair = np.unique(number * len(start) + owner)
    number, member = pair // len(start), pair % len(start)
    first = np.searchsorted(number, np.arange(rows * columns + 1))
    return _Moves(start, way, member, first, bin_size, left, front, rows, columns)


def _standing_steps(
    path: Path, radius: float, cusp: float, ground: ProvedGround, row: NDArray[np.intp], column: NDArray[np.intp]
) -> Generator[float, None, FloatArray]:
    """Material standing above the surface along its normal at some cells, (n,) mm."""
    out = np.full(len(row), radius)
    if len(row) == 0:
        return out
    spacing = float(spacing_on_flat(radius, cusp))
    place, normal = _points_and_normals(ground, row, column)
    yield 0.1
    # Widen the search for what stands too high to be sure of: a move outside the window could still lower it.
    doubts = (0.0, 0.6 * cusp, 0.9 * cusp, 2.0 * cusp)
    widths = (1, 2, 5, 25)
    moves = _binned_moves(path, radius, 0.56 * spacing)
    if moves is None:
        return out
    yield 0.2
    with ThreadPoolExecutor(THREADS) as pool:
        for k, (doubt, width) in enumerate(zip(doubts, widths, strict=True)):
            todo = np.flatnonzero(out > doubt)
            at_once = max(64, SAMPLES_AT_ONCE // (width * width))
            jobs = np.array_split(todo, max(1, -(-len(todo) // at_once)))
            for j in range(0, len(jobs), THREADS):
                some = jobs[j : j + THREADS]
                work = [(place[n], normal[n], out[n]) for n in some]
                for n, lowest in zip(some, pool.map(lambda a: _lowest(moves, radius, width, *a), work), strict=True):
                    out[n] = lowest
                yield 0.2 + 0.8 * (k + j / len(jobs)) / len(doubts)
    return np.maximum(out, 0.0)


def _points_and_normals(ground: ProvedGround, row: NDArray[np.intp], column: NDArray[np.intp]) -> tuple[FloatArray, FloatArray]:
    """Points of the closing and its unit normals (n, 3), from heights smoothed over half a millimetre where there are any."""
    grid = ground.grid
    known = ground.left > -np.inf
    weight = blur(known, 0.5 / grid.cell)
    smooth = blur(np.where(known, ground.left, 0.0), 0.5 / grid.cell) / np.maximum(weight, 1e-9)
    along_x, along_y = gradient(smooth, grid.cell)
    normal = np.stack([-along_x[row, column], -along_y[row, column], np.ones(len(row))], axis=1)
    normal /= np.linalg.norm(normal, axis=1)[:, None]
    place = np.stack([grid.left + grid.cell * column, grid.front + grid.cell * row, ground.left[row, column]], axis=1)
    return place.astype(float), normal


def _lowest(moves: _Moves, radius: float, width: int, place: FloatArray, normal: FloatArray, known: FloatArray) -> FloatArray:
    """Least material left at points by all moves in the (2 width + 1)^2 bins round the centre of the ball that touches there."""
    centre = place + radius * normal
    bin_row = ((centre[:, 1] - moves.front) / moves.bin_size).astype(np.intp)
    bin_column = ((centre[:, 0] - moves.left) / moves.bin_size).astype(np.intp)
    low_column = np.clip(bin_column - width, 0, moves.bin_columns - 1)
    high_column = np.clip(bin_column + width, 0, moves.bin_columns - 1)
    outside = (bin_column + width < 0) | (bin_column - width >= moves.bin_columns)
    out = known.copy()
    for step in range(-width, width + 1):
        r = bin_row + step
        fine = (r >= 0) & (r < moves.bin_rows) & ~outside
        base = np.clip(r, 0, moves.bin_rows - 1) * moves.bin_columns
        first, last = moves.first[base + low_column], moves.first[base + high_column + 1]
        count = np.where(fine, last - first, 0)
        total = int(count.sum())
        if total == 0:
            continue
        owner = np.repeat(np.arange(len(place)), count)
        member = moves.member[np.arange(total) - np.repeat(np.cumsum(count) - count, count) + first[owner]]
        height = _height_after(place[owner], normal[owner], moves.start[member], moves.way[member], radius)
        begins = np.flatnonzero(count)
        lowest = np.minimum.reduceat(height, np.cumsum(count)[begins] - count[begins])
        out[begins] = np.minimum(out[begins], lowest)
    return out


def _height_after(place: FloatArray, normal: FloatArray, start: FloatArray, way: FloatArray, radius: float) -> FloatArray:
    """Where the normal through each place first enters the ball swept along each move, (n,) mm above the place.

    At share s of the move the ball's centre lies a(s) along the normal and w(s) beside it; the normal enters the ball at
    a - sqrt(R^2 - w^2). That is least where a' + (w^2)'/(2 sqrt(R^2 - w^2)) = 0: one Newton step from the least w.
    Moves that pass by farther than the radius give the radius.
    """
    off = start - place
    a, a_way = np.einsum("ij,ij->i", off, normal), np.einsum("ij,ij->i", way, normal)
    beside = np.einsum("ij,ij->i", off, off) - a * a
    mixed = np.einsum("ij,ij->i", off, way) - a * a_way
    square = np.maximum(np.einsum("ij,ij->i", way, way) - a_way * a_way, 1e-18)
    share = np.clip(-mixed / square, 0, 1)
    room = np.maximum(radius * radius - (beside + share * (2 * mixed + share * square)), 0)
    share = np.clip(-(mixed + a_way * np.sqrt(room)) / square, 0, 1)
    room = radius * radius - (beside + share * (2 * mixed + share * square))
    return np.where(room >= 0, a + share * a_way - np.sqrt(np.maximum(room, 0)), radius)


def _gouge_steps(
    path: Path, radius: float, ground: ProvedGround, finder: TipFinder
) -> Generator[float, None, tuple[float, tuple[float, float, float] | None]]:
    """Greatest depth of the tip below the exact tip surface, at rows and between them, and where."""
    on_surface = np.flatnonzero((path.kind[1:] == CUT) | (path.kind[1:] == LINK)) + 1
    if len(on_surface) == 0:
        return 0.0, None
    before, after = path.points[on_surface - 1], path.points[on_surface]
    # Long moves on bent ground are the likeliest to run below it: probe those first, then an even selection.
    length = np.linalg.norm(after - before, axis=1)
    bend = np.zeros(len(length))
    joined = np.diff(on_surface) == 1
    turn = np.linalg.norm(np.diff((after - before) / np.maximum(length, 1e-9)[:, None], axis=0), axis=1)
    bend[:-1] = np.where(joined, turn, 0)
    bend[1:] = np.maximum(bend[1:], np.where(joined, turn, 0))
    riskiest = np.argsort(bend * length)[-GOUGE_PROBES // 2 :]
    even = np.arange(0, len(length), max(1, len(length) // (GOUGE_PROBES // 4)))
    chosen = np.concatenate([riskiest, even, even])
    share = np.concatenate([np.where(np.arange(len(riskiest)) % 2, 0.3, 0.7), np.ones(len(even)), np.full(len(even), 0.5)])
    probe = before[chosen] + share[:, None] * (after[chosen] - before[chosen])
    lower = lower_bounds(ground.surface, ground.tip, ground.grid, probe[:, :2], radius)
    exact = yield from finder.tip_heights_steps(probe[:, :2], radius, lower)
    depth = exact - probe[:, 2]
    worst = int(depth.argmax())
    place = (float(probe[worst, 0]), float(probe[worst, 1]), float(probe[worst, 2]))
    return max(0.0, float(depth[worst])), place
