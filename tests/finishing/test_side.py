"""One side of a body on a grid, before any cutter is chosen."""

from __future__ import annotations

import numpy as np
import pytest
from shapes import block

from addon.finishing.job.ground_settings import RegionSettings
from addon.finishing.surface.height_map import top_marks
from addon.finishing.surface.side import LEAST_BEYOND, Side, make_side, settled_openings, side_grid, side_ground

CELL = 0.25


def pocketed(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """A gentle dome with a pocket of 12 x 8 mm and a small one of 4 x 4 mm."""
    dome = 15 - 0.004 * ((x - 25) ** 2 + (y - 15) ** 2)
    wide, small = (np.abs(x - 15) < 6) & (np.abs(y - 15) < 4), (np.abs(x - 38) < 2) & (np.abs(y - 15) < 2)
    return np.where(wide, 6.0, np.where(small, 8.0, dome))


@pytest.fixture(scope="module")
def side() -> Side:
    return make_side(block(pocketed, 50.0, 30.0, 0.5), CELL)


@pytest.fixture(scope="module")
def skipped(side: Side) -> np.ndarray:
    """Cells that show one of the faces beyond x = 44 mm."""
    triangles = block(pocketed, 50.0, 30.0, 0.5)
    middle = triangles.mean(axis=1)
    return top_marks(triangles, (middle[:, 0] > 44) & (middle[:, 2] > 5), side.grid, side.heights)


def test_the_grid_just_holds_the_body(side: Side) -> None:
    corners = block(pocketed, 50.0, 30.0, 0.5).reshape(-1, 3)
    grid = side_grid(corners.min(axis=0), corners.max(axis=0), CELL)
    assert grid == side.grid
    standing = side.heights > -np.inf
    # Two empty cells all round.
    assert not standing[:2].any() and not standing[-2:].any() and not standing[:, :2].any() and not standing[:, -2:].any()
    assert standing[2:-2, 2:-2].all()


def test_heights_are_those_of_the_top(side: Side) -> None:
    # Closed form, within the sag of facets of 0.5 mm, 0.008 * 0.5^2 / 8, and float32; off the walls, which slant over one facet.
    x, y = np.meshgrid(side.grid.x(), side.grid.y())
    clear = (side.heights > -np.inf) & (np.abs(np.abs(x - 15) - 6) > 0.6) & (np.abs(np.abs(y - 15) - 4) > 0.6)
    clear &= (np.abs(np.abs(x - 38) - 2) > 0.6) & (np.abs(np.abs(y - 15) - 2) > 0.6)
    assert side.heights.dtype == np.float32
    np.testing.assert_allclose(side.heights[clear], pocketed(x, y)[clear], atol=5e-4)


def test_skipped_faces_show_where_they_lie_on_top(side: Side, skipped: np.ndarray) -> None:
    x, _ = np.meshgrid(side.grid.x(), side.grid.y())
    standing = side.heights > -np.inf
    assert skipped[standing & (x > 44.6)].all() and not skipped[x < 43.4].any()


def test_openings_are_settled_for_a_cutter(side: Side) -> None:
    wide, small = side.openings
    assert wide.width == pytest.approx(8, abs=0.8) and small.width == pytest.approx(4, abs=0.8)
    assert wide.kind == small.kind == "pocket"
    assert [o.treatment for o in settled_openings(side, RegionSettings(), 6.0)] == ["skip", "bridge"]
    assert [o.treatment for o in settled_openings(side, RegionSettings(), 16.0)] == ["bridge", "bridge"]
    chosen = RegionSettings(openings="skip", opening_choices=((2, "follow"),))
    assert [o.treatment for o in settled_openings(side, chosen, 6.0)] == ["skip", "follow"]


def test_ground_with_and_without_what_is_skipped(side: Side, skipped: np.ndarray) -> None:
    ground = side_ground(side, skipped, RegionSettings(), 6.0)
    bare = side_ground(side, np.zeros_like(skipped), RegionSettings(), 6.0)
    assert ground.skipped_area > 0 and bare.skipped_area == 0
    assert not ground.planned[skipped].any() and bare.planned[skipped].mean() > 0.8
    only_skip = bare.planned & ~ground.planned
    x, _ = np.meshgrid(side.grid.x(), side.grid.y())
    assert only_skip.any() and x[only_skip].min() > 44 - 0.5 - 0.5 - CELL  # the margin, and a facet's width


@pytest.mark.parametrize("length", [10.0, 10.0 + 1e-12, 10.07, 10.2, 9.99, 10.0 - 1e-7, 0.1])
def test_the_grid_lies_alike_from_either_end_of_the_body(length: float) -> None:
    for low in (0.0, -37.123, 811.1):
        grid = side_grid(np.array([low, low]), np.array([low + length, low + 3 * length]), CELL)
        for places, size in ((grid.x(), length), (grid.y(), 3 * length)):
            first, last = places[0] - low, low + size - places[-1]
            assert first == pytest.approx(last, abs=1e-9)
            # Two empty cells, and the outermost centres within lie on the body's end, or off it by no more than half a cell and no less than a bit.
            beyond = -(first + 2 * CELL) / CELL
            assert abs(beyond) < 1e-8 or LEAST_BEYOND - 1e-9 < abs(beyond) < 0.5
