"""Lines along the borders of skipped ground."""

from __future__ import annotations

import numpy as np
import pytest

from addon.finishing.ball.axis_region import AxisRegion
from addon.finishing.core.array_types import Mask
from addon.finishing.core.grid import Grid
from addon.finishing.core.polyline import is_closed, travelled
from addon.finishing.passes.skip_borders import AWAY_CELLS, SHORTEST_BORDER, skip_border_lines

CELL = 0.25
GRID = Grid(left=0.0, front=0.0, cell=CELL, rows=121, columns=161)
X, Y = np.meshgrid(GRID.x(), GRID.y())
WHOLE = (X > 2) & (X < 38) & (Y > 2) & (Y < 28)


def region(cutting: Mask, grid: Grid = GRID) -> AxisRegion:
    row, column = np.indices(grid.shape, np.int32)
    return AxisRegion(
        grid=grid, cutting=cutting, linking=cutting, contact_row=row, contact_column=column, slope_degrees=np.zeros(grid.shape, np.float32)
    )


def test_a_line_runs_round_a_skipped_island() -> None:
    # Closed form: round a disc of radius r runs a ring of radius r + 1.6 cells, to half a cell of the disc's own stairs.
    away = np.hypot(X - 20, Y - 15)
    bare, remaining = region(WHOLE), region(WHOLE & (away > 6))
    (line,) = skip_border_lines(bare, remaining)
    assert is_closed(line)
    np.testing.assert_allclose(np.hypot(*(line - [20, 15]).T), 6 + (AWAY_CELLS - 0.5) * CELL, atol=0.6 * CELL)
    assert travelled(line)[-1] == pytest.approx(2 * np.pi * 6.3, rel=0.03)
    assert remaining.may_cut(line).all()


def test_a_line_ends_where_the_ground_ends_and_stays_on_it() -> None:
    bare, remaining = region(WHOLE), region(WHOLE & (X < 25))
    (line,) = skip_border_lines(bare, remaining)
    assert not is_closed(line) and remaining.may_cut(line).all()
    assert np.abs(line[:, 0] - (25 - (AWAY_CELLS - 0.5) * CELL)).max() < CELL
    assert np.ptp(line[:, 1]) == pytest.approx(26, abs=4 * CELL)


def test_no_line_where_nothing_is_skipped_or_where_it_would_be_short() -> None:
    assert skip_border_lines(region(WHOLE), region(WHOLE)) == []
    tiny = np.hypot(X - 20, Y - 15) > 1.2 * CELL
    lines = skip_border_lines(region(WHOLE), region(WHOLE & tiny))
    assert 2 * np.pi * 3 * CELL > SHORTEST_BORDER and all(travelled(line)[-1] >= SHORTEST_BORDER for line in lines)
    corner = (X < 37) | (Y < 27)
    assert skip_border_lines(region(WHOLE), region(WHOLE & corner)) == []


def test_there_is_one_line_however_large_the_cells() -> None:
    # Cells of 1.2 mm: so far out that a second level, 1 mm on, lies within what is measured.
    grid = Grid(left=0.0, front=0.0, cell=1.2, rows=61, columns=61)
    x, y = np.meshgrid(grid.x(), grid.y())
    lines = skip_border_lines(region(np.ones(grid.shape, bool), grid), region(np.hypot(x - 36, y - 36) > 12, grid))
    assert len(lines) == 1
