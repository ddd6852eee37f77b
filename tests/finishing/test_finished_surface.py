"""The finished surface: held against closed forms of parallel passes, a plain slow twin, and the proof's own figures."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import quad
from small_jobs import two_sides

from addon.finishing.core.grid import Grid
from addon.finishing.core.stepping import finished
from addon.finishing.simulation.finished_surface import Run, finished_heights_steps, profile_roughness


def parallel_passes(radius: float, spacing: float, slope: float) -> Run:
    """Passes along x on a plane that rises along y with a slope in degrees, `spacing` mm apart along the surface."""
    normal, up = np.array([0, -np.sin(slope), np.cos(slope)]), np.array([0, np.cos(slope), np.sin(slope)])
    tips = []
    for number in range(-12, 13):
        tip = number * spacing * up + radius * normal - [0, 0, radius]
        ends = [tip + [-30, 0, 0], tip + [30, 0, 0]]
        tips += ends[:: 1 if number % 2 else -1]
    return Run(np.array(tips), radius)


@pytest.mark.parametrize("radius, spacing, slope", [(8.0, 1.8, 0.0), (3.0, 1.0, 0.0), (8.0, 1.8, 0.5), (12.5, 3.0, 0.9)])
def test_parallel_passes_leave_the_closed_form(radius: float, spacing: float, slope: float) -> None:
    grid = Grid(left=-1.0, front=-6.0, cell=0.1, rows=121, columns=21)
    before = np.full(grid.shape, 30.0) + np.tan(slope) * grid.y()[:, None]
    heights = finished(finished_heights_steps(before, grid, [parallel_passes(radius, spacing, slope)]))
    # Along the plane's normal, where a vertical line meets the ball of the nearest pass.
    y, z = grid.y(), heights[:, 10]
    along, off = y * np.cos(slope) + z * np.sin(slope), z * np.cos(slope) - y * np.sin(slope)
    aside = (along + spacing / 2) % spacing - spacing / 2
    assert off == pytest.approx(radius - np.sqrt(radius**2 - aside**2), abs=2e-5)
    np.testing.assert_allclose(heights, np.broadcast_to(heights[:, :1], heights.shape), rtol=0, atol=2e-5)


@pytest.mark.parametrize("radius, spacing", [(8.0, 1.8), (3.0, 1.2)])
def test_roughness_of_parallel_passes(radius: float, spacing: float) -> None:
    grid = Grid(left=0.0, front=-9.0, cell=0.02, rows=901, columns=1)
    heights = finished(finished_heights_steps(np.full(grid.shape, 1.0), grid, [parallel_passes(radius, spacing, 0.0)]))

    def profile(u: float) -> float:
        return radius - np.sqrt(radius**2 - u * u)

    # Ra by the numerical integration of a reference library; Rz is the cusp height in closed form.
    mean = quad(profile, 0, spacing / 2)[0] / (spacing / 2)
    ra = quad(lambda u: abs(profile(u) - mean), 0, spacing / 2, points=[spacing / 4])[0] / (spacing / 2)
    found = profile_roughness(heights[:, 0])
    assert found.rz == pytest.approx(profile(spacing / 2), rel=0.01)
    assert found.ra == pytest.approx(ra, rel=0.01)
    assert found.ra == pytest.approx(0.2566 * found.rz, rel=0.02)  # of parabolic cusps: 4 / (9 sqrt 3)


def test_any_moves_leave_what_a_plain_slow_twin_leaves() -> None:
    rng = np.random.default_rng(3)
    tips = np.column_stack([rng.uniform(-8, 8, (60, 2)), rng.uniform(0, 4, 60)])
    grid = Grid(left=-6.0, front=-5.0, cell=0.5, rows=21, columns=25)
    before = rng.uniform(1.0, 3.0, grid.shape)
    before[rng.random(grid.shape) < 0.1] = -np.inf
    radius = 3.0
    x, y = np.meshgrid(grid.x(), grid.y())
    slow = before.copy()
    for a, b in zip(tips[:-1], tips[1:], strict=True):
        for share in np.linspace(0, 1, 800):
            tip = a + share * (b - a)
            room = radius**2 - (x - tip[0]) ** 2 - (y - tip[1]) ** 2
            slow = np.where(room > 0, np.minimum(slow, tip[2] + radius - np.sqrt(np.maximum(room, 0))), slow)
    heights = finished(finished_heights_steps(before, grid, [Run(tips[:30], radius), Run(tips[29:], radius)]))
    assert np.array_equal(np.isfinite(heights), np.isfinite(before))
    gap = slow[np.isfinite(before)] - heights[np.isfinite(before)]
    # The twin takes steps of 0.02 mm, and so stands a little higher; most where the ball's side is steep.
    assert (
        np.nanmin(gap[np.isfinite(gap)]) > -1e-4 and np.nanmedian(gap[np.isfinite(gap)]) < 1e-4 and np.nanquantile(gap[np.isfinite(gap)], 0.99) < 0.02
    )


def test_the_surface_of_a_plan_has_the_proofs_cusps() -> None:
    plan = two_sides()[0]
    view = plan.tip_surface
    before = np.where(plan.heights > -np.inf, plan.heights + 0.5, -np.inf)
    heights = finished(finished_heights_steps(before, view.grid, [Run(plan.path.points, view.radius)]))
    measured = np.isfinite(plan.proof.cusp)
    # Along the normal; the closing's slope at a cell is that of the body, which is gentle here.
    rise_y, rise_x = np.gradient(np.where(plan.heights > -np.inf, view.closing, 0.0), view.grid.cell)
    standing = np.where(measured, heights, 0.0) - np.where(measured, view.closing, 0.0)
    standing /= np.sqrt(1 + rise_x**2 + rise_y**2)
    proved = dict(plan.proof.cusp_percentiles)
    assert measured.sum() > 2000
    for percent in (50.0, 90.0, 99.0):
        assert np.percentile(standing[measured], percent) == pytest.approx(proved[percent], abs=0.04 * plan.request.cusp), percent
    # Nothing was cut deeper than the ball can go, and where it never came the stock still stands.
    assert standing[measured].min() > -0.01
    short = replace(plan.path, points=plan.path.points[:20])
    few = finished(finished_heights_steps(before, view.grid, [Run(short.points, view.radius)]))
    assert (few == before).mean() > 0.8


def test_entries_and_ground_that_is_left_show() -> None:
    # A line along X at z = 1, entered straight down 0.3 mm too deep at its beginning; stock of 2 mm beside it.
    radius = 4.0
    tips = np.array([[-5.0, 0, 10], [-5.0, 0, 0.7], [-5.0, 0, 1.0], [5.0, 0, 1.0], [5.0, 0, 10.0]])
    grid = Grid(left=-10.0, front=-5.0, cell=0.1, rows=101, columns=201)
    heights = finished(finished_heights_steps(np.full(grid.shape, 2.0), grid, [Run(tips, radius)]))
    x, y = np.meshgrid(grid.x(), grid.y())

    def ball(ahead: np.ndarray, tip: float) -> np.ndarray:
        room = radius**2 - ahead**2 - y**2
        return np.where(room > 0, tip + radius - np.sqrt(np.maximum(room, 0)), np.inf)

    # Closed forms: the ball where it came down, a channel that is round in section along the line, half a ball at both its ends.
    mark, line = ball(x + 5, 0.7), ball(np.maximum(np.abs(x) - 5, 0), 1.0)
    np.testing.assert_allclose(heights, np.minimum(2.0, np.minimum(mark, line)), rtol=0, atol=2e-5)
    assert heights.min() == pytest.approx(0.7, abs=1e-5) and (heights == 2.0).any()


def test_a_flat_that_is_left_out_keeps_its_witness_step() -> None:
    # Passes over half of a plane, the rest stands as roughing has left it: a step as high as the allowance, beside the ball's own round.
    grid = Grid(left=-8.0, front=0.0, cell=0.1, rows=1, columns=161)
    tips = np.array([[x, y, 0.0] for number, x in enumerate(np.arange(-10.0, 0.01, 0.5)) for y in ((-9.0, 9.0) if number % 2 else (9.0, -9.0))])
    heights = finished(finished_heights_steps(np.full(grid.shape, 0.5), grid, [Run(tips, 6.0)]))[0]
    beyond = grid.x() - 0.0
    expected = np.where(beyond > 0, np.minimum(0.5, 6.0 - np.sqrt(np.maximum(36.0 - np.minimum(beyond, 6.0) ** 2, 0.0))), heights)
    np.testing.assert_allclose(heights, expected, rtol=0, atol=2e-5)
    assert heights[grid.x() < 0].max() <= 6.0 - np.sqrt(36.0 - 0.25**2) + 2e-5 and heights[-1] == 0.5
