"""Slope and curvature maps against closed forms, a direct least-squares fit, libigl, and what edges and noise may do."""

import json
import math
from pathlib import Path

import numpy as np
import pytest

from addon.finishing.core.errors import BadRequest
from addon.finishing.core.grid import Grid
from addon.finishing.surface import curvature_fit, curvature_maps
from addon.finishing.surface.height_map import height_map

VALUES = json.loads((Path(__file__).parents[1] / "reference_values.json").read_text())
CURVATURE = {case["what"]: case for case in VALUES["curvature"]["cases"]}


def square_grid(half: float, cell: float = 0.25) -> Grid:
    """A grid over -half..half in x and y with a cell centre at 0, 0."""
    count = 2 * round(half / cell) + 1
    return Grid(-half, -half, cell, count, count)


def plan(grid: Grid) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """x, y and distance from the origin of all cells."""
    x, y = np.meshgrid(grid.x(), grid.y())
    return x, y, np.hypot(x, y)


def at(grid: Grid, values: np.ndarray, x: float, y: float) -> float:
    row, column = grid.nearest(np.array([[x, y]]))
    return float(values[row[0], column[0]])


def test_ellipsoid_at_its_top() -> None:
    # tests/reference_values.json "curvature" (closed form): k = c/a^2 and c/b^2.
    least, greatest = CURVATURE["ellipsoid 40,30,20 at the top"]["k"]
    grid = square_grid(12)
    x, y, _ = plan(grid)
    found = curvature_maps.surface_maps(20 * np.sqrt(1 - (x / 40) ** 2 - (y / 30) ** 2), grid, smoothing=0.5)
    assert at(grid, found.curvature_least, 0, 0) == pytest.approx(least, rel=2e-3)
    assert at(grid, found.curvature_greatest, 0, 0) == pytest.approx(greatest, rel=2e-3)
    assert at(grid, found.slope_degrees, 0, 0) == pytest.approx(0, abs=1e-3)


def test_saddle() -> None:
    # tests/reference_values.json "curvature" (closed form). Its H counts hollows positive, ours crowns: the sign turns.
    middle, aside = CURVATURE["z=xy/50 at (0,0)"], CURVATURE["z=xy/50 at (30,40)"]
    grid = square_grid(55)
    x, y, _ = plan(grid)
    found = curvature_maps.surface_maps(x * y / 50, grid)
    gauss = found.curvature_least * found.curvature_greatest
    mean = (found.curvature_least + found.curvature_greatest) / 2
    assert at(grid, gauss, 0, 0) == pytest.approx(middle["K"], rel=1e-3)
    assert at(grid, gauss, 30, 40) == pytest.approx(aside["K"], rel=2e-3)
    assert at(grid, mean, 30, 40) == pytest.approx(-aside["H"], rel=1e-3)


def test_paraboloid_as_hollow_and_as_crown() -> None:
    # tests/reference_values.json "curvature" (closed form): z = r^2/(2p).
    case = CURVATURE["paraboloid p=12 at r=9"]
    around, outwards = case["k_tangential"], case["k_radial"]
    grid = square_grid(18)
    _, _, r = plan(grid)
    hollow = curvature_maps.surface_maps(np.where(r < 17.5, r**2 / 24, -np.inf), grid)
    assert at(grid, hollow.curvature_least, 9, 0) == pytest.approx(-around, rel=1e-3)
    assert at(grid, hollow.curvature_greatest, 9, 0) == pytest.approx(-outwards, rel=1e-3)
    assert at(grid, hollow.hollow_radius(), 9, 0) == pytest.approx(1 / around, rel=1e-3)
    assert at(grid, hollow.strongest(), 9, 0) == pytest.approx(-around, rel=1e-3)
    assert at(grid, hollow.slope_degrees, 9, 0) == pytest.approx(math.degrees(math.atan(9 / 12)), abs=0.01)
    crown = curvature_maps.surface_maps(np.where(r < 17.5, -(r**2) / 24, -np.inf), grid)
    assert at(grid, crown.curvature_greatest, 9, 0) == pytest.approx(around, rel=1e-3)
    assert at(grid, crown.strongest(), 9, 0) == pytest.approx(around, rel=1e-3)
    assert at(grid, crown.hollow_radius(), 9, 0) == math.inf


@pytest.mark.parametrize("sign", [1, -1], ids=["ring", "groove"])
def test_torus(sign: int) -> None:
    # tests/reference_values.json "curvature", torus 3 + 2 cos u (published worked example): k = 1/r and cos u/(R + r cos u), here ten
    # times as large; the groove is the same torus pressed into the ground.
    grid = square_grid(46)
    _, _, rho = plan(grid)
    inside = np.abs(rho - 30) < 16
    height = np.full(grid.shape, -np.inf)
    height[inside] = sign * np.sqrt(20**2 - (rho[inside] - 30) ** 2)
    found = curvature_maps.surface_maps(height, grid, smoothing=0.5)
    for distance in (20.0, 30.0, 40.0):
        expected = sorted([sign / 20, sign * (distance - 30) / 20 / distance])
        assert at(grid, found.curvature_least, distance, 0) == pytest.approx(expected[0], rel=5e-3, abs=1e-4)
        assert at(grid, found.curvature_greatest, distance, 0) == pytest.approx(expected[1], rel=5e-3, abs=1e-4)


def test_catenoid_is_a_minimal_surface() -> None:
    # Catenoid r = c cosh(z/c): H = 0, K = -1/(c^2 cosh^4(z/c)) (closed form).
    grid = square_grid(40)
    c = 15
    _, _, r = plan(grid)
    inside = (r > 18) & (r < 39)
    height = np.full(grid.shape, -np.inf)
    height[inside] = c * np.arccosh(r[inside] / c)
    found = curvature_maps.surface_maps(height, grid, smoothing=0.5)
    for distance in (24.0, 30.0, 35.0):
        # cosh(z/c) = r/c.
        k = c / distance**2
        assert at(grid, found.curvature_least, distance, 0) == pytest.approx(-k, rel=5e-3)
        assert at(grid, found.curvature_greatest, distance, 0) == pytest.approx(k, rel=5e-3)


def test_agrees_with_a_direct_weighted_fit_on_real_terrain() -> None:
    # numpy.linalg.lstsq as an independent solver, on the terrain heights that come with matplotlib.
    cbook = pytest.importorskip("matplotlib.cbook")
    terrain = cbook.get_sample_data("jacksboro_fault_dem.npz")["elevation"].astype(float)[40:160, 60:200] / 100
    grid = Grid(0, 0, 0.5, *terrain.shape)
    kernels = curvature_fit.fit_kernels(1.0 / grid.cell)
    n = kernels.half_width
    found = curvature_maps.surface_maps(terrain, grid, smoothing=1.0)
    v, u = (a.ravel() * grid.cell for a in np.meshgrid(np.arange(-n, n + 1), np.arange(-n, n + 1), indexing="ij"))
    weight = np.sqrt(np.exp(-0.5 * (u**2 + v**2)))
    basis = np.stack([np.ones_like(u), u, v, u * u / 2, u * v, v * v / 2], axis=1) * weight[:, None]
    random = np.random.default_rng(5)
    compared = 0
    for row, column in random.integers(n, np.array(terrain.shape) - n, size=(60, 2)):
        window = terrain[row - n : row + n + 1, column - n : column + n + 1]
        if max(np.abs(np.diff(window, axis=axis)).max() for axis in (0, 1)) > 1.0 * grid.cell:
            continue  # an edge by the rules of the map: another fit
        _, p, q, xx, xy, yy = np.linalg.lstsq(basis, window.ravel() * weight, rcond=None)[0]
        first = np.array([[1 + p * p, p * q], [p * q, 1 + q * q]])
        second = -np.array([[xx, xy], [xy, yy]]) / math.sqrt(1 + p * p + q * q)
        low, high = sorted(np.linalg.eigvals(np.linalg.solve(first, second)).real)
        assert found.slope_degrees[row, column] == pytest.approx(math.degrees(math.atan(math.hypot(p, q))), abs=2e-3)
        assert found.curvature_least[row, column] == pytest.approx(low, abs=5e-5)
        assert found.curvature_greatest[row, column] == pytest.approx(high, abs=5e-5)
        compared += 1
    assert compared > 20


def test_agrees_with_libigl_on_a_triangulated_body() -> None:
    # libigl principal_curvature (quadric fitting on the mesh) as the reference library; outward normals, convex > 0.
    igl = pytest.importorskip("igl")
    grid = square_grid(30, 0.5)
    x, y, _ = plan(grid)
    height = 6 * np.cos(x / 9) * np.cos(y / 12) + 0.004 * x * y - 0.006 * x * x
    vertices = np.stack([x, y, height], axis=-1).reshape(-1, 3)
    index = np.arange(x.size).reshape(x.shape)
    a, b, c, d = index[:-1, :-1], index[:-1, 1:], index[1:, 1:], index[1:, :-1]
    faces = np.concatenate([np.stack(f, axis=-1).reshape(-1, 3) for f in ((a, b, c), (a, c, d))])
    _, _, greatest, least, _ = igl.principal_curvature(vertices, faces, radius=5, useKring=True)
    found = curvature_maps.surface_maps(height, grid, smoothing=0.75)
    inside = np.s_[12:-12, 12:-12]
    for ours, theirs in ((found.curvature_least, least), (found.curvature_greatest, greatest)):
        difference = np.abs(ours - theirs.reshape(x.shape))[inside]
        assert np.percentile(difference, 99) < 2e-3
        assert np.median(difference) < 5e-4
        assert np.corrcoef(ours[inside].ravel(), theirs.reshape(x.shape)[inside].ravel())[0, 1] > 0.999


def test_triangulated_sphere_through_the_height_grid() -> None:
    # Sphere of radius 40 in 82 k triangles (trimesh icosphere): k = 1/40 both ways, slope asin(r/R) (closed form).
    creation = pytest.importorskip("trimesh").creation
    grid = square_grid(40)
    _, _, r = plan(grid)
    heights = height_map(creation.icosphere(subdivisions=6, radius=40).triangles, grid)
    found = curvature_maps.surface_maps(heights, grid)
    inside = r < 34
    assert np.abs(found.curvature_least[inside] * 40 - 1).max() < 0.01
    assert np.abs(found.curvature_greatest[inside] * 40 - 1).max() < 0.03
    # Smoothing over 1 mm flattens the steep flank a little: 0.35 degrees at 58.
    assert np.abs(found.slope_degrees - np.degrees(np.arcsin(np.minimum(r / 40, 1))))[inside].max() < 0.5


def test_a_dome_keeps_its_curvature_up_to_the_outline() -> None:
    # Sphere of radius 50: both curvatures 1/50 and slope asin(r/R) everywhere (closed form).
    grid = square_grid(32)
    _, _, r = plan(grid)
    inside = r < 30
    height = np.full(grid.shape, -np.inf)
    height[inside] = np.sqrt(50**2 - r[inside] ** 2)
    found = curvature_maps.surface_maps(height, grid)
    assert np.array_equal(np.isnan(found.slope_degrees), ~inside)
    slope = np.degrees(np.arcsin(r[inside] / 50))
    assert np.abs(found.slope_degrees[inside] - slope).max() < 0.15
    for curvature in (found.curvature_least, found.curvature_greatest):
        assert np.abs(curvature[r < 20] - 0.02).max() < 2e-4
        # A one-sided fit over 3 mm sees the sphere bend away: an eighth at the very outline.
        assert np.abs(curvature[inside] - 0.02).max() < 2.5e-3


def pocketed(grid: Grid, depth: float) -> tuple[np.ndarray, np.ndarray]:
    """A dome of radius 60 with a turned rectangular pocket of this depth, and the cells inside the pocket."""
    x, y, _ = plan(grid)
    pocket = (np.abs(x + 0.4 * y) < 8) & (np.abs(y - 0.4 * x) < 12)
    return np.sqrt(60**2 - x**2 - y**2) - depth * pocket, pocket


def test_pocket_walls_are_not_smeared_into_the_ground() -> None:
    grid = square_grid(25)
    _, _, r = plan(grid)
    height, pocket = pocketed(grid, 5)
    found = curvature_maps.surface_maps(height, grid)
    # Sphere of radius 60, up to the very cells beside the wall (closed form); a smeared wall of 5 mm would show some 60 degrees.
    difference = np.abs(found.slope_degrees - np.degrees(np.arcsin(r / 60)))
    # A single cell that sticks out at a corner of the pocket has no neighbours to show its slope.
    assert np.sum(difference > 0.3) <= 4
    assert np.nanmax(np.abs(found.curvature_least - 1 / 60)) < 5e-3
    # What lies in the pocket must not be felt above at all: another depth, the same map.
    deeper = curvature_maps.surface_maps(pocketed(grid, 15)[0], grid)
    assert np.allclose(found.slope_degrees[~pocket], deeper.slope_degrees[~pocket], atol=1e-3)
    assert np.allclose(found.curvature_least[~pocket], deeper.curvature_least[~pocket], atol=1e-4)
    shallow = curvature_maps.surface_maps(pocketed(grid, 1)[0], grid)
    assert np.allclose(found.slope_degrees[~pocket], shallow.slope_degrees[~pocket], atol=1e-3)


@pytest.mark.parametrize("turn", [0, 20, 45, 63])
def test_drafted_walls_show_their_slope_and_leave_the_ground_alone(turn: float) -> None:
    # A wall of 85 degrees between two flats, at any turn (closed form).
    grid = square_grid(10)
    x, y, _ = plan(grid)
    across = x * math.cos(math.radians(turn)) + y * math.sin(math.radians(turn))
    height = np.clip(across * math.tan(math.radians(85)), 0, 20)
    found = curvature_maps.surface_maps(height, grid)
    wall = (across > 0.5) & (across < 20 / math.tan(math.radians(85)) - 0.5)
    flat = (across < -0.3) | (across > 20 / math.tan(math.radians(85)) + 0.3)
    assert np.abs(found.slope_degrees[wall] - 85).max() < 0.5
    assert found.slope_degrees[flat].max() < 1.0
    assert np.median(found.slope_degrees[flat]) < 1e-4


def test_a_steep_smooth_slope_is_not_an_edge() -> None:
    # A cone of 70 degrees: slope 70 and curvature sin(70)/r across, 0 along (closed form; r is the plan distance).
    grid = square_grid(20)
    _, _, r = plan(grid)
    found = curvature_maps.surface_maps(-r * math.tan(math.radians(70)), grid)
    ring = (r > 8) & (r < 16)
    assert np.abs(found.slope_degrees[ring] - 70).max() < 0.2
    assert np.abs(found.curvature_greatest[ring] * r[ring] / math.sin(math.radians(70)) - 1).max() < 0.03
    assert np.abs(found.curvature_least[ring]).max() < 1e-3


def test_noise_of_a_scan_is_damped_as_theory_says() -> None:
    # White noise n per cell c, Gaussian weights s: deviation of the mean curvature n c/(s^3 sqrt(8 pi)) (closed form from the
    # integral of the squared derivatives of a Gaussian).
    grid = square_grid(30)
    noise = np.random.default_rng(11).normal(0, 0.01, grid.shape)
    found = curvature_maps.surface_maps(noise, grid, smoothing=1.0)
    inside = np.s_[14:-14, 14:-14]
    mean = (found.curvature_least + found.curvature_greatest)[inside] / 2
    assert mean.std() == pytest.approx(0.01 * 0.25 / math.sqrt(8 * math.pi), rel=0.1)
    # Beside the edges a one-sided fit is worse, but must stay below a hollow of 30 mm for such a scan.
    assert np.abs(found.curvature_least).max() < 1 / 30


def test_small_odd_and_empty_grids() -> None:
    for rows, columns in ((1, 1), (1, 7), (9, 2), (3, 3)):
        grid = Grid(0, 0, 0.5, rows, columns)
        x, _ = np.meshgrid(grid.x(), grid.y())
        found = curvature_maps.surface_maps(0.3 * x, grid)
        assert np.isfinite(found.slope_degrees).all()
        if columns > 1:
            assert np.allclose(found.slope_degrees, math.degrees(math.atan(0.3)), atol=0.05)
        empty = curvature_maps.surface_maps(np.full(grid.shape, -np.inf), grid)
        assert np.isnan(empty.slope_degrees).all() and np.isnan(empty.curvature_least).all()


def test_float32_heights_far_above_zero() -> None:
    # The level must not cost digits: the same dome 500 mm up (closed form 1/50).
    grid = square_grid(20)
    _, _, r = plan(grid)
    found = curvature_maps.surface_maps(np.sqrt(50**2 - r**2) + 500, grid)
    assert np.abs(found.curvature_least - 0.02)[r < 15].max() < 2e-4
    assert found.curvature_least.dtype == found.curvature_greatest.dtype == found.slope_degrees.dtype == np.float32


def test_bad_input() -> None:
    with pytest.raises(BadRequest, match="shape"):
        curvature_maps.surface_maps(np.zeros((3, 4)), Grid(0, 0, 1, 4, 3))
    for smoothing in (-1, math.nan, math.inf):
        with pytest.raises(BadRequest, match="smoothing"):
            curvature_maps.surface_maps(np.zeros((3, 4)), Grid(0, 0, 1, 3, 4), smoothing)
