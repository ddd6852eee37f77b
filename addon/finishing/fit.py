"""Which ball fits the planned ground: told by what its rolling-ball closing leaves there."""

from __future__ import annotations

from collections.abc import Callable, Generator
from dataclasses import dataclass

import numpy as np

from .cells import Mask
from .grid import FloatArray, Grid
from .request import FitSettings
from .tip import closing_steps, tip_surface_steps

Place = tuple[float, float, float]


@dataclass(frozen=True)
class Fit:
    """How one ball fits. fits: whether the ground with more uncut height than tolerated stays within the tolerated area.

    area: mm2 of plan that lie above the tolerated height; height: greatest uncut height in mm, and place where it is.
    """

    fits: bool
    area: float
    height: float
    place: Place | None


@dataclass(frozen=True)
class LargestRadius:
    """The largest ball that fits the planned ground within the tolerances.

    radius in mm; is_bound: True when even the greatest radius tried fits, so that the true one is larger. place: the hollow
    that stops a larger ball, None when nothing does.
    """

    radius: float
    is_bound: bool
    place: Place | None


def fit_of(left: FloatArray, surface: FloatArray, planned: Mask, grid: Grid, settings: FitSettings) -> Fit:
    """Judge a closing against the surface on planned ground, all (rows, columns)."""
    uncut = np.where(planned, left - np.where(planned, surface, 0), 0)
    area = float((uncut > settings.uncut_height).sum() * grid.cell_area)
    worst = int(uncut.argmax())
    height = float(uncut.ravel()[worst])
    row, column = divmod(worst, grid.columns)
    place = None
    if height > 0:
        place = (grid.left + grid.cell * column, grid.front + grid.cell * row, float(surface[row, column]))
    return Fit(area <= settings.uncut_area, area, max(height, 0.0), place)


def closing_of_steps(surface: FloatArray, grid: Grid, radius: float) -> Generator[float, None, FloatArray]:
    """Rolling-ball closing of a surface (rows, columns) by a ball, on the same grid; yields shares done."""
    rim = int(np.ceil(radius / grid.cell)) + 1
    wide = np.pad(surface, rim, constant_values=-np.inf).astype(np.float32)
    tip = yield from tip_surface_steps(wide, radius, grid.cell)
    left = yield from closing_steps(tip, radius, grid.cell)
    inner = left[rim:-rim, rim:-rim]
    return np.where(surface > -np.inf, inner, -np.inf)


def largest_radius_steps(
    ground_of: Callable[[float], tuple[FloatArray, Mask]],
    grid: Grid,
    settings: FitSettings,
    fits_below: float,
    fails_above: float | None,
    greatest: float,
) -> Generator[float, None, LargestRadius]:
    """Narrow down the largest radius that fits by halving the range between one that fits and one that does not.

    ground_of: planned surface and mask for a radius (openings narrower than the cutter are bridged, so both depend on it).
    fits_below: a radius known to fit, 0 for none. fails_above: one known not to fit, None for none known. greatest: no
    larger one is tried. The result is good to 0.5 % or a fifth of a cell, whichever is larger.
    """
    low, high = fits_below, fails_above
    place: Place | None = None
    trials = 0
    while high is None or high - low > max(0.005 * high, 0.2 * grid.cell):
        if high is None:
            if low >= greatest:
                return LargestRadius(low, True, None)
            radius = min(max(1.5 * low, 1.0), greatest)
        else:
            radius = (low + high) / 2
            if radius < grid.cell:
                return LargestRadius(low, False, place)
        surface, planned = ground_of(radius)
        left = yield from closing_of_steps(surface, grid, radius)
        fit = fit_of(left, surface, planned, grid, settings)
        trials += 1
        if fit.fits:
            low = radius
        else:
            high, place = radius, fit.place
        yield min(0.95, trials / 10)
    return LargestRadius(low, False, place)
