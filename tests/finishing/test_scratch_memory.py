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
from addon.finishing.core.grid import Grid
from addon.finishing.core.level_lines import level_lines
from addon.finishing.core.stepping import finished
from addon.finishing.passes.pass_ground import PassGround, pass_ground
from addon.finishing.passes.starts import Start, pass_field_steps

GRID = Grid(left=0.0, front=0.0, cell=0.25, rows=900, columns=700)
RADIUS, CUSP = 3.0, 0.05


def arrays_taken(made: Callable[[], Any]) -> float:
    """Memory at its peak, the result with it, in arrays of double precision on GRID."""
    made()  # what is set up once does not count
    tracemalloc.start()
    try:
        result = made()
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert result is not None
    return peak / (8 * GRID.rows * GRID.columns)


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
