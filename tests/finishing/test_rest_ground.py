"""What a larger cutter leaves for a smaller one, and the stock that stands round both."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from ledge_bodies import LedgeTop
from shapes import block

from addon.finishing.ball.cutter_view import CutterView, cutter_view_steps, padded_ground, rim_cells
from addon.finishing.ball.rest_ground import rest_ground
from addon.finishing.core.grid import Grid
from addon.finishing.core.result_store import ResultStore
from addon.finishing.core.stage_runner import StageRunner
from addon.finishing.core.stepping import finished
from addon.finishing.job.body import Body, make_body
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.ground_settings import RegionSettings
from addon.finishing.job.request import Remaining, Request
from addon.finishing.job.roughing import RoughingSettings
from addon.finishing.job.stock import StockSettings
from addon.finishing.planning.plan_graph import PLAN_GRAPH
from addon.finishing.surface.ground import Ground
from addon.finishing.surface.side import Side, make_side, side_ground
from addon.finishing.tooling.surroundings import StockBefore, StockGiven

CELL, RADIUS, TOLERANCE = 0.25, 8.0, 0.05
HALF_ANGLE = np.radians(60.0)
"""Of a V groove along y in the middle of the body."""


def grooved(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Level ground at 20 mm with a V groove 3 mm deep along y, of walls 30 degrees steep."""
    return np.minimum(20.0, 17.0 + np.abs(x - 30) / np.tan(HALF_ANGLE))


@pytest.fixture(scope="module")
def body() -> Body:
    return make_body("grooved", block(grooved, 60.0, 30.0, 0.5))


@pytest.fixture(scope="module")
def side(body: Body) -> Side:
    return make_side(body.triangles, CELL)


@pytest.fixture(scope="module")
def ground(side: Side) -> Ground:
    return padded_ground(side_ground(side, np.zeros(side.grid.shape, bool), RegionSettings(), 2 * RADIUS), rim_cells(RADIUS, side.grid))


@pytest.fixture(scope="module")
def view(side: Side, ground: Ground) -> CutterView:
    return finished(cutter_view_steps(ground.heights, side.grid, RADIUS))


def test_what_a_ball_leaves_in_a_groove_is_wanted_with_its_overlap(side: Side, ground: Ground, view: CutterView) -> None:
    # Closed form: in a V of half angle a the ball touches R cos a to both sides of the root; between, it leaves ground.
    found = rest_ground(view, ground, TOLERANCE, skip_margin=0.5, overlap=1.0)
    touching = RADIUS * np.cos(HALF_ANGLE)
    x, y = np.meshgrid(side.grid.x(), side.grid.y())
    away, inside = np.abs(x - 30), (y > 5) & (y < 25)
    # Up to where less than the tolerance is left, the overlap, and what contacts keep from ground that is not wanted.
    reach = touching + 1.0 + 0.5 + 2.5 * CELL
    assert not found.wanted[inside & (away > reach + 2 * CELL)].any()
    assert found.wanted[inside & (away < touching - 1.0 + 1.0)].all()
    # What is left at the root: R (1 / sin a - 1).
    root = inside & (away < CELL / 2)
    assert np.median(found.surface[root] - side.heights[root]) == pytest.approx(RADIUS * (1 / np.sin(HALF_ANGLE) - 1), abs=0.01)


def test_nothing_is_wanted_where_the_ball_reaches_all(side: Side) -> None:
    flat = make_side(block(lambda x, y: 20 + 0 * x, 60.0, 30.0, 1.0), CELL)
    own = padded_ground(side_ground(flat, np.zeros(flat.grid.shape, bool), RegionSettings(), 2 * RADIUS), rim_cells(RADIUS, flat.grid))
    rolled = finished(cutter_view_steps(own.heights, flat.grid, RADIUS))
    assert not rest_ground(rolled, own, TOLERANCE, 0.5, 1.0).wanted.any()


def test_what_is_left_at_the_foot_of_a_wall_asks_for_nothing_above_it() -> None:
    # The ball leaves the ledge's foot and the groove. Between them, 4 mm and more from both, there is nothing to do, though cells along the upper
    # edge of the bevel lie half on it.
    top = LedgeTop(half_length=47.0, half_width=38.0, bevel_width=1.6, bevel_rise=5.2, strip_width=13.0)
    body = make_side(top.triangles(), CELL)
    own = padded_ground(side_ground(body, np.zeros(body.grid.shape, bool), RegionSettings(), 4 * RADIUS), rim_cells(2 * RADIUS, body.grid))
    found = rest_ground(finished(cutter_view_steps(own.heights, body.grid, 2 * RADIUS)), own, TOLERANCE, 0.5, 1.0)
    turn = np.linspace(0, 2 * np.pi, 720, endpoint=False)
    normal = np.column_stack([top.half_width * np.cos(turn), top.half_length * np.sin(turn)])
    normal /= np.linalg.norm(normal, axis=1)[:, None]
    outline = np.column_stack([top.half_length * np.cos(turn), top.half_width * np.sin(turn)])

    def wanted(inward: float) -> np.ndarray:
        return found.wanted[body.grid.nearest(outline - inward * normal)]

    above, groove = top.ledge_width + top.bevel_width, top.ledge_width + top.bevel_width + top.strip_width
    assert wanted(top.ledge_width / 2).all() and wanted(groove + top.groove_width / 2).all()
    for inward in np.arange(above + 0.5, groove - 4.0, 0.5):
        assert not wanted(inward).any(), inward


def asked(request: Request, name: str) -> object:
    return finished(StageRunner(PLAN_GRAPH, ResultStore()).ask((name,), request))[name]


@pytest.fixture(scope="module")
def request_of(body: Body) -> Request:
    return Request(body, cutter=Cutter("Round-nose 16", 2 * RADIUS), cell=0.5, stock=StockSettings(margin=40.0, thickness=22.0, height_in_stock=0.0))


def test_the_stock_before_an_even_layer(request_of: Request) -> None:
    before = asked(request_of, "stock_before")
    assert isinstance(before, StockBefore)
    x, y = np.meshgrid(before.grid.x() - 40, before.grid.y() - 40)  # from the body's corner; the stock begins 40 mm before it
    level = (x > 2) & (x < 22) & (y > 2) & (y < 28)
    # By construction: the allowance on the body, nothing in the channel of 22 mm beside it, the whole stock of 22 mm beyond.
    np.testing.assert_allclose(before.rough[level], 20.5, atol=1e-5)
    channel, beyond = (x < -2) & (x > -20) & (y > 2) & (y < 28), (x < -24) & (x > -38) & (y > 2) & (y < 28)
    assert (before.rough[channel] == 0.0).all() and not np.isfinite(before.standing[channel]).any()
    np.testing.assert_allclose(before.standing[beyond], 22.0, atol=1e-5)
    assert (before.depth == np.float32(0.5)).all()


def test_the_depth_on_a_slope_is_along_the_normal(request_of: Request) -> None:
    # By construction: stock as a box up to 20 mm over the groove; at its walls of 30 degrees the contact sees cos 30 of the height above it.
    stock = make_body("box", block(lambda x, y: 20 + 0 * x, 60.0, 30.0, 1.0))
    asked_for = replace(request_of, stock_body=stock, cutter=Cutter("Round-nose 4", 4.0))
    before, ground, region = (asked(asked_for, name) for name in ("stock_before", "ground", "region"))
    row, column = np.nonzero((region.slope_degrees > 29.5) & (region.slope_degrees < 30.5) & region.cutting)
    touched = region.contact_row[row, column], region.contact_column[row, column]
    over = 20.0 - ground.heights[touched]
    np.testing.assert_allclose(before.depth[row, column], np.maximum(over, 0) * np.cos(np.radians(30)), atol=0.02)
    assert len(row) > 500 and over.max() > 2


def test_a_smaller_cutter_meets_what_the_larger_has_left(request_of: Request) -> None:
    larger = request_of.cutter
    assert larger is not None
    after = replace(request_of, cutter=Cutter("Round-nose 4", 4.0), remaining=Remaining(larger, 1.0))
    before = asked(after, "stock_before")
    assert isinstance(before, StockBefore)
    x, y = np.meshgrid(before.grid.x() - 40, before.grid.y() - 40)
    root, level = (np.abs(x - 30) < 0.3) & (y > 5) & (y < 25), (x > 2) & (x < 18) & (y > 2) & (y < 28)
    left = 17.0 + RADIUS * (1 / np.sin(HALF_ANGLE) - 1)
    np.testing.assert_allclose(before.rough[root], left, atol=0.15)
    np.testing.assert_allclose(before.rough[level], 20.0, atol=1e-4)


def test_an_even_layer_is_what_roughing_without_terraces_leaves() -> None:
    given = StockGiven(box=None, roughing=RoughingSettings(), triangles=None, left_by_larger=None)  # type: ignore[arg-type]
    assert given.is_an_even_layer
    assert not replace(given, roughing=RoughingSettings(terrace_height=4.0)).is_an_even_layer
    assert not replace(given, triangles=np.zeros((1, 3, 3))).is_an_even_layer
    assert not replace(given, left_by_larger=np.zeros((2, 2))).is_an_even_layer


def test_the_grid_of_the_stock_holds_stock_and_cutter(request_of: Request) -> None:
    before, region = asked(request_of, "stock_before"), asked(request_of, "region")
    assert isinstance(before, StockBefore) and isinstance(before.grid, Grid)
    for axis in ("x", "y"):
        wide, own = getattr(before.grid, axis)(), getattr(region.grid, axis)()
        assert wide[0] <= min(own[0], 0.0) and wide[-1] >= own[-1]
