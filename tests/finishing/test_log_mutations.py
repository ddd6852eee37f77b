"""Run logs and records of test coupons that chance has damaged: read, or refused with one sentence."""

from __future__ import annotations

import math
from functools import cache
from pathlib import Path

import pytest
from damage import damaged
from hypothesis import given, settings
from hypothesis import strategies as st
from small_jobs import arched_body

from addon.finishing.core.errors import BadFile, BadRequest
from addon.finishing.files.coupon_back import Found, lesson_of
from addon.finishing.files.coupon_files import coupon_record
from addon.finishing.files.plan_record import read_record, record_bytes, with_settings
from addon.finishing.files.run_log_csv import log_bytes, log_in
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.machine import Machine
from addon.finishing.job.request import Request
from addon.finishing.job.run_log import LoggedRun
from addon.finishing.options.coupon import CouponSettings, make_coupon

RUNS = (
    LoggedRun("2026-11-27", "b", "top", "Small router", "Round-nose 16", 16.0, "hardwood", 0.05, 10.0, 12.0, 120, "quiet"),
    LoggedRun("2026-11-28", 'a "b", c', "back", "Router\u00e9", "Round-nose 6", 6.0, "softwood", 0.02, 20.0, 19.0, None, "two; =1+1"),
)
FILE = Path("log.csv")


@settings(max_examples=300, deadline=20_000)
@given(st.data())
def test_a_damaged_log_is_read_whole_or_refused(data: st.DataObject) -> None:
    content = data.draw(damaged([log_bytes(RUNS)]))
    try:
        runs = log_in(content, FILE)
    except BadFile as error:
        assert str(error).endswith(".") and "\n" not in str(error) and len(str(error)) < 500
    else:
        for run in runs:
            assert len(run.day) <= 400
            assert math.isfinite(run.estimated_minutes) and math.isfinite(run.measured_minutes) and run.measured_minutes > 0
        assert log_in(log_bytes(runs), FILE) == runs  # what is taken is whole


@settings(max_examples=200, deadline=20_000)
@given(st.binary(max_size=300))
def test_bytes_at_random_are_no_log(content: bytes) -> None:
    try:
        log_in(content, FILE)
    except BadFile as error:
        assert str(error).endswith(".")


@cache
def coupon_of_a_cutter() -> bytes:
    machine, cutter = Machine(), Cutter("Round-nose 12", 12.0)
    coupon = make_coupon(CouponSettings(thickness=30.0), cutter, machine.air_feed, machine.plunge_feed, machine.safe_height)
    return record_bytes(coupon_record(coupon, Request(arched_body(), cutter=cutter)))


FOUND = Found(groove=11.0, step=0.5, seconds=40.0, field=2)


@settings(max_examples=300, deadline=20_000)
@given(st.data())
def test_a_damaged_coupon_teaches_what_a_plan_takes_or_nothing(data: st.DataObject) -> None:
    content = data.draw(damaged([coupon_of_a_cutter()]))
    try:
        lesson = lesson_of(read_record(content), FOUND)
    except (BadFile, BadRequest) as error:
        assert str(error).endswith(".") and "\n" not in str(error) and len(str(error)) < 500
    else:
        assert with_settings(Request(arched_body()), read_record(record_bytes(lesson.settings))).cutter is not None


@pytest.mark.parametrize(
    "change",
    [{"rack": [{}]}, {"rack": 5}, {"rack": None}, {"rack": [{"name": "a", "diameter": "wide"}]}, {"cusp": "fine"}, {"machine": []}, {"unknown": 1}],
)
def test_settings_of_a_coupon_are_looked_at(change: dict[str, object]) -> None:
    record = read_record(coupon_of_a_cutter())
    with pytest.raises(BadFile):
        lesson_of(record | {"settings": record["settings"] | change}, FOUND)


@pytest.mark.parametrize("name", ["groove_depth", "flat_depth", "timed_seconds", "time_factor"])
@pytest.mark.parametrize("value", [float("inf"), float("-inf"), 0.0, -1.0, 1e300, "a", "1.0", None, True])
def test_numbers_of_a_coupon_are_looked_at(name: str, value: object) -> None:
    record = read_record(coupon_of_a_cutter())
    record["coupon"][name] = value
    with pytest.raises((BadFile, BadRequest), match=r"\.$"):
        lesson_of(record, FOUND)
