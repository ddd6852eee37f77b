"""Settings: one table says what each key may hold; records, settings files, documentation and schema all follow it."""

from __future__ import annotations

import json
from dataclasses import asdict, fields, replace
from typing import Any

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st
from small_jobs import SIX, TWELVE, arched_body
from test_plan_record import NOT_WRITTEN, unusual

from addon.finishing.core.errors import BadFile, BadRequest
from addon.finishing.core.message import Message
from addon.finishing.files.plan_record import GROUPED_SETTINGS, read_record, record_bytes, settings_record, with_settings
from addon.finishing.files.settings_guide import settings_schema, settings_text
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.keep_out import KeepOut
from addon.finishing.job.machine import Machine
from addon.finishing.job.other_operations import OtherOperation
from addon.finishing.job.request import PLAN, Remaining, Request
from addon.finishing.job.setting_kinds import Choice, Number, OrNothing, Record, Row, Several, Text, YesNo, has_record, record_in

RECORDS: dict[str, type] = {
    **GROUPED_SETTINGS,
    "cutter": Cutter,
    "rack": Cutter,
    "following_cutters": Cutter,
    "cutter_in_spindle": Cutter,
    "keep_out": KeepOut,
    "elsewhere": OtherOperation,
    "remaining": Remaining,
}
"""Key of a setting and the class of what it holds."""

ODD: tuple[Any, ...] = (
    None, True, False, 0, 1, -1, 1.5, 1e-300, 1e300, 10**5000, float("nan"), float("inf"), "", "text", "a\nb", "x" * 300, [], [1], [[1, 2]], [1, 2, 3],
    {}, {"name": 1}, {"unknown": 1}, [[]], [{}], [None], [True], "\x00", "1",
)  # fmt: skip
"""Values of every JSON kind, most of them wrong wherever they stand."""


def test_the_table_names_every_field() -> None:
    # Walks the classes, so that a new setting cannot be forgotten.
    assert {item.name for item in PLAN.settings} == {item.name for item in fields(Request)} - NOT_WRITTEN
    held = {item.name for item in PLAN.settings if has_record(item.kind)}
    assert held == set(RECORDS)
    for name, kind in RECORDS.items():
        record = record_in(next(item.kind for item in PLAN.settings if item.name == name))
        assert {item.name for item in record.settings} == {item.name for item in fields(kind)}, name
        assert set(record.needed) <= {item.name for item in record.settings}


def limits() -> list[tuple[str, str, Number]]:
    """Key, name and limits of every number."""
    found = []
    for key, record in [("", PLAN), *((item.name, record_in(item.kind)) for item in PLAN.settings if has_record(item.kind))]:
        for setting in record.settings:
            kind = setting.kind.kind if isinstance(setting.kind, OrNothing) else setting.kind
            if isinstance(kind, Number):
                found.append((key, setting.name, kind))
    return found


def whole_file(key: str, name: str, value: Any) -> dict[str, Any]:
    """A settings file in which one value is changed, all others are good ones."""
    record = json.loads(record_bytes(settings_record(unusual())))
    place = record if key == "" else record[key][0] if isinstance(record[key], list) else record[key]
    place[name] = value
    return record


@pytest.mark.parametrize("key, name, kind", limits(), ids=lambda part: part if isinstance(part, str) else "")
def test_numbers_are_taken_up_to_their_limits_and_refused_beyond(key: str, name: str, kind: Number) -> None:
    plain = Request(arched_body())
    beyond = [kind.least - 1, kind.greatest + 1, kind.least - 1e-6 if kind.least else -1e-6, float("nan"), float("inf"), 10**400, True, "1", [1], {}]
    for value in beyond:
        with pytest.raises(BadFile, match=r"^The settings file cannot be used: .*(must lie between|must be a (whole )?number).*\.$"):
            with_settings(plain, whole_file(key, name, value))
    for value in (kind.least, kind.greatest):
        value = int(value) if kind.whole else value
        try:
            with_settings(plain, whole_file(key, name, value))
        except BadFile as error:
            # Limits that two settings set each other remain: none of them is about this one's kind or range.
            assert "must lie between" not in str(error) and "must be a" not in str(error)


@pytest.mark.parametrize("value", ODD, ids=range(len(ODD)))
def test_any_value_anywhere_is_taken_or_refused_in_one_sentence(value: Any) -> None:
    plain = Request(arched_body())
    for key, record in [("", PLAN), *((item.name, record_in(item.kind)) for item in PLAN.settings if has_record(item.kind))]:
        for setting in record.settings:
            try:
                taken = with_settings(plain, whole_file(key, setting.name, value))
            except BadFile as error:
                assert len(str(error)) < 250 and "\n" not in str(error) and str(error).endswith(".")
            else:
                assert isinstance(taken, Request) and with_settings(plain, settings_record(taken)) == taken


@given(
    st.recursive(st.none() | st.booleans() | st.integers() | st.floats() | st.text(), lambda part: st.lists(part) | st.dictionaries(st.text(), part))
)
def test_any_json_is_taken_or_refused(value: Any) -> None:
    for record in ({"settings": value}, value if isinstance(value, dict) else {"rack": value}, {"machine": value}, {"remaining": {"larger": value}}):
        try:
            with_settings(Request(arched_body()), record)
        except BadFile as error:
            assert str(error).startswith("The settings file")


JSON_SCHEMA = jsonschema.Draft202012Validator(settings_schema())


def test_the_schema_is_one() -> None:
    # Checked by the reference implementation of JSON Schema in Python.
    jsonschema.Draft202012Validator.check_schema(settings_schema())
    JSON_SCHEMA.validate(json.loads(record_bytes(settings_record(unusual()))))
    JSON_SCHEMA.validate({})


@pytest.mark.parametrize("value", ODD, ids=range(len(ODD)))
def test_schema_and_table_agree(value: Any) -> None:
    for key, record in [("", PLAN), *((item.name, record_in(item.kind)) for item in PLAN.settings if has_record(item.kind))]:
        for setting in record.settings:
            file = whole_file(key, setting.name, value)
            if setting.kind == Text() and isinstance(value, str):
                continue  # that text can be printed is more than a schema can say
            if isinstance(value, float) and value != value or value == 10**5000:
                continue  # there is no such number in JSON, and none of so many digits gets past the reader
            assert JSON_SCHEMA.is_valid(file) == (PLAN.complaint(Message("it"), file) is None), (key, setting.name)


def test_records_are_checked_however_they_are_made() -> None:
    # The panel and the command line make them from Python, not from a file.
    for make in (
        lambda: Request(arched_body(), cusp=1e-9),
        lambda: Request(arched_body(), chord_tolerance=0.05),
        lambda: Machine(speed_x=float("inf")),
        lambda: Machine(spindle_least=24000.0, spindle_greatest=6000.0),
        lambda: Cutter("x", True),
        lambda: replace(SIX, name="two\nlines"),
        lambda: KeepOut("clamp", (0.0, 0.0), (1.0, 1.0, 1.0)),  # type: ignore[arg-type]
        lambda: Remaining(TWELVE, -1.0),
    ):
        with pytest.raises(BadRequest):
            make()


@pytest.mark.parametrize(
    "content, said",
    [
        (b'{"cusp": ' + b"9" * 5000 + b"}", "is not JSON"),
        (b"[" * 100000, "nested too deeply|is not JSON"),
        (b'{"cusp": NaN}', "NaN, which is not a number of JSON"),
        (b'{"cusp": Infinity}', "Infinity"),
        (b'{"cusp": 1, "cusp": 2}', "'cusp' twice"),
        (b'{"cusp": 1e999}', "is not JSON|not finite"),
        (b"\xff\xfe", "is not JSON"),
        (b"5", "one JSON object"),
        (b'{"schema": 99}', "layout 99"),
    ],
    ids=range(9),
)
def test_files_that_are_no_settings(content: bytes, said: str) -> None:
    with pytest.raises(BadFile, match=said):
        with_settings(Request(arched_body()), read_record(content))


def test_the_guide_names_every_key_with_limits_and_default() -> None:
    text = " ".join(settings_text().split())
    for key, name, kind in limits():
        assert f" {name} " in text, (key, name)
        assert f"{kind.least:.10g} to {kind.greatest:.10g}" in text
    assert "Default: 0.05." in text and 'Default: "Small router".' in text and "Must be given." in text
    assert max(map(len, settings_text().splitlines())) <= 110


def test_kinds_say_what_they_allow() -> None:
    label = Message("It")
    row = Row((Number(0, 1), Choice(("a", "b"))))
    assert str(row.complaint(label, [0.5])) == "It must be a list of 2 values, not a list of 1"
    assert str(row.complaint(label, [0.5, "c"])) == "It must be one of a, b, not 'c'"
    assert row.complaint(label, (0.5, "a")) is None
    assert str(Several(YesNo(), 1).complaint(label, [True, True])) == "It must be a list of at most 1 values, not a list of 2"
    assert str(Several(YesNo(), 1).complaint(label, [1])) == "It must be true or false, not 1"
    assert str(OrNothing(Text(), "none").complaint(label, 5)) == "It must be a line of at most 200 characters, not 5"
    assert str(Number(0, 1, "mm").complaint(label, 2)) == "It must lie between 0 and 1 mm, not at 2"
    assert Record("", ()).complaint(label, SIX) is None and asdict(SIX)
