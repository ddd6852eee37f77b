"""Starts of the distance field: which there are, and fields whose distances and line lengths have a closed form."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import ndimage

from addon.finishing.core.cusp_formulas import spacing_on_flat
from addon.finishing.core.errors import BadRequest
from addon.finishing.core.grid import Grid
from addon.finishing.core.stepping import finished
from addon.finishing.passes.cusp_metric import CuspMetric, cusp_metric
from addon.finishing.passes.starts import PassField, Start, from_fuller_side, pass_field_steps, starts_to_try

RADIUS, CUSP, CELL = 6.0, 0.05, 0.4
GRID = Grid(left=-30.0, front=-20.0, cell=CELL, rows=101, columns=151)
X, Y = np.meshgrid(GRID.x(), GRID.y())
SPACING = float(spacing_on_flat(RADIUS, CUSP))
INSIDE = (np.abs(X) < 24) & (np.abs(Y) < 14)


def flat_metric() -> CuspMetric:
    return cusp_metric(np.zeros(GRID.shape), GRID, RADIUS, CUSP, smoothing=0.0)


def field_of(start: Start, planned: np.ndarray) -> PassField:
    return finished(pass_field_steps(flat_metric(), planned.astype(float), start))


def test_which_starts_a_choice_stands_for() -> None:
    assert starts_to_try("border", 30.0) == (Start("border"),)
    assert starts_to_try("edge", None) == (Start("edge", 0.0), Start("edge", 90.0))
    assert starts_to_try("middle", 30.0) == (Start("middle", 30.0),)
    best = starts_to_try("best", None)
    assert len(best) == 5 and {start.kind for start in best} == {"edge", "middle", "border"}
    # The grain's own direction is tried too, unless the user names one.
    assert Start("edge", 20.0) in starts_to_try("best", None, 20.0) and len(starts_to_try("best", None, 90.0)) == 5
    assert starts_to_try("best", 45.0, 20.0) == (Start("edge", 45.0), Start("middle", 45.0), Start("border"))
    with pytest.raises(BadRequest, match="sideways"):
        starts_to_try("sideways", None)


def test_starts_have_names_of_their_own() -> None:
    names = [str(start.name) for start in starts_to_try("best", None)]
    assert len(set(names)) == 5 and names[-1] == "from the border inward" and "90 degrees" in names[1]


@pytest.mark.parametrize("angle", [0.0, 90.0, 20.0])
def test_a_start_of_the_plans_own_choice_is_on_the_fuller_half(angle: float) -> None:
    # A triangle whose base lies behind: most of it is near its base, wherever that comes to lie.
    start = Start("edge", angle)
    ground = (Y < 10) & (-15 + 1.5 * np.maximum(X - 3.0, 0.6 * (3.0 - X)) < Y)
    grids = {quarters: GRID if quarters % 2 == 0 else Grid(GRID.front, GRID.left, CELL, GRID.columns, GRID.rows) for quarters in range(4)}
    # Rows count upwards here: what np.rot90 calls a turn to the left is one to the right.
    found = [from_fuller_side(replace(start, angle=angle - 90 * k), np.rot90(ground, k).astype(float), grids[k]).angle for k in range(4)]
    assert found[0] == angle + (0.0 if angle == 90.0 else 180.0)
    # Turned with the ground, it begins at the same place of the ground, whether it was asked for at one angle or at the opposite one.
    opposite = from_fuller_side(replace(start, angle=angle + 180), ground.astype(float), GRID)
    assert opposite.angle % 360 == found[0] % 360
    assert [(found[0] - there) % 360 for there in found] == [0, 90, 180, 270]
    for other in (Start("border"), Start("middle", angle)):
        assert from_fuller_side(other, ground.astype(float), GRID) == other


def test_lines_through_the_middle_are_counted_from_the_fuller_half_whichever_way_round() -> None:
    ground = (np.abs(X) < 20) & (Y < 12) & (-12 + 0.9 * np.abs(X + 2.0) < Y)
    first, same = (field_of(Start("middle", angle), ground) for angle in (0.0, 180.0))
    np.testing.assert_allclose(first.distance, same.distance, atol=1e-9)
    assert first.first == same.first == 0.0
    # Most of the ground lies above: the count begins there.
    assert first.distance[ground & (Y > 11)].max() < 0 < first.distance[ground & (Y < -9)].min()


@pytest.mark.parametrize("degrees", [0.0, 90.0, 35.0])
@pytest.mark.parametrize("kind", ["edge", "middle"])
def test_straight_starts_on_flat_ground(kind: str, degrees: float) -> None:
    # Closed form: on flat ground the distance is that in plan over the spacing, from the edge of the planned ground or from its middle. The
    # ground is a disc: the whole line that it is measured from lies on the grid.
    disc = np.hypot(X, Y) < 12
    field = field_of(Start(kind, degrees), disc)
    across = Y * np.cos(np.radians(degrees)) - X * np.sin(np.radians(degrees))
    low, high = across[disc].min(), across[disc].max()
    origin = low if kind == "edge" else (low + high) / 2
    # Lines through the middle are counted from the fuller half, which rounding makes either of a disc's.
    way = np.sign(field.distance[disc] @ (across[disc] - origin)) if kind == "middle" else 1.0
    np.testing.assert_allclose(field.distance[disc], way * (across[disc] - origin) / SPACING, atol=0.02)
    # From the edge the first line lies half a unit in, so that it leaves no more than half a cusp's width beside it.
    assert field.first == pytest.approx(0.5 if kind == "edge" else 0.0, abs=0.02)
    # Closed form: lines one spacing apart are area over spacing long.
    assert field.expected_length == pytest.approx(disc.sum() * CELL**2 / SPACING, rel=0.01)
    assert field.solved.all()


def test_the_spacing_across_a_slope_is_that_of_the_plan() -> None:
    # Closed form: on a plane of slope p across the passes they lie 1/sqrt(1 + p^2) of the spacing apart in plan; along them the same.
    metric = cusp_metric(0.75 * X, GRID, RADIUS, CUSP, smoothing=0.0)
    along = finished(pass_field_steps(metric, INSIDE.astype(float), Start("edge", 90.0)))
    np.testing.assert_allclose(np.abs(np.diff(along.distance[50, 30:120])) / CELL, 1.25 / SPACING, rtol=1e-3)
    beside = finished(pass_field_steps(metric, INSIDE.astype(float), Start("edge", 0.0)))
    np.testing.assert_allclose(np.diff(beside.distance[30:70, 75]) / CELL, 1 / SPACING, rtol=1e-3)


def test_from_the_border_inward_on_a_disc() -> None:
    # Closed form: on a disc of radius r the distance is (r - |x|) / spacing; its lines, half a unit in and then one apart, are rings.
    radius = 17.3
    disc = np.hypot(X, Y) < radius
    field = field_of(Start("border"), disc)
    inner = ndimage.binary_erosion(disc, iterations=3)
    np.testing.assert_allclose(field.distance[inner], (radius - np.hypot(X, Y))[inner] / SPACING, atol=0.2)
    assert not field.solved[~disc].any() and field.solved[disc].all() and field.first == 0.5
    assert field.expected_length == pytest.approx(np.pi * radius**2 / SPACING, rel=0.05)


def test_the_border_is_smooth_between_cells() -> None:
    # By construction: along a straight border that cuts the cells at a slant, the first line's distance from it must not follow their stairs.
    slant = X * np.sin(0.3) + Y * np.cos(0.3)
    planned = (slant > -6.1) & (np.hypot(X, Y) < 19)
    field = field_of(Start("border"), planned)
    near = planned & (slant < -5.0) & (slant > -5.6) & (np.abs(X) < 10)
    assert near.sum() > 40
    assert np.std(field.distance[near] - (slant[near] + 6.1) / SPACING) < 0.05
