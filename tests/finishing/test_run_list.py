"""The run list: its order, the figures in its rows, and its table."""

from __future__ import annotations

import csv
import io
from dataclasses import replace

import pytest
from small_jobs import two_sides, with_smaller_cutter

from addon.finishing.core.message import Message
from addon.finishing.files.run_list_csv import RUN_LIST_HEADER, run_list_csv
from addon.finishing.job.other_operations import OtherOperation
from addon.finishing.planning.run_list import dowel_row, finishing_row, in_running_order, other_operation_row

CORNER = "lower left corner of the stock, seen from above"


def test_the_first_side_of_the_stock_comes_first() -> None:
    top, back = two_sides()
    assert in_running_order((back, top)) == (top, back)
    turned = replace(top.stock, settings=replace(top.stock.settings, first_side="back"))
    plans = tuple(replace(plan, stock=turned) for plan in (top, back))
    assert in_running_order(plans) == (plans[1], plans[0])


def test_the_smaller_cutter_stays_behind_the_larger_one() -> None:
    assert [plan.cutter.diameter for plan in in_running_order(with_smaller_cutter())] == [12.0, 6.0]


def test_a_row_of_the_table_says_what_its_plan_says() -> None:
    top, back = two_sides()
    rows = (
        other_operation_row(top, 1, OtherOperation("=roughing", "Flat 22", 20.0, stick_out=45.0, z_zero="bed")),
        dowel_row(top, 2, "dowels.nc"),
        finishing_row(top, 3, "top.nc"),
        finishing_row(back, 4, "back.nc"),
    )
    table = list(csv.reader(io.StringIO(run_list_csv(rows).decode(), newline="")))
    assert table[0] == list(RUN_LIST_HEADER)
    made = [dict(zip(table[0], row, strict=True)) for row in table[1:]]
    # Another operation: made by no file of ours, at the zero that the user gives it; a name that begins like a formula is text.
    assert made[0] == {
        "number": "1",
        "side": "top",
        "work": "'=roughing",
        "file": "",
        "cutter": "Flat 22",
        "diameter_mm": "",
        "stick_out_mm": "45",
        "xy_zero": CORNER,
        "z_zero": "bed",
        "minutes": "20",
        "digest": "",
        "read_first": "",
    }
    assert (made[1]["work"], made[1]["file"], made[1]["cutter"], made[1]["diameter_mm"]) == ("dowel holes", "dowels.nc", "Drill 8 mm", "8")
    assert made[1]["stick_out_mm"] == "" and float(made[1]["minutes"]) > 0
    assert (made[2]["cutter"], made[2]["diameter_mm"], made[2]["stick_out_mm"]) == ("Round-nose 12", "12", "60")
    assert [row["z_zero"] for row in made[2:]] == ["spoilboard under the stock", "top of the stock (not of the body)"]
    for row, plan in zip(made[2:], (top, back), strict=True):
        assert float(row["minutes"]) == pytest.approx(plan.run_time.minutes, abs=0.005)
        assert row["digest"] == plan.body_digest


def test_another_operation_without_a_zero_takes_that_of_its_side() -> None:
    top, back = two_sides()
    work = OtherOperation("roughing", "Flat 22", 20.0)
    assert other_operation_row(top, 1, work).z_zero == Message("spoilboard under the stock")
    assert other_operation_row(back, 1, work).z_zero == Message("top of the stock (not of the body)")
