"""Contact and axis, and the region of the axis, against closed forms."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from opening_bodies import no_openings

from addon.finishing.ball.axis_region import AxisRegion, axis_region, reachable_ground
from addon.finishing.ball.contact import contact_offset
from addon.finishing.core.grid import Grid
from addon.finishing.job.ground_settings import RegionSettings
from addon.finishing.surface.ground import Ground, plan_ground

RADIUS, RHO = 4.0, 25.0


@given(st.floats(-3, 3), st.floats(-3, 3), st.floats(0.5, 30))
def test_the_contact_lies_the_radius_along_the_normal_from_the_centre(slope_x: float, slope_y: float, radius: float) -> None:
    # By definition of touching: contact to centre is a vector along the ground's normal (-slope, 1), as long as the radius.
    uphill = np.array(contact_offset(np.array(slope_x), np.array(slope_y), radius))
    up = np.sqrt(radius**2 - (uphill**2).sum())
    to_centre = np.append(-uphill, up)
    assert np.linalg.norm(np.cross(to_centre, [-slope_x, -slope_y, 1])) < 1e-6 * radius
    assert to_centre[2] > 0


def test_offsets_keep_the_kind_of_numbers() -> None:
    slope = np.array([0.5, -1.0], np.float32)
    assert all(v.dtype == np.float32 for v in contact_offset(slope, slope, 3.0))


def sphere(crown: bool, skip_right: bool = False) -> tuple[Grid, Ground, np.ndarray, np.ndarray]:
    """Ground that is a dome or a bowl of the radius RHO, and its exact tip surface by the closed form: the centre runs on RHO +- R."""
    grid = Grid.over(np.array([-18.0, -18.0]), np.array([18.0, 18.0]), 0.25)
    x, y = np.meshgrid(grid.x(), grid.y())
    square = np.minimum(x * x + y * y, 18.0**2)
    heights = (np.sqrt(RHO**2 - square) if crown else -np.sqrt(RHO**2 - square)).astype(np.float32)
    away = RHO + RADIUS if crown else RHO - RADIUS
    tip = ((1 if crown else -1) * np.sqrt(away**2 - np.minimum(square, (17.0 * away / RHO) ** 2)) - RADIUS).astype(np.float32)
    ground = plan_ground(heights, skip_right & (x > 5), no_openings(heights, grid), (), grid, RegionSettings(skip_margin=0.5))
    return grid, ground, tip, np.hypot(x, y)


@pytest.mark.parametrize("crown", [True, False])
def test_contacts_on_a_sphere(crown: bool) -> None:
    # Closed form: centre and contact lie on one ray from the sphere's middle, so the contact is at rho / (rho +- R) of the axis.
    grid, ground, tip, r = sphere(crown)
    region = axis_region(tip, ground, grid, RADIUS, 60.0)
    share = RHO / (RHO + RADIUS) if crown else RHO / (RHO - RADIUS)
    inside = r < (14 if crown else 11)
    x, y = np.meshgrid(grid.x(), grid.y())
    contact_x = grid.left + grid.cell * region.contact_column
    contact_y = grid.front + grid.cell * region.contact_row
    # Slopes are differences over two cells: off by far less than the half cell that rounding to cells takes.
    np.testing.assert_allclose(contact_x[inside], (share * x)[inside], atol=0.5 * grid.cell + 0.01)
    np.testing.assert_allclose(contact_y[inside], (share * y)[inside], atol=0.5 * grid.cell + 0.01)
    np.testing.assert_allclose(region.slope_degrees[inside], np.degrees(np.arcsin(share * r[inside] / RHO)), atol=0.1)


def step_down(drop: float, turned: float, radius: float) -> tuple[Grid, Ground, np.ndarray, np.ndarray]:
    """Level ground that falls by `drop` over a wall of 73 degrees, turned in plan, with the tip surface by the closed form and the distance (rows,
    columns) behind the wall's upper edge: the ball rolls over that edge down to the lower ground and never touches the wall."""
    grid = Grid.over(np.array([-18.0, -18.0]), np.array([18.0, 18.0]), 0.25)
    x, y = np.meshgrid(grid.x(), grid.y())
    behind = x * np.cos(turned) + y * np.sin(turned)
    heights = np.clip(10 - behind / 0.3, 10 - drop, 10).astype(np.float32)
    rolling = 10 - radius + np.sqrt(np.maximum(radius**2 - np.maximum(behind, 0) ** 2, 0))
    ground = plan_ground(heights, np.zeros(grid.shape, bool), no_openings(heights, grid), (), grid, RegionSettings())
    return grid, ground, np.maximum(rolling, 10 - drop).astype(np.float32), behind


@pytest.mark.parametrize(("width", "reached"), [(5, False), (9, True)])
def test_reached_ground_that_stands_alone_counts_from_two_square_millimetres(width: int, reached: bool) -> None:
    # Axis positions in a square of 1.25 or 2.25 mm on the dome: by the closed form the contacts lie within 25 / 29 of that, 1.2 or 3.8 mm2.
    grid, ground, tip, _ = sphere(crown=True)
    region = axis_region(tip, ground, grid, RADIUS, 60.0)
    alone = np.zeros_like(region.cutting)
    middle = grid.rows // 2
    alone[middle : middle + width, middle : middle + width] = True
    found = reachable_ground(ground.planned, ground.heights, replace(region, cutting=alone), RADIUS)
    assert found.any() == reached
    if reached:
        assert found.sum() * grid.cell_area == pytest.approx((width * grid.cell * RHO / (RHO + RADIUS)) ** 2, rel=0.3)


@pytest.mark.parametrize("turned", [0.0, 0.3, 0.61, 1.2])
def test_a_ball_that_rolls_over_a_wall_without_touching_it_may_stand_anywhere(turned: float) -> None:
    # It leaves the edge at a slope of arccos(1 - 3 / 8), 51 degrees, sqrt(8^2 - 5^2) behind it; just there it touches edge and foot at once.
    grid, ground, tip, behind = step_down(3.0, turned, radius=8.0)
    region = axis_region(tip, ground, grid, 8.0, 60.0)
    inner = (np.hypot(*np.meshgrid(grid.x(), grid.y())) < 15) & (np.abs(behind - np.sqrt(39)) > 5 * grid.cell)
    assert ground.walls[inner & (behind > 0.3) & (behind < 0.6)].all()
    assert region.linking[inner].all() and region.cutting[inner].all()
    # The contact lies on the edge or on one of the levels, to a cell.
    contact = behind[region.contact_row, region.contact_column][inner]
    assert ((contact < 1.5 * grid.cell) | (contact > 0.9 - grid.cell)).all()


@pytest.mark.parametrize("turned", [0.0, 0.3, 0.61, 1.2])
def test_but_not_where_it_would_roll_too_steeply(turned: float) -> None:
    # Steeper than 60 degrees from R sin 60 behind the edge to where it meets the lower ground, sqrt(R^2 - (R - drop)^2).
    grid, ground, tip, behind = step_down(7.9, turned, radius=8.0)
    region = axis_region(tip, ground, grid, 8.0, 60.0)
    low, high = 8 * np.sin(np.radians(60)), np.sqrt(64 - 0.1**2)
    steep = (behind > low + 2 * grid.cell) & (behind < high - grid.cell)
    assert steep.any() and not region.linking[steep].any()


@pytest.mark.parametrize("crown", [True, False])
def test_no_contact_comes_near_skipped_ground(crown: bool) -> None:
    # Closed form: the contact of the axis x is share x; ground is skipped from x = 5 on, with a margin of 0.5 mm.
    grid, ground, tip, r = sphere(crown, skip_right=True)
    region = axis_region(tip, ground, grid, RADIUS, 60.0)
    share = RHO / (RHO + RADIUS) if crown else RHO / (RHO - RADIUS)
    x = np.broadcast_to(grid.x(), grid.shape)
    inside = r < 10
    contact = share * x[inside]
    for mask, more in ((region.linking, 0.0), (region.cutting, 1.5 * grid.cell)):
        allowed = mask[inside]
        assert not allowed[contact > 4.5].any()
        # What is taken beyond the margin: a cell beside forbidden contacts, half a cell of rounding each, and room for turns.
        assert allowed[(contact < 4.5 - 2.5 * grid.cell - more) & (contact > -8)].all()


def test_walls_keep_the_axis_away_where_the_tip_surface_is_too_steep() -> None:
    # Closed form on a dome: the slope at the contact is asin(r / (rho + R)) over the axis at r.
    grid, ground, tip, r = sphere(crown=True)
    region = axis_region(tip, ground, grid, RADIUS, 25.0)
    limit = (RHO + RADIUS) * np.sin(np.radians(25))
    assert not region.linking[(r > limit + grid.cell) & (r < 17)].any()
    assert region.linking[r < limit - grid.cell].all()
    points = np.array([[0.0, 0.0], [limit + 0.5, 0.0]])
    assert region.may_cut(points).tolist() == region.may_link(points).tolist() == [True, False]


def test_overrun_limits_how_far_the_axis_passes_the_outline() -> None:
    # Closed form: over a flat plate with upright sides the axis may stand up to R beside it, or the overrun if that is less.
    grid = Grid.over(np.array([0.0, 0.0]), np.array([20.0, 16.0]), 0.25, margin=6.0)
    x, y = np.meshgrid(grid.x(), grid.y())
    plate = (x >= 0) & (x <= 20) & (y >= 0) & (y <= 16)
    heights = np.where(plate, 5.0, -np.inf).astype(np.float32)
    beside = np.hypot(np.maximum(np.maximum(-x, x - 20), 0), np.maximum(np.maximum(-y, y - 16), 0))
    tip = np.where(beside <= RADIUS, 5 - RADIUS + np.sqrt(np.maximum(RADIUS**2 - beside**2, 0)), -np.inf).astype(np.float32)
    ground = plan_ground(heights, np.zeros(grid.shape, bool), no_openings(heights, grid), (), grid, RegionSettings())
    for overrun, expected in ((1.0, 1.0), (2.0, 2.0), (None, RADIUS * np.sin(np.radians(60)))):
        region = axis_region(tip, ground, grid, RADIUS, 60.0, overrun)
        assert beside[region.linking].max() == pytest.approx(expected, abs=1.5 * grid.cell)


@pytest.mark.parametrize("axis", [0, 1])
def test_reachable_ground_is_what_the_axis_can_serve(axis: int) -> None:
    # Closed form: contacts on a dome lie at rho / (rho + R) of the axis, so ground under axis positions of x (or y) < 6 ends at 6 times that.
    grid, ground, tip, r = sphere(crown=True)
    x = np.meshgrid(grid.x(), grid.y())[axis]
    nowhere = np.zeros(grid.shape, np.int32)
    region = AxisRegion(grid=grid, cutting=x < 6.0, linking=x < 6.0, contact_row=nowhere, contact_column=nowhere, slope_degrees=np.zeros(grid.shape))
    found = reachable_ground(ground.planned, ground.heights, region, RADIUS)
    edge = 6.0 * RHO / (RHO + RADIUS)
    inner = ground.planned & (r < 12)
    assert found[inner & (x < edge - grid.cell)].all() and not found[inner & (x > edge + grid.cell)].any()
    assert not found[~ground.planned].any()
