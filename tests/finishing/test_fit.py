"""Which ball fits: closings against closed forms, the largest radius, and the radius of the hollow that stops it."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path as FilePath

import numpy as np
import pytest
from scipy import ndimage, optimize
from shapes import graph

from addon.finishing.ball.fit import Fit, FitGround, closing_of_steps, fit_of, fit_steps, largest_radius_steps
from addon.finishing.ball.uncut_height import FreeBall
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


@pytest.mark.parametrize("cell", [0.5, 0.25])
@pytest.mark.parametrize("name", list(FORMS))
def test_the_limiting_hollow_has_its_closed_form_radius(name: str, cell: float) -> None:
    # values.json largest_radius_that_fits (closed form): within 1 % or one cell.
    heights, planned, radius, half = FORMS[name]
    if cell == 0.25 and half > 22:
        pytest.skip("long at this cell, and no other case than at 0.5 mm")
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


@pytest.mark.parametrize("half_angle", [case["g_deg"] for case in VALUES["left_at_the_root_of_a_V"]["cases"]])
def test_height_left_in_a_crease(half_angle: float) -> None:
    # values.json left_at_the_root_of_a_V (closed form): R (1/sin g - 1).
    left_over = next(c["left"] for c in VALUES["left_at_the_root_of_a_V"]["cases"] if c["g_deg"] == half_angle)
    steep = 1 / np.tan(np.radians(half_angle))
    grid = Grid.over(np.array([-12, -4]), np.array([12, 4]), 0.25)
    x, _ = np.meshgrid(grid.x(), grid.y())
    surface = (steep * np.abs(x)).astype(np.float32)
    planned = np.abs(x) < 8
    left = finished(closing_of_steps(surface, grid, 3.0))
    fit = fit_of(left, surface, planned, grid, FitSettings(0.05, 1.0))
    assert not fit.fits and fit.height == pytest.approx(left_over, abs=0.02)
    assert abs(fit.place[0]) < 1e-6 and abs(fit.hollow[0]) < 1e-6
    # Off the grid's cells nothing changes: the axis stands over the root, which is a cell.
    measured = finished(fit_steps(left, FitGround(grid, surface, planned), 3.0, FitSettings(0.05, 1e9)))
    assert measured.fits


def test_crease_between_cells_is_measured_exactly() -> None:
    # Closed form as above with the root off the cells: the grid alone reads too high by up to the slope times half a cell.
    steep = 1 / np.tan(np.radians(60))
    grid = Grid.over(np.array([-12 + 0.1, -4]), np.array([12, 4]), 0.25)
    x, y = np.meshgrid(grid.x(), grid.y())
    surface = (steep * np.abs(x)).astype(np.float32)
    row, column = np.nonzero(np.abs(x) < 0.13)
    places = np.stack([x[row, column], y[row, column], surface[row, column]], axis=1)
    ball = FreeBall(surface, grid, 3.0)
    found = finished(ball.uncut_heights_steps(places, places[:, None, :2], 0.0, last_step=0.002))
    centre = 3.0 / np.sin(np.radians(60))
    expected = centre - np.sqrt(9 - places[:, 0] ** 2) - places[:, 2]
    inside = np.abs(places[:, 1]) < 2
    np.testing.assert_allclose(found[inside], expected[inside], atol=0.004)  # cells beside the contacts: d^2/(8R) and slope


def test_free_ball_equals_scipy_on_cells() -> None:
    # Reference library: scipy.ndimage.grey_dilation with the ball as structure.
    rng = np.random.default_rng(5)
    cell, radius = 0.5, 4.0
    surface = ndimage.gaussian_filter(rng.normal(0, 3, (40, 50)), 1.5).astype(np.float32)
    reach = int(radius / cell)
    square = (np.arange(-reach, reach + 1)[:, None] ** 2 + np.arange(-reach, reach + 1) ** 2) * cell**2
    disc = square <= radius**2
    cap = np.where(disc, np.sqrt(np.maximum(radius**2 - square, 0)) - radius, 0)
    expected = ndimage.grey_dilation(surface.astype(float), footprint=disc, structure=cap, mode="constant", cval=-np.inf)
    grid = Grid(0.0, 0.0, cell, *surface.shape)
    axes = np.stack(np.meshgrid(grid.x(), grid.y()), axis=-1).reshape(-1, 2)
    tips = finished(FreeBall(surface, grid, radius).tip_heights_steps(axes)).reshape(surface.shape)
    np.testing.assert_allclose(tips, expected, atol=2e-6)
    assert finished(FreeBall(surface, grid, radius).tip_heights_steps(np.array([[500.0, 0.0]])))[0] == -np.inf


def test_ground_that_fits_is_left_alone_and_tolerances_count() -> None:
    # By construction: two square pits of known area under a level closing.
    grid = Grid.over(np.array([0, 0]), np.array([20, 20]), 0.5)
    left = np.zeros(grid.shape)
    surface = left.copy()
    surface[4:8, 4:8] = -0.1  # 16 cells, 4 mm2
    surface[20:26, 20:22] = -0.3  # 12 cells, 3 mm2, deeper
    everywhere = np.ones(grid.shape, bool)

    def verdict(height: float, area: float, planned: np.ndarray = everywhere) -> Fit:
        return fit_of(left, surface, planned, grid, FitSettings(height, area))

    assert verdict(0.05, 7.0).fits and not verdict(0.05, 6.9).fits
    assert verdict(0.2, 3.0).fits and verdict(0.2, 3.0).area == pytest.approx(3.0)
    fit = verdict(0.05, 1.0)
    assert fit.height == pytest.approx(0.3) and fit.place[:2] == pytest.approx((10.0, 10.0), abs=2)
    assert fit.hollow[:2] == pytest.approx((2.75, 2.75), abs=1.0)  # the larger pit, not the deeper one
    beside = everywhere.copy()
    beside[:, :15] = False
    assert verdict(0.05, 3.5, beside).fits  # only planned ground counts
    nothing = verdict(0.05, 0.0, np.zeros(grid.shape, bool))
    assert nothing.fits and nothing.height == 0 and nothing.place is None


def test_a_level_floor_takes_any_ball() -> None:
    grid = Grid.over(np.array([0, 0]), np.array([20, 16]), 0.5)
    flat = FitGround(grid, np.full(grid.shape, 3.0, np.float32), np.ones(grid.shape, bool))
    largest = finished(largest_radius_steps(lambda r: flat, FitSettings(), 3.0, None, 20.0))
    assert largest.is_bound and largest.radius == 20.0 and largest.place is None and largest.hollow_radius is None
