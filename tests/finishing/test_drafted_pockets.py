"""Pockets whose walls lean, drawn by a seed and built as meshes: what is found against how they are built, at cells from 0.1 to 3 mm."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from drafted_bodies import DraftedBody, drafted_body

from addon.finishing.surface.side import Side, make_side

CELLS = (0.35, 0.5, 1.0, 1.5, 3.0)


def inside(polygon: np.ndarray, side: Side) -> np.ndarray:
    """Which cells of the grid that openings are looked for on lie in a polygon (n, 2)."""
    shape = shapely.Polygon(polygon)
    shapely.prepare(shape)
    return np.asarray(shapely.contains_xy(shape, *np.meshgrid(side.found.grid.x(), side.found.grid.y())))


def check(body: DraftedBody, cell: float) -> None:
    side = make_side(body.triangles, cell)
    assert len(side.openings) == 1, side.openings
    (opening,), grid = side.openings, side.found.grid
    assert opening.kind == "pocket"
    # No cell that is farther than a cell from the mouth is on the wrong side of it.
    within, mouth = side.found.within > 0, body.floors[0].mouth
    wrong = grid.middles(*np.nonzero(within != inside(mouth, side)))
    assert len(wrong) == 0 or shapely.distance(shapely.LinearRing(mouth), shapely.points(wrong)).max() <= grid.cell
    assert [(floor.kind, floor.inside) for floor in opening.floors] == [(floor.kind, floor.inside) for floor in body.floors]
    x, y = np.meshgrid(grid.x(), grid.y())
    for number, (floor, true) in enumerate(zip(opening.floors, body.floors, strict=True), 1):
        bottom = inside(true.mouth, side) & (np.abs(side.found.heights - true.surface(x, y)) < 0.05)
        for later in body.floors[number:]:
            if shapely.Polygon(true.mouth).contains(shapely.Polygon(later.mouth)):
                bottom &= ~inside(later.mouth, side)
        assert floor.depth == pytest.approx(float(np.median((body.top(x, y) - true.surface(x, y))[bottom])), abs=0.06)
    # What is cut into the top is no wall to the back.
    assert make_side(body.triangles * np.array([1.0, -1.0, -1.0]), cell).openings == ()


@pytest.mark.parametrize("seed", range(30))
def test_a_drafted_pocket_is_found_as_it_is_built(seed: int) -> None:
    body, cell = drafted_body(seed), CELLS[seed % len(CELLS)]
    try:
        check(body, cell)
    except AssertionError as error:
        raise AssertionError(f"{body.told} at {cell} mm: {error}") from error


@pytest.mark.parametrize("seed", range(30, 34))
def test_a_small_one_on_fine_cells(seed: int) -> None:
    body = drafted_body(seed, scale=0.35)
    check(body, (0.1, 0.15)[seed % 2])


@pytest.mark.parametrize("cell", [0.25, 0.35, 0.5, 1.0, 3.0])
def test_hollows_that_can_be_finished_are_ground(cell: float) -> None:
    # Walls of 68.5 degrees, wide enough to be seen as such; the walls of recesses are drawn steeper.
    bodies = [drafted_body(seed, drafts=(21.5,), depths=(12.0, 16.0)) for seed in range(8)]
    hollows = [body for body in bodies if body.floors[0].kind != "recess"]
    assert len(hollows) > 3
    for body in hollows:
        assert make_side(body.triangles, cell).openings == (), body.told


@pytest.mark.parametrize("seed", range(100, 120))
def test_an_island_in_a_drafted_pocket_under_a_cover(seed: int) -> None:
    # An island that stays below the shelf of the cover stands in the pocket, and is bridged with it; one that stands up to the shelf does not.
    body, cell = drafted_body(seed, parts="both"), CELLS[seed % len(CELLS)]
    try:
        check(body, cell)
    except AssertionError as error:
        raise AssertionError(f"{body.told} at {cell} mm: {error}") from error
