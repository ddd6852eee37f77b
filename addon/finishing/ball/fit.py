"""Which ball fits the planned ground: told by what its rolling-ball closing leaves there."""

from __future__ import annotations

from collections.abc import Callable, Generator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..core.array_types import FloatArray, Mask
from ..core.grid import Grid
from ..core.masks import connected_parts
from ..core.stepping import within
from ..job.ground_settings import FitSettings
from .tip_surface import closing_steps, tip_surface_steps
from .uncut_height import FreeBall

Place = tuple[float, float, float]

MEASURED = (30, 150)
"""Most cells whose uncut height is measured off the grid: an even selection stands for all, a larger one if in doubt."""
CLEAR = 3.0
"""An area this many times the tolerated one, or as many times smaller, leaves no doubt."""


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


def fit_of(left: FloatArray, surface: FloatArray, planned: Mask, grid: Grid, settings: FitSettings) -> Fit:
    """Judge a closing against the surface on planned ground by the grid alone, all maps (rows, columns)."""
    return _judged(_over(left, surface, planned), surface, grid, settings)


def fit_steps(left: FloatArray, ground: FitGround, radius: float, settings: FitSettings) -> Generator[float, None, Fit]:
    """Judge a closing on planned ground; where it says that the ball does not fit, measure off the grid. Yields shares done.

    left: closing (rows, columns) by a ball of this radius.
    """
    over = _over(left, ground.surface, ground.planned)
    fit = _judged(over, ground.surface, ground.grid, settings)
    if fit.fits:
        return fit
    row, column = np.nonzero(over > settings.uncut_height)
    ball = FreeBall(ground.surface, ground.grid, radius)
    exact = over.copy()
    for trial, measured in enumerate(MEASURED):
        chosen = np.unique(np.linspace(0, len(row) - 1, min(len(row), measured)).astype(np.intp))
        places = _places(ground, row[chosen], column[chosen])
        axes = [_axes(s, ground.grid, row[chosen], column[chosen], radius) for s in (left, ground.surface)]
        steps = ball.uncut_heights_steps(places, np.stack(axes, axis=1), settings.uncut_height)
        heights = yield from within(steps, trial / len(MEASURED), (trial + 1) / len(MEASURED))
        # Every cell takes the height of the measured one before it; with none left out, its own.
        source = np.searchsorted(chosen, np.arange(len(row)), side="right") - 1
        exact[row, column] = np.minimum(over[row, column], heights[source])
        fit = _judged(exact, ground.surface, ground.grid, settings)
        if len(chosen) == len(row) or not 1 / CLEAR < fit.area / max(settings.uncut_area, 1e-9) < CLEAR:
            break
    return fit


def closing_of_steps(surface: FloatArray, grid: Grid, radius: float) -> Generator[float, None, FloatArray]:
    """Rolling-ball closing of a surface (rows, columns) by a ball, on the same grid; yields shares done."""
    rim = int(np.ceil(radius / grid.cell)) + 1
    wide = np.pad(surface, rim, constant_values=-np.inf).astype(np.float32)
    tip = yield from within(tip_surface_steps(wide, radius, grid.cell), 0.0, 0.5)
    left = yield from within(closing_steps(tip, radius, grid.cell, wide > -np.inf), 0.5, 1.0)
    inner = left[rim:-rim, rim:-rim]
    return np.where(surface > -np.inf, inner, -np.inf)


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
        left = yield from closing_of_steps(ground.surface, ground.grid, radius)
        return (yield from fit_steps(left, ground, radius, settings))

    cell = ground_of(max(low, 1.0)).grid.cell
    while high is None or high - low > max(0.005 * high, 0.2 * cell):
        if high is None:
            if low >= greatest:
                return LargestRadius(low, True, None)
            radius = min(max(1.5 * low, 1.0), greatest)
        else:
            radius = (low + high) / 2
            if radius < cell:
                break
        fit = yield from within(trial(radius), 0.9 * trials / (trials + 4), 0.9 * (trials + 1) / (trials + 5))
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


NEAR_PLACE = 3.0
"""mm; cells within this of a hollow's deepest place are measured for its radius."""
SAMPLED = 24
"""How many of them."""
LEAST_LEFT = 0.01
"""mm; uncut height that is taken for sure to be no facet: see `hollow_radius_steps`."""


def hollow_radius_steps(ground: FitGround, place: Place, too_large: float) -> Generator[float, None, float | None]:
    """The largest ball that leaves nothing near a place where one of the radius `too_large` leaves something.

    In a smooth hollow of radius r a ball of radius R > r leaves a height that grows as (R - r)^2 (closed form for a paraboloid:
    (R - r)^2 / (2 r)), so the radii at which it reaches e and 4 e, R1 and R2, give r = 2 R1 - R2. e is small, but above
    what facets of a mesh make. In a crease the height grows with R, both radii are small, and so is the result.
    None when no planned ground lies there. Yields shares done.
    """
    row, column = _near_cells(ground, place)
    if len(row) == 0:
        return None
    places = _places(ground, row, column)
    # Along the normal, so that facets of steep ground do not stand out.
    upright = 1 / np.sqrt(1 + (_slopes(ground.surface, ground.grid, row, column) ** 2).sum(axis=1))

    def greatest_steps(radius: float) -> Generator[float, None, float]:
        axes = _axes(ground.surface, ground.grid, row, column, radius)[:, None]
        ball = FreeBall(ground.surface, ground.grid, radius)
        heights = yield from ball.uncut_heights_steps(places, axes, 0.5 * LEAST_LEFT, last_step=0.005)
        return float((heights * upright).max())

    radii = []
    for number, height in enumerate((LEAST_LEFT, 4 * LEAST_LEFT)):
        low, high = 0.0, 1.5 * too_large
        while high - low > 0.001 * high and high > 0.1 * ground.grid.cell:
            radius = (low + high) / 2
            left = yield from within(greatest_steps(radius), 0.5 * number, 0.5 * number + 0.5)
            low, high = (radius, high) if left <= height else (low, radius)
        radii.append((low + high) / 2)
    return max(2 * radii[0] - radii[1], 0.0)


def _near_cells(ground: FitGround, place: Place) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Planned cells near a place, the nearest one first and then an even selection."""
    grid = ground.grid
    centre = np.array([place[:2]])
    middle_row, middle_column = (int(v[0]) for v in grid.nearest(centre))
    reach = int(NEAR_PLACE / grid.cell)
    rows = slice(max(middle_row - reach, 0), middle_row + reach + 1)
    columns = slice(max(middle_column - reach, 0), middle_column + reach + 1)
    row, column = np.nonzero(ground.planned[rows, columns])
    row, column = row + rows.start, column + columns.start
    away = np.hypot(row - middle_row, column - middle_column)
    order = np.argsort(away, kind="stable")
    order = order[away[order] <= reach]
    if len(order) == 0:
        return row[:0], column[:0]
    some = np.unique(np.linspace(0, len(order) - 1, min(SAMPLED, len(order))).astype(np.intp))
    return row[order[some]], column[order[some]]


def _over(left: FloatArray, surface: FloatArray, planned: Mask) -> FloatArray:
    """Uncut height on planned ground, 0 elsewhere."""
    return np.where(planned, np.maximum(left - np.where(planned, surface, 0), 0), 0)


def _judged(over: FloatArray, surface: FloatArray, grid: Grid, settings: FitSettings) -> Fit:
    """A verdict from uncut heights (rows, columns)."""
    tall = over > settings.uncut_height
    area = float(tall.sum() * grid.cell_area)
    worst = int(over.argmax())
    hollow = None
    if area > 0:
        parts = connected_parts(tall)
        largest = int(np.bincount(parts.ravel())[1:].argmax()) + 1
        hollow = _place(grid, surface, int(np.where(parts == largest, over, -1).argmax()))
    place = _place(grid, surface, worst) if over.ravel()[worst] > 0 else None
    return Fit(area <= settings.uncut_area, area, float(over.ravel()[worst]), place, hollow)


def _place(grid: Grid, surface: FloatArray, number: int) -> Place:
    row, column = divmod(number, grid.columns)
    return grid.left + grid.cell * column, grid.front + grid.cell * row, float(surface[row, column])


def _places(ground: FitGround, row: NDArray[np.intp], column: NDArray[np.intp]) -> FloatArray:
    """Points (n, 3) of cells."""
    return np.column_stack([ground.grid.middles(row, column), ground.surface[row, column]])


def _slopes(surface: FloatArray, grid: Grid, row: NDArray[np.intp], column: NDArray[np.intp]) -> FloatArray:
    """Slopes along x and y (n, 2) of a surface at cells, over half a millimetre to each side."""
    reach = max(1, round(0.5 / grid.cell))
    here = surface[row, column].astype(np.float64)

    def beside(dr: int, dc: int) -> FloatArray:
        value = surface[np.clip(row + dr, 0, grid.rows - 1), np.clip(column + dc, 0, grid.columns - 1)]
        return np.where(value > -np.inf, value.astype(np.float64), here)

    run = 2 * reach * grid.cell
    return np.stack([beside(0, reach) - beside(0, -reach), beside(reach, 0) - beside(-reach, 0)], axis=1) / run


def _axes(surface: FloatArray, grid: Grid, row: NDArray[np.intp], column: NDArray[np.intp], radius: float) -> FloatArray:
    """Where the axis (n, 2) of a ball stands that touches a surface at cells."""
    slope = _slopes(surface, grid, row, column)
    size = np.sqrt(1 + (slope**2).sum(axis=1))
    return grid.middles(row, column) - radius * slope / size[:, None]
