"""Pass lines drawn a little closer where a simulated cut shows that the cusp between them stands too high.

The distance field keeps the cusp height where the ground bends evenly. Where its bend changes within one spacing (the flanks of
a channel, a hollow that runs out) the cusp between two lines depends on where just these lines fall. So a few points of every
crest between neighbouring lines are measured by a simulated cut, and the field is stretched there: the two lines come closer,
and the next few lines on both sides share what that costs.
"""

from __future__ import annotations

from collections.abc import Callable, Generator
from dataclasses import replace

import numpy as np

from ..ball.contact import contact_offset
from ..ball.exact_tip import TipFinder
from ..core.cusp_formulas import spacing_on_flat
from ..core.filters import blur, blurred_gradient, gradient
from ..core.grid import FloatArray, Grid, singles
from ..core.level_lines import level_lines
from ..core.masks import Mask, grown, shrunk
from ..core.polyline import all_resampled
from ..core.stepping import within
from ..core.threads import in_threads
from ..simulation.proof import BORDER_SHARE, ProvedGround
from ..simulation.surface_samples import SampleGround
from ..simulation.swept_ball import SweptBall
from .cusp_metric import CuspMetric
from .distance_field import FAR
from .starts import PassField

CREST_STEP, FINE_STEP = 0.5, 0.28
"""Flat-ground spacings between the places measured along a crest: in the first round, and in later ones, which look at little ground."""

UNMEASURED_BORDER = BORDER_SHARE / 2
"""Flat-ground spacings beside the border in which nothing is measured: less than the border that the proof tells apart, so that a crest
anywhere on counted ground is looked at from both sides."""

FIRST_LOOK, SECOND_LOOK = 0.15, 0.05
"""How far on both sides of where the crest is thought to be the cut is measured, in units of the field: first the middle
between the lines, then, where it may stand too high, where the first look puts the crest."""

DOUBTFUL = 0.97
"""Cusp, over the asked one, from which a crest is looked at a second time."""

TOLERATED = 1.01
"""Cusp, over the asked one, from which lines are drawn closer."""

EAGERNESS = 1.5
"""More than the wanted stretch is asked for, since the blur and the neighbours take some of it back."""

STRONGEST = 0.6
"""Greatest share by which the field is stretched in one round."""

ROUNDS = 8
"""Most rounds of measuring and stretching; each looks only where the one before has changed something."""

SHARED = 6
"""Lines on each side that share the way."""

DRAWN_BESIDE = 3.0
"""Flat-ground spacings beside measured ground within which lines are drawn: no farther one touches it."""

SLIGHT, STRONG = 0.01, 0.05
"""Stretch below which crests hardly change, and stretch whose price the lines that share it may feel: they are measured again too."""

SPACING_SAMPLES = 50_000
"""Cells, evenly chosen, that tell how far apart lines lie."""

CELLS_AT_ONCE = 1 << 16
"""Cells moved in one go."""

ALONG = 1.2
"""mm; standard deviation of the blur that lets lines move smoothly."""

TIP_BLUR = 0.3
"""mm; standard deviation of the blur of the tip surface whose slope tells where the ball touches."""


class CrestMeter:
    """Measures the cusp between lines in plan on the grid's tip surface. Made once for a side and a cutter.

    spacing: of lines on flat ground, mm.
    """

    def __init__(self, tip: FloatArray, ground: ProvedGround, radius: float, cusp: float, finder: TipFinder) -> None:
        known = tip > -np.inf
        self._grid, self._radius, self._cusp = ground.grid, radius, cusp
        self._tip = np.where(known, tip, float(tip[known].min()) if known.any() else 0.0)
        self._slope_x, self._slope_y = blurred_gradient(self._tip, TIP_BLUR / ground.grid.cell, ground.grid.cell)
        self._feet = SampleGround(ground.grid, ground.surface, ground.left, radius, finder)
        reached = ground.planned & (ground.left > -np.inf)
        self.spacing = float(spacing_on_flat(radius, cusp))
        self._counted = shrunk(reached, ground.grid.cell, BORDER_SHARE * self.spacing)
        self._measured = shrunk(reached, ground.grid.cell, UNMEASURED_BORDER * self.spacing)

    def swept(self, lines: list[FloatArray]) -> SweptBall:
        """What the ball sweeps along lines (m, 2) mm."""
        flat = np.concatenate([*lines, np.zeros((0, 2))])
        centres = np.column_stack([flat, self._grid.sample(self._tip, flat) + self._radius])
        last = np.cumsum([len(line) for line in lines], dtype=np.intp) - 1
        starts = np.delete(np.arange(len(flat)), last)
        bin_size = float(np.clip(0.42 * self.spacing, 0.02 * self._radius, 0.25 * self._radius))
        return SweptBall(centres[starts], centres[starts + 1], self._radius, bin_size)

    def excess_steps(self, sweep: SweptBall, places: FloatArray) -> Generator[float, None, FloatArray]:
        """Cusp over the asked one that a sweep leaves at axis positions (n, 2), 0 where it is not to be measured."""
        out = np.zeros(len(places))
        if len(sweep) == 0 or len(places) == 0:
            return out
        touched = self._touched(places)
        measured = np.flatnonzero(self._measured[self._grid.nearest(touched)])
        yield 0.3
        points, normals, crown = self._feet.between_cells(touched[measured])
        entry = yield from sweep.entry_heights_steps(points, normals, crown)
        out[measured] = np.clip(entry, 0.0, self._radius) / self._cusp
        return out

    def measures(self, places: FloatArray) -> Mask:
        """Whether the cusp is measured at axis positions (n, 2): not on the border of the ground, and not off it."""
        return self._measured[self._grid.nearest(self._touched(places))]

    def counts(self, places: FloatArray) -> Mask:
        """Whether axis positions (n, 2) cut ground that the proof counts, off the border that it tells apart."""
        return self._counted[self._grid.nearest(self._touched(places))]

    def _touched(self, places: FloatArray) -> FloatArray:
        """Where the ball touches the body in plan, (n, 2), with its axis at places (n, 2)."""
        slope_x, slope_y = self._grid.sample(self._slope_x, places), self._grid.sample(self._slope_y, places)
        return places + np.column_stack(contact_offset(slope_x, slope_y, self._radius))


def balanced_steps(
    field: PassField,
    metric: CuspMetric,
    drawn: Callable[[PassField, Mask], list[FloatArray]],
    others: list[FloatArray],
    meeting: Mask,
    meter: CrestMeter,
) -> Generator[float, None, PassField]:
    """The field stretched, in some rounds, where the cusp between its lines is too high; yields shares done.

    drawn: gives the level lines (n, 2) of a field as they are cut, where the mask is set. others: further lines that are cut, (n, 2). meeting: cells of
    the metric's grid where fronts meet, which no stretching helps.
    """
    where = ~meeting
    for number in range(ROUNDS):
        low, high = number / ROUNDS, (number + 1) / ROUNDS
        step = (FINE_STEP if number else CREST_STEP) * meter.spacing
        lines = drawn(field, grown(where, metric.grid.cell, DRAWN_BESIDE * meter.spacing)) + others
        field, changed = yield from within(_round_steps(field, metric.grid, lines, where, step, meter), low, high)
        where = changed & ~meeting
        if not where.any():
            break
    return field


def _round_steps(
    field: PassField, grid: Grid, lines: list[FloatArray], where: Mask, step: float, meter: CrestMeter
) -> Generator[float, None, tuple[PassField, Mask]]:
    """One round. where: cells whose crests are measured, every `step` mm. Returns the field, and the cells to be measured again."""
    solved = np.abs(field.distance) < FAR / 2
    nothing = np.zeros(grid.shape, bool)
    crests = level_lines(field.distance, grid, field.first + 0.5, solved & grown(where, grid.cell, 2 * grid.cell))
    places = np.concatenate([*all_resampled([crest.whole for crest in crests], step), np.zeros((0, 2))])
    places = places[where[grid.nearest(places)]]
    if len(places) == 0:
        return field, nothing
    along_x, along_y = gradient(np.where(solved, field.distance, 0.0), grid.cell)
    across = np.column_stack([grid.sample(along_x, places), grid.sample(along_y, places)])
    across /= np.maximum((across * across).sum(axis=1), 1e-9)[:, None]
    yield 0.2
    middle = np.zeros(len(places))
    sweep = meter.swept(lines)
    greatest, crest = yield from within(_crests(meter, sweep, places, across, middle, FIRST_LOOK), 0.2, 0.6)
    again = np.flatnonzero(greatest > DOUBTFUL)
    greatest[again], _ = yield from within(_crests(meter, sweep, places[again], across[again], crest[again], SECOND_LOOK), 0.6, 0.8)
    bad = greatest > TOLERATED
    if not bad.any():
        return field, nothing
    wanted = np.minimum(EAGERNESS * (np.sqrt(greatest[bad]) - 1), STRONGEST)
    stretch = _spread(grid, places[bad], across[bad], wanted)
    yield 0.9
    return (yield from within(_stretched_steps(field, grid, stretch, along_x, along_y, solved), 0.9, 1.0))


def _crests(
    meter: CrestMeter, sweep: SweptBall, places: FloatArray, across: FloatArray, at: FloatArray, apart: float
) -> Generator[float, None, tuple[FloatArray, FloatArray]]:
    """Height of the crests between lines over the asked cusp, (n,), and how far they lie from the middle, in units of the field.

    places: (n, 2) middles between two lines; across: (n, 2) mm for one unit. at: where the crests are thought to be.
    From a line the cusp grows with the square of the distance: measured once nearer to each line, both parabolas are known, and the
    crest is where they meet.
    """
    low, high = np.maximum(at - apart, -0.45), np.minimum(at + apart, 0.45)
    looked = np.concatenate([places + low[:, None] * across, places + high[:, None] * across])
    excess = yield from meter.excess_steps(sweep, looked)
    before, after = np.sqrt(excess.reshape(2, -1))
    measured = (before > 0) & (after > 0)
    rise, fall = before / (0.5 + low), after / (0.5 - high)
    both = np.where(measured, rise + fall, 1.0)
    return np.where(measured, (rise * fall / both) ** 2, 0.0), np.where(measured, 0.5 * (fall - rise) / both, 0.0)


def _spread(grid: Grid, places: FloatArray, across: FloatArray, share: FloatArray) -> FloatArray:
    """Map of the wanted stretch, (rows, columns): its places carried over the whole width between their lines and along them."""
    out = np.zeros(grid.shape, np.float32)
    for offset in np.linspace(-0.45, 0.45, 7):
        np.maximum.at(out, grid.nearest(places + offset * across), share.astype(np.float32))
    # Widened before it is blurred, so that the blur does not take away from what is needed.
    wide: FloatArray = out
    reach = max(1, round(ALONG / grid.cell))
    for _ in range(reach):
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
    field: PassField, grid: Grid, stretch: FloatArray, along_x: FloatArray, along_y: FloatArray, solved: Mask
) -> Generator[float, None, tuple[PassField, Mask]]:
    """The field moved so that lines come closer where `stretch` says, what that takes given back over SHARED lines.

    Returns with it the cells in which a cusp may have changed by more than a little.
    """
    pace = (along_x * along_x + along_y * along_y)[solved]
    spacing = float(1 / np.sqrt(np.percentile(pace[:: max(1, len(pace) // SPACING_SAMPLES)], 20)))
    near = grown(stretch > 1e-4, grid.cell, (SHARED + 1) * spacing) & solved
    felt = grown(stretch > SLIGHT, grid.cell, 1.5 * spacing) | grown(stretch > STRONG, grid.cell, (SHARED + 1) * spacing)
    place = np.flatnonzero(near)
    distance, way_x, way_y = (values.take(place) for values in (field.distance, along_x, along_y))
    # Cells for one unit of the field, across its lines.
    per_unit = 1 / np.maximum((way_x * way_x + way_y * way_y) * grid.cell, 1e-9)
    from_middle = (distance - field.first) % 1.0 - 0.5
    row, column, way_x, way_y, from_middle, stretch = singles(*np.divmod(place, grid.columns), way_x * per_unit, way_y * per_unit, from_middle, stretch)

    def moved(first: int) -> FloatArray:
        part = slice(first, first + CELLS_AT_ONCE)
        out = np.zeros(len(place[part]), np.float32)
        for gap in range(-SHARED, SHARED + 1):
            # The middle of the gap that lies so many lines away; what it is stretched by pulls this place along.
            away = from_middle[part] - gap
            out += _pull(away) * grid.at(stretch, row[part] - away * way_y[part], column[part] - away * way_x[part])
        return out

    moves = yield from in_threads(moved, range(0, len(place), CELLS_AT_ONCE))
    out = field.distance.copy()
    np.put(out, place, distance + np.concatenate([*moves, np.zeros(0)]))
    return replace(field, distance=out), felt & near


def _pull(away: FloatArray) -> FloatArray:
    """How far the field moves at a distance in units from the middle of a gap stretched by 1: the gap's own width, fading outside."""
    size = np.abs(away)
    return np.sign(away) * np.where(size <= 0.5, size, np.maximum(0.5 - (size - 0.5) * 0.5 / SHARED, 0.0))
