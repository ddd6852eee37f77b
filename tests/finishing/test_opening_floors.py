"""Openings and their floors against the bodies of opening_bodies.py, at cells from 0.1 to 3 mm."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from opening_bodies import NO_OPENINGS, OPENINGS, TOPS, Built, TrueOpening, body_of, built, columns, overlapping_boxes

from addon.finishing.core.path import CUT
from addon.finishing.job.body import make_body
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.ground_settings import RegionSettings
from addon.finishing.job.request import Request
from addon.finishing.planning.plan import make_plan
from addon.finishing.surface.side import make_side

CELLS = (0.25, 0.5, 1.0, 1.5, 2.0, 3.0)
LID_ERROR = 0.03
"""mm that the ground continued over an opening may be off: the arched tops are quadratics, so it is the precision of heights and of a fit."""


def check(one: Built, truth: TrueOpening, scale: float = 1.0) -> None:
    found = one.found
    assert len(found.openings) == 1, found.openings
    (opening,), cell = found.openings, one.grid.cell
    assert opening.kind == truth.kind
    # Upright walls lie between cells, so it is known of every cell whether it is part of the opening.
    np.testing.assert_array_equal(found.within > 0, one.regions > 0)
    assert opening.area == pytest.approx((one.regions > 0).sum() * cell * cell)
    if truth.width is not None:
        assert opening.width == pytest.approx(truth.width * scale, abs=1.5 * cell)
    assert [(floor.kind, floor.inside) for floor in opening.floors] == [(floor.kind, floor.inside) for floor in truth.floors]
    for number, (floor, true) in enumerate(zip(opening.floors, truth.floors, strict=True), 1):
        depths = one.depths[one.regions == number]
        assert floor.number == number and floor.area == pytest.approx(len(depths) * cell * cell)
        if true.width is not None:
            assert floor.width == pytest.approx(true.width * scale, abs=1.5 * cell)
        if true.kind == "hole":
            assert floor.depth is floor.shallowest is floor.deepest is None
        else:
            low, middle, high = np.percentile(depths, (5, 50, 95))
            assert (floor.shallowest, floor.depth, floor.deepest) == pytest.approx((low, middle, high), abs=LID_ERROR)


@pytest.mark.parametrize("cell", CELLS)
@pytest.mark.parametrize("top", TOPS)
def test_every_floor_is_told(top: str, cell: float) -> None:
    for name, truth in OPENINGS.items():
        try:
            check(built(truth, TOPS[top], cell), truth)
        except AssertionError as error:
            raise AssertionError(f"{name} in {top} ground at {cell} mm: {error}") from error


@pytest.mark.parametrize("cell", CELLS)
@pytest.mark.parametrize(
    ("top", "depth", "draft"),
    [
        ("arched", 12.0, 84.0),
        ("arched", 12.0, 81.0),
        ("arched", 12.0, 78.0),
        ("tilted", 6.0, 84.0),
        ("tilted", 6.0, 81.0),
        ("tilted", 6.0, 78.0),
        ("flat", 3.0, 84.0),
    ],
)
def test_drafted_pockets_are_openings(top: str, depth: float, draft: float, cell: float) -> None:
    # A pocket 44 x 26 mm across its mouth, turned by 25 degrees, whose walls draft inwards: one opening, with the mouth for its border.
    # Known from heights alone, as where the triangles of a scan are rough; narrower walls take the triangles (test_drafted_pockets.py).
    turned, run = np.radians(25.0), depth / np.tan(np.radians(draft))

    def heights(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        along, across = (x - 60) * np.cos(turned) + (y - 50) * np.sin(turned), (y - 50) * np.cos(turned) - (x - 60) * np.sin(turned)
        inwards = np.minimum(22 - np.abs(along), 13 - np.abs(across))
        return TOPS[top](x, y) - depth * np.clip(inwards / run, 0, 1)

    _, grid, found = body_of(heights, cell)
    (opening,) = found.openings
    assert opening.kind == "pocket" and opening.depth == pytest.approx(depth, abs=0.1)
    assert (44 * 26 - opening.area) / (2 * (44 + 26)) == pytest.approx(0.0, abs=0.6 * grid.cell)


@pytest.mark.parametrize("name", OPENINGS)
def test_every_floor_is_told_on_the_finest_cells(name: str) -> None:
    # At 0.4 of the size, 48 x 40 mm, with the same depths.
    check(built(OPENINGS[name], TOPS["tilted"], 0.1, scale=0.4), OPENINGS[name], scale=0.4)


@pytest.mark.parametrize("cell", (0.1, *CELLS))
@pytest.mark.parametrize("name", NO_OPENINGS)
def test_ground_is_no_opening(name: str, cell: float) -> None:
    heights, _, found = body_of(NO_OPENINGS[name], cell)
    assert np.isfinite(heights).any() and found.openings == () and not found.labels.any()


COVERED = columns(
    (0, 32, 40, 80, 88, 120), (0, 12, 20, 80, 88, 100), [[30] * 5, *[[30, 27, 27 if row != 1 else 10, 27, 30] for row in range(3)], [30] * 5]
)
"""A block with a cavity of 40 x 60 mm, 20 mm deep, and round it a recess for a cover, 8 mm wide and 3 mm deep."""


@pytest.mark.parametrize("cell", [0.25, 1.0, 3.0])
def test_a_mesh_on_any_cell(cell: float) -> None:
    (opening,) = make_side(COVERED, cell).openings
    # Closed forms: 56 x 76 mm, of which the cavity is 40 x 60; walls that stand on a cell's centre belong to the higher side.
    assert opening.area == pytest.approx(56 * 76, rel=0.02) and opening.width == pytest.approx(56, abs=0.9)
    recess, cavity = opening.floors
    assert (recess.kind, recess.inside, cavity.kind, cavity.inside) == ("recess", 0, "floor", 1)
    assert recess.depth == pytest.approx(3) and recess.width == pytest.approx(8, abs=0.9)
    assert cavity.depth == pytest.approx(20) and cavity.width == pytest.approx(40, abs=0.9) and cavity.area == pytest.approx(2400, rel=0.03)


def test_a_pocket_under_a_rim_is_as_wide_as_its_mouth() -> None:
    # A slot for a bolt's head: 20 mm wide below, 8 mm at its mouth, closed at its ends.
    parts = [(0, 60, 0, 40, 0, 8), (0, 60, 0, 10, 8, 20), (0, 60, 30, 40, 8, 20), (0, 10, 10, 30, 8, 20), (50, 60, 10, 30, 8, 20)]
    rims = [(10, 50, 10, 16, 15, 20), (10, 50, 24, 30, 15, 20)]
    (opening,) = make_side(overlapping_boxes([*parts, *rims]), 0.5).openings
    assert opening.kind == "pocket" and opening.width == pytest.approx(8, abs=0.6) and opening.depth == pytest.approx(12)
    assert opening.area == pytest.approx(8 * 40, rel=0.08)


def planned(triangles: np.ndarray, diameter: float, **more: object) -> Request:
    return Request(make_body("body", triangles), cutter=Cutter("ball", diameter), lines_from="edge", line_angle=0.0, rack_table=False, **more)


def test_a_cavity_with_a_cover_is_left_out_as_one_on_both_sides() -> None:
    # By construction: what is planned is the block's face without 56 x 76 mm, its margin of a cell and the rims, on the back all of it.
    over = COVERED * np.array([1.0, -1.0, -1.0])  # turned over
    for triangles, side in ((COVERED, "top"), (over, "back")):
        made = make_plan(planned(triangles, 22.0, cell=1.0, side=side))
        assert made.fit.fits and [o.treatment for o in made.ground.openings] == ["skip"]
        assert {floor.treatment for floor in made.ground.openings[0].floors} == {"skip"}
        assert len(made.flats) == 1
        cut = made.path.points[made.path.kind == CUT]
        assert np.ptp(cut[:, 2]) < 0.01 and made.ground.wall_area == 0


@pytest.mark.parametrize("cell", [0.5, 1.5, 3.0])
def test_a_hole_is_bridged_on_any_cell(cell: float) -> None:
    # A hole of 7 x 7 mm under a ball of 8 mm radius, which would sink 0.8 mm into it: r - sqrt(r2 - 3.52).
    block = columns((0, 37.2, 44.2, 80), (0, 27.3, 34.3, 60), [[20] * 3, [20, 0, 20], [20] * 3])
    made = make_plan(planned(block, 16.0, cell=cell))
    assert [(o.kind, o.treatment) for o in made.ground.openings] == [("hole", "bridge")]
    cut = made.path.points[made.path.kind == CUT] - made.job_from_body[:3, 3]
    over = np.hypot(cut[:, 0] - 40.7, cut[:, 1] - 30.8) < 2
    assert over.any() and cut[over, 2].min() >= 20 - 0.02


def test_a_followed_opening_bridges_what_is_narrow_in_it() -> None:
    # A recess of 40 x 40 mm, 4 mm deep, with a hole of 6 x 6 mm in its floor.
    block = columns(
        (0, 20.1, 37.1, 43.1, 60.1, 80),
        (0, 10.2, 27.2, 33.2, 50.2, 60),
        [[20] * 5, *[[20, 16, 16 if row != 1 else 0, 16, 20] for row in range(3)], [20] * 5],
    )
    request = planned(block, 12.0, cell=1.0, region=RegionSettings(openings="follow"))
    made = make_plan(request)
    (opening,) = made.ground.openings
    assert [(floor.kind, floor.treatment) for floor in opening.floors] == [("floor", "follow"), ("hole", "bridge")]
    cut = made.path.points[made.path.kind == CUT] - made.job_from_body[:3, 3]
    over = np.hypot(cut[:, 0] - 40.1, cut[:, 1] - 30.2) < 2
    assert over.any() and cut[over, 2] == pytest.approx(16, abs=0.02)
    assert [f.treatment for f in make_plan(replace(request, region=RegionSettings(openings="bridge"))).ground.openings[0].floors] == ["bridge"] * 2
