"""Cutters that are not what their box says: closed forms, held against the simulated cut."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from small_jobs import TWELVE, two_sides

from addon.finishing.core.errors import BadRequest
from addon.finishing.core.result_store import ResultStore
from addon.finishing.files.summary import summary
from addon.finishing.job.cutter import Cutter
from addon.finishing.planning.plan import make_plan
from addon.finishing.simulation.swept_ball import SweptBall
from addon.finishing.tooling.true_cutter import deeper_by_radius, deeper_by_runout, true_cutter_words

SPACING = 0.04
"""mm between the lines of the tests: cusps of 0.00003 mm, which do not show."""


def standing_on_a_slope(slope: float, planned_radius: float, true_radius: float, shifts: np.ndarray | None = None) -> float:
    """Least of what stands, by the simulated cut, on a plane of this slope in degrees: lines for one ball that are run by another.

    shifts: (k, 2) offsets of the true ball's centre from the spindle's axis in plan, all of which it passes through.
    """
    normal = np.array([-np.sin(np.radians(slope)), 0.0, np.cos(np.radians(slope))])
    up = np.array([np.cos(np.radians(slope)), 0.0, np.sin(np.radians(slope))])
    across = np.arange(-4, 4, SPACING)
    tips = planned_radius * normal + across[:, None] * up - [0, 0, planned_radius]
    centres = tips + [0, 0, true_radius]
    for_all = np.concatenate([centres + [*shift, 0.0] for shift in (np.zeros((1, 2)) if shifts is None else shifts)])
    swept = SweptBall(for_all - [0, 2.0, 0], for_all + [0, 2.0, 0], true_radius, 0.25)
    feet = np.linspace(-0.5, 0.5, 41)[:, None] * up
    return float(swept.entry_heights(feet, np.broadcast_to(normal, feet.shape), np.zeros(len(feet))).min())


@pytest.mark.parametrize("slope", [0.0, 10.0, 30.0, 45.0, 60.0, 75.0])
@pytest.mark.parametrize("true_diameter", [15.8, 16.2])
def test_a_wrong_diameter_does_what_the_closed_form_says(slope: float, true_diameter: float) -> None:
    standing = standing_on_a_slope(slope, 8.0, true_diameter / 2)
    assert standing == pytest.approx(-float(deeper_by_radius(8.0, true_diameter / 2, slope)), abs=1e-4)
    assert deeper_by_radius(8.0, 7.9, 60.0) == pytest.approx(-0.05)  # 0.1 (1 - 1/2)
    assert standing_on_a_slope(slope, true_diameter / 2, true_diameter / 2) == pytest.approx(0.0, abs=1e-4)  # planned as measured


@pytest.mark.parametrize("slope", [0.0, 20.0, 45.0, 70.0])
def test_runout_goes_deeper_on_slopes(slope: float) -> None:
    runout, cutter = 0.2, Cutter("c", 12.0, runout=0.2)
    turn = np.linspace(0, 2 * np.pi, 16, endpoint=False)
    shifts = runout / 2 * np.column_stack([np.cos(turn), np.sin(turn)])
    standing = standing_on_a_slope(slope, cutter.radius, 6.0, shifts)
    # The planned ball is half the runout larger, and the true one's tip comes as deep.
    assert cutter.radius == 6.1
    assert standing == pytest.approx(-float(deeper_by_runout(runout, slope)), abs=1e-4)


def test_a_measured_cutter_is_planned_as_measured_and_says_so() -> None:
    plain = two_sides()[0]
    request = replace(plain.request, cutter=replace(TWELVE, measured_diameter=11.7))
    plan = make_plan(request, ResultStore())
    assert plan.tip_surface.radius == 5.85 and plan.proof.worst_gouge <= request.chord_tolerance
    assert plan.path.points.tobytes() != plain.path.points.tobytes()
    finding = next(finding for finding in plan.findings if finding.key == "true-cutter")
    steepest = float(plan.region.slope_degrees[plan.region.cutting].max())
    left = 0.15 * (1 - np.cos(np.radians(steepest)))
    assert f"{left:.3f} mm more on slopes of up to {steepest:.0f} degrees" in str(finding.words)
    assert "cuts 11.7 mm, as measured" in summary(plan)
    # Measured and found right, or never measured: the same plan to the byte.
    same = make_plan(replace(request, cutter=replace(TWELVE, measured_diameter=12.0)), ResultStore())
    assert same.path.points.tobytes() == plain.path.points.tobytes()
    assert not any(finding.key in ("true-cutter", "runout") for finding in (*same.findings, *plain.findings))


@pytest.mark.parametrize(
    ("measured", "runout", "steepest", "words"),
    [(12.2, 0.0, 60.0, "cut up to"), (11.7, 0.0, 60.0, "leave up to"), (0.0, 0.2, 30.0, "cut up to"), (0.0, 0.2, 70.0, "cut up to"),
     (11.7, 0.1, 60.0, "leave up to"), (11.8, 0.1, 20.0, "cut up to")],
)  # fmt: skip
def test_what_planning_by_name_would_have_done_is_what_the_simulated_cut_gives(measured: float, runout: float, steepest: float, words: str) -> None:
    # Lines for a ball of 12 mm that are run by the ball that was measured, shifted all round by half the runout, on slopes up to the steepest.
    cutter = Cutter("c", 12.0, measured_diameter=measured, runout=runout)
    turn = np.linspace(0, 2 * np.pi, 16, endpoint=False)
    shifts = runout / 2 * np.column_stack([np.cos(turn), np.sin(turn)]) if runout else None
    slopes = np.arange(0.0, steepest + 1, 5.0)
    standing = np.array([standing_on_a_slope(float(slope), 6.0, (measured or 12.0) / 2, shifts) for slope in slopes])
    off = float(standing[np.argmax(np.abs(standing))])
    assert (off < 0) == (words == "cut up to") and abs(off) > 0.01
    sentence = str(true_cutter_words(cutter, steepest)[0].words)
    told = float(sentence.split(f"it would {words} ")[1].split(" mm")[0])
    assert told == pytest.approx(abs(off), abs=0.0007)
    assert sentence.endswith(f"on slopes of up to {steepest:.0f} degrees.")


@pytest.mark.parametrize(("steepest", "deepest"), [(20.0, 20.0), (45.0, 45.0), (70.0, 45.0)])
def test_a_runout_is_told_with_how_much_deeper_it_goes(steepest: float, deepest: float) -> None:
    # A worn cutter whose runout makes up for its wear is planned as its name says, and goes deeper all the same.
    for measured in (0.0, 11.8):
        cutter = Cutter("c", 12.0, measured_diameter=measured, runout=0.2)
        said = {finding.key: finding for finding in true_cutter_words(cutter, steepest)}
        assert ("true-cutter" in said) == (measured == 0.0)
        told = float(str(said["runout"].words).split("up to ")[1].split(" mm")[0])
        turn = np.linspace(0, 2 * np.pi, 16, endpoint=False)
        standing = standing_on_a_slope(deepest, cutter.radius, (measured or 12.0) / 2, 0.1 * np.column_stack([np.cos(turn), np.sin(turn)]))
        assert told == pytest.approx(-standing, abs=0.0007)
        assert "collet" in str(said["runout"].remedy)


def test_a_plan_tells_of_a_runout_that_makes_up_for_the_wear() -> None:
    plain = two_sides()[0]
    plan = make_plan(replace(plain.request, cutter=replace(TWELVE, measured_diameter=11.9, runout=0.1)), ResultStore())
    assert plan.path.points.tobytes() == plain.path.points.tobytes()
    assert [finding.key for finding in plan.findings if finding.key in ("true-cutter", "runout")] == ["runout"]


def test_another_cutter_is_refused() -> None:
    with pytest.raises(BadRequest, match="is not the 16 mm cutter"):
        Cutter("c", 16.0, measured_diameter=12.0)
