"""Which ball fits the planned ground: judged by what its rolling-ball closing leaves there."""

from __future__ import annotations

from collections.abc import Callable, Generator
from dataclasses import dataclass

import numpy as np

from ..core.array_types import FloatArray, Indices, Mask
from ..core.grid import Grid
from ..core.masks import connected_parts
from ..core.place import Place
from ..core.stepping import within
from ..job.flank import Flank
from ..job.ground_settings import FitSettings
from .contact import contact_offset
from .tip_surface import closing_steps, tip_surface_steps
from .uncut_height import FreeBall

MEASURED = (30, 150)
"""Most cells whose uncut height is measured off the grid: an even selection stands for all, a larger one if in doubt."""
CLEAR = 3.0
"""An area this many times the tolerated one, or as many times smaller, leaves no doubt."""

HIGHEST_AT_ONCE, MOST_HIGHEST = 16, 96
"""Cells measured at a time, and at the most, in search of the one that is left highest: the grid's own height is never below the measured one, so
that the search is over once no cell stands higher on the grid than the highest that is measured."""

RADIUS_SHARE, RADIUS_CELLS = 0.005, 0.2
"""The largest radius is narrowed down to this share of itself, or to so many cells: finer differences no grid can show."""
FIRST_RADIUS = 1.0
"""mm; the radius tried first when none is known to fit."""
GROWTH = 1.5
"""Factor from one radius to the next while all of them fit."""
USUAL_TRIALS = 4
"""Radii tried until progress stands at half way."""

NEAR_PLACE = 3.0
"""mm; cells within this of a hollow's deepest place are measured for its radius."""
SAMPLED = 24
"""How many of them at the most: the deepest place is among them, and the rest tell where the hollow is tightest."""
LEAST_UNCUT = 0.01
"""mm; uncut height that is taken for sure to be no facet: see `hollow_radius_steps`."""
HOLLOW_STEP = 0.005
"""mm; finest step in which the axis over a hollow is searched for: a quarter of what a cell's uncut height needs."""
HOLLOW_SHARE = 0.001
"""The radii at which a hollow's uncut height reaches its marks are narrowed down to this share of themselves."""
HOLLOW_RANGE = 1.5
"""They are looked for up to so many times a radius that leaves something."""
LEAST_CELLS = 0.1
"""Radii below so many cells are none that a grid can show: the hollow is a crease."""
SLOPE_RUN = 0.5
"""mm to each side of a cell over which its slope is taken: single facets do not tilt it."""


@dataclass(frozen=True)
class Fit:
    """How one ball fits. fits: whether the ground with more uncut height than tolerated stays within the tolerated area.

    area: mm2 of plan that lie above the tolerated height; height: greatest uncut height in mm, and place where it is.
    hollow: place of the greatest uncut height in the largest connected piece of that ground, None where there is none.
    """

    fits: bool
    area: float
    height: float
    place: Place | None
    hollow: Place | None = None


@dataclass(frozen=True)
class LargestRadius:
    """The largest ball that fits the planned ground, mm.

    radius: the largest that fits within the tolerances of height and area; what it leaves there is tolerated, so that it may
    be larger than the hollow it leaves it in. is_bound: True when even the greatest radius tried fits, so that the true one is
    larger. place: the hollow that stops a larger ball, None when nothing does. hollow_radius: the largest ball that leaves
    nothing at all in that hollow, None when there is none or it was not measured.
    """

    radius: float
    is_bound: bool
    place: Place | None
    hollow_radius: float | None = None


@dataclass(frozen=True)
class FitGround:
    """Ground that a ball is to fit. Maps are (rows, columns) on `grid`: surface, -inf outside, and planned."""

    grid: Grid
    surface: FloatArray
    planned: Mask


def fit_steps(
    closing: FloatArray, ground: FitGround, radius: float, settings: FitSettings, highest: bool = True, flank: Flank | None = None
) -> Generator[float, None, Fit]:
    """Judge a closing on planned ground; where it says that the cutter does not fit, measure off the grid.

    closing: (rows, columns) by a ball of this radius, with its flank if it is tapered. highest: whether the greatest height and its place
    matter; without them only few cells are measured. Yields progress from 0 to 1.
    """
    uncut = np.where(ground.planned, np.maximum(closing - np.where(ground.planned, ground.surface, 0), 0), 0)
    fit = _judged(uncut, ground, settings)
    if fit.fits:
        return fit
    row, column = np.nonzero(uncut > settings.uncut_height)
    ball = FreeBall(ground.surface, ground.grid, radius, flank)

    def measured_steps(cells: Indices) -> Generator[float, None, FloatArray]:
        """Uncut heights, off the grid, of some of the cells."""
        places = _points(ground, row[cells], column[cells])
        axes = [_axes(surface, ground.grid, row[cells], column[cells], radius) for surface in (closing, ground.surface)]
        heights = yield from ball.uncut_heights_steps(places, np.stack(axes, axis=1), settings.uncut_height)
        return np.minimum(uncut[row[cells], column[cells]], heights)

    exact, known = uncut.copy(), np.zeros(len(row), bool)
    for trial, measured in enumerate(MEASURED):
        chosen = _even_selection(len(row), measured)
        heights = yield from within(measured_steps(chosen), 0.8 * trial / len(MEASURED), 0.8 * (trial + 1) / len(MEASURED))
        known[:] = False
        known[chosen] = True
        # Every cell takes the height of the measured one before it; where all are measured, its own.
        source = np.searchsorted(chosen, np.arange(len(row)), side="right") - 1
        exact[row, column] = np.minimum(uncut[row, column], heights[source])
        fit = _judged(exact, ground, settings)
        if len(chosen) == len(row) or not 1 / CLEAR < fit.area / max(settings.uncut_area, 1e-9) < CLEAR:
            break
    if fit.fits or not highest:
        return fit
    return _judged((yield from within(_highest_steps(exact, uncut, (row, column, known), measured_steps), 0.8, 1.0)), ground, settings)


def _highest_steps(
    exact: FloatArray, uncut: FloatArray, cells: tuple[Indices, Indices, Mask], measured_steps: Callable[[Indices], Generator[float, None, FloatArray]]
) -> Generator[float, None, FloatArray]:
    """The heights `exact` with those cells measured that may be the highest; yields shares done.

    uncut: the grid's own heights, (rows, columns). cells: row and column of all that may be measured, and whether each is.
    """
    row, column, known = cells
    bound = np.where(known, 0.0, uncut[row, column])
    highest = float(exact[row[known], column[known]].max(initial=0.0))
    order = np.argsort(-bound, kind="stable")[:MOST_HIGHEST]
    for first in range(0, len(order), HIGHEST_AT_ONCE):
        some = order[first : first + HIGHEST_AT_ONCE]
        some = some[bound[some] > highest]
        if len(some) == 0:
            break
        exact[row[some], column[some]] = yield from within(measured_steps(some), first / MOST_HIGHEST, (first + HIGHEST_AT_ONCE) / MOST_HIGHEST)
        highest = max(highest, float(exact[row[some], column[some]].max()))
    return exact


def closing_of_steps(surface: FloatArray, grid: Grid, radius: float) -> Generator[float, None, FloatArray]:
    """Rolling-ball closing of a surface (rows, columns) by a ball, on the same grid; yields progress from 0 to 1."""
    rim = int(np.ceil(radius / grid.cell)) + 1
    wide = np.pad(surface, rim, constant_values=-np.inf).astype(np.float32)
    tip = yield from within(tip_surface_steps(wide, radius, grid.cell), 0.0, 0.5)
    closing = yield from within(closing_steps(tip, radius, grid.cell, wide > -np.inf), 0.5, 1.0)
    return np.where(surface > -np.inf, closing[rim:-rim, rim:-rim], -np.inf)


def largest_radius_steps(
    ground_of: Callable[[float], FitGround],
    settings: FitSettings,
    fits_below: float,
    fails_above: float | None,
    greatest: float,
) -> Generator[float, None, LargestRadius]:
    """Narrow down the largest radius that fits by halving the range between one that fits and one that does not.

    ground_of: the ground for a radius (openings narrower than the cutter are bridged, so it depends on it). fits_below: a
    radius known to fit, 0 for none. fails_above: one known not to fit, None for none known. greatest: no larger one is tried.
    The result is good to 0.5 % or a fifth of a cell, whichever is larger.
    """
    low, high = fits_below, fails_above
    place: Place | None = None
    trials = 0

    def trial(radius: float) -> Generator[float, None, Fit]:
        ground = ground_of(radius)
        closing = yield from closing_of_steps(ground.surface, ground.grid, radius)
        return (yield from fit_steps(closing, ground, radius, settings, highest=False))

    cell = ground_of(max(low, FIRST_RADIUS)).grid.cell
    while high is None or high - low > max(RADIUS_SHARE * high, RADIUS_CELLS * cell):
        if high is None:
            if low >= greatest:
                return LargestRadius(low, True, None)
            radius = min(max(GROWTH * low, FIRST_RADIUS), greatest)
        else:
            radius = (low + high) / 2
            if radius < cell:
                break
        before, after = (0.9 * done / (done + USUAL_TRIALS) for done in (trials, trials + 1))
        fit = yield from within(trial(radius), before, after)
        trials += 1
        if fit.fits:
            low = radius
        else:
            high, place = radius, fit.hollow
    if place is None and high is not None:
        place = (yield from within(trial(high), 0.85, 0.9)).hollow
    hollow = None
    if place is not None and high is not None:
        hollow = yield from within(hollow_radius_steps(ground_of(high), place, high), 0.9, 1.0)
    return LargestRadius(low, False, place, hollow)


def hollow_radius_steps(ground: FitGround, place: Place, too_large: float) -> Generator[float, None, float | None]:
    """The largest ball that leaves nothing near a place where one of the radius `too_large` leaves something.

    In a smooth hollow of radius r a ball of radius R > r leaves a height that grows as (R - r)^2 (closed form for a paraboloid:
    (R - r)^2 / (2 r)), so the radii at which it reaches e and 4 e, R1 and R2, give r = 2 R1 - R2. e is small, but above
    what facets of a mesh make. In a crease the height grows with R, both radii are small, and so is the result.
    None when no planned ground lies there. Yields progress from 0 to 1.
    """
    row, column = _near_cells(ground, place)
    if len(row) == 0:
        return None
    points = _points(ground, row, column)
    # Along the normal, so that facets of steep ground do not stand out.
    slope_x, slope_y = _slopes(ground.surface, ground.grid, row, column)
    upright = 1 / np.sqrt(1 + (slope_x**2 + slope_y**2))

    def greatest_steps(radius: float) -> Generator[float, None, float]:
        axes = _axes(ground.surface, ground.grid, row, column, radius)[:, None]
        ball = FreeBall(ground.surface, ground.grid, radius)
        heights = yield from ball.uncut_heights_steps(points, axes, LEAST_UNCUT / 2, last_step=HOLLOW_STEP)
        return float((heights * upright).max())

    radii = []
    for number, height in enumerate((LEAST_UNCUT, 4 * LEAST_UNCUT)):
        low, high = 0.0, HOLLOW_RANGE * too_large
        while high - low > HOLLOW_SHARE * high and high > LEAST_CELLS * ground.grid.cell:
            radius = (low + high) / 2
            uncut = yield from within(greatest_steps(radius), 0.5 * number, 0.5 * number + 0.5)
            low, high = (radius, high) if uncut <= height else (low, radius)
        radii.append((low + high) / 2)
    return max(2 * radii[0] - radii[1], 0.0)


def _even_selection(count: int, most: int) -> Indices:
    """At most so many of the numbers 0..count - 1, evenly chosen, the first and the last among them."""
    return np.unique(np.linspace(0, count - 1, min(count, most)).astype(np.intp))


def _near_cells(ground: FitGround, place: Place) -> tuple[Indices, Indices]:
    """Planned cells near a place, the nearest one first and then an even selection."""
    grid = ground.grid
    centre = np.array([place[:2]])
    middle_row, middle_column = (int(v[0]) for v in grid.nearest(centre))
    most = int(NEAR_PLACE / grid.cell)
    rows = slice(max(middle_row - most, 0), middle_row + most + 1)
    columns = slice(max(middle_column - most, 0), middle_column + most + 1)
    row, column = np.nonzero(ground.planned[rows, columns])
    row, column = row + rows.start, column + columns.start
    away = np.hypot(row - middle_row, column - middle_column)
    order = np.argsort(away, kind="stable")
    order = order[away[order] <= most]
    if len(order) == 0:
        return row[:0], column[:0]
    some = order[_even_selection(len(order), SAMPLED)]
    return row[some], column[some]


def _judged(uncut: FloatArray, ground: FitGround, settings: FitSettings) -> Fit:
    """A verdict from uncut heights (rows, columns)."""
    tall = uncut > settings.uncut_height
    area = float(tall.sum() * ground.grid.cell_area)
    worst = int(uncut.argmax())
    height = float(uncut.ravel()[worst])
    hollow = None
    if area > 0:
        parts = connected_parts(tall)
        largest = int(np.bincount(parts.ravel())[1:].argmax()) + 1
        hollow = _place(ground, int(np.where(parts == largest, uncut, -1).argmax()))
    return Fit(fits=area <= settings.uncut_area, area=area, height=height, place=_place(ground, worst) if height > 0 else None, hollow=hollow)


def _place(ground: FitGround, number: int) -> Place:
    """The place of a cell by its flat number."""
    grid = ground.grid
    row, column = divmod(number, grid.columns)
    return grid.left + grid.cell * column, grid.front + grid.cell * row, float(ground.surface[row, column])


def _points(ground: FitGround, row: Indices, column: Indices) -> FloatArray:
    """Points (n, 3) of the surface at cells."""
    return np.column_stack([ground.grid.middles(row, column), ground.surface[row, column]])


def _slopes(surface: FloatArray, grid: Grid, row: Indices, column: Indices) -> tuple[FloatArray, FloatArray]:
    """Slopes along x and y, (n,) each, of a surface at cells, over SLOPE_RUN to each side."""
    cells = max(1, round(SLOPE_RUN / grid.cell))
    here = surface[row, column].astype(np.float64)

    def beside(dr: int, dc: int) -> FloatArray:
        value = surface[np.clip(row + dr, 0, grid.rows - 1), np.clip(column + dc, 0, grid.columns - 1)]
        return np.where(value > -np.inf, value.astype(np.float64), here)

    run = 2 * cells * grid.cell
    return (beside(0, cells) - beside(0, -cells)) / run, (beside(cells, 0) - beside(-cells, 0)) / run


def _axes(surface: FloatArray, grid: Grid, row: Indices, column: Indices, radius: float) -> FloatArray:
    """Where the axis (n, 2) of a ball stands that touches a surface at cells."""
    return grid.middles(row, column) - np.column_stack(contact_offset(*_slopes(surface, grid, row, column), radius))
