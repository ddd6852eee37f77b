"""Sets of cutters that are tried: the minutes of lines in the table, and the soonest of the sets that were laid."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import replace

import pytest
from ledge_bodies import LedgeTop

from addon.finishing.core.errors import NothingToPlan
from addon.finishing.core.result_store import ResultStore
from addon.finishing.core.stage_runner import Progress, StageRunner
from addon.finishing.core.stepping import finished
from addon.finishing.job.body import make_body
from addon.finishing.job.cutter import DEFAULT_RACK, Cutter
from addon.finishing.job.machine import Machine
from addon.finishing.job.request import Request, TriedSet
from addon.finishing.options.cutter_sets import CutterSet, SetTable
from addon.finishing.planning import tried_sets
from addon.finishing.planning.plan_graph import PLAN_GRAPH
from addon.finishing.planning.smaller_cutters import side_plans, total_minutes

CHANGE = 0.5
LARGE, MIDDLE, SMALL = (Cutter(f"Round-nose {diameter:g}", diameter) for diameter in (25.0, 16.0, 6.0))


def a_set(cutters: tuple[Cutter, ...], *run_minutes: float) -> CutterSet:
    changes = len(cutters) - 1
    return CutterSet(cutters, run_minutes, minutes=sum(run_minutes) + CHANGE * changes, left_area=0.0, left_height=0.0, enough=True, changes=changes)


def test_what_was_tried_draws_the_rest_after_it() -> None:
    table = SetTable((a_set((MIDDLE,), 10.0), a_set((LARGE, SMALL), 8.0, 3.0), a_set((SMALL,), 20.0)), (), 50.0)
    tried = (
        TriedSet((MIDDLE,), (15.0,), as_planned=True),
        TriedSet((MIDDLE,), (12.0,), as_planned=False),
        TriedSet((LARGE, SMALL), (8.0, 2.0), as_planned=False),
    )
    after = table.with_tried(tried)
    minutes = {row.cutters: row.minutes for row in after.rows}
    # Worked by hand: as planned the 16 mm cutter takes 15 / 12 of what it takes on coarse cells, and so does the 25 mm cutter: 10 minutes.
    assert minutes[(MIDDLE,)] == pytest.approx(15.0)
    assert minutes[(LARGE, SMALL)] == pytest.approx(10.0 + 2.0 + CHANGE)
    # Those two took 15 + 12 minutes where 10 + 11 had been predicted.
    assert after.pace == pytest.approx((27 / 21) ** 0.5)
    assert minutes[(SMALL,)] == pytest.approx(20 * (27 / 21) ** 0.5)
    assert after.best.cutters == (LARGE, SMALL)
    # Those that were laid as they are planned are told from the others.
    assert {row.cutters: str(row.minutes_words) for row in after.rows} == {
        (MIDDLE,): "15.0", (LARGE, SMALL): "about 12.5", (SMALL,): "about 22.7"
    }  # fmt: skip
    assert table.with_tried(()) == table


def test_no_set_is_chosen_on_what_was_said_of_it_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    # As on the noise of a scan: each set takes more than was said once it is laid, the larger the ball the more, which brings up the next.
    table = SetTable(tuple(a_set((cutter,), minutes) for cutter, minutes in ((SMALL, 10.0), (MIDDLE, 12.0), (LARGE, 14.0))), (), 50.0)
    taken, laid = {SMALL: 40.0, MIDDLE: 60.0, LARGE: 50.0}, []

    def lay(_trials: object, cutters: tuple[Cutter, ...]) -> Generator[Progress, None, TriedSet]:
        laid.append(cutters[0])
        return TriedSet(cutters, (taken[cutters[0]],), as_planned=True)
        yield

    def nothing_fits(*_: object) -> Generator[Progress, None, TriedSet]:
        raise NothingToPlan("No line fits on the table's cells.")
        yield

    def large(*_: object) -> Generator[Progress, None, bool]:
        return False
        yield

    monkeypatch.setattr(tried_sets._Trials, "as_planned", lay)
    monkeypatch.setattr(tried_sets._Trials, "on_table", nothing_fits)
    monkeypatch.setattr(tried_sets, "_is_small", large)
    request = Request(make_body("ledge", LedgeTop().triangles(around=60, inner=6)))
    tried = finished(tried_sets.tried_steps(request, table, StageRunner(PLAN_GRAPH, ResultStore())))
    best = table.with_tried(tried).best
    assert best.laid and best.minutes == 40.0 and laid == [SMALL, MIDDLE, LARGE]


@pytest.mark.parametrize(("strip", "few_cells"), [(6.0, tried_sets.FEW_CELLS), (9.0, tried_sets.FEW_CELLS), (9.0, 0)])
def test_of_the_sets_the_soonest_is_planned_and_takes_what_is_said(strip: float, few_cells: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tried_sets, "FEW_CELLS", few_cells)
    # Bodies that nothing was fitted on; every set of the rack is laid by itself here.
    top = LedgeTop(half_length=38.0, half_width=29.0, bevel_rise=7.0, strip_width=strip).triangles(around=200, inner=20)
    rack = tuple(cutter for cutter in DEFAULT_RACK if cutter.diameter in (6.0, 16.0, 25.0))
    request = Request(make_body("ledge", top), rack=rack, cell=0.5, machine=Machine(tool_change_minutes=0.2))
    store = ResultStore()
    plans = finished(side_plans(request, store))
    taken = total_minutes(plans)
    sets = plans[0].sets
    assert sets is not None and sets.best.cutters == tuple(plan.cutter for plan in plans)
    assert sets.best.minutes == pytest.approx(taken, rel=0.01) and sets.best.laid
    for row in sets.rows:
        if row.enough:
            named = replace(request, cutter=row.cutters[0], following_cutters=row.cutters[1:], rack_table=False)
            laid = total_minutes(finished(side_plans(named, store)))
            assert taken <= 1.02 * laid, row.name
            assert row.minutes == pytest.approx(laid, rel=0.01 if row.laid else 0.10), row.name
