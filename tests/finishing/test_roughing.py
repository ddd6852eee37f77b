"""What roughing leaves: terraces, allowance and channel, against scipy, closed forms and a plain twin of the flat cutter."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.ndimage import distance_transform_edt, grey_dilation

from addon.finishing.ball.disc_dilation import disc_dilation
from addon.finishing.core.grid import Grid
from addon.finishing.job.roughing import RoughingSettings
from addon.finishing.tooling.flat_cutter import flat_closing
from addon.finishing.tooling.standing_stock import StockBox, stock_after_roughing, terraced


def test_disc_dilation_is_that_of_scipy() -> None:
    heights = np.random.default_rng(4).normal(size=(53, 71)).astype(np.float32)
    for radius, cell in ((0.4, 0.5), (1.0, 0.5), (3.3, 0.5), (7.0, 0.5), (0.3, 0.1)):
        n = int(radius / cell + 1e-9)
        y, x = np.mgrid[-n : n + 1, -n : n + 1] * cell
        disc = x * x + y * y <= radius * radius + 1e-9
        wanted = grey_dilation(heights, footprint=disc, mode="constant", cval=-np.inf)
        assert np.array_equal(disc_dilation(heights, radius, cell), wanted)


def test_terraces_of_a_slope_are_as_wide_as_the_step_down_asks() -> None:
    # A plane rising 1 in 4 under steps of 3 mm: terraces 12 mm long, nowhere below the surface, none more than one step above it plus
    # what the flat cutter's radius cannot reach.
    grid = Grid(left=0.0, front=0.0, cell=0.5, rows=60, columns=240)
    surface = np.broadcast_to(grid.x() / 4, grid.shape).astype(np.float32)
    settings = RoughingSettings(terrace_height=3.0, cutter_diameter=6.0)
    left = terraced(surface, grid.cell, settings, 30.0)
    over = (left - surface)[20:40, 20:-20]
    assert over.min() >= 0 and over.max() <= 3.0 + 0.5
    levels = left[30, 20:-20]
    on_step = np.abs((30.0 - levels) / 3.0 - np.round((30.0 - levels) / 3.0)) < 1e-4
    assert on_step.mean() > 0.95
    runs = np.diff(np.flatnonzero(np.diff(levels) > 1)) * 0.5
    assert np.median(runs) == pytest.approx(12.0, abs=0.5)


def test_allowance_stands_along_the_normal() -> None:
    grid = Grid(left=0.0, front=0.0, cell=0.25, rows=80, columns=80)
    surface = np.broadcast_to(grid.x() * np.tan(np.radians(40)), grid.shape)
    box = StockBox((-50.0, -50.0), (80.0, 80.0), 90.0, -10.0)
    rough = stock_after_roughing(surface, grid, RoughingSettings(allowance=0.5), box)
    assert (rough - surface)[5:-5, 5:-5] == pytest.approx(0.5 / np.cos(np.radians(40)), rel=1e-4)


def plain_roughing(surface: np.ndarray, cell: float, radius: float, step: float, top: float) -> np.ndarray:
    """Lower a flat cutter over every cell, one after the other, to the lowest step at which it is nowhere below the surface."""
    reach = int(radius / cell) + 1
    wide = np.pad(surface, reach, constant_values=-np.inf)
    standing = np.full(wide.shape, np.inf)
    row, column = np.indices(wide.shape)
    for r in range(wide.shape[0]):
        for c in range(wide.shape[1]):
            under = np.hypot(row - r, column - c) * cell <= radius + 1e-9
            highest = wide[under].max()
            lowest_step = -np.inf if highest == -np.inf else top - step * np.floor((top - highest) / step + 1e-9)
            standing[under] = np.minimum(standing[under], lowest_step)
    out = standing[reach:-reach, reach:-reach]
    return np.where(surface > -np.inf, np.maximum(out, surface), -np.inf)


@pytest.mark.parametrize(("seed", "radius"), [(0, 1.5), (1, 2.3), (2, 4.0)])
def test_terraces_are_those_of_a_flat_cutter_set_down_cell_by_cell(seed: int, radius: float) -> None:
    rng = np.random.default_rng(seed)
    y, x = np.mgrid[0:24, 0:30]
    surface = (8 + 3 * np.sin(x / 5 + seed) * np.cos(y / 4) + rng.uniform(0, 0.3, x.shape)).astype(np.float32)
    surface[np.hypot(x - 22, y - 6) < 5] = -np.inf
    settings = RoughingSettings(terrace_height=1.5, cutter_diameter=2 * radius)
    found = terraced(surface, 0.5, settings, 12.0)
    np.testing.assert_allclose(found, plain_roughing(surface, 0.5, radius, 1.5, 12.0), atol=1e-5)
    # Zero may lie anywhere: below it nothing is different.
    np.testing.assert_allclose(terraced(surface - 32, 0.5, settings, -20.0), found - 32, atol=1e-5)


def test_without_step_downs_a_flat_cutter_leaves_what_it_cannot_reach() -> None:
    # Closed form: between upright walls 10 mm apart a cutter of 12 mm stays on top, one of 8 mm clears the floor but for its corners.
    heights = np.full((60, 60), 5.0, np.float32)
    heights[20:40, :] = 0.0  # 10 mm at a cell of 0.5 mm
    assert (flat_closing(heights, 6.0, 0.5, lambda z: z)[25:35, 15:45] == 5.0).all()
    assert (flat_closing(heights, 4.0, 0.5, lambda z: z)[20:40, 15:45] == 0.0).all()
    assert RoughingSettings().terrace_height is None and terraced(heights, 0.5, RoughingSettings(), 9.0) is heights


def test_beside_the_body_the_channel_is_clear_and_the_stock_stands_beyond() -> None:
    # scipy's distances: nothing stands above the stock's bottom within the channel, the whole stock beyond it, and nothing outside the box.
    grid = Grid(left=-30.0, front=-30.0, cell=0.5, rows=121, columns=161)
    x, y = np.meshgrid(grid.x(), grid.y())
    body = (np.hypot(x, y) < 9) | ((np.abs(x - 15) < 6) & (np.abs(y) < 4))
    surface = np.where(body, 20.0, -np.inf)
    stock = StockBox((-25.0, -25.0), (40.0, 25.0), 24.0, -3.0)
    rough = stock_after_roughing(surface, grid, RoughingSettings(allowance=0.5, channel_width=7.0), stock)
    away = distance_transform_edt(~body, sampling=0.5)
    inside = (x >= -25) & (x <= 40) & (y >= -25) & (y <= 25)
    assert (rough[body] == 20.5).all()
    assert (rough[~body & inside & (away <= 7.0)] == -3.0).all()
    assert (rough[inside & (away > 7.0)] == 24.0).all()
    assert (rough[~body & ~inside] == -np.inf).all()
    # Without a width of its own the channel is as wide as the flat cutter; the allowance does not stand out of the stock.
    assert RoughingSettings(cutter_diameter=22.0).channel == 22.0
    flush = stock_after_roughing(surface, grid, RoughingSettings(allowance=0.5), StockBox((-25.0, -25.0), (40.0, 25.0), 20.2, -3.0))
    assert flush[body] == pytest.approx(20.2)


def test_at_the_outline_a_drop_is_no_slope() -> None:
    # A level body 20 mm high: its allowance is as thick at the edge as amid it.
    grid = Grid(left=0.0, front=0.0, cell=0.5, rows=40, columns=40)
    surface = np.full(grid.shape, -np.inf)
    surface[10:30, 10:30] = 20.0
    rough = stock_after_roughing(surface, grid, RoughingSettings(allowance=0.8), StockBox((0.0, 0.0), (20.0, 20.0), 30.0, 0.0))
    assert rough[10:30, 10:30] == pytest.approx(20.8)


def test_on_walls_the_allowance_grows_no_higher_than_at_sixty_degrees() -> None:
    grid = Grid(left=0.0, front=0.0, cell=0.25, rows=60, columns=60)
    stock = StockBox((-50.0, -50.0), (80.0, 80.0), 900.0, -10.0)
    for slope, over in ((55.0, 0.5 / np.cos(np.radians(55.0))), (60.0, 1.0), (80.0, 1.0)):
        surface = np.broadcast_to(grid.x() * np.tan(np.radians(slope)), grid.shape)
        rough = stock_after_roughing(surface, grid, RoughingSettings(allowance=0.5), stock)
        assert (rough - surface)[5:-5, 5:-5] == pytest.approx(over, rel=1e-4)
