"""Cusp, step and cusp metric against published figures and closed forms (tests/reference_values.json names each source)."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from addon.finishing.core.cusp_formulas import cusp_on_curve, cusp_on_flat, spacing_on_flat, step_on_curve
from addon.finishing.core.errors import BadRequest
from addon.finishing.core.grid import Grid
from addon.finishing.passes.cusp_metric import CuspMetric, cusp_metric

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


def test_flat_cusp_of_common_practice() -> None:
    # Common practice, no source: a 16 mm cutter at 2 mm needs a little sanding, at 3 mm it is too rough.
    assert cusp_on_flat(8, 2) == pytest.approx(0.0627, abs=5e-5)
    assert cusp_on_flat(8, 3) == pytest.approx(0.1419, abs=5e-5)


@pytest.mark.parametrize("case", VALUES["cusp_on_curves"]["cases"], ids=str)
def test_step_on_curves_agrees_with_the_closed_form(case: dict) -> None:
    # Closed form, checked at its source against circle-circle intersections.
    assert step_on_curve(case["R"], case["h"], case["k"]) == pytest.approx(case["s"], abs=1.5e-6)


@given(st.floats(0.5, 30), st.floats(1e-4, 0.2), st.floats(-0.95, 3))
def test_cusp_and_step_are_inverse(radius: float, share: float, bend: float) -> None:
    # Closed form: each function is the other's inverse. bend is R k: above -1 the ball fits.
    cusp, curvature = share * radius / 5, bend / radius
    step = step_on_curve(radius, cusp, curvature)
    assert cusp_on_curve(radius, step, curvature) == pytest.approx(cusp, rel=1e-7)


@given(st.floats(0.5, 30), st.floats(1e-5, 1))
def test_flat_cusp_and_spacing_are_inverse(radius: float, share: float) -> None:
    cusp = share * radius
    assert cusp_on_flat(radius, spacing_on_flat(radius, cusp)) == pytest.approx(cusp, rel=1e-7)


def test_flat_is_the_limit_of_the_curve() -> None:
    assert step_on_curve(8, 0.05, 1e-11) == pytest.approx(float(spacing_on_flat(8, 0.05)), rel=1e-9)
    assert step_on_curve(8, 0.05, 0.0) == pytest.approx(float(spacing_on_flat(8, 0.05)), rel=1e-12)


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(BadRequest):
        step_on_curve(8, 0.05, -0.2)  # a hollow of 5 mm is tighter than a ball of 8 mm
    with pytest.raises(BadRequest):
        spacing_on_flat(8, 9)
    with pytest.raises(BadRequest):
        cusp_on_flat(8, 17)


def cylinder_metric(case: dict) -> tuple[CuspMetric, tuple[int, int]]:
    """Metric from the exact tip surface of a cylinder along y, and a cell on its crest or valley."""
    radius, rho = case["R"], case["rho"]
    grid = Grid(-1.0, -1.0, 0.05, 41, 41)
    x = grid.x()[None, :] + np.zeros(grid.shape)
    if case["side"] == "convex":
        tip = np.sqrt((rho + radius) ** 2 - x * x) - radius
    else:
        tip = -np.sqrt((rho - radius) ** 2 - x * x) - radius
    return cusp_metric(tip, grid, radius, 0.01, smoothing=0.0), (20, 20)


@pytest.mark.parametrize("case", VALUES["helix_on_cylinder"]["cases"], ids=str)
def test_spacing_of_helical_passes(case: dict) -> None:
    # Closed form: s^2 = nu^T g^-1 nu on the body; g here is in x, y of the cutter centre, so the contact's step across
    # the axis is (rho / (rho +- R)) of the centre's.
    metric, at = cylinder_metric(case)
    radius, rho = case["R"], case["rho"]
    shrink = rho / (rho + radius) if case["side"] == "convex" else rho / (rho - radius)
    on_body = np.array([[metric.xx[at], metric.xy[at]], [metric.xy[at], metric.yy[at]]])
    on_body = np.diag([1 / shrink, 1]) @ on_body @ np.diag([1 / shrink, 1])
    beta = np.radians(case["beta"])
    # Passes at beta from the hoop direction (x): their normal in the surface.
    normal = np.array([-np.sin(beta), np.cos(beta)])
    spacing = np.sqrt(normal @ np.linalg.inv(on_body) @ normal)
    # The table leaves out the factor 1 - h/(2R), which makes flat ground exact: put it back.
    spacing /= np.sqrt(1 - 0.01 / (2 * radius))
    assert spacing == pytest.approx(case["s"], rel=2e-3)


def test_metric_of_a_plane_is_exact_at_any_cusp() -> None:
    # Closed form: one unit of g-distance on flat ground is the exact spacing.
    grid = Grid(0, 0, 0.5, 20, 20)
    metric = cusp_metric(np.zeros(grid.shape), grid, 8.0, 0.3, smoothing=1.0)
    assert 1 / np.sqrt(metric.xx[10, 10]) == pytest.approx(float(spacing_on_flat(8, 0.3)), rel=1e-12)
    # On a slope of 45 degrees the spacing is the same along the slope, so 1/sqrt(2) of it in plan.
    slanted = cusp_metric(grid.x()[None, :] + np.zeros(grid.shape), grid, 8.0, 0.3, smoothing=0.0)
    assert 1 / np.sqrt(slanted.xx[10, 10]) == pytest.approx(float(spacing_on_flat(8, 0.3)) / np.sqrt(2), rel=1e-9)
    assert 1 / np.sqrt(slanted.yy[10, 10]) == pytest.approx(float(spacing_on_flat(8, 0.3)), rel=1e-9)


def test_least_length_of_a_plane_is_area_over_spacing() -> None:
    # Closed form: on a slanted plane of true area A the passes are A / s long.
    grid = Grid(0, 0, 0.5, 21, 31)
    tip = 0.75 * grid.x()[None, :] + np.zeros(grid.shape)
    metric = cusp_metric(tip, grid, 8.0, 0.05, smoothing=0.0)
    area = 1.25 * grid.cell_area * tip.size
    assert metric.line_density().sum() * grid.cell_area == pytest.approx(area / float(spacing_on_flat(8, 0.05)), rel=1e-7)
