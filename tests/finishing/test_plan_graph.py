"""The plan's graph: whatever setting is changed, a plan from what is kept equals a fresh one, and only the stages below the change run."""

from __future__ import annotations

import inspect
from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace
from typing import Any

import numpy as np
import pytest
from shapes import block

from addon.finishing.core.digests import digest
from addon.finishing.core.result_store import ResultStore
from addon.finishing.core.stage_runner import StageRunner
from addon.finishing.core.stepping import finished
from addon.finishing.job.body import Body, make_body
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.ground_settings import FitSettings
from addon.finishing.job.keep_out import KeepOut
from addon.finishing.job.other_operations import OtherOperation
from addon.finishing.job.request import Remaining, Request, TriedSet
from addon.finishing.job.run_log import LoggedRun
from addon.finishing.job.strays import Stray
from addon.finishing.job.thinned import Thinned
from addon.finishing.planning.plan import PARTS, make_plan
from addon.finishing.planning.plan_graph import PLAN_GRAPH
from addon.finishing.planning.questions import settings_of
from addon.finishing.planning.result import Plan
from addon.finishing.planning.smaller_cutters import side_plans
from addon.finishing.planning.survey import fit_map_steps, survey_steps

BALL = Cutter("Round-nose 6", 6.0, shank_diameter=6.0)


def shaped(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """A gentle top with a pocket narrower than the cutter and a hollow too tight for it."""
    gentle = 11 + np.cos(x / 6) + 0.8 * np.sin(y / 5)
    pocket = (np.abs(x - 8) < 1.5) & (np.abs(y - 6) < 1.5)
    crease = 1.5 * np.maximum(0, 1 - np.abs(x + 0.3 * y - 22) / 1.5)
    return np.where(pocket, 7.0, gentle - crease)


@pytest.fixture(scope="module")
def request_of() -> Request:
    body = make_body("shaped", block(shaped, 26.0, 20.0, 0.5))
    return Request(body, cutter=BALL, rack=(BALL, Cutter("Round-nose 4", 4.0)), cell=0.5, lines_from="edge", line_angle=0.0, budget_minutes=2.0)


def marked(body: Body) -> Body:
    middle = body.triangles.mean(axis=1)
    return replace(body, skip=(np.hypot(middle[:, 0] - 16, middle[:, 1] - 12) < 4) & (middle[:, 2] > 5))


def with_field(record: Any, path: str, value: object) -> Any:
    """A frozen record with the field at a dotted path replaced."""
    name, _, rest = path.partition(".")
    return replace(record, **{name: with_field(getattr(record, name), rest, value) if rest else value})


def leaves(record: Any, prefix: str = "") -> Iterator[tuple[str, object]]:
    """Every single setting of a record with its dotted path."""
    for item in fields(record):
        value = getattr(record, item.name)
        if is_dataclass(value):
            yield from leaves(value, f"{prefix}{item.name}.")
        else:
            yield prefix + item.name, value


BY_HAND: dict[str, object] = {
    "body.name": "another", "side": "back", "lines_from": "border", "line_angle": 90.0, "cutting_way": "climb only", "feed": 2000.0, "spacing": 1.0,
    "budget_minutes": None, "grain_angle": 30.0, "region.overrun": 1.0, "region.deepest_tip": 3.0, "region.openings": "follow",
    "region.opening_choices": ((1, "skip"),), "region.floor_choices": ((1, 2, "skip"),),
    "region.wall_limit": 50.0, "stock.length": 70.0, "stock.width": 60.0, "stock.thickness": 20.0, "stock.height_in_stock": 0.0, "stock.turn_axis": "x",
    "stock.xy_zero": "centre", "stock.z_zero": "stock top", "stock.first_side": "back", "dowels.count": 2,
    "dowels.places": ((-12.0, 10.0), (38.0, 10.0)), "tabs.height_in_stock": 2.0, "tabs.places": ((0.0, 10.0), (26.0, 10.0)),
    "bite.wood": "softwood", "roughing.terrace_height": 2.0, "roughing.channel_width": 9.0, "rack": (BALL,), "cutter.name": "another",
    "cutter.measured_diameter": 5.9, "cutter.runout": 0.05, "cutter.half_angle": 5.0,
    "measured": ("cusp",),
    "run_log": (LoggedRun("2026-11-27", "b", "top", "Small router", BALL.name, BALL.diameter, "hardwood", 0.05, 10.0, 12.0, 120, "quiet"),),
    "following_cutters": (Cutter("Round-nose 4", 4.0),), "cutter_in_spindle": BALL, "tried_sets": (TriedSet((BALL,), (2.0,), as_planned=True),),
    "machine.name": "another", "machine.corners": "exact stop",
    "program.spindle_start": "by hand", "program.first_rise": "machine top", "keep_out": (KeepOut("Clamp", (0.0, 0.0, 0.0), (30.0, 30.0, 40.0)),),
    "region.flats": "skip", "rim_pass": "on",
    "elsewhere": (OtherOperation("Roughing", "Flat 22", 1.0),), "up": "y", "smooth": 0.05,
    "body.apart.strays": (Stray((50.0, 2.0, 3.0), (1.0, 0.5, 0.0), 2),), "body.thinned": Thinned(1000, 100, within=0.005, deviation=0.004),
}  # fmt: skip
"""Changes of settings that have no obvious other value; all the others are numbers, which grow by a tenth, and switches, which turn."""


SETTLING = ("meet_budget", "following_cutters", "spacing")
"""Settings that no stage reads: they decide how others are chosen before the plan is asked for."""


def changed(request: Request, path: str, value: object) -> Request:
    """The request with one setting changed."""
    if path == "body.triangles":
        return replace(request, body=replace(request.body, triangles=request.body.triangles * 1.05))
    if path == "body.skip":
        return replace(request, body=marked(request.body))
    if path == "remaining":
        return replace(request, remaining=Remaining(Cutter("Round-nose 10", 10.0), 1.0))
    if path == "cutter.top_diameter":  # which a cutter has only with a half angle
        assert request.cutter is not None
        return replace(request, cutter=replace(request.cutter, half_angle=5.0, top_diameter=9.0))
    if path == "stock_body":
        return replace(request, stock_body=make_body("stock", block(lambda x, y: 14 + 0 * x, 26.0, 20.0, 1.0)))
    if path in BY_HAND:
        return with_field(request, path, BY_HAND[path])
    if isinstance(value, bool):
        return with_field(request, path, not value)
    assert isinstance(value, int | float), f"{path} has no other value to try: name one in BY_HAND"
    return with_field(request, path, value + 1 if isinstance(value, int) else value * 1.1 or 1.0)


def fingerprint(plan: Plan) -> str:
    """A digest of all that a plan says, but for how long its stages took."""
    return digest({item.name: _plain(getattr(plan, item.name)) for item in fields(plan) if item.name != "stage_seconds"})


def _plain(value: Any) -> Any:
    return [_plain(getattr(value, item.name)) for item in fields(value)] if is_dataclass(value) else value


def ran_for(store: ResultStore, request: Request) -> set[str]:
    """The stages that a plan runs with what is kept."""
    return set(make_plan(request, store).stage_seconds)


def test_every_setting_changes_something_and_what_is_kept_never_shows(request_of: Request) -> None:
    store = ResultStore()
    first = make_plan(request_of, store)
    assert ran_for(store, request_of) == set()
    reached: dict[str, set[str]] = {}
    for path, value in leaves(request_of):
        other = changed(request_of, path, value)
        assert digest(settings_of(other)) != digest(settings_of(request_of)), path
        plan = make_plan(other, store)
        assert fingerprint(plan) == fingerprint(make_plan(other)), path
        reached_by = () if path in SETTLING else setting_names(path)
        # The table of sets is drawn after the minutes of the run, whatever has changed those.
        drawn = ("tried_sets",) if "run_time" in plan.stage_seconds else ()
        may_run = set().union(*map(PLAN_GRAPH.below, (*reached_by, *drawn)))
        assert path in SETTLING or set(plan.stage_seconds) <= may_run, path
        assert ran_for(store, other) == set(), path
        reached[path] = set(plan.stage_seconds)
    assert fingerprint(make_plan(request_of, store)) == fingerprint(first)
    # What the user meets most: painting skip keeps the lines, a feed keeps the path, the machine's speeds keep the lines.
    assert reached["body.skip"].isdisjoint({"tip_surface", "distance_field", "pass_lines", "exact_heights", "heights", "maps", "triangle_tree"})
    assert reached["feed"].isdisjoint({"route", "proof", "contacts", "fit", "largest_radius", "pass_lines"}) and "run_time" in reached["feed"]
    assert reached["cusp"].isdisjoint({"tip_surface", "ground", "region", "fit", "largest_radius", "heights", "maps", "triangle_tree"})
    assert reached["machine.acceleration_x"].isdisjoint({"exact_heights", "proof_samples", "tip_surface", "fit_row"})
    assert "route" in reached["cutter.feed"] and "run_time" in reached["cutter.feed"]
    # The stock's placement is known by what it is: a setting that moves nothing reaches only those who look at it.
    assert reached["stock.into_spoilboard"] == {"stock_and_zero_findings", "dowels_findings"}


def setting_names(path: str) -> tuple[str, ...]:
    """The names under which stages know a setting: that of the single one, and of the record that it is in."""
    first, _, last = path.partition(".")
    if first == "body":
        return (f"body_{last.partition('.')[0]}", *(("body_low", "body_high") if last == "triangles" else ()))
    return (f"{first}_{last}", first, f"{first}_settings") if last else (first,)


def test_below_a_single_setting_is_what_needs_it_or_its_whole_record() -> None:
    # The graph's own account, told once by hand: who reads the lowest depth by itself, and what is made from the floor that it gives.
    below = PLAN_GRAPH.below("region_deepest_tip")
    assert {"floor", "surface", "exact_heights", "route", "proof"} <= below
    assert below.isdisjoint({"heights", "tip_surface", "distance_field", "fit", "maps"})


@pytest.mark.parametrize("seed", range(3))
def test_random_sequences_of_changes_keep_the_plan_true(request_of: Request, seed: int) -> None:
    rng = np.random.default_rng(seed)
    # A limit that holds about one plan, so that results come and go.
    store = ResultStore(limit_bytes=(1 + seed) * 4 * 2**20)
    names = [path for path, _ in leaves(request_of) if path not in ("remaining", "body.triangles", "stock.thickness", "stock.length", "stock.width")]
    request = request_of
    for path in rng.choice(names, 12):
        request = request_of if rng.random() < 0.3 else request
        request = changed(request, path, dict(leaves(request)).get(path))
        assert fingerprint(make_plan(request, store)) == fingerprint(make_plan(request)), path
        assert store.held_bytes <= store.limit_bytes or len(store) == 1


@pytest.mark.parametrize("start", ["best", "edge", "middle", "border"])
def test_the_identical_request_runs_nothing_whatever_the_start(request_of: Request, start: str) -> None:
    store, request = ResultStore(), replace(request_of, lines_from=start, line_angle=None, cutter=None, grain_angle=20.0)
    first = make_plan(request, store)
    assert ran_for(store, request) == set()
    assert fingerprint(make_plan(request, store)) == fingerprint(first)
    # The start that was chosen, asked for by its own name, is found too.
    names = {"from the border inward": "border", "from the edge": "edge", "from the middle": "middle"}
    kind = names[str(first.start).split(",")[0]]
    angle = float(str(first.start).split(" at ")[1].split(" ")[0]) if kind != "border" else None
    # Asked for by name, no other sets are tried: the table of sets is drawn after the plan's own run, and nothing else is made anew.
    table = PLAN_GRAPH.below("tried_sets")
    assert table.isdisjoint({"reach", "pass_lines", "path", "run_time", "proof"})
    assert ran_for(store, replace(request, lines_from=kind, line_angle=angle, grain_angle=None, cutter=first.cutter, rack_table=True)) <= table


def test_what_ifs_find_what_the_plan_has_made(request_of: Request) -> None:
    store, request = ResultStore(), replace(request_of, cutter=None)
    finished(survey_steps(request, store))
    surveyed = set(store.seconds)
    plan = make_plan(request, store)
    assert not set(plan.stage_seconds) & {"heights", "maps", "fit_row", "fit_table", "largest_radius", "turned"} and "fit_row" in surveyed
    runner_seconds = dict(store.seconds)
    store.seconds.clear()
    finished(fit_map_steps(request, plan.cutter, store))
    assert store.seconds == {}, "the chosen cutter's fit is the plan's own"
    store.seconds.update(runner_seconds)
    strict = replace(request, cutter=BALL, smaller_cutters=True, fit=FitSettings(uncut_area=1.0))
    plans = finished(side_plans(strict, store))
    assert len(plans) > 1
    assert not set(plans[1].stage_seconds) & {"heights", "maps", "triangle_tree"}
    other = make_plan(replace(request, side="back"), store)
    assert not set(other.stage_seconds) & {"hidden_area", "body_digest"}


def test_a_stage_sees_only_what_it_declares() -> None:
    # No stage takes a whole request, and no key is written by hand: nothing below the planning layer knows requests or digests.
    for info in PLAN_GRAPH.stages.values():
        for parameter in inspect.signature(info.function).parameters.values():
            assert "Request" not in str(parameter.annotation)
        assert info.function.__doc__


def test_every_part_of_a_plan_is_a_stage() -> None:
    assert set(PARTS.values()) <= set(PLAN_GRAPH.stages)
    assert set(PARTS) | {"request", "cutter", "start", "grain", "order", "sanding", "findings", "stage_seconds"} == {item.name for item in fields(Plan)}


def test_asking_for_one_result_runs_what_it_needs_and_no_more(request_of: Request) -> None:
    runner = StageRunner(PLAN_GRAPH, ResultStore())
    finished(runner.ask(("maps",), request_of))
    assert set(runner.ran) == {"smoothed", "job_triangles", "heights", "maps"}
