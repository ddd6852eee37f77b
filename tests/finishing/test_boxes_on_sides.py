"""Keep-out boxes on both sides: they stand on the bed where they stood, and every program of a job keeps off them, dry runs too."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from program_reader import known, read
from shapes import block

from addon.finishing.core.errors import BadRequest
from addon.finishing.core.result_store import ResultStore
from addon.finishing.files.job_files import JobFiles, job_files
from addon.finishing.job.body import make_body
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.keep_out import KeepOut, boxes_on
from addon.finishing.job.request import Request
from addon.finishing.job.stock import StockSettings, resolve_stock
from addon.finishing.planning.checking import check_request
from addon.finishing.planning.plan import make_plan
from addon.finishing.planning.result import Plan

BALL = Cutter("Round-nose 12", 12.0, shank_diameter=12.0, stick_out=45.0)
THICKNESS = 21.0
CLAMP = KeepOut("clamp", (0.0, 40.0, 0.0), (29.0, 47.0, 33.0))
SCREW = KeepOut("screw", (50.0, 84.0, 0.0), (53.0, 87.0, 28.0))
TAB = KeepOut("tab", (84.0, 50.0, 4.0), (96.0, 58.0, 18.0), side="top")
ROUNDING = 1e-3
"""mm: places in a program have four decimals."""


def saddle(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    return 15 + 2 * np.cos(x / 14) - 2.5 * np.sin(y / 17)


@cache
def asked() -> Request:
    stock = StockSettings(thickness=THICKNESS, height_in_stock=1.0)
    body = make_body("saddle", block(saddle, 62.0, 44.0, 1.0))
    request = Request(body, cutter=BALL, rack_table=False, cell=0.5, cusp=0.12, lines_from="edge", line_angle=15.0, stock=stock)
    return replace(request, keep_out=(CLAMP, SCREW, TAB))


@cache
def both_sides() -> tuple[Plan, Plan]:
    store = ResultStore()
    return make_plan(asked(), store), make_plan(replace(asked(), side="back"), store)


def on_the_bed(side: str) -> list[tuple[np.ndarray, np.ndarray]]:
    """Corners of what really stands there, from the side's zero: the spoilboard on the top side, the stock's top on the back, 21 mm above it."""
    lift = np.array([0.0, 0.0, 0.0 if side == "top" else -THICKNESS])
    there = (CLAMP, SCREW, TAB) if side == "top" else (CLAMP, SCREW)
    return [(np.array(box.low) + lift, np.array(box.high) + lift) for box in there]


def reach(tips: np.ndarray, low: np.ndarray, high: np.ndarray) -> float:
    """How far a ball with flanks above it, or the nut, goes into a box, with the tip at places (n, 3)."""
    away = np.hypot(*np.maximum(np.maximum(low[:2] - tips[:, :2], tips[:, :2] - high[:2]), 0.0).T)
    ball = BALL.radius - np.hypot(away, np.maximum(tips[:, 2] + BALL.radius - high[2], 0.0))
    nut = np.where(tips[:, 2] + BALL.stick_out < high[2], 15.0 - away, -1.0)
    return float(np.maximum(ball, nut).max())


def deepest(program: bytes, side: str) -> float:
    """How far the tool goes into what really stands there on any move of a program of a side."""
    worst = -np.inf
    for step in known(read(program).steps):
        start, end = np.array(step.start), np.array(step.end)
        start = np.where(np.isnan(start), end, start)
        places = start + np.linspace(0, 1, max(2, int(np.linalg.norm(end - start) / 0.3)))[:, None] * (end - start)
        worst = max(worst, *(reach(places, low, high) for low, high in on_the_bed(side)))
    return worst


def test_no_program_of_either_side_runs_into_what_stands_on_the_bed() -> None:
    files = job_files(both_sides(), JobFiles(pictures=False, programs=True))
    programs = {name: content for name, content in files.items() if name.endswith(".nc")}
    assert len(programs) == 6
    for name, program in programs.items():
        assert deepest(program, "back" if "-back-" in name else "top") <= ROUNDING, name


def test_without_boxes_the_same_programs_would_run_into_them() -> None:
    free = make_plan(replace(asked(), keep_out=()))
    files = job_files((free,), JobFiles(pictures=False, programs=True))
    for ending in ("round-nose-12.nc", "low-dry-run.nc"):
        assert deepest(next(content for name, content in files.items() if name.endswith(ending)), "top") > 1.0


@pytest.mark.parametrize(("side", "height"), [("top", 33.0 + 5.0), ("back", 33.0 - 21.0 + 5.0)])
def test_the_dry_run_is_5_mm_above_the_highest_box_from_the_zero_of_its_side(side: str, height: float) -> None:
    files = job_files(both_sides(), JobFiles(pictures=False, programs=True))
    program = next(content for name, content in files.items() if f"-{side}-" in name and name.endswith("12-dry-run.nc"))
    assert {step.end[2] for step in known(read(program).steps)} == {height}


def test_boxes_of_a_side() -> None:
    # By hand: what is on both sides keeps its height over the spoilboard, 21 mm below the stock's top; the tab is there on the top side alone.
    stock = resolve_stock(asked().stock, asked().body.low, asked().body.high)
    assert [(box.name, box.low[2], box.high[2]) for box in boxes_on(asked().keep_out, stock, "top")] == [
        ("clamp", 0.0, 33.0), ("screw", 0.0, 28.0), ("tab", 4.0, 18.0),
    ]  # fmt: skip
    assert [(box.name, box.low[2], box.high[2]) for box in boxes_on(asked().keep_out, stock, "back")] == [("clamp", -21.0, 12.0), ("screw", -21.0, 7.0)]
    first_back = resolve_stock(replace(asked().stock, first_side="back"), asked().body.low, asked().body.high)
    assert [box.high[2] for box in boxes_on((CLAMP,), first_back, "back")] == [33.0]
    assert [box.high[2] for box in boxes_on((CLAMP,), first_back, "top")] == [12.0]
    here = boxes_on(asked().keep_out, stock, "back")
    assert boxes_on(here, stock, "back") == here


def test_a_box_is_refused_by_where_it_is_on_the_side() -> None:
    low = replace(CLAMP, low=(0.0, 40.0, -40.0), high=(29.0, 47.0, -5.0))
    check_request(replace(asked(), side="back", keep_out=(replace(low, side="back"),)))
    for box in (low, replace(low, side="back")):
        with pytest.raises(BadRequest, match="along Z it reaches from -40.0 to -5.0 mm"):
            check_request(replace(asked(), keep_out=(replace(box, side="top"),)))
    check_request(replace(asked(), keep_out=(replace(low, side="back"),)))
    with pytest.raises(BadRequest, match="must be one of both, top, back"):
        replace(CLAMP, side="left")
