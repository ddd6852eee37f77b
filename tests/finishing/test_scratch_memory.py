"""What the heavy steps of a plan take beside their results, in arrays of one number for every cell: large bodies are planned within a stated memory.

The limits are what a rough body of five million triangles, finished with a small ball on two million cells, leaves room for.
"""

from __future__ import annotations

import tracemalloc
from collections.abc import Callable, Generator
from typing import Any

import numpy as np
import pytest

from addon.finishing.ball.axis_region import AxisRegion
from addon.finishing.ball.exact_tip import TipFinder
from addon.finishing.core.array_types import FloatArray
from addon.finishing.core.grid import Grid
from addon.finishing.core.level_lines import level_lines
from addon.finishing.core.stepping import finished
from addon.finishing.passes.line_spacing import line_spacing
from addon.finishing.passes.pass_ground import PassGround, pass_ground
from addon.finishing.passes.starts import Start, pass_field_steps
from addon.finishing.pictures.canvas import Canvas
from addon.finishing.simulation.surface_samples import SampleGround
from addon.finishing.simulation.swept_ball import SweptBall, suitable_bin_size

GRID = Grid(left=0.0, front=0.0, cell=0.25, rows=900, columns=700)
RADIUS, CUSP = 3.0, 0.05


def arrays_taken(made: Callable[[], Any]) -> float:
    """Memory at its peak, the result with it, in arrays of double precision on GRID."""
    return bytes_taken(made) / (8 * GRID.rows * GRID.columns)


def bytes_taken(made: Callable[[], Any]) -> int:
    """Memory at its peak, the result with it."""
    made()  # what is set up once does not count
    tracemalloc.start()
    try:
        result = made()
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert result is not None
    return peak


@pytest.fixture(scope="module")
def ground() -> PassGround:
    return made_ground()


def made_ground() -> PassGround:
    """Waves with a crease across them and a window that is not planned."""
    x, y = GRID.x()[None, :], GRID.y()[:, None]
    tip = (20 + 3 * np.sin(x / 20) * np.cos(y / 17) + 0.4 * np.abs(x - 90)).astype(np.float32)
    cutting = np.zeros(GRID.shape, bool)
    cutting[30:-30, 30:-30] = True
    cutting[200:300, 300:400] = False
    row, column = (number.astype(np.int32) for number in np.indices(GRID.shape))
    region = AxisRegion(GRID, cutting, cutting, row, column, np.zeros(GRID.shape, np.float32))
    return pass_ground(tip, np.zeros(GRID.shape, np.float32), GRID, region, RADIUS, CUSP)


def test_the_cusp_metric_takes_few_arrays_of_its_size() -> None:
    # Six are the result; what `made_ground` makes for it are three more.
    assert arrays_taken(made_ground) <= 16


@pytest.mark.parametrize("start", [Start("middle", 0.0), Start("edge", 30.0), Start("border")], ids=lambda start: start.kind)
def test_a_field_is_solved_within_few_arrays_of_its_size(ground: PassGround, start: Start) -> None:
    def field() -> Generator[float, None, Any]:
        return pass_field_steps(ground.metric, ground.planned, start)

    assert arrays_taken(lambda: finished(field())) <= 8


def test_a_bound_on_length_and_level_lines_are_found_strip_by_strip(ground: PassGround) -> None:
    assert arrays_taken(lambda: ground.least_length) <= 4
    wide = np.broadcast_to(GRID.y()[:, None] / 30.0, GRID.shape).copy()
    assert arrays_taken(lambda: level_lines(wide, GRID, 0.5, wide > -np.inf)) <= 3


def moves(step: float, apart: float) -> tuple[FloatArray, FloatArray]:
    """Starts and ends (m, 3) of a ball's moves along level lines so far apart, with a point every `step` mm."""
    x, y = np.arange(0.0, GRID.columns * GRID.cell, step), np.arange(0.0, GRID.rows * GRID.cell, apart)
    points = np.stack([*np.meshgrid(x, y), np.full((len(y), len(x)), RADIUS)], axis=-1)
    return points[:, :-1].reshape(-1, 3), points[:, 1:].reshape(-1, 3)


def test_moves_are_cut_short_and_sorted_with_few_copies_of_them() -> None:
    starts, ends = moves(step=0.9, apart=0.2)
    # Cut in three. Start and move of each, of three coordinates, are the result; while they are sorted there is one more, and their order.
    assert bytes_taken(lambda: SweptBall(starts, ends, RADIUS, 0.42)) / (3 * len(starts) * 24) <= 4


def test_rays_take_little_beside_what_they_ask_for() -> None:
    sweep = SweptBall(*moves(step=0.3, apart=1.0), RADIUS, suitable_bin_size(1.0, RADIUS))
    row, column = (number.ravel() for number in np.indices(GRID.shape))
    feet = np.column_stack([GRID.middles(row, column), np.zeros(len(row))])
    normals = np.broadcast_to([0.0, 0.0, 1.0], feet.shape).copy()
    crown = np.zeros(len(row))
    assert arrays_taken(lambda: sweep.entry_heights(feet, normals, crown)) <= 10


def test_normals_are_worked_out_some_at_a_time() -> None:
    x, y = GRID.x()[None, :], GRID.y()[:, None]
    surface = (20 + 3 * np.sin(x / 20) * np.cos(y / 17)).astype(np.float32)
    feet = SampleGround(GRID, surface, surface, RADIUS, TipFinder(np.zeros((0, 3, 3))))
    row, column = (number.ravel() for number in np.indices(GRID.shape))
    # Seven are the result; places in plan are two more.
    assert arrays_taken(lambda: feet.at_cells(row, column)) <= 11


def test_a_path_is_drawn_some_segments_at_a_time() -> None:
    starts, ends = moves(step=0.4, apart=0.5)
    segments, canvas = 2 * np.column_stack([starts[:, :2], ends[:, :2]]), Canvas(400, 500, (1.0, 1.0, 1.0))
    colours = np.zeros((len(segments), 3), np.float32)

    def drawn() -> Canvas:
        canvas.lines(segments, 1.5, colours)
        return canvas

    # Each looks at some dozens of pixels: what that takes is not kept for all segments together.
    assert bytes_taken(drawn) / len(segments) <= 200


def test_the_spacing_of_lines_is_measured_with_few_copies_of_their_places() -> None:
    starts, _ = moves(step=0.12, apart=1.0)
    rows = np.split(starts, np.flatnonzero(np.diff(starts[:, 1])) + 1)
    assert bytes_taken(lambda: line_spacing(rows, 1.0)) / (24 * len(starts)) <= 5.7
