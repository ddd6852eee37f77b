"""The first pictures of a side, before its plan is there: maps, fit and lines, the same as the plan's, and found by the plan that follows."""

from __future__ import annotations

import numpy as np
import pytest
from small_jobs import SIX, TWELVE, arched_body

from addon.finishing.core.result_store import ResultStore
from addon.finishing.core.stepping import finished
from addon.finishing.job.request import Request
from addon.finishing.planning.smaller_cutters import side_plans
from addon.finishing.planning.survey import first_fit_steps, first_maps_steps


@pytest.mark.parametrize("cutter", [TWELVE, None])
def test_the_plan_finds_the_first_maps_done(cutter: object) -> None:
    request = Request(arched_body(), cutter=cutter, rack=(SIX, TWELVE), lines_from="edge", line_angle=0.0, cell=1.0, cusp=0.1)
    store = ResultStore()
    stages = {stage for _, stage in first_maps_steps(request, store)}
    first = finished(first_maps_steps(request, store))
    assert first.rack == () and first.suggestions == () and first.planned_area == 0
    assert stages <= {"heights", "maps"}  # nothing beyond the maps was made
    # A dome of sines: flat at its top, steepest at the middle of its edges, up to 3 mm * pi / 40 mm across (the derivative of the sine).
    slope = first.maps.slope_degrees[np.isfinite(first.heights)]
    assert np.nanmin(slope) < 1.0 and np.nanmax(slope[slope < 45]) == pytest.approx(np.degrees(np.arctan(3 * np.pi / 40)), abs=1.5)
    plan = finished(side_plans(request, store))[0]
    assert "maps" not in plan.stage_seconds and "heights" not in plan.stage_seconds
    assert plan.job_from_body == pytest.approx(first.job_from_body)


@pytest.mark.parametrize("asked", [{"cutter": TWELVE, "rack_table": False}, {}, {"budget_minutes": 20.0, "meet_budget": True}])
def test_the_plan_finds_the_first_fit_done(asked: dict[str, object]) -> None:
    request = Request(arched_body(), rack=(SIX, TWELVE), lines_from="edge", line_angle=0.0, cell=1.0, cusp=0.1, **asked)
    store = ResultStore()
    finished(first_maps_steps(request, store))
    fit = finished(first_fit_steps(request, store))
    assert store.newest("path") is None  # nobody waits for lines yet
    store.watch("path")
    assert store.newest("path") is None
    plan = finished(side_plans(request, store))[0]
    assert plan.cutter == fit.cutter
    assert {"tip_surface", "judged_fit"}.isdisjoint(plan.stage_seconds)
    assert fit.fit == plan.fit and fit.grid == plan.grid
    np.testing.assert_array_equal(fit.uncut, np.where(plan.ground.planned, plan.uncut, np.nan).astype(np.float32))
    # The lines that were made last are those of the plan, and are handed out once.
    found = store.newest("path")
    assert found is not None and store.newest("path") is None
    question, lines = found
    assert isinstance(question, Request) and question.side == "top" and question.remaining is None
    np.testing.assert_array_equal(lines.points, plan.path.points)  # type: ignore[attr-defined]
    store.watch()
    store.made("path", request, lines)
    assert store.newest("path") is None
