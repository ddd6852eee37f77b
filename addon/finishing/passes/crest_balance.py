"""Pass lines moved closer together where a simulated cut shows that the cusp between them stands too high.

The distance field keeps the cusp height where the ground's curvature is even. Where it changes within one spacing (the flanks of
a channel, a hollow that runs out) the cusp between two lines depends on where exactly these lines fall. So a few points of every
crest between neighbouring lines are measured by a simulated cut, and the field is stretched there: the two lines come closer,
and the next few lines on both sides give up a little of their distances for it.

How much. From a line the cusp grows with the square of the distance, h = a d^2, with an a of each side's own. Between lines at -1/2 and
+1/2 (in units of the field, the crest anywhere between), two cusps h1 and h2 measured at d1 and d2 from either line give both roots,
sqrt(a1) = sqrt(h1)/d1 and sqrt(a2) = sqrt(h2)/d2, and the crest lies where a1 (1/2 + m)^2 = a2 (1/2 - m)^2: at
m = (sqrt(a2) - sqrt(a1)) / (2 (sqrt(a1) + sqrt(a2))), (sqrt(a1) sqrt(a2) / (sqrt(a1) + sqrt(a2)))^2 high. To bring a crest of q times the
asked cusp down to it, the two lines must come closer by the factor sqrt(q): the field must grow by sqrt(q) - 1 more between them.

How the field is stretched. With the wanted stretch s of every gap, a place at the signed distance x (in units) from the middle of a gap
moves by s p(x): p(x) = x within the gap, so that the field grows by 1 + s there, and beyond it p falls from 1/2 to 0 over SHARING_LINES
lines, so that each of them gives up an equal part and no line is added. Moves of neighbouring gaps add up.
"""

from __future__ import annotations

from collections.abc import Callable, Generator
from dataclasses import dataclass, replace

import numpy as np

from ..core.array_types import FloatArray, Mask, singles
from ..core.filters import blur, gradient
from ..core.grid import Grid
from ..core.level_lines import level_lines
from ..core.masks import grown
from ..core.polyline import all_resampled
from ..core.stepping import within
from ..core.threads import in_threads
from ..simulation.swept_ball import SweptBall
from .crest_meter import CrestMeter
from .cusp_metric import CuspMetric
from .starts import PassField

CREST_STEP, FINE_STEP = 0.5, 0.28
"""Flat-ground spacings between the places measured along a crest: in the first round, and in later ones, which look at little ground."""

FIRST_LOOK, SECOND_LOOK = 0.15, 0.05
"""How far on both sides of where the crest is thought to be the cut is measured, in units of the field: first the middle
between the lines, then, where it may stand too high, where the first look puts the crest."""

NEAREST_TO_LINES = 0.45
"""Units from the middle beyond which nothing is measured or marked: the lines run at 0.5, and on a line there is no crest."""

DOUBTFUL = 0.97
"""Cusp, over the asked one, from which a crest is looked at a second time."""

TOLERATED = 1.01
"""Cusp, over the asked one, from which lines are moved closer together."""

STILL_HIGH = 1.03
"""Cusp, over the asked one, from which a crest counts as not brought down after the last round."""

MOST_HIGH = 0.028
"""Share of the length of all crests up to which such crests are closed: where there are more, as on the noise of a scan, the ground is rough,
and lines that went to every peak of it would zigzag."""

CLOSED_FROM = 1.035
"""Cusp, over the asked one, from which one of these few is closed. Each costs a line a sharp double turn, so the lowest are left."""

EAGERNESS = 1.5
"""More than the wanted stretch is asked for, since the blur and the neighbours take some of it back."""

STRONGEST = 0.6
"""Most by which the field is stretched in one round: beyond it the measurement that asked for it holds no longer."""

ROUNDS = 8
"""Most rounds of measuring and stretching; each looks only where the one before has changed something."""

SHARING_LINES = 6
"""Lines on each side that give up some of their distances: more would spread a change over ground that needs none, fewer would feel it."""

LINES_WANTED = 3.0
"""Flat-ground spacings from measured ground within which lines are laid to be measured: no farther one touches it."""

BARELY, SLIGHT, STRONG = 1e-4, 0.01, 0.05
"""Stretch below which nothing is moved, stretch below which crests hardly change, and stretch that the lines which give up some of their
distances may feel: they are measured again too."""

FELT_SPACINGS = 1.5
"""Spacings round a slight stretch whose crests it changes: the gap itself and the two beside it."""

SPACING_SAMPLES, WIDE_PERCENTILE = 50_000, 20
"""Cells, evenly chosen, that show how far apart lines lie, and the percentile of the field's squared gradient that stands for it: a spacing
wider than most, so that the ground worked on is rather too large than too small."""

OFFSETS_ACROSS = 7
"""Places across a gap at which its stretch is marked: at 0.15 units, closer than a cell of the field (CELLS_PER_SPACING)."""

CELLS_AT_ONCE = 1 << 16
"""Cells moved in one go: few enough for the cache, many enough that two threads seldom wait for each other."""

ALONG = 1.2
"""mm; standard deviation of the blur that lets lines move smoothly."""

LEAST_SQUARED_GRADIENT = 1e-9
"""1/mm2; floor of the squared gradient that the field is divided by; it is 0 on ridges where fronts meet."""


@dataclass(frozen=True)
class _High:
    """Crests that stand too high. middles: (n, 2) mm, half-way between their lines. across: (n, 2) mm for one unit of the field. greatest: cusp over
    the asked one, (n,). at: units from the middle at which the crests stand, (n,). measured: places at which crests were measured.
    """

    middles: FloatArray
    across: FloatArray
    greatest: FloatArray
    at: FloatArray
    measured: int


def balanced_steps(
    field: PassField,
    metric: CuspMetric,
    lines_of: Callable[[PassField, Mask], list[FloatArray]],
    others: list[FloatArray],
    meeting: Mask,
    meter: CrestMeter,
) -> Generator[float, None, tuple[PassField, Mask]]:
    """The field stretched, in some rounds, where the cusp between its lines is too high; yields shares done.

    lines_of: gives the level lines (n, 2) of a field as they are cut, where the mask is set. others: further lines that are cut, (n, 2).
    meeting: cells of the metric's grid where fronts meet, which no stretching helps. Returns with the field the cells of crests that stand too
    high still: where facets or narrow hollows lie close together, what lowers one crest raises its neighbour.
    """
    grid, where, everywhere = metric.grid, ~meeting, 0.0
    for number in range(ROUNDS + 1):
        if not where.any():
            break
        low, high = number / (ROUNDS + 1), (number + 1) / (ROUNDS + 1)
        step = (FINE_STEP if number else CREST_STEP) * meter.spacing
        lines = lines_of(field, grown(where, grid.cell, LINES_WANTED * meter.spacing)) + others
        slopes = gradient(np.where(field.solved, field.distance, 0.0), grid.cell)
        found = yield from within(_high_steps(field, grid, lines, where, step, slopes, meter), low, low + 0.8 * (high - low))
        if len(found.middles) == 0:
            break
        if number == 0:
            everywhere = found.measured * CREST_STEP / FINE_STEP
        if number == ROUNDS:
            return field, _cells_of(found, grid, most=MOST_HIGH * everywhere)
        wanted = np.minimum(EAGERNESS * (np.sqrt(found.greatest) - 1), STRONGEST)
        stretch = _spread(grid, found.middles, found.across, wanted)
        field, changed = yield from within(_stretched_steps(field, grid, stretch, *slopes), low + 0.9 * (high - low), high)
        where = changed & ~meeting
    return field, np.zeros(grid.shape, bool)


def _high_steps(
    field: PassField, grid: Grid, lines: list[FloatArray], where: Mask, step: float, slopes: tuple[FloatArray, FloatArray], meter: CrestMeter
) -> Generator[float, None, _High]:
    """The crests that stand too high. where: cells whose crests are measured, every `step` mm. slopes: of the field, along x and y."""
    near = field.solved & grown(where, grid.cell, 2 * grid.cell)
    middles = level_lines(field.distance, grid, field.first + 0.5, near)
    places = np.concatenate([*all_resampled([middle.whole for middle in middles], step), np.zeros((0, 2))])
    places = places[where[grid.nearest(places)]]
    across = np.column_stack([grid.sample(slope, places) for slope in slopes])
    across /= np.maximum((across * across).sum(axis=1), LEAST_SQUARED_GRADIENT)[:, None]
    if len(places) == 0:
        return _High(places, across, np.zeros(0), np.zeros(0), 0)
    yield 0.25
    sweep = meter.swept(lines)
    greatest, crest = yield from within(_crests(meter, sweep, places, across, np.zeros(len(places)), FIRST_LOOK), 0.25, 0.75)
    again = np.flatnonzero(greatest > DOUBTFUL)
    greatest[again], crest[again] = yield from within(_crests(meter, sweep, places[again], across[again], crest[again], SECOND_LOOK), 0.75, 1.0)
    bad = greatest > TOLERATED
    return _High(places[bad], across[bad], greatest[bad], crest[bad], len(places))


def _cells_of(found: _High, grid: Grid, most: float) -> Mask:
    """The cells of crests that are closed in the end, (rows, columns): none where more than `most` crests stand too high."""
    out = np.zeros(grid.shape, bool)
    if np.count_nonzero(found.greatest > STILL_HIGH) <= most:
        high = found.greatest > CLOSED_FROM
        out[grid.nearest((found.middles + found.at[:, None] * found.across)[high])] = True
    return out


def _crests(
    meter: CrestMeter, sweep: SweptBall, middles: FloatArray, across: FloatArray, at: FloatArray, look: float
) -> Generator[float, None, tuple[FloatArray, FloatArray]]:
    """Height of the crests between lines over the asked cusp, (n,), and how far they lie from the middle, in units of the field.

    middles: (n, 2) places half-way between two lines; across: (n, 2) mm for one unit. at: where the crests are thought to be; they are
    measured `look` units to both sides of it.
    """
    low, high = np.maximum(at - look, -NEAREST_TO_LINES), np.minimum(at + look, NEAREST_TO_LINES)
    looked = np.concatenate([middles + low[:, None] * across, middles + high[:, None] * across])
    excess = yield from meter.excess_steps(sweep, looked)
    before, after = np.sqrt(excess.reshape(2, -1))
    measured = (before > 0) & (after > 0)
    rise, fall = before / (0.5 + low), after / (0.5 - high)
    both = np.where(measured, rise + fall, 1.0)
    return np.where(measured, (rise * fall / both) ** 2, 0.0), np.where(measured, 0.5 * (fall - rise) / both, 0.0)


def _spread(grid: Grid, middles: FloatArray, across: FloatArray, wanted: FloatArray) -> FloatArray:
    """Map of the wanted stretch, (rows, columns): that of each middle carried over the whole gap between its lines and along them."""
    out = np.zeros(grid.shape, np.float32)
    for offset in np.linspace(-NEAREST_TO_LINES, NEAREST_TO_LINES, OFFSETS_ACROSS):
        np.maximum.at(out, grid.nearest(middles + offset * across), wanted.astype(np.float32))
    # Widened before it is blurred, so that the blur does not take away from what is needed.
    wide: FloatArray = out
    for _ in range(max(1, round(ALONG / grid.cell))):
        wide = _highest_neighbour(wide)
    return blur(wide, ALONG / grid.cell)


def _highest_neighbour(values: FloatArray) -> FloatArray:
    """The greatest value among each cell and its four neighbours."""
    wide = values.copy()
    np.maximum(wide[1:], values[:-1], out=wide[1:])
    np.maximum(wide[:-1], values[1:], out=wide[:-1])
    np.maximum(wide[:, 1:], values[:, :-1], out=wide[:, 1:])
    np.maximum(wide[:, :-1], values[:, 1:], out=wide[:, :-1])
    return wide


def _stretched_steps(
    field: PassField, grid: Grid, stretch: FloatArray, slope_x: FloatArray, slope_y: FloatArray
) -> Generator[float, None, tuple[PassField, Mask]]:
    """The field stretched by `stretch` (rows, columns), what that takes given back over SHARING_LINES lines.

    slope_x, slope_y: gradient of the field. Returns with it the cells in which a cusp may have changed by more than a little.
    """
    solved = field.solved
    some = np.flatnonzero(solved)
    some = some[:: max(1, len(some) // SPACING_SAMPLES)]
    spacing = float(1 / np.sqrt(np.percentile(slope_x.take(some) ** 2 + slope_y.take(some) ** 2, WIDE_PERCENTILE)))
    farthest = (SHARING_LINES + 1) * spacing
    near = grown(stretch > BARELY, grid.cell, farthest) & solved
    felt = grown(stretch > SLIGHT, grid.cell, FELT_SPACINGS * spacing) | grown(stretch > STRONG, grid.cell, farthest)
    cells = np.flatnonzero(near)
    (stretch,) = singles(stretch)

    def moved(first: int) -> FloatArray:
        """How far some cells move, (CELLS_AT_ONCE or fewer,)."""
        part = cells[first : first + CELLS_AT_ONCE]
        distance, across_x, across_y = (values.take(part) for values in (field.distance, slope_x, slope_y))
        # Cells for one unit of the field, across its lines.
        per_unit = 1 / np.maximum((across_x * across_x + across_y * across_y) * grid.cell, LEAST_SQUARED_GRADIENT)
        (row, column), across_x, across_y = np.divmod(part, grid.columns), across_x * per_unit, across_y * per_unit
        from_middle = (distance - field.first) % 1.0 - 0.5
        # Rows counted in single precision would be rounded otherwise from either end of the grid.
        out = np.zeros(len(part))
        for gap in range(-SHARING_LINES, SHARING_LINES + 1):
            # The middle of the gap that lies so many lines away: its stretch moves this cell too.
            away = from_middle - gap
            out += _move(away) * grid.at(stretch, row - away * across_y, column - away * across_x)
        return out.astype(np.float32)

    moves = yield from in_threads(moved, range(0, len(cells), CELLS_AT_ONCE))
    out = field.distance.copy()
    out.reshape(-1)[cells] += np.concatenate([*moves, np.zeros(0, np.float32)])
    return replace(field, distance=out), felt & near


def _move(away: FloatArray) -> FloatArray:
    """How far the field moves at a distance in units from the middle of a gap stretched by 1: p of the module's text."""
    size = np.abs(away)
    return np.sign(away) * np.where(size <= 0.5, size, np.maximum(0.5 - (size - 0.5) * 0.5 / SHARING_LINES, 0.0))
