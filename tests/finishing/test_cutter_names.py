"""Cutters of a rack by what a maker calls them: in options, in settings files, and in the tables of a plan."""

from __future__ import annotations

from dataclasses import asdict, replace
from functools import cache

import numpy as np
import pytest
from shapes import block

from addon.command_options import asked_request, command_parser
from addon.finishing.core.errors import BadFile, BadRequest
from addon.finishing.core.result_store import ResultStore
from addon.finishing.files.plan_record import plan_record, settings_record, with_settings
from addon.finishing.files.summary import summary
from addon.finishing.job.body import Body, make_body
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.cutter_names import name_on_rack, named_cutter, named_or_plain, parts_of_set, size_words
from addon.finishing.job.request import Request
from addon.finishing.planning.plan import make_plan

STRAIGHT = Cutter("Round-nose 6", 6.0, usable_length=25.0, shank_diameter=6.0, stick_out=35.0)
TAPERED = Cutter("Tapered 6", 6.0, usable_length=40.0, stick_out=55.0, half_angle=6.0, top_diameter=12.0)
LARGE = Cutter("Big one, blue", 12.0, stick_out=55.0)
RACK = (STRAIGHT, TAPERED, LARGE)


@cache
def body() -> Body:
    return make_body("Crown", block(lambda x, y: 12 + 2 * np.sin(np.pi * x / 40) * np.sin(np.pi * y / 30), 40.0, 30.0, 2.0))


def asked(*options: str, record: dict | None = None, rack: tuple[Cutter, ...] = RACK) -> Request:
    """The request of a command line."""
    return asked_request(
        body(), command_parser("finishing").parse_args(["plan", "x.stl", *options]), {"rack": [asdict(c) for c in rack]} | (record or {})
    )


def test_a_name_means_its_cutter_in_any_case() -> None:
    for text in ("Tapered 6", "tapered 6", " TAPERED 6 "):
        assert named_cutter(text, RACK) is TAPERED and asked("--cutter", text).cutter == TAPERED
    assert asked("--in-spindle", "round-nose 6").cutter_in_spindle == STRAIGHT
    # A name goes before a diameter, the one written alike before the other.
    six = replace(LARGE, name="6")
    assert named_cutter("6", (STRAIGHT, six)) is six
    assert named_cutter("ball", (replace(STRAIGHT, name="Ball"), replace(LARGE, name="ball"))) == replace(LARGE, name="ball")


def test_a_diameter_that_one_cutter_has_means_it_and_a_new_one_is_a_plain_cutter() -> None:
    assert asked("--cutter", "12").cutter == LARGE and asked("--cutter", "12.00000").cutter == LARGE
    assert named_cutter("9", RACK) is None and named_or_plain("9", RACK) == Cutter("Round-nose 9", 9.0) == asked("--cutter", "9").cutter
    assert asked("--cutter", "6", rack=(STRAIGHT, LARGE)).cutter == STRAIGHT


@pytest.mark.parametrize("options", [("--cutter", "6"), ("--cutters", "12,6"), ("--in-spindle", "6.0")])
def test_a_diameter_of_several_is_refused_and_names_them(options: tuple[str, str]) -> None:
    with pytest.raises(BadRequest) as told:
        asked(*options)
    assert str(told.value) == "Several cutters of the rack are 6 mm: give the name of the one that you mean ('Round-nose 6', 'Tapered 6')."


def test_what_no_cutter_is_called_is_refused_with_the_names_that_there_are() -> None:
    with pytest.raises(BadRequest, match=r"no cutter 'taperd' on the rack: .*\('Round-nose 6', 'Tapered 6', 'Big one, blue'\)"):
        asked("--cutter", "taperd")
    many = tuple(replace(STRAIGHT, name=f"No {k}", diameter=5.0 + k) for k in range(30))
    with pytest.raises(BadRequest, match=r"\('No 0', 'No 1', 'No 2', 'No 3' and 26 more\)"):
        named_cutter("x", many)
    with pytest.raises(BadRequest, match="called 'tapered 6': give each a name of its own"):
        named_cutter("tapered 6", (TAPERED, replace(TAPERED, diameter=5.0)))


def test_sets_are_named_by_either_though_names_hold_commas() -> None:
    assert parts_of_set("Big one, blue,Tapered 6", RACK) == ("Big one, blue", "Tapered 6")
    assert parts_of_set("big one,blue, 6", RACK) == ("big one, blue", "6")
    assert parts_of_set("25 12,6", RACK) == ("25", "12", "6")
    request = asked("--cutters", "tapered 6,12")
    assert (request.cutter, request.following_cutters) == (LARGE, (TAPERED,))


def test_a_settings_file_may_call_its_cutters_by_name_or_diameter() -> None:
    record = {"cutter": "big one, blue", "following_cutters": ["Tapered 6"], "cutter_in_spindle": 12}
    request = asked(record=record)
    assert (request.cutter, request.following_cutters, request.cutter_in_spindle) == (LARGE, (TAPERED,), LARGE)
    assert with_settings(Request(body()), settings_record(request)) == request  # what is written names all values
    assert with_settings(Request(body()), {"cutter": 16}).cutter == Request(body()).rack[4]  # by the rack that comes along
    for called in (6, "6"):
        with pytest.raises(BadFile, match=r"Several cutters of the rack are 6 mm: .*'Tapered 6'\)\. Mend it in the file\."):
            asked(record={"cutter": called})
    for wrong, told in ((True, "must be an object with keys, not true"), (900, "must lie between 0.2 and 200 mm"), ("x", "no cutter 'x' on the rack")):
        with pytest.raises(BadFile, match=told):
            asked(record={"cutter_in_spindle": wrong})


def test_what_a_table_says_means_the_cutter_again() -> None:
    for cutter in RACK:
        assert named_cutter(name_on_rack(cutter, RACK), RACK) is cutter
    assert [name_on_rack(cutter, RACK) for cutter in RACK] == ["Round-nose 6", "Tapered 6", "12"]
    assert [str(size_words(cutter, RACK)) for cutter in RACK] == ["Round-nose 6", "Tapered 6", "12 mm"]
    plan = make_plan(Request(body(), rack=RACK, cell=1.0, cusp=0.2, lines_from="edge", line_angle=0.0), ResultStore())
    assert plan.sets is not None
    for row in plan.sets.rows:
        assert tuple(named_cutter(part, RACK) for part in parts_of_set(row.name, RACK)) == row.cutters
    assert {row.name for row in plan.sets.rows} >= {"12", "Tapered 6"}
    told = summary(plan).splitlines()
    assert [line[:12].strip() for line in told[told.index("") + 2 :][:3]] == ["Round-nose 6", "Tapered 6", "12"]
    assert plan_record(plan)["sets"][0]["cutters"] == [cutter.name for cutter in plan.sets.best.cutters]
