"""Pass lines of one cutter in plan: level lines of the chosen distance field, valley lines, and lines that close gaps."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass, replace

import numpy as np

from ..ball.axis_region import AxisRegion
from ..core.cusp_formulas import spacing_on_flat
from ..core.filters import coarsened, gradient
from ..core.grid import FloatArray, Grid
from ..core.level_lines import level_lines
from ..core.masks import Mask, grown, shrunk
from ..core.polyline import all_resampled, all_smoothed, clipped, resampled, travelled
from ..core.stepping import within
from .crest_balance import CrestMeter, balanced_steps
from .cusp_metric import CuspMetric, cusp_metric
from .detours import spliced
from .distance_field import FAR, extended_inside_out
from .gaps import COVERED, distance_to_lines, gap_lines
from .starts import PassField
from .valleys import kinks, valley_lines

CELLS_PER_SPACING = 3.5
"""The field's cells are no wider than the flat-ground spacing over this number, so that every pass is told apart."""

TIP_SMOOTHING, METRIC_SMOOTHING = 0.5, 0.8
"""Blur of the tip surface before, and of the metric after, it is differenced: standard deviations in mm."""

SHORTEST_LINE = 2.0
"""Pass lines shorter than this are left out, in mm: they cost a lift each and clear next to nothing."""

VALLEY_SHARE = 0.3
"""Uncut height, as a share of the cusp height, from which a hollow counts as a valley that gets one line along it."""

TOLERATED_CUSP = 1.06
"""A gap between lines is closed where its cusp would pass this multiple of the asked height."""


@dataclass(frozen=True)
class PassGround:
    """What pass lines of one cutter are laid on, in plan. metric: known everywhere; share: (rows, columns) on the metric's
    grid, how much of each cell is planned, 0 to 1. kinked: fine grid, cells where the tip surface has a kink.
    """

    metric: CuspMetric
    share: FloatArray
    kinked: Mask

    @property
    def least_length(self) -> float:
        """Least possible length of all passes in mm (the bound L_min)."""
        return float((self.metric.line_density() * self.share).sum() * self.metric.grid.cell_area)

    def least_length_over(self, region: AxisRegion) -> float:
        """The bound for another region of the same cutter on the same grid, such as one with more ground skipped."""
        factor = round(self.metric.grid.cell / region.grid.cell)
        share = coarsened(region.cutting.astype(np.float32), factor)
        return float((self.metric.line_density() * share).sum() * self.metric.grid.cell_area)

    @property
    def inside(self) -> Mask:
        """Cells of the metric's grid that are mostly planned."""
        return self.share >= 0.5


@dataclass(frozen=True)
class LaidLine:
    """A pass line in plan. points: (n, 2) mm, a closed line ends where it starts. level: its number in the field, or None
    for valley and gap lines. uncut_left: whether the ground of the next level lies to the left of the line as it runs.
    """

    points: FloatArray
    kind: str
    level: int | None
    uncut_left: bool


def pass_ground(tip: FloatArray, uncut: FloatArray, grid: Grid, region: AxisRegion, radius: float, cusp: float) -> PassGround:
    """Cusp metric of a cutter over its axis region.

    tip: (rows, columns), -inf where the ball meets no body. uncut: (rows, columns), height the ball cannot reach; only where
    there is some between the contacts does a kink of the tip surface stay out of the metric: there one line along it is all
    that can be done. A kink over a hollow that just fits gets a line too, for its lines lie closer than the field's cells.
    """
    spacing = float(spacing_on_flat(radius, cusp))
    factor = max(1, int(spacing / CELLS_PER_SPACING / grid.cell))
    known = tip > -np.inf
    low = float(tip[known].min()) if known.any() else 0.0
    wide = coarsened(np.where(known, tip, low), factor)
    share = coarsened(region.cutting.astype(np.float32), factor)
    field_grid = grid.coarsened(factor)
    # A kink whose neighbours miss it by half a spacing leaves about a quarter of turn times spacing.
    kinked = kinks(tip, grid, least_turn=4 * cusp / spacing)
    kinked &= region.cutting
    narrow = kinked
    if kinked.any():
        unreached = grown(uncut > VALLEY_SHARE * cusp, grid.cell, 2 * grid.cell)
        narrow = kinked & unreached[region.contact_row, region.contact_column]
    smooth_ground = shrunk(share >= 0.999, field_grid.cell, 1.01 * field_grid.cell)
    if narrow.any():
        blurred = grown(coarsened(narrow.astype(np.float32), factor) > 0, field_grid.cell, 2 * TIP_SMOOTHING)
        smooth_ground &= ~blurred
    if not smooth_ground.any():
        # Strips that are nowhere wide enough to hold ground away from their own border.
        smooth_ground = share >= min(0.5, float(share.max()))
    raw = cusp_metric(wide, field_grid, radius, cusp, TIP_SMOOTHING)
    metric = extended_inside_out(raw, smooth_ground, METRIC_SMOOTHING)
    return PassGround(metric, share, kinked)


def lay_passes(
    field: PassField, ground: PassGround, region: AxisRegion, tip: FloatArray, grid: Grid, meter: CrestMeter
) -> Generator[float, None, tuple[LaidLine, ...]]:
    """Lay the pass lines of a solved field: valleys, then level lines evened out, then gaps and peaks. Yields shares done."""
    valleys: list[FloatArray] = []
    if ground.kinked.any():
        along = valley_lines(tip, grid, ground.kinked, region.cutting, SHORTEST_LINE)
        valleys = [points for _, points in clipped(along, region.may_cut, SHORTEST_LINE)]
    yield 0.1
    ridges, border = _doubtful(field, ground)
    meeting = ridges
    field = yield from within(
        balanced_steps(field, ground.metric, lambda f, near: [x.points for x in _level_passes(f, ground, region, near)], valleys, meeting, meter),
        0.1, 0.7,
    )  # fmt: skip
    laid = _level_passes(field, ground, region) + [LaidLine(points, "valley", None, True) for points in valleys]
    for number in range(GAP_ROUNDS):
        gaps = yield from within(_gap_steps(laid, meeting, border, ground, region, meter), 0.7 + 0.1 * number, 0.8 + 0.1 * number)
        if not gaps:
            break
        laid = _with_gaps_closed(laid, gaps, ground, region)
        # Beside what was closed only, a corner may be open still.
        beside = np.zeros(meeting.shape, bool)
        beside[ground.metric.grid.nearest(np.concatenate(gaps))] = True
        beside = grown(beside, ground.metric.grid.cell, 4 * meter.spacing)
        meeting, border = meeting & beside, border & beside
    for number in range(PEAK_ROUNDS):
        peaks = yield from within(_peak_steps(laid, ridges, ground, region, meter), 0.9 + 0.05 * number, 0.95 + 0.05 * number)
        if not peaks:
            break
        laid = _with_gaps_closed(laid, peaks, ground, region)
    return tuple(laid)


def _level_passes(field: PassField, ground: PassGround, region: AxisRegion, near: Mask | None = None) -> list[LaidLine]:
    """The level lines of a field, smoothed and cut to the region. near: cells where lines are wanted, None for all."""
    cell = ground.metric.grid.cell
    solved = np.abs(field.distance) < FAR / 2
    levels = level_lines(field.distance, ground.metric.grid, field.first, solved if near is None else solved & near)
    smooth = all_smoothed(all_resampled([line.whole for line in levels], cell), 4, [line.closed for line in levels])
    return [
        # The field grows to the left of a level line; on the far side of a start through the middle the next level lies right.
        LaidLine(points, "level", levels[number].level, field.first + levels[number].level >= 0)
        for number, points in clipped(smooth, region.may_cut, SHORTEST_LINE)
    ]


def _gap_steps(
    laid: list[LaidLine], meeting: Mask, border: Mask, ground: PassGround, region: AxisRegion, meter: CrestMeter
) -> Generator[float, None, list[FloatArray]]:
    """Gaps (n, 2) between laid lines that want closing.

    meeting, border: cells that may lie in a gap, where fronts meet and near the border. Along the border only long gaps are closed,
    and those that reach ground which the proof counts: others, where lines meet the border on the slant, would cost a sharp double
    turn each. The cusp metric overrates gaps beside a valley line, in which the ball rests on both flanks: a gap is left open where the
    cusp measured in it is tolerable.
    """
    metric = ground.metric
    lines = [line.points for line in laid]
    doubtful = ground.inside & (meeting | border)
    distance = distance_to_lines(metric, lines, doubtful)
    gaps = gap_lines(metric.grid, distance, doubtful, TOLERATED_CUSP, SHORTEST_LINE)
    pieces = [points for _, points in clipped(gaps, region.may_cut, metric.grid.cell / 4)]
    spared = border & ~_beside_counted(doubtful & border & (distance > COVERED * np.sqrt(TOLERATED_CUSP)), metric.grid, meter)
    pieces = [p for p in pieces if travelled(p)[-1] > LONGEST_BORDER_GAP or not spared[metric.grid.nearest(p)].all()]
    places = [_across_gap(piece, meter.spacing, metric.grid.cell) for piece in pieces]
    doubted = [number for number, place in enumerate(places) if meter.measures(place).all()]
    if not doubted:
        return pieces
    beside = np.zeros(ground.inside.shape, bool)
    beside[metric.grid.nearest(np.concatenate([places[number] for number in doubted]))] = True
    beside = grown(beside, metric.grid.cell, 3 * meter.spacing)
    sweep = meter.swept([points for _, points in clipped(lines, lambda p: beside[metric.grid.nearest(p)], metric.grid.cell)])
    if len(sweep) == 0:  # no line anywhere near: nothing is cut there
        return pieces
    yield 0.5
    tolerable = set()
    for number in doubted:
        excess = yield from meter.excess_steps(sweep, places[number])
        if excess.max() <= TOLERATED_CUSP:
            tolerable.add(number)
    return [piece for number, piece in enumerate(pieces) if number not in tolerable]


def _beside_counted(uncovered: Mask, grid: Grid, meter: CrestMeter) -> Mask:
    """Cells within half a spacing of uncovered ones that the proof counts."""
    out = np.zeros(uncovered.shape, bool)
    places = grid.middles(*np.nonzero(uncovered))
    out[grid.nearest(places[meter.counts(places)])] = True
    return grown(out, grid.cell, meter.spacing / 2)


def _peak_steps(
    laid: list[LaidLine], ridges: Mask, ground: PassGround, region: AxisRegion, meter: CrestMeter
) -> Generator[float, None, list[FloatArray]]:
    """Gaps (n, 2) on ridges where fronts meet that only a simulated cut tells: between the tips of lines stand peaks, narrower than the cusp
    metric can see.
    """
    grid = ground.metric.grid
    ridges = ground.inside & grown(ridges, grid.cell, BESIDE_RIDGES * grid.cell)
    if not ridges.any():
        return []
    beside = grown(ridges, grid.cell, 3 * meter.spacing)
    sweep = meter.swept([points for _, points in clipped([line.points for line in laid], lambda p: beside[grid.nearest(p)], grid.cell)])
    places = (grid.middles(*np.nonzero(ridges))[:, None] + grid.cell / 4 * np.array([(-1, -1), (-1, 1), (1, -1), (1, 1)])).reshape(-1, 2)
    excess = yield from within(meter.excess_steps(sweep, places), 0.0, 0.4)
    high = np.flatnonzero(excess > PEAK_NEARBY)
    # The peaks are climbed to with ever smaller steps.
    top, share = places[high], 0.4
    aside = np.array([(x, y) for x in (-1, 0, 1) for y in (-1, 0, 1)])
    for step in grid.cell / 2 / 3.0 ** np.arange(1, PEAK_CLIMBS + 1):
        around = top[:, None] + step * aside
        measured = yield from within(meter.excess_steps(sweep, around.reshape(-1, 2)), share, share + 0.6 / PEAK_CLIMBS)
        share += 0.6 / PEAK_CLIMBS
        measured = measured.reshape(len(high), len(aside))
        best = measured.argmax(axis=1)
        top = around[np.arange(len(high)), best]
        excess[high] = measured[np.arange(len(high)), best]
    distance = np.zeros(grid.shape)
    distance[ridges] = COVERED * np.sqrt(excess.reshape(-1, 4).max(axis=1))
    gaps = gap_lines(grid, distance, ridges, TOLERATED_PEAK, SHORTEST_LINE)
    return [points for _, points in clipped(gaps, region.may_cut, grid.cell / 4)]


def _across_gap(piece: FloatArray, spacing: float, step: float) -> FloatArray:
    """Places (n, 2) along the middle of a gap and a quarter of a spacing to both sides of it."""
    points = resampled(piece, step)
    along = np.gradient(points, axis=0)
    aside = spacing / 4 * np.column_stack([-along[:, 1], along[:, 0]]) / np.maximum(np.hypot(along[:, 0], along[:, 1]), 1e-9)[:, None]
    return np.concatenate([points, points - aside, points + aside])


def _with_gaps_closed(laid: list[LaidLine], gaps: list[FloatArray], ground: PassGround, region: AxisRegion) -> list[LaidLine]:
    """The lines with the gaps closed, by detours of the lines beside them or by lines of their own."""
    spacing = float(spacing_on_flat(ground.metric.radius, ground.metric.cusp))
    lines, remaining = spliced([line.points for line in laid], gaps, region.may_cut, LONGEST_DETOUR, 2 * spacing, region.grid.cell)
    out = [replace(line, points=points) for line, points in zip(laid, lines, strict=True)]
    return out + [LaidLine(p, "gap", None, True) for p in remaining if travelled(p)[-1] >= SHORTEST_LINE]


LONGEST_BORDER_GAP = 20.0
"""mm; longer gaps along the border are closed wherever they lie."""

LONGEST_DETOUR = 15.0
"""mm; a longer gap is a line of its own."""

BESIDE_RIDGES = 1.5
"""Cells beside a ridge in which peaks are looked for too."""

PEAK_NEARBY = 0.6
"""Measured cusp over the asked one at the middle of a quarter of a cell from which the quarter's other places are looked at."""

TOLERATED_PEAK, PEAK_CLIMBS = 1.06, 2
"""As TOLERATED_CUSP, for peaks; and how often the steps to a peak get three times smaller."""

PEAK_ROUNDS = 2
"""A detour over one peak may leave another beside it."""

GAP_ROUNDS = 2
"""Detours may leave a corner open: gaps are looked for again once."""


def _doubtful(field: PassField, ground: PassGround) -> tuple[Mask, Mask]:
    """Planned cells that level lines may leave uncovered: where fronts meet, and near the border.

    Elsewhere the distance field grows by one unit per unit, so that a level line lies within half a unit of every cell.
    """
    metric, inside = ground.metric, ground.inside
    along_x, along_y = gradient(np.where(np.abs(field.distance) < FAR / 2, field.distance, 0.0), metric.grid.cell)
    determinant = metric.xx * metric.yy - metric.xy**2
    pace = (metric.yy * along_x**2 - 2 * metric.xy * along_x * along_y + metric.xx * along_y**2) / determinant
    unit = 1 / np.sqrt(np.percentile((metric.xx + metric.yy)[inside] / 2, 5)) if inside.any() else metric.grid.cell
    return inside & grown(pace < LEAST_PACE, metric.grid.cell, unit / 2), inside & grown(~inside, metric.grid.cell, unit)


LEAST_PACE = 0.9
"""Squared gradient of the field, in the metric, below which fronts meet and level lines may lie too far apart."""
