"""Proof of a plan by a simulated cut: it reads the path alone, not the field the path came from.

Every straight move on the surface sweeps the ball. From sample points of the surface that the ball could leave at best, the
material that still stands is measured along the surface normal after all sweeps. Where it stands highest, points between
the samples are measured too, so that the crest itself is found. Gouge is measured against the true triangles.
"""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..ball.exact_tip import TipFinder
from ..ball.flank_tip import FlankTip
from ..core.array_types import FloatArray, Mask
from ..core.cusp_formulas import spacing_on_flat
from ..core.grid import Grid
from ..core.masks import shrunk
from ..core.path import CUT, LINK, NO_LENGTH, Path
from ..core.place import Place, place_of
from ..core.smallest import smallest
from ..core.stepping import finished, within
from .surface_samples import SampleGround
from .swept_ball import SweptBall, suitable_bin_size
from .swept_taper import swept
from .unreached import Unreached, unreached_steps

Indices = NDArray[np.intp]

PERCENTILES = (50.0, 90.0, 99.0, 99.9, 100.0)

BORDER_SPACINGS = 0.6
"""Width in flat-ground spacings of the border that is reported separately: lines end there, up to half a spacing before it, on the slant."""

SAMPLES = 400_000
"""Most sample points of a plan; on a larger ground every sample stands for several cells."""

CRESTS = 250
"""How many of the highest samples are climbed from, to the crest beside them."""

CLIMBS = 7
"""Looks round each of them: the first at 5 x 5 places over twice the square that the sample stands for, since a sample may lie in its
square's corner and the crest in that beside it; the others at 3 x 3 places round the highest, each half as far apart as before."""

PROBES = 12_000
"""How many places of the path are measured against the true triangles."""

CHORD_PROBES, FURTHER_PROBES = (0.35, 0.5, 0.65), (0.2, 0.8)
"""Where along the riskiest chords: round their middles, where a chord stands off even curvature the most, and to both sides of a kink there; then, on
paths of few chords, near their ends too."""

BELOW_THE_PATH = 1e-3
"""mm below a place of the path from which the exact tip is searched for upwards: only a tip surface above the place is gouge."""

LEAST_UPRIGHT = 0.1
"""Least share of a normal that looks up: what stands along steeper ones has no bounds in plan."""

SEED = 20_011
"""Of the random choice of a cell in each block: the same plan gives the same proof."""


@dataclass(frozen=True)
class Proof:
    """What a simulated cut has shown; lengths in mm, areas in mm2, volume in mm3.

    cusp_percentiles: (percent, cusp height) pairs on the planned ground without its border; border_percentiles: on the
    border. A ray that no move meets counts with the ball's radius. cusp: (rows, columns) float32 map, nan where nothing was
    measured. cusp_area, cusp_volume: of the ground without its border, in plan, and of what stands on it. border_width, border_area, border_volume:
    how wide that border is, its ground in plan, and what stands on it. unreached: planned ground that is in neither, since the ball cannot come to
    rest there; left: what stands on each of its cells, row after row, nan where that is not known. worst_gouge: how far the path runs below where
    the ball would touch the body, or the ball into the ground, with its place. uncut_area, uncut_volume: planned ground that the ball cannot reach
    within the tolerance, and what stands on it. samples: number of points measured.
    """

    cusp_percentiles: tuple[tuple[float, float], ...]
    border_percentiles: tuple[tuple[float, float], ...]
    border_width: float
    border_area: float
    unreached: Unreached
    cusp: NDArray[np.float32]
    cusp_area: float
    cusp_volume: float
    border_volume: float
    left: NDArray[np.float32]
    worst_cusp_place: Place | None
    worst_gouge: float
    worst_gouge_place: Place | None
    uncut_area: float
    uncut_volume: float
    cut_length: float
    samples: int

    @property
    def worst_cusp(self) -> float:
        """Greatest cusp height on the planned ground without its border."""
        return self.cusp_percentiles[-1][1]


@dataclass(frozen=True)
class ProvedGround:
    """What the proof is held against. Maps are (rows, columns) on `grid`: closing, the rolling-ball closing; surface, the planned
    surface; planned, without what the ball cannot come to rest on; wanted, with it (None: there is no such ground). tolerance: uncut height
    in mm that counts. finished: what a larger cutter has finished, on which the overlap of this one is not measured (None: there is none).
    """

    grid: Grid
    closing: FloatArray
    surface: FloatArray
    planned: Mask
    tolerance: float
    wanted: Mask | None = None
    finished: Mask | None = None

    @property
    def reached(self) -> Mask:
        """Planned ground that the ball touches or bridges, (rows, columns)."""
        return self.planned & (self.closing > -np.inf)

    @property
    def measured(self) -> Mask:
        """That of it which no larger cutter has finished, (rows, columns)."""
        return self.reached if self.finished is None else self.reached & ~self.finished

    @property
    def unreached(self) -> Mask:
        """Planned ground that it does not, (rows, columns)."""
        return (self.planned if self.wanted is None else self.wanted) & ~self.reached


@dataclass(frozen=True)
class ProofSamples:
    """Where a cut is measured: in one cell (row, column) at random of every square of `block` cells that holds ground to be proved.

    feet: the surface to be left at best. measured: ground that is measured, (rows, columns). points, normals: (n, 3); crown: (n,) greatest
    curvatures, 1/mm.
    """

    feet: SampleGround
    measured: Mask
    block: int
    row: Indices
    column: Indices
    points: FloatArray
    normals: FloatArray
    crown: FloatArray


def sample_ground(ground: ProvedGround, radius: float, finder: TipFinder) -> SampleGround:
    """The surface of a ground as a ball of this radius can leave it, to be measured anywhere."""
    return SampleGround(grid=ground.grid, surface=ground.surface, closing=ground.closing, radius=radius, finder=finder)


def proof_samples(measured: Mask, feet: SampleGround) -> ProofSamples:
    """Choose the samples of a ground, before there is any path over it. measured: its cells that are measured, (rows, columns)."""
    block, row, column = _one_of_each_block(measured)
    points, normals, crown = feet.at_cells(row, column)
    return ProofSamples(feet=feet, measured=measured, block=block, row=row, column=column, points=points, normals=normals, crown=crown)


def prove(path: Path, radius: float, cusp: float, ground: ProvedGround, finder: TipFinder) -> Proof:
    """As `prove_steps`, run to its end."""
    return finished(prove_steps(path, radius, cusp, ground, finder))


def prove_steps(
    path: Path,
    radius: float,
    cusp: float,
    ground: ProvedGround,
    finder: TipFinder,
    samples: ProofSamples | None = None,
    flank: FlankTip | None = None,
) -> Generator[float, None, Proof]:
    """Simulate the cut of a path by a cutter and measure cusp, gouge and what stays uncut; yields shares done.

    radius: of the ball. cusp: the height that was asked for; it sets the width of the border. finder: the true triangles. samples: of this
    ground, where they are known. flank: of a tapered cutter, over the same triangles.
    """
    grid = ground.grid
    at = samples if samples is not None else proof_samples(ground.measured, sample_ground(ground, radius, finder))
    width = grid.cell * at.block
    yield 0.1
    border_width = BORDER_SPACINGS * float(spacing_on_flat(radius, cusp))
    inner = at.measured & shrunk(ground.reached, grid.cell, border_width)
    sweep = _sweep(path, radius, float(ground.reached.sum()) * grid.cell_area, flank)
    yield 0.15
    entry = yield from within(sweep.entry_heights_steps(at.points, at.normals, at.crown), 0.15, 0.6)
    standing = np.clip(entry, 0.0, radius)
    is_inner = inner[at.row, at.column]
    crest, crest_place = yield from within(_climb_steps(sweep, at.feet, inner, at.points[is_inner], standing[is_inner], width), 0.6, 0.75)
    border = at.measured & ~inner
    border_crest, _ = yield from within(_climb_steps(sweep, at.feet, border, at.points[~is_inner], standing[~is_inner], width), 0.75, 0.8)
    unreached, left = yield from within(unreached_steps(sweep, at.feet, ground.unreached), 0.8, 0.82)
    gouge, gouge_place = yield from within(_gouge_steps(path, radius, finder, flank), 0.82, 1.0)
    below = -entry - at.feet.bridged(at.row, at.column) * at.normals[:, 2]
    if len(below) and below.max() > gouge:
        deepest = int(below.argmax())
        gouge, gouge_place = float(below[deepest]), place_of(at.points[deepest])
    volumes = standing / np.maximum(at.normals[:, 2], LEAST_UPRIGHT)
    uncut = np.where(at.measured, ground.closing - np.where(at.measured, ground.surface, 0), 0)
    over = uncut > ground.tolerance
    return Proof(
        cusp_percentiles=_percentiles(standing[is_inner], crest),
        border_percentiles=_percentiles(standing[~is_inner], border_crest),
        border_width=border_width,
        border_area=float(border.sum() * grid.cell_area),
        unreached=unreached,
        cusp=_map_of_blocks(at, standing),
        cusp_area=float(inner.sum() * grid.cell_area),
        cusp_volume=_mean(volumes[is_inner]) * float(inner.sum() * grid.cell_area),
        border_volume=_mean(volumes[~is_inner]) * float(border.sum() * grid.cell_area),
        left=left,
        worst_cusp_place=crest_place,
        worst_gouge=gouge,
        worst_gouge_place=gouge_place,
        uncut_area=float(over.sum() * grid.cell_area),
        uncut_volume=float(uncut[over].sum() * grid.cell_area),
        cut_length=path.length_of(CUT),
        samples=len(at.row),
    )


def _one_of_each_block(measured: Mask) -> tuple[int, Indices, Indices]:
    """One cell of the mask at random in every square block that has one: edge of a block in cells, rows, columns."""
    block = max(1, int(np.ceil(np.sqrt(measured.sum() / SAMPLES))))
    if block == 1:
        row, column = np.nonzero(measured)
        return 1, row, column
    rows, columns = measured.shape
    draw = np.random.default_rng(SEED).random(measured.shape, np.float32)
    draw[~measured] = -1
    draw = np.pad(draw, ((0, -rows % block), (0, -columns % block)), constant_values=-1)
    by_block = draw.reshape(draw.shape[0] // block, block, draw.shape[1] // block, block).transpose(0, 2, 1, 3)
    cells = by_block.reshape(by_block.shape[0], by_block.shape[1], block * block)
    first = cells.argmax(axis=2)
    block_row, block_column = np.nonzero(np.take_along_axis(cells, first[:, :, None], axis=2)[:, :, 0] >= 0)
    down, right = np.divmod(first[block_row, block_column], block)
    return block, block_row * block + down, block_column * block + right


def _sweep(path: Path, radius: float, area: float, flank: FlankTip | None) -> SweptBall:
    """The cutter's moves on the surface, sorted into bins that suit the distance between lines."""
    # The move that reaches a line's first point from the air is no cut; its first `cut` row is a move of no length.
    moved = np.flatnonzero((path.kind[1:] == CUT) | (path.kind[1:] == LINK)) + 1
    bin_size = suitable_bin_size(area / max(path.length_of(CUT), NO_LENGTH), radius)
    return swept(path.points[moved - 1], path.points[moved], radius, bin_size, None if flank is None else flank.flank)


def _climb_steps(
    sweep: SweptBall, feet: SampleGround, allowed: Mask, points: FloatArray, standing: FloatArray, width: float
) -> Generator[float, None, tuple[float, Place | None]]:
    """Greatest material near the samples where most stands, and its place.

    points: (n, 3) samples, with what stands there, (n,). width: of the square round each sample that it stands for, mm. allowed: cells to
    which a climb is held.
    """
    if len(standing) == 0:
        return 0.0, None
    high = smallest(-standing, min(CRESTS, len(standing)))
    top, best = points[high], standing[high]
    for climb in range(CLIMBS):
        across = width / 2 * np.arange(-2.0, 3.0) if climb == 0 else width / 2 ** (climb + 1) * np.arange(-1.0, 2.0)
        offsets = np.stack(np.meshgrid(across, across), axis=-1).reshape(-1, 2)
        plan = (top[:, None, :2] + offsets).reshape(-1, 2)
        sample = np.repeat(np.arange(len(top)), len(offsets))
        near_row, near_column = feet.grid.nearest(plan)
        kept = allowed[near_row, near_column]
        plan, sample = plan[kept], sample[kept]
        if len(plan) == 0:
            break
        tried, normals, crown = yield from within(feet.at_points_steps(plan), climb / CLIMBS, (climb + 0.5) / CLIMBS)
        entry = yield from within(sweep.entry_heights_steps(tried, normals, crown), (climb + 0.5) / CLIMBS, (climb + 1) / CLIMBS)
        entry = np.clip(entry, 0.0, sweep.radius)
        # The highest place of each sample stands last among those of the sample.
        order = np.lexsort((entry, sample))
        highest = order[np.flatnonzero(np.append(np.diff(sample[order]) != 0, True))]
        better = highest[entry[highest] > best[sample[highest]]]
        best[sample[better]], top[sample[better]] = entry[better], tried[better]
    greatest = int(best.argmax())
    return float(best[greatest]), place_of(top[greatest])


def _gouge_steps(path: Path, radius: float, finder: TipFinder, flank: FlankTip | None) -> Generator[float, None, tuple[float, Place | None]]:
    """Greatest depth of the tip below the exact tip surface, at rows and between them, and where."""
    if len(path) < 2:
        return 0.0, None
    before, after = path.points[:-1], path.points[1:]
    length = np.linalg.norm(after - before, axis=1)
    direction = (after - before) / np.maximum(length, NO_LENGTH)[:, None]
    turn = np.zeros(len(length) + 1)
    turn[1:-1] = np.linalg.norm(np.diff(direction, axis=0), axis=1)
    turn[1:-1][(length[1:] == 0) | (length[:-1] == 0)] = 0
    # A chord runs below curved ground by about a fourth of its length times the turn at its ends: the riskiest are probed
    # off their middles, then rows and middles chosen evenly from all.
    risk = length * np.maximum(turn[:-1], turn[1:])
    count = min(len(length), PROBES // 3)
    riskiest, at_risk = _along_the_riskiest(risk, PROBES // 3)
    even = np.linspace(0, len(length) - 1, count).astype(np.intp)
    chosen = np.concatenate([riskiest, even, even])
    fraction = np.concatenate([at_risk, np.ones(count), np.full(count, 0.5)])
    probe = before[chosen] + fraction[:, None] * (after[chosen] - before[chosen])
    exact = yield from finder.tip_heights_steps(probe[:, :2], radius, probe[:, 2] - BELOW_THE_PATH)
    if flank is not None:
        exact = yield from flank.raised_steps(probe[:, :2], exact)
    depth = exact - probe[:, 2]
    worst = int(depth.argmax())
    return max(0.0, float(depth[worst])), place_of(probe[worst])


def _along_the_riskiest(risk: FloatArray, most: int) -> tuple[Indices, FloatArray]:
    """Chords (n,) and shares of their lengths (n,) to be probed, `most` of them at the most: the riskiest first, one probe each, and where they are
    fewer than that all of them again elsewhere.
    """
    middles, everywhere = len(CHORD_PROBES), CHORD_PROBES + FURTHER_PROBES
    number = np.arange(min(most, len(risk) * len(everywhere)))
    lap, chord = np.divmod(number, min(most, len(risk)))
    which = np.where(lap < middles, (chord + lap) % middles, lap)
    return smallest(-risk, min(most, len(risk)))[chord], np.take(everywhere, which)


def _mean(values: FloatArray) -> float:
    return float(values.mean()) if len(values) else 0.0


def _percentiles(values: FloatArray, crest: float) -> tuple[tuple[float, float], ...]:
    """Percentiles of samples; the crest counts for the greatest value only, for the samples alone are spread evenly."""
    if len(values) == 0:
        return tuple((p, 0.0) for p in PERCENTILES)
    shown = np.percentile(values, PERCENTILES)
    shown[-1] = max(float(shown[-1]), crest)
    return tuple((p, float(v)) for p, v in zip(PERCENTILES, shown, strict=True))


def _map_of_blocks(at: ProofSamples, values: FloatArray) -> NDArray[np.float32]:
    """A map in which the value of every sample, (n,), stands for the reached cells of its block."""
    rows, columns = at.measured.shape
    coarse = np.full((-(-rows // at.block), -(-columns // at.block)), np.nan, np.float32)
    coarse[at.row // at.block, at.column // at.block] = values
    out = np.repeat(np.repeat(coarse, at.block, axis=0), at.block, axis=1)[:rows, :columns]
    out[~at.measured] = np.nan
    return out
