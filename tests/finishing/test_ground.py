"""The planned ground of plates that are known by construction."""

from __future__ import annotations

import numpy as np
import pytest
from opening_bodies import no_openings
from scipy import ndimage

from addon.finishing.core.grid import Grid
from addon.finishing.job.ground_settings import RegionSettings
from addon.finishing.surface.ground import EDGE_CELLS, Ground, plan_ground, surface_slope
from addon.finishing.surface.opening_search import find_openings
from addon.finishing.surface.openings import TreatmentChoices, treated

CELL = 0.25


@pytest.fixture
def grid() -> Grid:
    return Grid.over(np.array([0.0, 0.0]), np.array([40.0, 30.0]), CELL, margin=1.0)


def plate(grid: Grid) -> np.ndarray:
    x, y = np.meshgrid(grid.x(), grid.y())
    return np.where((x >= 0) & (x <= 40) & (y >= 0) & (y <= 30), 10.0, -np.inf).astype(np.float32)


def ground_of(heights: np.ndarray, grid: Grid, settings: RegionSettings | None = None, skipped: np.ndarray | None = None, **more: object) -> Ground:
    nothing = np.zeros(grid.shape, bool)
    skipped = nothing if skipped is None else skipped
    return plan_ground(heights, skipped, no_openings(heights, grid), (), grid, settings or RegionSettings(), **more)


def distance_outside(mask: np.ndarray) -> np.ndarray:
    """Distance in mm of every cell to the nearest one of a mask (scipy)."""
    return ndimage.distance_transform_edt(~mask) * CELL


def test_a_level_plate_is_planned_up_to_its_rim(grid: Grid) -> None:
    heights = plate(grid)
    ground = ground_of(heights, grid)
    body = heights > -np.inf
    outline = body & (distance_outside(~body) <= CELL)
    rim = body & (distance_outside(outline) <= 1.5 * CELL)
    np.testing.assert_array_equal(ground.planned, body & ~rim)
    np.testing.assert_array_equal(ground.rims, rim)
    # Links may run over the rim and a cell and a half beyond it, where the ball rolls over the edge.
    np.testing.assert_array_equal(ground.passable, body | (distance_outside(outline) <= 1.5 * CELL))
    assert not ground.forbidden.any() and not ground.walls.any() and not ground.bridged.any()
    # Closed form: 161 x 121 cells, without the outline and a cell beside it all round.
    assert ground.planned.sum() == 157 * 117 and ground.planned_area == pytest.approx(157 * 117 * CELL**2)
    assert ground.skipped_area == ground.wall_area == ground.opening_area == 0


@pytest.mark.parametrize("margin", [0.0, 0.5, 2.0])
def test_contacts_keep_the_margin_from_skipped_faces(grid: Grid, margin: float) -> None:
    skipped = np.zeros(grid.shape, bool)
    skipped[40:60, 70:100] = True
    ground = ground_of(plate(grid), grid, RegionSettings(skip_margin=margin), skipped)
    away = distance_outside(skipped)
    near = away <= max(margin, CELL) + 1e-9  # a cell at least
    np.testing.assert_array_equal(ground.forbidden, near)
    assert not (ground.planned & near).any() and not (ground.passable & near).any()
    assert ground.planned[(away > max(margin, CELL) + 1e-9) & (away < 5)].all()
    assert ground.skipped_area == pytest.approx(skipped.sum() * CELL**2)


def test_walls_are_ground_as_steep_as_the_limit(grid: Grid) -> None:
    # Closed form: a roof of 30 degrees on one side and 50 on the other, walls from 45; its area is that of the plan over the cosine.
    x, _ = np.meshgrid(grid.x(), grid.y())
    roof = np.where(x < 20, np.tan(np.radians(30)) * (x - 20), -np.tan(np.radians(50)) * (x - 20))
    heights = np.where(plate(grid) > -np.inf, 40 + roof, -np.inf).astype(np.float32)
    ground = ground_of(heights, grid, RegionSettings(wall_limit=45.0))
    assert ground.walls[(heights > -np.inf) & (x > 20 + CELL)].all() and not ground.walls[x < 20 - CELL].any()
    assert not (ground.planned & ground.walls).any()
    # No contact lies on them but on their outermost cells, which may hold the edge; and none is wanted there where a wall comes to the outline.
    brink = ground.walls & (distance_outside((heights > -np.inf) & ~ground.walls) <= CELL + 1e-9)
    on_outline = ground.walls & (distance_outside(heights == -np.inf) <= EDGE_CELLS * CELL + 1e-9)
    np.testing.assert_array_equal(ground.brinks, brink & (distance_outside(on_outline) > EDGE_CELLS * CELL + 1e-9))
    np.testing.assert_array_equal(ground.forbidden, ground.walls & ~brink)
    assert ground.passable[brink].all()
    assert ground.wall_area == pytest.approx(20 * 30 / np.cos(np.radians(50)), rel=0.02)
    # Nor within the margin of skipped faces, brink or not.
    skipped = (heights > -np.inf) & (x < 20) & (x > 17)
    beside = ground_of(heights, grid, RegionSettings(wall_limit=45.0, skip_margin=2.0), skipped)
    near = (heights > -np.inf) & (distance_outside(skipped) <= 2.0)
    assert (near & ground.brinks).any() and not beside.brinks[near].any() and beside.forbidden[near].all()
    # Cells 2..80 along x and 2..118 along y are no rim.
    assert ground.planned_area == pytest.approx(79 * 117 * CELL**2 / np.cos(np.radians(30)), rel=0.01)
    assert ground_of(heights, grid, RegionSettings(wall_limit=60.0)).wall_area == 0


def test_ground_below_the_deepest_tip_is_left_out(grid: Grid) -> None:
    x, _ = np.meshgrid(grid.x(), grid.y())
    heights = np.where(plate(grid) > -np.inf, 10 + 0.2 * x, -np.inf).astype(np.float32)  # from 10 to 18
    ground = ground_of(heights, grid, RegionSettings(deepest_tip=3.0))
    low = heights < 15.0
    np.testing.assert_array_equal(ground.forbidden, low & (heights > -np.inf))
    assert not ground.planned[low].any()


def test_only_what_is_wanted_is_planned(grid: Grid) -> None:
    x, _ = np.meshgrid(grid.x(), grid.y())
    ground = ground_of(plate(grid), grid, RegionSettings(skip_margin=0.5), wanted=x < 20)
    assert not ground.planned[x > 19.6].any() and ground.planned[15:-15, :][x[15:-15, :] == 10].all()


def test_drops_have_rims_at_head_and_foot(grid: Grid) -> None:
    # By construction: a step of 3 mm, far steeper than 80 degrees over one cell.
    x, _ = np.meshgrid(grid.x(), grid.y())
    heights = np.where(plate(grid) > -np.inf, np.where(x > 20.1, 13.0, 10.0), -np.inf).astype(np.float32)
    ground = ground_of(heights, grid)
    # Two cells beside the step, and a cell and a half of rim round them.
    step = (np.abs(x - 20.125) < CELL) & (heights > -np.inf)
    inner = distance_outside(heights == -np.inf) > 3 * CELL
    np.testing.assert_array_equal(ground.rims[inner], (distance_outside(step) <= 1.5 * CELL)[inner])
    assert not (ground.planned & ground.rims).any()


def test_openings_are_skipped_with_a_margin_or_bridged(grid: Grid) -> None:
    heights = plate(grid)
    pocket = np.zeros(grid.shape, bool)
    pocket[60:80, 80:110] = True
    heights[pocket] = 4.0
    found = find_openings(heights, grid)
    (opening,) = found.openings
    settings, nothing = RegionSettings(opening_margin=1.0), np.zeros(grid.shape, bool)
    skip, bridge, follow = (
        plan_ground(heights, nothing, found, treated((opening,), 10.0, TreatmentChoices(kind)), grid, settings) for kind in ("skip", "bridge", "follow")
    )
    near = distance_outside(pocket) <= 1.0
    assert not skip.planned[near].any() and skip.forbidden[near].all()
    assert bridge.bridged[pocket].all() and not bridge.planned[pocket].any() and bridge.passable[pocket].all()
    assert len(skip.bridges) == 0 and len(bridge.bridges) > 0
    np.testing.assert_allclose(bridge.heights[pocket], 10.0, atol=0.011)
    floor = ndimage.binary_erosion(pocket, iterations=3)
    assert follow.planned[floor].all() and (follow.heights[floor] == 4.0).all()
    for ground in (skip, bridge, follow):
        assert ground.opening_area == pytest.approx(pocket.sum() * CELL**2)


def test_slope_of_planes_and_of_drops() -> None:
    # Closed forms: a plane's own slope everywhere, one-sided at the outline too; beside a drop central differences show half of it.
    grid = Grid(0.0, 0.0, CELL, 30, 40)
    x, y = np.meshgrid(grid.x(), grid.y())
    plane = np.where(np.hypot(x - 5, y - 4) < 3, 0.3 * x - 0.6 * y, -np.inf)
    slope = surface_slope(plane, CELL)
    body = plane > -np.inf
    np.testing.assert_array_equal(np.isnan(slope), ~body)
    np.testing.assert_allclose(slope[body], np.degrees(np.arctan(np.hypot(0.3, 0.6))), atol=1e-3)
    drop = surface_slope(np.where(x > 5.1, 2.0, 0.0), CELL)
    beside = np.abs(x - 5.125) < CELL
    np.testing.assert_allclose(drop[beside], np.degrees(np.arctan(2.0 / (2 * CELL))), atol=1e-3)
    assert (drop[~beside] == 0).all()
