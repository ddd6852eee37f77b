"""Areas along the outline: what lies between the cells counts, so that a body that grows by nothing gains no row of ground."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from shapely import Polygon, box
from shapes import block, graph

from addon.finishing.core.result_store import ResultStore
from addon.finishing.core.stage_runner import StageRunner
from addon.finishing.core.stepping import finished
from addon.finishing.job.body import make_body
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.ground_settings import RegionSettings
from addon.finishing.job.request import Request
from addon.finishing.planning.plan_graph import PLAN_GRAPH
from addon.finishing.surface.outline import OutlineShares
from addon.finishing.surface.side import make_side, side_ground

CELL = 1.0


def arch(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    return 12 + 2 * np.sin(x / 25) * np.cos(y / 30)


def planned_area(triangles: np.ndarray, cell: float = CELL) -> float:
    side = make_side(triangles, cell)
    return side_ground(side, np.zeros(side.grid.shape, bool), RegionSettings(flats="follow"), 10.0).planned_area


@pytest.mark.parametrize("cell", [0.5, 1.0])
@pytest.mark.parametrize("at", [80.0, 79.5, 81.0, 77.3])
def test_growing_by_nothing_adds_no_row(cell: float, at: float) -> None:
    row = planned_area(block(arch, at, 50, 1.0), cell) - planned_area(block(arch, at - cell, 50, 1.0), cell)
    assert row == pytest.approx(50 * cell, rel=0.15)
    for along, across in ((at, 50.0), (50.0, at)):
        grow = np.array([1e-7 if across == 50.0 else 0.0, 1e-7 if along == 50.0 else 0.0, 0.0])
        triangles = block(arch, along, across, 1.0)
        size = np.array([along, across, 1.0])
        areas = [planned_area(triangles * (1 + sign * grow / size), cell) for sign in (-1, 0, 1)]
        assert np.ptp(areas) < 0.1 * row, areas


def dome(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    return 20 - ((x - 40) / 40) ** 2 * 8 - ((y - 25) / 25) ** 2 * 5


@pytest.mark.parametrize("form", [arch, dome, lambda x, y: 8 + 0.3 * x], ids=["arch", "dome", "ramp"])
@pytest.mark.parametrize("at, cell, diameter", [(80.0, 0.5, 8.0), (79.5, 0.5, 16.0), (77.3, 1.0, 12.0)])
def test_least_length_and_planned_area_do_not_jump(form: Callable[..., np.ndarray], at: float, cell: float, diameter: float) -> None:
    """Bodies that end on a cell's border or centre gain or lose a row of cells for a size that differs by 1e-7 mm."""
    lengths, cells, rows = [], [], []
    for sign in (-1, 0, 1):
        body = make_body("body", block(form, at, 50, 1.0) * (1 + sign * np.array([1e-7 / at, 1e-7 / 50, 0])))
        request = Request(body, cutter=Cutter("any", diameter), cell=cell, rack_table=False)
        made = finished(StageRunner(PLAN_GRAPH, ResultStore()).ask(("least_length", "region", "fit_row"), request))
        lengths.append(made["least_length"])
        cells.append(int(made["region"].cutting.sum()))
        rows.append(made["fit_row"].least_length)
    assert len(set(cells)) > 1  # the case that this is about
    # Where the ground curves within a radius, half a row of the axis's cells stays: the contact of the last one is known to a cell.
    share = 0.001 if diameter < 16 or form is not dome else 0.002
    assert np.ptp(lengths) <= share * min(lengths)
    assert np.ptp(rows) <= share * min(rows)


def test_area_grows_with_the_body() -> None:
    lengths = np.arange(60.0, 62.01, 0.125)
    areas = np.array([planned_area(block(lambda x, y: 10 + 0 * x, length, 40, 1.0)) for length in lengths])
    line = np.polyfit(lengths, areas, 1)
    assert line[0] == pytest.approx(40, rel=0.1)
    np.testing.assert_allclose(areas, np.polyval(line, lengths), atol=0.1 * 40 * CELL)


def turned_slab(degrees: float, shift: float) -> tuple[np.ndarray, Polygon]:
    """A slab of 50 x 30 mm turned in plan, and its outline."""
    turn = np.radians(degrees)
    matrix = np.array([[np.cos(turn), np.sin(turn), 0], [-np.sin(turn), np.cos(turn), 0], [0, 0, 1]])
    triangles = block(lambda x, y: 10 + 0 * x, 50, 30, 5.0) @ matrix + (shift, 0.7 * shift, 0)
    return triangles, Polygon(((np.array([[0, 0, 0], [50, 0, 0], [50, 30, 0], [0, 30, 0]]) @ matrix) + (shift, 0.7 * shift, 0))[:, :2])


@pytest.mark.parametrize("degrees, shift", [(0, 0.0), (0, 0.3), (90, 0.9), (10, 0.2), (33, 0.5), (45, 0.0), (45, 0.35), (70, 0.8)])
def test_cells_and_shares_together_are_the_outline(degrees: float, shift: float) -> None:
    """The area in plan against the polygon's own."""
    triangles, polygon = turned_slab(degrees, shift)
    side = make_side(triangles, CELL)
    whole = float((side.heights > -np.inf).sum() + side.outline.share.sum()) * CELL**2
    assert whole == pytest.approx(polygon.area, abs=0.03 * polygon.length * CELL)
    assert side.outline.share.min() >= -1.0 and side.outline.share.max() <= 1.0


def test_a_hole_has_an_outline_too() -> None:
    x, y = np.arange(0.0, 41), np.arange(0.0, 31)
    triangles = graph(lambda a, b: 5 + 0 * a, x, y)
    middle = triangles.mean(axis=1)
    hole = (np.abs(middle[:, 0] - 20) < 5.0) & (np.abs(middle[:, 1] - 15) < 4.0)
    side = make_side(triangles[~hole] + (0.25, 0.4, 0), CELL)
    whole = float((side.heights > -np.inf).sum() + side.outline.share.sum())
    assert whole == pytest.approx(box(0, 0, 40, 30).area - 80, abs=4)


def test_shares_go_to_the_ground_nearby_or_nowhere() -> None:
    ground, slope = np.zeros((20, 20), bool), np.zeros((20, 20))
    ground[8:13, 6:9] = True
    slope[:, 8], slope[~ground] = 60.0, np.nan
    inward = np.array([[0, 1], [1, 0], [0, 1]])
    shares = OutlineShares(np.array([10, 2, 0]), np.array([4, 17, 0]), np.array([0.5, -0.5, 0.7]), inward)
    assert shares.area_at(ground, slope, 3.0) == pytest.approx(0.5 * 9)  # column 6, the first inwards; the others lead past the ground
    assert OutlineShares(np.array([10]), np.array([11]), np.array([0.5]), np.array([[0, -1]])).area_at(ground, slope, 1.0) == pytest.approx(0.5 * 2)
    assert OutlineShares(np.array([10]), np.array([15]), np.array([0.5]), np.array([[0, -1]])).area_at(ground, slope, 1.0) == 0.0  # too far
    assert shares.area_at(np.zeros((20, 20), bool), slope, 1.0) == 0.0
