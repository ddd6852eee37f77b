"""Sample points of the surface that a ball leaves, and their normals and curvatures, on bodies with closed forms."""

from __future__ import annotations

import numpy as np
import pytest
from shapes import graph

from addon.finishing.ball.exact_tip import TipFinder
from addon.finishing.core.array_types import FloatArray
from addon.finishing.core.grid import Grid
from addon.finishing.core.stepping import finished
from addon.finishing.simulation.surface_samples import SampleGround

CELL, RADIUS = 0.25, 6.0
GRID = Grid(left=-10.0, front=-8.0, cell=CELL, rows=65, columns=81)
X, Y = np.meshgrid(GRID.x(), GRID.y())


def flat(x: FloatArray, y: FloatArray) -> FloatArray:
    return np.full(np.shape(x), 3.0)


def samples(surface: FloatArray, closing: FloatArray, heights=flat, step: float = 0.5) -> SampleGround:  # noqa: ANN001
    """Samples of maps, over the triangles of z = heights(x, y)."""
    finder = TipFinder(graph(heights, np.arange(-12, 12.01, step), np.arange(-10, 10.01, step)))
    return SampleGround(grid=GRID, surface=surface, closing=closing, radius=RADIUS, finder=finder)


@pytest.mark.parametrize("rho", [40.0, -40.0])
def test_normals_and_curvatures_of_a_sphere(rho: float) -> None:
    # Closed form: normals point from the centre, or to it in a bowl, and every curvature is 1/rho. What is asked of the curvature is that
    # it is no less than the greatest and no more than twice that; in a bowl there is no crown.
    z = np.sign(rho) * np.sqrt(rho**2 - X**2 - Y**2)
    ground = samples(z, z)
    row, column = (part.ravel() for part in np.indices(GRID.shape)[:, 8:-8, 8:-8])
    points, normals, crown = ground.at_cells(row, column)
    np.testing.assert_allclose(points[:, 2], z[row, column])
    np.testing.assert_allclose(normals, points / rho, atol=2e-4)
    if rho > 0:
        assert (crown >= 0.999 / rho).all() and (crown <= 2.2 / rho).all()
    else:
        assert (crown == 0).all()


def test_no_normal_is_tilted_by_a_wall_or_by_the_end_of_the_ground() -> None:
    # By construction: two planes of one slope with a step of 12 mm between them, and nothing beyond y = 5.
    z = np.where(X < 1, 3.0, 15.0) + 0.3 * Y
    z[Y > 5] = -np.inf
    ground = samples(z, z)
    row, column = np.nonzero(z > -np.inf)
    _, normals, crown = ground.at_cells(row, column)
    np.testing.assert_allclose(normals, np.tile(np.array([0, -0.3, 1]) / np.hypot(1, 0.3), (len(row), 1)), atol=1e-6)
    np.testing.assert_allclose(crown, 0, atol=1e-6)


def test_a_closing_just_above_the_body_counts_as_the_body_and_a_high_one_as_itself() -> None:
    # By construction: d^2/(2R) is what the grid alone may lift a closing by; three times that is certainly a hollow that is bridged.
    allowance = CELL**2 / (2 * RADIUS)
    over = np.linspace(0, 6, GRID.columns) * allowance
    surface = flat(X, Y)
    ground = samples(surface, surface + over)
    row, column = np.full(GRID.columns, 30), np.arange(GRID.columns)
    bridged = ground.bridged(row, column)
    assert (bridged[over <= allowance] == 0).all()
    np.testing.assert_allclose(bridged[over >= 3 * allowance], over[over >= 3 * allowance], rtol=1e-5)
    assert (np.diff(bridged) >= 0).all() and np.diff(bridged).max() < 2 * over[1]  # no step between
    np.testing.assert_allclose(ground.at_cells(row, column)[0][:, 2], 3.0 + bridged)


def test_between_cells_heights_are_straight() -> None:
    z = 3 + 0.2 * X - 0.1 * Y
    ground = samples(z, z)
    plan = np.random.default_rng(1).uniform(-7, 7, (200, 2))
    points, normals, _ = ground.between_cells(plan)
    np.testing.assert_allclose(points, np.column_stack([plan, 3 + plan @ [0.2, -0.1]]), atol=1e-9)
    np.testing.assert_allclose(normals, np.tile(np.array([-0.2, 0.1, 1]) / np.sqrt(1.05), (200, 1)), atol=1e-6)


def test_beside_the_end_of_the_ground_the_nearest_cell_gives_the_height() -> None:
    z = np.where(X > 4.1, -np.inf, flat(X, Y))
    ground = samples(z, z)
    points, _, _ = ground.between_cells(np.array([[4.05, 0.0], [4.10, 0.0]]))
    assert points[:, 2].tolist() == [3.0, 3.0]


def test_at_points_heights_are_those_of_the_triangles_or_of_the_closing_above_them() -> None:
    # By construction: a tent whose edge runs between the cells, which the grid cannot show; and a groove that the closing bridges.
    def tent(x: FloatArray, y: FloatArray) -> FloatArray:
        return 5 - 0.5 * np.abs(x - 0.125)

    surface = tent(X, Y)
    closing = np.where(np.abs(X + 6) < 1, surface + 0.5, surface)
    ground = samples(surface, closing, tent, step=0.125)
    plan = np.array([[0.125, 0.3], [0.2, -3.1], [-3.0, 2.22], [-6.0, 1.0]])
    points, _, _ = finished(ground.at_points_steps(plan))
    np.testing.assert_allclose(points[:3, 2], tent(*plan[:3].T), atol=1e-5)
    assert points[3, 2] == pytest.approx(tent(-6.0, 0.0) + 0.5, abs=1e-5)
    # The cells beside the edge know nothing of it.
    assert ground.between_cells(plan[:1])[0][0, 2] < 5 - 0.06
