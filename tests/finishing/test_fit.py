"""Which ball fits: closings against closed forms, the largest radius, and the radius of the hollow that stops it."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path as FilePath

import numpy as np
import pytest
from scipy import optimize
from shapes import graph

from addon.finishing.ball.fit import Fit, FitGround, closing_of_steps, fit_steps, largest_radius_steps
from addon.finishing.core.grid import Grid
from addon.finishing.core.stepping import finished
from addon.finishing.job.ground_settings import FitSettings
from addon.finishing.surface.height_map import height_map

VALUES = json.loads((FilePath(__file__).parents[1] / "reference_values.json").read_text())
LARGEST = {str(case.get("what")) + str(case.get("L", "")): case for case in VALUES["largest_radius_that_fits"]["cases"]}
STRICT = FitSettings(uncut_height=0.05, uncut_area=1.0)

Heights = Callable[[np.ndarray, np.ndarray], np.ndarray]


def paraboloid(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    return (x * x + y * y) / 24


def bowl(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    r = np.minimum(np.hypot(x, y), 17.3)
    return 20 - np.sqrt(400 - r * r)


def cosine(length: float) -> Heights:
    return lambda x, y: -2 * np.cos(2 * np.pi * x / length) + 0 * y


def catenoid(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    neck = 8 * np.cosh(x / 8)
    return np.where(np.abs(y) < 0.98 * neck, -np.sqrt(np.maximum(neck * neck - y * y, 0)), -0.199 * neck)


def ground_of(heights: Heights, planned: Callable[[np.ndarray, np.ndarray], np.ndarray], cell: float, facets: float, half: float) -> FitGround:
    """A mesh of the surface read back onto a grid that does not line up with it."""
    x = np.arange(-half - 2, half + 2.01, facets)
    triangles = graph(heights, x, x)
    grid = Grid.over(np.array([-half + 0.13, -half + 0.29]), np.array([half, half]), cell)
    surface = height_map(triangles, grid).astype(np.float32)
    return FitGround(grid, surface, planned(*np.meshgrid(grid.x(), grid.y())))


# Planned ground, radius that the hollow has, and how large the test's ground is.
FORMS: dict[str, tuple[Heights, Callable[[np.ndarray, np.ndarray], np.ndarray], float, float]] = {
    "paraboloid": (paraboloid, lambda x, y: np.hypot(x, y) < 12, LARGEST["paraboloid z=r^2/(2p)"]["R_max"], 22.0),
    "bowl": (bowl, lambda x, y: np.hypot(x, y) < 16.5, 20.0, 24.0),  # R_max = rho
    "cosine 20": (cosine(20), lambda x, y: (np.abs(x) < 12) & (np.abs(y) < 8), LARGEST["z=A*cos(2*pi*x/L)20"]["R_max"], 22.0),
    "cosine 40": (cosine(40), lambda x, y: (np.abs(x) < 14) & (np.abs(y) < 8), LARGEST["z=A*cos(2*pi*x/L)40"]["R_max"], 30.0),
    "catenoid": (catenoid, lambda x, y: (np.abs(x) < 8) & (np.abs(y) < 6.4), 8.0, 16.0),  # R_max = c
}


@pytest.mark.parametrize("name, cell", [(name, cell) for name in FORMS for cell in (0.5, 0.25) if cell == 0.5 or FORMS[name][3] <= 22])
def test_the_limiting_hollow_has_its_closed_form_radius(name: str, cell: float) -> None:
    # tests/reference_values.json largest_radius_that_fits (closed form): within 1 % or one cell.
    heights, planned, radius, half = FORMS[name]
    ground = ground_of(heights, planned, cell, 0.4, half)
    largest = finished(largest_radius_steps(lambda r: ground, STRICT, 0.0, None, 40.0))
    assert largest.hollow_radius == pytest.approx(radius, abs=max(0.01 * radius, 0.5 * cell))
    # A ball that is let leave 0.05 mm on 1 mm2 is larger than the hollow, never smaller than it by more than the halving's step.
    assert largest.radius > radius - max(0.005 * radius, 0.2 * cell) - 0.002 * radius
    x, y, z = largest.place
    assert abs(heights(np.array(x), np.array(y)) - z) < 0.05
    if name == "paraboloid":
        assert np.hypot(x, y) < 2.5
    elif name.startswith("cosine"):
        assert abs(x - round(x / float(name[7:])) * float(name[7:])) < 2.5


def test_tolerated_radius_of_a_paraboloid() -> None:
    # Closed form: over z = r^2/(2p) a ball of R > p touches at r0^2 = R^2 - p^2 and passes the place r at the height
    # p + r0^2/(2p) - sqrt(R^2 - r^2) - r^2/(2p); the tolerated radius leaves 0.05 mm on just 20 mm2.
    p, settings = 12.0, FitSettings(uncut_height=0.05, uncut_area=20.0)

    def area(radius: float) -> float:
        r = np.linspace(0, 8, 80_001)
        room = p + (radius**2 - p * p) / (2 * p) - np.sqrt(radius**2 - r * r) - r * r / (2 * p)
        tall = (room > settings.uncut_height) & (r < np.sqrt(radius**2 - p * p))
        return float(np.pi * r[tall].max(initial=0.0) ** 2)

    expected = optimize.brentq(lambda radius: area(radius) - settings.uncut_area, 12.5, 16)
    ground = ground_of(paraboloid, lambda x, y: np.hypot(x, y) < 12, 0.25, 0.4, 22.0)
    largest = finished(largest_radius_steps(lambda r: ground, settings, 0.0, None, 40.0))
    assert largest.radius == pytest.approx(expected, rel=0.015)


@pytest.mark.parametrize("case", VALUES["left_at_the_root_of_a_V"]["cases"], ids=str)
def test_height_left_in_a_crease(case: dict) -> None:
    # tests/reference_values.json left_at_the_root_of_a_V (closed form): R (1/sin g - 1).
    assert case["R"] == 3
    half_angle, height = case["g_deg"], case["left"]
    steep = 1 / np.tan(np.radians(half_angle))
    grid = Grid.over(np.array([-12, -4]), np.array([12, 4]), 0.25)
    x, _ = np.meshgrid(grid.x(), grid.y())
    surface = (steep * np.abs(x)).astype(np.float32)
    planned = np.abs(x) < 8
    closing = finished(closing_of_steps(surface, grid, 3.0))
    # The axis stands over the root, which is a cell, so measuring off the grid changes nothing.
    fit = finished(fit_steps(closing, FitGround(grid, surface, planned), 3.0, FitSettings(0.05, 1.0)))
    assert not fit.fits and fit.height == pytest.approx(height, abs=0.02)
    assert abs(fit.place[0]) < 1e-6 and abs(fit.hollow[0]) < 1e-6
    assert finished(fit_steps(closing, FitGround(grid, surface, planned), 3.0, FitSettings(0.05, 1e6))).fits


def test_ground_that_does_not_fit_is_measured_by_area_and_height() -> None:
    # By construction: two square pits of known area in a level floor, closed by a ball so large that it hardly dips into them: at most
    # R - sqrt(R^2 - 2^2) = 0.1 mm below the floor over the wider one, and less over the other.
    radius = 20.0
    grid = Grid.over(np.array([0, 0]), np.array([20, 20]), 0.5)
    surface = np.zeros(grid.shape, np.float32)
    surface[4:8, 4:8] = -0.4  # 16 cells, 4 mm2
    surface[20:26, 20:22] = -0.7  # 12 cells, 3 mm2, deeper
    closing = finished(closing_of_steps(surface, grid, radius))
    everywhere = np.ones(grid.shape, bool)

    def verdict(height: float, area: float, planned: np.ndarray = everywhere) -> Fit:
        return finished(fit_steps(closing, FitGround(grid, surface, planned), radius, FitSettings(height, area)))

    assert verdict(0.05, 7.0).fits and not verdict(0.05, 6.9).fits
    assert verdict(0.45, 3.0).fits and verdict(0.45, 3.0).area == pytest.approx(3.0)
    fit = verdict(0.05, 1.0)
    assert fit.area == pytest.approx(7.0)
    assert 0.7 - 0.1 < fit.height <= 0.7 and fit.place[:2] == pytest.approx((10.25, 11.25), abs=1.5)
    assert fit.hollow[:2] == pytest.approx((2.75, 2.75), abs=1.0)  # the larger pit, not the deeper one
    beside = everywhere.copy()
    beside[:, :15] = False
    assert verdict(0.05, 3.5, beside).fits and not verdict(0.05, 2.9, beside).fits  # only planned ground counts
    nothing = verdict(0.05, 0.0, np.zeros(grid.shape, bool))
    assert nothing.fits and nothing.height == 0 and nothing.place is None


def test_a_level_floor_takes_any_ball() -> None:
    grid = Grid.over(np.array([0, 0]), np.array([20, 16]), 0.5)
    flat = FitGround(grid, np.full(grid.shape, 3.0, np.float32), np.ones(grid.shape, bool))
    largest = finished(largest_radius_steps(lambda r: flat, FitSettings(), 3.0, None, 20.0))
    assert largest.is_bound and largest.radius == 20.0 and largest.place is None and largest.hollow_radius is None
