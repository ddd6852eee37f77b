"""Settings files of earlier versions are still read."""

from __future__ import annotations

import json

import pytest
from shapes import block

from addon.finishing.core.errors import BadFile
from addon.finishing.files.former_names import FORMER_KEYS, FORMER_WORDS, with_present_names
from addon.finishing.files.plan_record import read_record, settings_record, with_settings
from addon.finishing.job.body import make_body
from addon.finishing.job.request import PLAN, Request
from addon.finishing.job.setting_kinds import record_in

# A settings file as version 0.1 wrote and explained it, every key that has another name now among it.
FORMER = {
    "start": "edge", "start_angle": 30.0, "direction": "climb", "rest_overlap": 2.5,
    "rest": {"larger": {"name": "Round-nose 22", "diameter": 22.0}, "overlap": 2.5},
    "machine": {"junction_deviation": 0.05}, "roughing": {"step_down": 4.0, "slot_width": 18.0}, "region": {"lowest_depth": 33.0},
    "bite": {"greatest_bend": 0.07}, "stock": {"body_lift": 2.0},
}  # fmt: skip


def bare() -> Request:
    return Request(make_body("block", block(lambda x, y: 0 * x + 20.0, 20, 20, 5.0)))


@pytest.mark.parametrize("whole", [True, False])
def test_a_settings_file_of_before_is_read(whole: bool) -> None:
    read = with_settings(bare(), read_record(json.dumps({"settings": FORMER} if whole else FORMER).encode()))
    assert (read.lines_from, read.line_angle, read.cutting_way, read.overlap_with_larger) == ("edge", 30.0, "climb only", 2.5)
    assert read.remaining is not None and read.remaining.larger.diameter == 22.0
    assert (read.machine.corner_rounding, read.roughing.terrace_height, read.roughing.channel_width) == (0.05, 4.0, 18.0)
    assert (read.region.deepest_tip, read.bite.tip_bend_limit, read.stock.height_in_stock) == (33.0, 0.07, 2.0)


@pytest.mark.parametrize(("former", "now"), FORMER_WORDS["cutting_way"].items())
def test_words_that_were_chosen_before_are_read(former: str, now: str) -> None:
    assert with_settings(bare(), read_record(json.dumps({"direction": former}).encode())).cutting_way == now


def test_every_former_name_stands_for_a_setting_that_there_is_and_is_none_itself() -> None:
    written = settings_record(bare())
    for group, names in FORMER_KEYS.items():
        if group == "figures":
            continue
        record = PLAN if group == "" else record_in(next(item.kind for item in PLAN.settings if item.name == group))
        present = {item.name for item in record.settings}
        assert set(names.values()) <= present and not set(names) & present
        assert set(names.values()) <= set(written if group == "" else written[group])


def test_a_setting_under_both_its_names_is_refused() -> None:
    with pytest.raises(BadFile, match="unknown key 'start'"):
        with_settings(bare(), read_record(b'{"start": "edge", "lines_from": "middle"}'))


def test_a_box_of_a_plan_of_before_holds_with_its_numbers_on_either_side() -> None:
    box = {"name": "Clamp", "low": [0.0, 0.0, -10.0], "high": [30.0, 30.0, 8.0]}
    told = with_present_names({"settings": {"keep_out": [box, box | {"side": "both"}]}})["settings"]["keep_out"]
    assert told == [box | {"side": "top"}, box | {"side": "back"}, box | {"side": "both"}]
