"""Floors of an opening that are treated by themselves: on cavities whose floors are known from how they are built."""

from __future__ import annotations

import numpy as np
import pytest
from opening_bodies import OPENINGS, TOPS, Built, built, columns

from addon.finishing.core.path import CUT
from addon.finishing.job.body import make_body
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.ground_settings import RegionSettings
from addon.finishing.job.request import Request
from addon.finishing.planning.plan import make_plan
from addon.finishing.surface.ground import Ground, plan_ground
from addon.finishing.surface.openings import TreatmentChoices, treated

CELL = 0.5


def floors_of(one: Built, choices: TreatmentChoices, diameter: float = 4.0) -> list[str]:
    (opening,) = treated(one.found.openings, diameter, choices)
    return [floor.treatment for floor in opening.floors]


def test_a_floor_is_treated_as_chosen_and_what_lies_in_it_goes_along() -> None:
    # By construction: floor 1 is the cover's recess, floor 2 the cavity in it, floor 3 a hole in that.
    one = built(OPENINGS["cavity with a cover and a wire hole"], TOPS["flat"], CELL)
    assert floors_of(one, TreatmentChoices("skip")) == ["skip", "skip", "skip"]
    assert floors_of(one, TreatmentChoices("skip", floors={(1, 2): "follow"})) == ["skip", "follow", "skip"]  # no cutter follows a hole
    assert floors_of(one, TreatmentChoices("skip", floors={(1, 2): "follow", (1, 3): "bridge"})) == ["skip", "follow", "bridge"]
    assert floors_of(one, TreatmentChoices("follow", floors={(1, 2): "skip"})) == ["follow", "skip", "skip"]
    assert floors_of(one, TreatmentChoices("follow", floors={(1, 2): "bridge", (1, 3): "follow"})) == ["follow", "bridge", "bridge"]
    # What is bridged is bridged with all that lies in it; "auto" is no choice; another opening's is none either.
    assert floors_of(one, TreatmentChoices("bridge", floors={(1, 2): "follow"})) == ["bridge", "bridge", "bridge"]
    assert floors_of(one, TreatmentChoices("skip", floors={(1, 2): "auto", (2, 1): "follow"})) == ["skip", "skip", "skip"]
    # The choice of a single opening comes before the general one, that of a floor before both.
    assert floors_of(one, TreatmentChoices("bridge", {1: "skip"}, {(1, 2): "follow"})) == ["skip", "follow", "skip"]


def test_floors_side_by_side_are_treated_alike() -> None:
    one = built(OPENINGS["ledge along one side"], TOPS["flat"], CELL)
    (opening,) = one.found.openings
    assert [floor.beside for floor in opening.floors] == [1, 1]
    assert floors_of(one, TreatmentChoices("skip", floors={(1, 2): "follow"})) == ["follow", "follow"]


def planned_of(one: Built, settings: RegionSettings) -> Ground:
    assert one.found.every == 1
    floors = {(opening, floor): treatment for opening, floor, treatment in settings.floor_choices}
    settled = treated(one.found.openings, 8.0, TreatmentChoices(settings.openings, floors=floors))
    return plan_ground(one.heights, np.zeros(one.grid.shape, bool), one.found, settled, one.grid, settings)


@pytest.mark.parametrize("top", TOPS)
def test_ground_of_a_single_floor_is_planned_and_that_of_another_is_not(top: str) -> None:
    one = built(OPENINGS["three levels"], TOPS[top], CELL)
    for choices, planned in (
        ((), (0,)),
        (((1, 2, "follow"), (1, 3, "skip")), (0, 2)),
        (((1, 3, "follow"),), (0, 3)),
        (((1, 1, "follow"),), (0, 1, 2, 3)),
    ):
        ground = planned_of(one, RegionSettings(openings="skip", floor_choices=choices))
        shares = [float(ground.planned[one.regions == number].mean()) for number in range(4)]
        assert [share > 0.5 for share in shares] == [number in planned for number in range(4)], (choices, shares)
        assert all(share == 0 for number, share in enumerate(shares) if number not in planned)


def test_lines_run_on_the_chosen_floor_alone() -> None:
    # A slab of 120 x 100 mm with a recess 60 x 50 mm, 3 mm deep, and in it a cavity 40 x 30 mm, 12 mm deep; only the cavity is wanted.
    x, y = (0.0, 30.3, 40.3, 80.3, 90.3, 120.0), (0.0, 25.2, 35.2, 65.2, 75.2, 100.0)
    heights = [[30.0] * 5 for _ in range(5)]
    for row in range(1, 4):
        for column in range(1, 4):
            heights[row][column] = 27.0
    heights[2][2] = 18.0
    body = make_body("slab", columns(x, y, heights))
    asked = Request(body, cutter=Cutter("Round-nose 8", 8.0), cell=1.0, cusp=0.2, lines_from="edge", line_angle=0.0, rack_table=False)
    region = RegionSettings(openings="skip", floor_choices=((1, 2, "follow"),), flats="follow")
    plan = make_plan(Request(**{**vars(asked), "region": region}))
    cut = plan.path.points[plan.path.kind == CUT] - plan.job_from_body[:3, 3]
    inside = (cut[:, 0] > 40.3) & (cut[:, 0] < 80.3) & (cut[:, 1] > 35.2) & (cut[:, 1] < 65.2)
    recess = ~inside & (cut[:, 0] > 30.3) & (cut[:, 0] < 90.3) & (cut[:, 1] > 25.2) & (cut[:, 1] < 75.2)
    assert inside.sum() > 50 and not recess.any()
    assert np.abs(cut[inside, 2] - 18.0).max() < 0.01 and cut[~inside, 2].min() > 29.9
    assert plan.proof.worst_gouge <= 0.002
