"""Openings of plates whose pockets, holes and slots are known by construction."""

from __future__ import annotations

import numpy as np
import pytest

from addon.finishing.core.grid import Grid
from addon.finishing.surface.bridges import BRIDGE_DROP, bridged
from addon.finishing.surface.opening_search import find_openings
from addon.finishing.surface.openings import Opening, TreatmentChoices, treated
from addon.finishing.surface.steep_walls import STEEPEST_CONNECTED

CELL = 0.25
TOP = 20.0


def plate(grid: Grid, *pieces: tuple[np.ndarray, float]) -> np.ndarray:
    """A level plate over 0..60, 0..40 with regions at other heights (-inf: none), the later ones over the earlier ones."""
    x, y = np.meshgrid(grid.x(), grid.y())
    heights = np.where((x > 0) & (x < 60) & (y > 0) & (y < 40), TOP, -np.inf)
    for region, height in pieces:
        heights = np.where(region, height, heights)
    return heights.astype(np.float32)


@pytest.fixture
def grid() -> Grid:
    # Cell centres lie off the walls, which stand at whole millimetres.
    return Grid.over(np.array([0.125, 0.125]), np.array([59.875, 39.875]), CELL, margin=1.0)


def box(grid: Grid, x0: float, x1: float, y0: float, y1: float) -> np.ndarray:
    x, y = np.meshgrid(grid.x(), grid.y())
    return (x > x0) & (x < x1) & (y > y0) & (y < y1)


def disc(grid: Grid, x: float, y: float, radius: float) -> np.ndarray:
    return np.hypot(grid.x() - x, grid.y()[:, None] - y) < radius


def found_in(heights: np.ndarray, grid: Grid) -> tuple[np.ndarray, tuple[Opening, ...]]:
    found = find_openings(heights, grid)
    return found.labels, found.openings


def test_a_pocket_a_hole_and_a_slot(grid: Grid) -> None:
    pocket, hole, slot = box(grid, 10, 20, 10, 18), disc(grid, 40, 20, 5), box(grid, 50, 60, 30, 36)
    labels, openings = found_in(plate(grid, (pocket, 8.0), (hole, -np.inf), (slot, 12.0)), grid)
    assert [o.kind for o in openings] == ["pocket", "hole", "slot"] and [o.number for o in openings] == [1, 2, 3]
    for opening, region in zip(openings, (pocket, hole, slot), strict=True):
        np.testing.assert_array_equal(labels == opening.number, region)
        assert opening.treatment == "auto"
    # Closed forms: areas 80, 25 pi, 60; the largest circle inside is as wide as the shorter side, or the hole itself, to a cell and a half.
    assert openings[0].area == pytest.approx(80) and openings[0].width == pytest.approx(8, abs=CELL) and openings[0].depth == pytest.approx(12)
    assert openings[1].area == pytest.approx(25 * np.pi, rel=0.02) and openings[1].width == pytest.approx(10, abs=1.5 * CELL)
    assert openings[1].depth is None and openings[1].place == pytest.approx((40, 20, TOP), abs=CELL)
    assert openings[2].area == pytest.approx(60) and openings[2].depth == pytest.approx(8)


def test_a_slot_is_as_wide_as_it_looks_from_the_plate(grid: Grid) -> None:
    # A circle in a slot may not reach out of the plate: here 6 mm between its walls.
    _, (slot,) = found_in(plate(grid, (box(grid, 45, 60, 30, 36), 12.0)), grid)
    assert slot.kind == "slot" and slot.width == pytest.approx(6, abs=CELL)


def test_a_pocket_with_a_deeper_floor_and_a_hole_in_it_is_one_opening(grid: Grid) -> None:
    # By construction: a wide pocket, in it a small one twice as deep, and in that a hole; what is open lies within one outline.
    pocket, deeper, hole = box(grid, 10, 40, 8, 30), box(grid, 15, 22, 12, 18), disc(grid, 19, 15, 2)
    labels, openings = found_in(plate(grid, (pocket, TOP - 5), (deeper, TOP - 10), (hole, -np.inf)), grid)
    assert len(openings) == 1
    np.testing.assert_array_equal(labels == 1, pocket)
    assert openings[0].kind == "pocket" and openings[0].width == pytest.approx(22, abs=CELL)
    assert openings[0].depth == pytest.approx(5)  # most of its floor lies there


def test_slanted_walls_belong_to_their_pocket(grid: Grid) -> None:
    # A wall of 80 degrees round a pocket of 10 mm: 1.8 mm wide in plan, on floors of its own.
    x, y = np.meshgrid(grid.x(), grid.y())
    inwards = 8 - np.maximum(np.abs(x - 30), np.abs(y - 20))
    heights = plate(grid, (inwards > 0, 0.0))
    heights = np.where(inwards > 0, np.maximum(TOP - np.tan(np.radians(80)) * np.maximum(inwards, 0), TOP - 10), heights).astype(np.float32)
    labels, openings = found_in(heights, grid)
    assert len(openings) == 1 and openings[0].kind == "pocket"
    # A first cell that drops by less than what separates floors counts to the ground; in the corners it drops both ways.
    corner = np.hypot(np.abs(x - 30) - 8, np.abs(y - 20) - 8) < 3 * CELL
    first = CELL * np.tan(np.radians(STEEPEST_CONNECTED)) / np.tan(np.radians(80))
    np.testing.assert_array_equal((labels == 1)[~corner], (inwards > first)[~corner])
    assert not labels[inwards <= 0].any() and (labels == 1)[inwards > CELL].all()


@pytest.mark.parametrize("depth, found", [(0.45, 0), (0.6, 1)])
def test_shallow_relief_is_not_an_opening(grid: Grid, depth: float, found: int) -> None:
    # Drops below 70 degrees (0.69 mm over a cell) belong to the ground anyhow: a coarse cell would hide them, a fine one shows them.
    fine = Grid.over(np.array([0.06, 0.06]), np.array([29.94, 19.94]), 0.12, margin=0.5)
    x, y = np.meshgrid(fine.x(), fine.y())
    heights = np.where((x > 0) & (x < 30) & (y > 0) & (y < 20), TOP, -np.inf)
    heights = np.where(box(fine, 10, 20, 5, 15), TOP - depth, heights).astype(np.float32)
    assert len(found_in(heights, fine)[1]) == found


def test_a_ledge_and_a_raised_floor_are_not_openings(grid: Grid) -> None:
    # A rebate at a corner has half of its border against the drop to nothing; a boss stands higher than the ground round it.
    rebate = box(grid, 40, 60, 20, 40)
    boss = disc(grid, 20, 20, 8)
    labels, openings = found_in(plate(grid, (rebate, TOP - 8), (boss, TOP + 5)), grid)
    assert openings == () and not labels.any()


def test_openings_are_settled_by_choice_rule_and_cutter() -> None:
    def opening(number: int, width: float) -> Opening:
        return Opening(number=number, kind="pocket", area=50.0, width=width, depth=5.0, place=(0.0, 0.0, 0.0), treatment="auto", floors=())

    openings = (opening(1, 14.0), opening(2, 10.0), opening(3, 20.0))
    assert [o.treatment for o in treated(openings, 12.0, TreatmentChoices("auto"))] == ["skip", "bridge", "skip"]
    assert [o.treatment for o in treated(openings, 12.0, TreatmentChoices("follow"))] == ["follow"] * 3
    assert [o.treatment for o in treated(openings, 12.0, TreatmentChoices("skip", {3: "auto", 1: "bridge"}))] == ["bridge", "skip", "skip"]


@pytest.mark.parametrize("region", ["pocket", "hole"])
def test_a_bridge_continues_the_ground_round_it(region: str) -> None:
    # Closed form: over a quadratic surface the bridge is that quadratic, a hundredth of a millimetre lower.
    grid = Grid.over(np.array([0.0, 0.0]), np.array([40.0, 30.0]), CELL)
    x, y = np.meshgrid(grid.x(), grid.y())
    ground = 20 - 0.01 * (x - 18) ** 2 + 0.004 * (x - 18) * (y - 15) - 0.02 * (y - 15) ** 2
    hole = np.hypot(x - 20.1, y - 14.9) < 4
    heights = np.where(hole, 5.0 if region == "pocket" else -np.inf, ground).astype(np.float32)
    found = find_openings(heights, grid)
    assert len(found.openings) == 1
    filled, patches = bridged(heights, found, treated(found.openings, 100.0, TreatmentChoices("bridge")))
    np.testing.assert_allclose(filled[hole], ground[hole] - BRIDGE_DROP, atol=2e-4)
    assert (filled <= np.where(hole, ground, heights) + 2e-4).all()  # nowhere above the ground
    np.testing.assert_array_equal(filled[~hole], heights[~hole])  # the ground beside it stays as it is
    # The triangles cover the hole without a gap, a hair below the ground: each of its corners is a cell.
    first, second = patches[:, 1, :2] - patches[:, 0, :2], patches[:, 2, :2] - patches[:, 0, :2]
    area = np.abs(first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]).sum() / 2
    assert np.pi * 4**2 < area < np.pi * 5**2
    corners = patches.reshape(-1, 3)
    under = 20 - 0.01 * (corners[:, 0] - 18) ** 2 + 0.004 * (corners[:, 0] - 18) * (corners[:, 1] - 15) - 0.02 * (corners[:, 1] - 15) ** 2
    np.testing.assert_allclose(corners[:, 2], under - BRIDGE_DROP, atol=2e-4)
    # Only what is to be bridged is.
    same, none = bridged(heights, found, treated(found.openings, 100.0, TreatmentChoices("skip")))
    np.testing.assert_array_equal(same, heights)
    assert none.shape == (0, 3, 3)
