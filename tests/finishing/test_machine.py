"""The machine record: what it refuses, and what its settings look like in files old and new."""

from __future__ import annotations

import json
from dataclasses import asdict, replace

import pytest
from shapes import block

from addon.finishing.core.errors import BadFile, BadRequest
from addon.finishing.files.plan_record import read_record, record_bytes, settings_record, with_settings
from addon.finishing.job.body import make_body
from addon.finishing.job.machine import CORNER_KINDS, EXACT_STOP, OVERLAP, Machine
from addon.finishing.job.request import Request


@pytest.fixture(scope="module")
def request_() -> Request:
    return Request(make_body("flat", block(lambda x, y: 10 + 0 * x, 20, 20, 5.0)))


@pytest.mark.parametrize(
    "wrong",
    [
        {"speed_x": 0.0}, {"speed_z": float("nan")}, {"acceleration_y": -1.0}, {"corner_rounding": -0.01}, {"corners": "round"},
        {"blocks_ahead": 0}, {"blocks_ahead": 16.0}, {"spindle_least": 30000.0}, {"time_factor": float("inf")},
    ],
    ids=str,
)  # fmt: skip
def test_what_no_machine_can_have_is_refused(wrong: dict) -> None:
    with pytest.raises(BadRequest, match="(?i)" + next(iter(wrong)).split("_")[0]):
        Machine(**wrong)


def test_what_may_be_zero() -> None:
    assert Machine(corner_rounding=0.0, spin_up_seconds=0.0, tool_change_minutes=0.0).corner_rounding == 0


def test_settings_written_before_the_kinds_of_corner_stay_readable(request_: Request) -> None:
    old = {"machine": {key: value for key, value in asdict(Machine(speed_x=4000.0)).items() if key not in ("corners", "blocks_ahead", "timing_tested")}}
    machine = with_settings(request_, read_record(json.dumps(old).encode())).machine
    assert machine == Machine(speed_x=4000.0) and machine.corners == OVERLAP and not machine.timing_tested


@pytest.mark.parametrize("corners", CORNER_KINDS)
def test_the_kinds_of_corner_go_through_a_file(request_: Request, corners: str) -> None:
    request = replace(request_, machine=Machine(corners=corners, blocks_ahead=16, timing_tested=True))
    assert with_settings(request_, read_record(record_bytes({"settings": settings_record(request)}))).machine == request.machine


def test_an_unknown_kind_in_a_file_is_told_in_one_sentence(request_: Request) -> None:
    with pytest.raises(BadFile, match=f"cannot be used: Machine: corners must be one of .*{EXACT_STOP}"):
        with_settings(request_, {"machine": {"corners": "spline"}})
