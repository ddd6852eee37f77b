"""Where a line of sight meets the ground, against closed forms. Needs no window."""

from __future__ import annotations

import numpy as np
import pytest

from addon.finishing.core.grid import Grid
from addon.overlay.readout import SAMPLES, ground_range, ground_under_ray

GRID = Grid(-20, -20, 0.25, 161, 161)
X, Y = np.meshgrid(GRID.x(), GRID.y())
TILTED = 10 + 0.2 * X - 0.1 * Y
"""A plane; a line of sight meets it where a linear equation says."""


def looking(at: tuple[float, float, float], direction: tuple[float, float, float]) -> tuple[np.ndarray, np.ndarray]:
    """A line of sight through a place, from 500 mm away."""
    unit = np.array(direction) / np.linalg.norm(direction)
    return np.array(at) - 500 * unit, unit


@pytest.mark.parametrize("direction", [(0, 0, -1), (0.5, 0.2, -1), (-1, 0.7, -0.6)])
@pytest.mark.parametrize("place", [(0.0, 0.0), (7.3, -5.1), (-12.0, 9.0)])
def test_a_tilted_plane_is_met_where_the_line_crosses_it(place: tuple[float, float], direction: tuple[float, float, float]) -> None:
    x, y = place
    origin, unit = looking((x, y, 10 + 0.2 * x - 0.1 * y), direction)
    hit = ground_under_ray(origin, unit, TILTED, GRID)
    assert hit is not None
    # The ray is looked at SAMPLES times between the highest and the lowest ground, and the ground at the nearest cell.
    step = (TILTED.max() - TILTED.min()) / SAMPLES / abs(unit[2])
    assert np.hypot(hit[0] - x, hit[1] - y) < step + GRID.cell
    assert hit[2] == pytest.approx(10 + 0.2 * hit[0] - 0.1 * hit[1], abs=0.3 * GRID.cell)


def test_the_nearer_of_two_hills_hides_the_farther_one() -> None:
    hills = np.where(np.abs(np.abs(X) - 10) < 3, 10.0, 0.0)
    origin, unit = looking((-10.0, 0.0, 10.0), (1, 0, -0.1))
    hit = ground_under_ray(origin, unit, hills, GRID)
    assert hit is not None and hit[0] == pytest.approx(-10, abs=3.5) and hit[2] == 10


def test_nothing_is_met_beside_the_body_from_below_or_without_ground() -> None:
    disc = np.where(np.hypot(X, Y) < 15, 5.0, -np.inf)
    origin, down = looking((0.0, 0.0, 5.0), (0, 0, -1))
    assert ground_under_ray(origin, down, disc, GRID) is not None
    assert ground_under_ray(origin + (18, 18, 0), down, disc, GRID) is None
    assert ground_under_ray(origin + (100, 0, 0), down, disc, GRID) is None
    assert ground_under_ray(-origin, -down, disc, GRID) is None
    assert ground_under_ray(origin, down, np.full(GRID.shape, -np.inf), GRID) is None


def test_a_range_that_is_known_already_changes_nothing() -> None:
    origin, unit = looking((3.0, 4.0, 10.2), (0.3, -0.4, -1))
    assert ground_range(TILTED) == (TILTED.min(), TILTED.max())
    np.testing.assert_array_equal(ground_under_ray(origin, unit, TILTED, GRID), ground_under_ray(origin, unit, TILTED, GRID, ground_range(TILTED)))
