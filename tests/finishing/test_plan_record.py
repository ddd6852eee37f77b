"""plan.json: every setting there and back, its keys, and what is refused."""

from __future__ import annotations

import json
from dataclasses import fields, replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from small_jobs import SIX, TWELVE, arched_body, two_sides, with_smaller_cutter

from addon.finishing.core.errors import BadFile
from addon.finishing.core.path import KINDS
from addon.finishing.files.plan_record import SCHEMA, SETTINGS, plan_record, read_record, record_bytes, settings_record, with_settings
from addon.finishing.job.bite_settings import BiteSettings
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.dowels import DowelSettings
from addon.finishing.job.ground_settings import FitSettings, RegionSettings
from addon.finishing.job.keep_out import KeepOut
from addon.finishing.job.machine import Machine
from addon.finishing.job.other_operations import OtherOperation
from addon.finishing.job.program_settings import ProgramSettings
from addon.finishing.job.request import Remaining, Request
from addon.finishing.job.roughing import RoughingSettings
from addon.finishing.job.stock import StockSettings
from addon.finishing.job.tabs import TabSettings

NOT_WRITTEN = {"body", "stock_body", "rack_table", "run_log", "tried_sets"}
"""What is no setting of a plan: the bodies themselves, of which digests are written, whether the rack is looked through, the run log, and what was
tried to choose the cutters."""


def unusual() -> Request:
    """A request in which every setting differs from its default."""
    return Request(
        arched_body(),
        side="back",
        up="x",
        measured=("cutter", "cusp"),
        smooth=None,
        cutter=SIX,
        following_cutters=(Cutter("Round-nose 4", 4.0),),
        cutter_in_spindle=Cutter("Round-nose 4", 4.0),
        rack=(SIX, TWELVE),
        machine=Machine(speed_x=4000.0),
        program=ProgramSettings(spindle_start="by hand"),
        stock=StockSettings(length=200.0, turn_axis="x"),
        region=RegionSettings(wall_limit=45.0),
        fit=FitSettings(uncut_area=5.0),
        dowels=DowelSettings(count=2, places=((1.0, 2.0), (3.0, 4.0))),
        tabs=TabSettings(count=2, width=12.0, height=5.0, height_in_stock=7.0, places=((1.0, 2.0), (3.0, 4.0))),
        keep_out=(KeepOut("clamp", (0.0, 1.0, 2.0), (3.0, 4.0, 5.0)),),
        elsewhere=(OtherOperation("roughing", "Flat 22", 20.0),),
        cusp=0.08,
        lines_from="edge",
        line_angle=30.0,
        cutting_way="climb only",
        rim_pass="auto",
        feed=2000.0,
        budget_minutes=30.0,
        meet_budget=True,
        spacing=1.5,
        cell=0.5,
        chord_tolerance=0.001,
        ramp_angle=5.0,
        grain_angle=90.0,
        grain_share=0.1,
        roughing=replace(RoughingSettings(), allowance=1.0),
        bite=replace(BiteSettings(), wood="softwood"),
        smaller_cutters=True,
        overlap_with_larger=2.0,
        remaining=Remaining(TWELVE, 1.5),
        memory_limit_mib=512.0,
    )


def test_every_setting_is_written() -> None:
    # Walks the fields, so that a new setting cannot be forgotten.
    wanted = {item.name for item in fields(Request)} - NOT_WRITTEN
    assert set(settings_record(Request(arched_body()))) == wanted == set(SETTINGS)


def test_every_setting_comes_back() -> None:
    asked, plain = unusual(), Request(arched_body())
    for item in fields(Request):
        if item.name not in NOT_WRITTEN:
            assert getattr(asked, item.name) != getattr(plain, item.name), item.name
    record = read_record(record_bytes({"schema": SCHEMA, "settings": settings_record(asked)}))
    assert with_settings(plain, record) == asked
    assert with_settings(plain, record["settings"]) == asked  # the settings alone are a settings file too


def test_a_settings_file_changes_only_what_it_names() -> None:
    asked = with_settings(unusual(), {"cusp": 0.2, "machine": {"speed_y": 3000.0}, "region": {}})
    assert asked == replace(unusual(), cusp=0.2, machine=Machine(speed_x=4000.0, speed_y=3000.0))


KEYS = {
    "": """schema units body digest settings stock_body job_from_body stock rack sets largest_radius result proof figures sanding entries
        line_spacing bite logged_runs
        contacts tabs budget ground_costs findings stage_seconds program files""",
    "stock": "low high size z_zero xy_zero",
    "result": """cutter lines_from fits uncut_area uncut_height planned_area skipped_area wall_area opening_area flats_left_out flats_planned
        undercut_area openings pass_lines length_by_kind least_length rim_pass run_minutes time_factor run_minutes_range run_seconds_by_kind
        run_time_uncertainty spin_up_seconds""",
    "proof": "cusp_percentiles border_cusp_percentiles border_width border_area unreached worst_gouge worst_gouge_place left_area left_volume samples",
    "bite": "greatest_depth greatest_section greatest_chip usual_chip greatest_bend least_share_of_feed",
    "budget": "minutes elsewhere left cutter cusp measures advice",
}
"""Keys of the record itself and of its parts."""

RACK_KEYS = "cutter diameter fits hollow_radius uncut_area uncut_height least_length least_minutes cusp contacts"


def test_the_keys_of_a_record_stay_as_they_are() -> None:
    # Readers of older and newer versions rely on these names.
    record = read_record(record_bytes(plan_record(with_smaller_cutter()[0], ["a.csv"])))
    for part, keys in KEYS.items():
        assert list(record[part] if part else record) == keys.split(), part
    assert all(list(row) == RACK_KEYS.split() for row in record["rack"])
    assert record["findings"] and all({"key", "sentence", "remedy", "place", "must_see"} <= set(finding) for finding in record["findings"])


def test_figures_of_a_record_are_those_of_the_plan() -> None:
    plan = with_smaller_cutter()[0]
    record = read_record(record_bytes(plan_record(plan, ["a.csv"])))
    assert record["result"]["length_by_kind"] == pytest.approx({name: plan.path.length_of(kind) for kind, name in enumerate(KINDS)})
    assert record["result"]["run_minutes"] == plan.run_time.minutes and record["result"]["pass_lines"] == plan.path.line_count
    assert [row["cutter"] for row in record["rack"]] == ["Round-nose 6", "Round-nose 12"]
    assert dict(map(tuple, record["proof"]["cusp_percentiles"])) == dict(plan.proof.cusp_percentiles)
    assert record["bite"]["greatest_depth"] == pytest.approx(float(plan.bite.engagement.depth.max()))
    assert record["files"] == ["a.csv"]
    # The matrix takes the body as it was given to the plan's own axes.
    matrix = np.array(record["job_from_body"]["top"])
    np.testing.assert_allclose(plan.request.body.triangles @ matrix[:3, :3].T + matrix[:3, 3], plan.body.triangles)


def test_a_plan_without_budget_bite_or_rack_is_written_too() -> None:
    plan = two_sides()[0]
    nothing = {name: getattr(plan.bite, name)[:0] for name in ("chip", "bend", "allowed")}
    record = read_record(record_bytes(plan_record(replace(plan, bite=replace(plan.bite, **nothing), largest=None, rack=(), budget=None))))
    assert (record["bite"], record["largest_radius"], record["rack"], record["budget"], record["files"]) == ({}, None, [], None, [])


def test_the_digest_of_settings_follows_the_settings() -> None:
    plan = two_sides()[0]
    digests = [plan_record(replace(plan, request=replace(plan.request, cusp=cusp)))["digest"]["settings"] for cusp in (0.1, 0.1, 0.2)]
    assert digests[0] == digests[1] != digests[2]


def test_numbers_that_are_not_finite_are_never_written() -> None:
    # RFC 8259 has no such numbers; other readers refuse the whole file.
    with pytest.raises(ValueError):
        record_bytes({"minutes": float("nan")})
    with pytest.raises(TypeError, match="cannot write"):
        record_bytes({"minutes": object()})


@pytest.mark.parametrize(
    "record, said",
    [
        ({"cuspp": 0.1}, "unknown key 'cuspp'"),
        ({"machine": {"speed": 1}}, "Machine has an unknown key 'speed'"),
        ({"machine": []}, "The machine must be an object with keys, not a list of 0"),
        ({"cutter": {"name": "x", "diameter": -1.0}}, "Cutter: diameter must lie between 0.2 and 200 mm, not at -1"),
        ({"cutter": {"diameter": 6.0}}, "Cutter lacks the key 'name'"),
        ({"remaining": {"larger": {"name": "x", "diameter": 6.0}}}, "Remaining lacks the key 'overlap'"),
        ({"remaining": {"larger": {"name": "x", "diameter": 6.0}, "overlap": "wide"}}, "Remaining: overlap must be a number, not 'wide'"),
        ({"keep_out": [5]}, "The keep out must be an object with keys, not 5"),
        ({"rack": None}, "The rack must be a list of at most 100 values, not nothing"),
        ({"cusp": "fine"}, "The cusp must be a number, not 'fine'"),
        ({"cusp": -1}, "cannot be used: The cusp must lie between 0.0005 and 5 mm, not at -1"),
        ({"settings": []}, "must be a JSON object"),
    ],
    ids=str,
)
def test_settings_of_the_wrong_kind_are_refused(record: dict[str, Any], said: str) -> None:
    with pytest.raises(BadFile, match=said):
        with_settings(Request(arched_body()), record)


JSON = st.recursive(
    st.none() | st.booleans() | st.integers(-5, 5) | st.floats(-1e3, 1e3) | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(("name", "diameter", "larger", "overlap", "x")), inner, max_size=3),
    max_leaves=6,
)


@given(st.dictionaries(st.sampled_from(SETTINGS), JSON, max_size=3))
@settings(max_examples=300, deadline=None)
def test_no_settings_file_does_more_than_be_refused(record: dict[str, Any]) -> None:
    try:
        assert isinstance(with_settings(Request(arched_body()), record), Request)
    except BadFile as error:
        assert str(error).startswith("The settings file")


def test_a_newer_layout_is_refused_and_an_older_one_read() -> None:
    with pytest.raises(BadFile, match=f"layout {SCHEMA + 1}"):
        read_record(json.dumps({"schema": SCHEMA + 1}).encode())
    assert read_record(json.dumps({"schema": 0, "cusp": 1}).encode()) == {"schema": 0, "cusp": 1}
