"""Lines drawn closer where the cusp between them stands too high: the meter against closed forms, the drawing by its effect."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from closed_forms import cusp_on_curve
from shapes import graph

from addon.finishing.ball.exact_tip import TipFinder
from addon.finishing.ball.tip_surface import closing_steps, tip_surface
from addon.finishing.core.grid import FloatArray, Grid
from addon.finishing.core.level_lines import level_lines
from addon.finishing.core.masks import Mask
from addon.finishing.core.stepping import finished
from addon.finishing.passes.crest_balance import balanced_steps
from addon.finishing.passes.crest_meter import CrestMeter
from addon.finishing.passes.cusp_metric import cusp_metric
from addon.finishing.passes.starts import PassField, Start
from addon.finishing.simulation.proof import ProvedGround

RADIUS, CUSP, CELL = 6.0, 0.05, 0.25
NOTHING = np.zeros((0, 2))


def channel(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """A channel of 9 mm radius between two slanted planes along x: its bend jumps at both flanks."""
    reach = 9.0 * np.sin(np.radians(25))
    aside = np.abs(y - 20)
    arc = 9.0 - np.sqrt(81.0 - np.minimum(aside, reach) ** 2)
    return 8 + arc + np.maximum(aside - reach, 0) * np.tan(np.radians(25)) + 0 * x


def ground_of(surface: Callable[[np.ndarray, np.ndarray], np.ndarray]) -> tuple[Grid, np.ndarray, ProvedGround, TipFinder]:
    grid = Grid(0.0, 0.0, CELL, 161, 161)
    heights = surface(*np.meshgrid(grid.x(), grid.y())).astype(np.float32)
    tip = tip_surface(heights, RADIUS, CELL)
    planned = np.zeros(grid.shape, bool)
    planned[30:-30, 30:-30] = True
    left = np.where(planned, finished(closing_steps(tip, RADIUS, CELL)), heights)
    triangles = graph(surface, np.linspace(-1, 41, 22), np.linspace(-1, 41, 421))
    return grid, tip, ProvedGround(grid, left, heights, planned, 0.05), TipFinder(triangles)


@pytest.mark.parametrize("radius_of_ground", [None, 25.0, -12.0])
def test_meter_on_lines_along_a_cylinder(radius_of_ground: float | None) -> None:
    # Closed form: contacts a step s apart on ground of curvature k leave h(R, s, k) half-way.
    bend = 0.0 if radius_of_ground is None else 1 / radius_of_ground

    def surface(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        z = 0 * y if radius_of_ground is None else np.sign(radius_of_ground) * np.sqrt(np.maximum(radius_of_ground**2 - (y - 20) ** 2, 0))
        return 30 + z + 0 * x

    grid, tip, ground, finder = ground_of(surface)
    meter = CrestMeter(tip, ground, RADIUS, CUSP, finder)
    step = 1.4
    turn = step / 2 * bend
    away = 0.7 if radius_of_ground is None else abs(radius_of_ground + RADIUS) * np.sin(abs(turn))
    lines = [np.array([[2.0, 20 + side * away], [38.0, 20 + side * away]]) for side in (-1, 1)]
    places = np.column_stack([np.linspace(15, 25, 9), np.full(9, 20.0)])
    measured = finished(meter.excess_steps(meter.swept(lines), places)) * CUSP
    # Between cells heights are read straight, off by their bend times cell^2 / 8; and a ball over cells rests too low by that of
    # the gap between ball and ground.
    bends = abs(bend / (1 + RADIUS * bend)) + abs(bend) + abs(1 / RADIUS + bend)
    np.testing.assert_allclose(measured, cusp_on_curve(RADIUS, step, bend), rtol=0, atol=CELL**2 / 8 * bends + 1e-4)


def straight_field(grid: Grid, phase: float, spacing: float) -> PassField:
    """Straight level lines along x, one unit a spacing apart, everywhere alike."""
    distance = (grid.y()[:, None] - phase) / spacing + np.zeros(grid.shape)
    return PassField(Start("edge"), distance, 0.0, 0.0)


def drawn_on(grid: Grid) -> Callable[[PassField, Mask], list[FloatArray]]:
    return lambda field, near: [line.points for line in level_lines(field.distance, grid, field.first, near)]


@pytest.mark.parametrize("phase", [0.0, 0.3, 0.6, 0.9])
def test_no_crest_on_the_flanks_of_a_channel_stays_too_high(phase: float) -> None:
    # By construction: lines of even spacing that suit the planes are too far apart in the channel, whatever their phase.
    grid, tip, ground, finder = ground_of(channel)
    metric = cusp_metric(tip, grid, RADIUS, CUSP, smoothing=0.3)
    meter = CrestMeter(tip, ground, RADIUS, CUSP, finder)
    field = straight_field(grid, phase, 1.0)
    drawn, everywhere = drawn_on(grid), np.ones(grid.shape, bool)
    places = np.column_stack([np.full(1200, 20.0), np.linspace(10, 30, 1200)])
    before = finished(meter.excess_steps(meter.swept(drawn(field, everywhere)), places)).max()
    stretched = finished(balanced_steps(field, metric, drawn, [], np.zeros(grid.shape, bool), meter))
    after = finished(meter.excess_steps(meter.swept(drawn(stretched, everywhere)), places)).max()
    assert before > 1.2 and after < 1.1
    # What is gained there is given back within a few lines: no line is added.
    assert len(drawn(stretched, everywhere)) == len(drawn(field, everywhere))


def test_even_ground_is_left_alone() -> None:
    grid, tip, ground, finder = ground_of(lambda x, y: 10 + 0 * x)
    metric = cusp_metric(tip, grid, RADIUS, CUSP, smoothing=0.3)
    meter = CrestMeter(tip, ground, RADIUS, CUSP, finder)
    field = straight_field(grid, 0.2, 1.5)
    assert finished(balanced_steps(field, metric, drawn_on(grid), [], np.zeros(grid.shape, bool), meter)) is field


def test_nothing_is_measured_without_lines_or_off_the_ground() -> None:
    grid, tip, ground, finder = ground_of(channel)
    meter = CrestMeter(tip, ground, RADIUS, CUSP, finder)
    assert finished(meter.excess_steps(meter.swept([]), np.array([[20.0, 20.0]]))) == 0
    assert finished(meter.excess_steps(meter.swept([np.array([[2.0, 1.0], [38.0, 1.0]])]), np.array([[20.0, 1.0]]))) == 0
    assert len(finished(meter.excess_steps(meter.swept([]), NOTHING))) == 0
