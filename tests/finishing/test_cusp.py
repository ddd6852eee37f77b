"""Cusp, step and cusp metric against published figures and closed forms (tests/reference_values.json names each source)."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from addon.finishing.core.cusp_formulas import cusp_on_flat, spacing_on_flat
from addon.finishing.core.errors import BadRequest
from addon.finishing.core.grid import Grid
from addon.finishing.passes.cusp_metric import LEAST_EIGENVALUE, CuspMetric, cusp_metric

VALUES = json.loads((Path(__file__).parents[1] / "reference_values.json").read_text())


@pytest.mark.parametrize("case", VALUES["cusp_on_flat"]["cases"], ids=lambda c: c["source"])
def test_flat_cusp_agrees_with_published_worked_examples(case: dict) -> None:
    radius = case["D"] / 2
    # The pages print a few figures: one unit of the last one is what they can vouch for.
    height, step = (10.0 ** -len(str(case[key]).partition(".")[2]) for key in ("h", "s"))
    assert cusp_on_flat(radius, case["s"]) == pytest.approx(case["h"], abs=height)
    # A printed cusp stands for a small range of cusps; the step must lie in what that range gives, give or take its last figure.
    low, high = (float(spacing_on_flat(radius, case["h"] + sign * height)) for sign in (-1, 1))
    assert low - step <= case["s"] <= high + step


@given(st.floats(0.5, 30), st.floats(1e-5, 1))
def test_flat_cusp_and_spacing_are_inverse(radius: float, share: float) -> None:
    cusp = share * radius
    assert cusp_on_flat(radius, spacing_on_flat(radius, cusp)) == pytest.approx(cusp, rel=1e-7)


def test_what_cannot_be_is_refused() -> None:
    for cusp in (9, 8.001, 0, -0.05, -9, [0.05, 9], [0.05, -1]):
        with pytest.raises(BadRequest, match="^The cusp height must lie above 0 and not above the cutter's radius: change it"):
            spacing_on_flat(8, cusp)
    for spacing in (17, 16.001, 0, -1, -17, [1, 17], [1, -1]):
        with pytest.raises(BadRequest, match="^The spacing must lie above 0 and not above the cutter's diameter: change it"):
            cusp_on_flat(8, spacing)
    # A half circle is the most that either may be.
    assert spacing_on_flat(8, 8) == pytest.approx(16) and cusp_on_flat(8, 16) == pytest.approx(8)
    # So is any cusp and spacing of a small one.
    assert spacing_on_flat(0.4, 0.4) == pytest.approx(0.8) and cusp_on_flat(0.4, 0.8) == pytest.approx(0.4)


def metric_on_cylinder(radius: float, curvature: float, cusp: float) -> np.ndarray:
    """The metric (2, 2) on the crest or valley of a cylinder along y, carried from the centre's surface to the body.

    From the exact tip surface: the centre runs on rho + R. There a step across the axis is rho / (rho + R) as long on the body.
    """
    grid = Grid(-1.0, -1.0, 0.05, 41, 41)
    x = grid.x()[None, :] + np.zeros(grid.shape)
    away = 1 / curvature + radius
    metric = cusp_metric(np.sign(away) * np.sqrt(away**2 - x * x) - radius, grid, radius, cusp, smoothing=0.0)
    of_centre = np.array([[metric.xx[20, 20], metric.xy[20, 20]], [metric.xy[20, 20], metric.yy[20, 20]]])
    to_centre = np.diag([1 + radius * curvature, 1.0])
    return to_centre @ of_centre @ to_centre


@pytest.mark.parametrize("case", [case for case in VALUES["cusp_on_curves"]["cases"] if case["k"]], ids=str)
def test_steps_across_cylinders(case: dict) -> None:
    # tests/reference_values.json cusp_on_curves (closed form, checked there against circles cut with circles): the metric gives the
    # step to first order in h: it leaves out the factor sqrt(1 + h k), and the arc's excess over its chord, (s k)^2 / 96.
    radius, curvature, cusp, step = case["R"], case["k"], case["h"], case["s"]
    found = 1 / np.sqrt(metric_on_cylinder(radius, curvature, cusp)[0, 0])
    left_out = abs(cusp * curvature) / 2 + (step * curvature) ** 2 / 96
    assert found == pytest.approx(step, rel=left_out + 2e-3)


@pytest.mark.parametrize("case", VALUES["helix_on_cylinder"]["cases"], ids=str)
def test_spacing_of_helical_passes(case: dict) -> None:
    # tests/reference_values.json helix_on_cylinder (closed form): s^2 = nu^T g^-1 nu on the body.
    radius = case["R"]
    on_body = metric_on_cylinder(radius, (1 if case["side"] == "convex" else -1) / case["rho"], 0.01)
    beta = np.radians(case["beta"])
    # Passes at beta from the hoop direction (x): their normal in the surface.
    normal = np.array([-np.sin(beta), np.cos(beta)])
    spacing = np.sqrt(normal @ np.linalg.inv(on_body) @ normal)
    # The table leaves out the factor 1 - h/(2R), which makes flat ground exact: put it back.
    spacing /= np.sqrt(1 - 0.01 / (2 * radius))
    assert spacing == pytest.approx(case["s"], rel=2e-3)


def test_metric_of_a_plane_is_exact_at_any_cusp() -> None:
    # Closed form: one unit of g-distance on flat ground is the exact spacing.
    grid = Grid(left=0, front=0, cell=0.5, rows=20, columns=20)
    metric = cusp_metric(np.zeros(grid.shape), grid, 8.0, 0.3, smoothing=1.0)
    assert 1 / np.sqrt(metric.xx[10, 10]) == pytest.approx(float(spacing_on_flat(8, 0.3)), rel=1e-12)
    # On a slope of 45 degrees the spacing is the same along the slope, so 1/sqrt(2) of it in plan.
    slanted = cusp_metric(grid.x()[None, :] + np.zeros(grid.shape), grid, 8.0, 0.3, smoothing=0.0)
    assert 1 / np.sqrt(slanted.xx[10, 10]) == pytest.approx(float(spacing_on_flat(8, 0.3)) / np.sqrt(2), rel=1e-9)
    assert 1 / np.sqrt(slanted.yy[10, 10]) == pytest.approx(float(spacing_on_flat(8, 0.3)), rel=1e-9)


def test_least_length_of_a_plane_is_area_over_spacing() -> None:
    # Closed form: on a slanted plane of true area A the passes are A / s long.
    grid = Grid(left=0, front=0, cell=0.5, rows=21, columns=31)
    tip = 0.75 * grid.x()[None, :] + np.zeros(grid.shape)
    metric = cusp_metric(tip, grid, 8.0, 0.05, smoothing=0.0)
    area = 1.25 * grid.cell_area * tip.size
    assert metric.line_density().sum() * grid.cell_area == pytest.approx(area / float(spacing_on_flat(8, 0.05)), rel=1e-7)


def random_metric(seed: int) -> CuspMetric:
    """A metric of cells that have nothing to do with each other: positive definite, on slopes up to 60 degrees."""
    rng = np.random.default_rng(seed)
    grid = Grid(left=0, front=0, cell=0.5, rows=6, columns=7)
    root = rng.normal(0, 0.5, (*grid.shape, 2, 2)) + 0.2 * np.eye(2)
    g = root @ root.swapaxes(2, 3)
    slope = rng.normal(0, 0.8, (2, *grid.shape))
    return CuspMetric(grid=grid, cusp=0.05, radius=8.0, xx=g[..., 0, 0], xy=g[..., 0, 1], yy=g[..., 1, 1], slope_x=slope[0], slope_y=slope[1])


@pytest.mark.parametrize("seed", range(3))
def test_the_inverse_square_is_that_of_the_inverse_matrix(seed: int) -> None:
    metric = random_metric(seed)
    rng = np.random.default_rng(seed + 100)
    n = rng.normal(0, 1, (2, *metric.grid.shape))
    g = np.moveaxis(np.array([[metric.xx, metric.xy], [metric.xy, metric.yy]]), (0, 1), (2, 3))
    expected = np.einsum("irc,rcij,jrc->rc", n, np.linalg.inv(g), n)
    np.testing.assert_allclose(metric.inverse_squared(n[0], n[1]), expected, rtol=1e-9)
    np.testing.assert_allclose(metric.inverse_squared(0.6, 0.8), np.einsum("i,rcij,j->rc", [0.6, 0.8], np.linalg.inv(g), [0.6, 0.8]), rtol=1e-9)


@pytest.mark.parametrize("seed", range(3))
def test_densities_are_the_least_and_the_greatest_over_all_directions_of_passes(seed: int) -> None:
    # A dense search: passes whose field has the gradient n, one unit per unit of g-distance, are sqrt(n adj(I_C) n) long per plan area
    # (coarea formula), I_C the first form of the cutter-centre surface.
    metric = random_metric(seed)
    p, q = metric.slope_x[..., None], metric.slope_y[..., None]
    turn = np.linspace(0, np.pi, 20_001)
    x, y = np.cos(turn), np.sin(turn)
    g = np.moveaxis(np.array([[metric.xx, metric.xy], [metric.xy, metric.yy]]), (0, 1), (2, 3))
    inverse = np.linalg.inv(g)[..., None]
    unit = np.sqrt(inverse[:, :, 0, 0] * x * x + 2 * inverse[:, :, 0, 1] * x * y + inverse[:, :, 1, 1] * y * y)
    density = np.sqrt((1 + q * q) * x * x - 2 * p * q * x * y + (1 + p * p) * y * y) / unit
    np.testing.assert_allclose(metric.line_density(), density.min(axis=2), rtol=1e-4)
    np.testing.assert_allclose(metric.greatest_density(), density.max(axis=2), rtol=1e-4)


def test_no_eigenvalue_falls_below_the_least_one() -> None:
    # By construction: a sharp rim, over which the ball's centre runs on an arc of its own radius, has a metric of 0 across it, and a
    # tip surface that is not one at all (curved the other way more strongly) a negative one.
    grid = Grid(left=-3, front=-3, cell=0.05, rows=121, columns=121)
    x = grid.x()[None, :] + np.zeros(grid.shape)
    for curved in (1.0, 0.5):
        metric = cusp_metric(np.sqrt((curved * 8.0) ** 2 - x * x), grid, 8.0, 0.05, smoothing=0.0)
        flat = 1 / (8 * 0.05 * (1 - 0.05 / 16) * 8.0)
        assert metric.xx[60, 60] == pytest.approx(LEAST_EIGENVALUE * flat, rel=0.02)
        assert metric.yy[60, 60] == pytest.approx(flat, rel=1e-6)
