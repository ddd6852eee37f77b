"""The test coupon: what it leaves is what it says, by the simulated cut; and what is measured on it goes back."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from program_reader import known, read
from shapes import block
from test_command import block_triangles, write_stl

from addon.command import run
from addon.command_coupon import NO_BODY
from addon.finishing.core.errors import BadRequest
from addon.finishing.core.grid import Grid
from addon.finishing.core.stepping import finished
from addon.finishing.files.coupon_files import coupon_sheet
from addon.finishing.job.cutter import DEFAULT_RACK, Cutter
from addon.finishing.job.machine import Machine
from addon.finishing.job.request import Request
from addon.finishing.motion.run_time import run_time
from addon.finishing.options.coupon import FLAT_DEPTH, Coupon, CouponSettings, diameter_of_groove, groove_width, make_coupon, spacing_on
from addon.finishing.simulation.finished_surface import Run, finished_heights_steps

ROUNDING = 1e-3
"""mm"""

SIXTEEN = Cutter("Round-nose 16", 16.0)


def coupon_for(cutter: Cutter, true_cutter: Cutter | None = None, **changes: object) -> Coupon:
    machine = Machine()
    settings = replace(CouponSettings(thickness=30.0), **changes)  # type: ignore[arg-type]
    return make_coupon(settings, cutter, machine.air_feed, machine.plunge_feed, machine.safe_height)


def cut(coupon: Coupon, grid: Grid, cutter: Cutter | None = None, z_error: float = 0.0) -> np.ndarray:
    """Heights on a grid after the whole coupon has been cut, by another cutter and with a wrong zero where these are given."""
    radius = (cutter or coupon.cutter).radius
    runs = [Run(path.points + [0, 0, z_error], radius) for path in coupon.paths]
    return finished(finished_heights_steps(np.zeros(grid.shape), grid, runs))


@pytest.mark.parametrize("cutter", [SIXTEEN, Cutter("c", 6.0, usable_length=25.0)])
def test_every_field_leaves_its_cusp(cutter: Cutter) -> None:
    coupon = coupon_for(cutter, hollow_radius=21.0)
    for field in coupon.fields:
        middle = (field.low + field.high) / 2
        grid = Grid(left=middle, front=0.0, cell=0.01, rows=6001, columns=1)
        heights = cut(coupon, grid)[:, 0]
        # Height over the profile along its normal, between the field's first and last pass.
        (low, high), y = field.contacts[[0, -1], 0], grid.y()
        inside = (y > low) & (y < high)
        if field.kind == "hollow":
            centre = field.contacts[0] + coupon.hollow_radius * field.normals[0]
            standing = coupon.hollow_radius - np.hypot(y[inside] - centre[0], heights[inside] - centre[1])
        else:
            standing = (np.column_stack([y, heights])[inside] - field.contacts[0]) @ field.normals[0]
        assert standing.max() == pytest.approx(field.cusp, rel=0.03), (field.column, field.kind)
        assert standing.min() > -2e-5
        assert len(field.contacts) >= 4


def test_spacing_in_a_hollow_is_the_flats_in_the_limit_and_wider_in_a_narrow_one() -> None:
    flat = spacing_on(0.0, 8.0, 0.05)
    assert spacing_on(-1e-7, 8.0, 0.05) == pytest.approx(flat, rel=1e-5)
    # Small cusps: s^2 = 8 h / (1/R + k) (Feng and Li 2002, CAD 34:647).
    assert spacing_on(-1 / 20, 8.0, 0.001) == pytest.approx(np.sqrt(8 * 0.001 / (1 / 8 - 1 / 20)), rel=1e-3)


@pytest.mark.parametrize("diameter", [cutter.diameter for cutter in DEFAULT_RACK])
def test_the_grooves_width_tells_the_true_diameter(diameter: float) -> None:
    nominal = Cutter("c", diameter, usable_length=50.0)
    coupon = coupon_for(nominal)
    true = replace(nominal, measured_diameter=diameter - 0.2)
    at = coupon.groove.points[0, 0]
    grid = Grid(left=at - 10.0, front=30.0, cell=0.01, rows=1, columns=2001)
    heights = cut(coupon, grid, true, z_error=-0.1)[0]
    walls = np.flatnonzero(heights >= -1e-6)
    middle = grid.columns // 2
    width = (walls[walls > middle].min() - walls[walls < middle].max() - 1) * grid.cell
    assert width <= 19 and width == pytest.approx(groove_width(true.radius, coupon.groove_depth + 0.1), abs=0.03)
    # With the step to the flat the depth is known as it is, and the diameter comes out.
    step = -cut(coupon, Grid(left=coupon.timed.points[:, 0].mean(), front=30.0, cell=0.01, rows=50, columns=1), true, z_error=-0.1).min()
    assert step == pytest.approx(FLAT_DEPTH + 0.1, abs=0.004)
    assert diameter_of_groove(width, coupon.groove_depth + step - FLAT_DEPTH) == pytest.approx(diameter - 0.2, abs=0.06)


def test_no_move_is_deeper_than_a_layer_or_outside_the_scrap() -> None:
    coupon = coupon_for(SIXTEEN)
    size = coupon.settings
    before = np.zeros((61, 101))
    grid = Grid(left=0.0, front=0.0, cell=1.0, rows=61, columns=101)
    for path in (coupon.clearing, coupon.groove):
        for line in path.lines():
            after = finished(finished_heights_steps(before, grid, [Run(np.array([line[0], line[-1]]), 8.0)]))
            assert (before - after).max() <= 2.0 + ROUNDING
            before = after
    for path in coupon.paths:
        assert path.points[:, 2].min() >= -(size.thickness - 3) and path.points[0, 2] == path.points[-1, 2] == 5.0
        across = np.linalg.norm(np.diff(path.points[:, :2], axis=0), axis=1) > 0
        sideways = np.minimum(path.points[1:, 2], path.points[:-1, 2])[across & (path.kind[1:] == 4)]
        assert (sideways == 5.0).all()  # in the air only at the safe height


@pytest.mark.parametrize("hollow", [60.0, 190.0, 300.0, 1e4])
def test_a_body_of_gentle_hollows_has_its_coupon(hollow: float) -> None:
    # The field ends before a wide hollow's bottom: its deepest place counts, not the bottom that it would have.
    coupon = coupon_for(SIXTEEN, hollow_radius=hollow, thickness=20.0)
    (bent, *_) = (field for field in coupon.fields if field.kind == "hollow")
    assert coupon.hollow_radius == hollow and -15.0 < bent.contacts[:, 1].min() < -5.0


def test_scrap_that_is_too_thin_is_refused() -> None:
    with pytest.raises(BadRequest, match="8.5 mm deep: take scrap of 12 mm or more, and a cutter that reaches"):
        coupon_for(replace(SIXTEEN, usable_length=8.0))
    with pytest.raises(BadRequest, match="at least .* mm long"):
        coupon_for(Cutter("c", 50.0), length=80.0)
    with pytest.raises(BadRequest, match="width must lie between"):
        CouponSettings(width=20.0)


def made_by_command(tmp_path: Path, *words: str) -> dict[str, Any]:
    assert run(["coupon", "--cutter", "16", "--out", str(tmp_path), "--replace", *words]) == 0
    return json.loads((tmp_path / "coupon.json").read_text(encoding="utf-8"))


def test_what_is_measured_goes_back_into_the_next_plan(tmp_path: Path, capsys: pytest.CaptureFixture) -> None:
    record = made_by_command(tmp_path)
    depth, seconds = record["coupon"]["groove_depth"], record["coupon"]["timed_seconds"]
    # A cutter of 15.8 mm, Z zero 0.1 mm too low, a machine that takes 1.3 times as long.
    words = ["--groove", str(groove_width(7.9, depth + 0.1)), "--step", "1.1", "--seconds", str(1.3 * seconds), "--field", "3"]
    assert run(["coupon", "--measured", str(tmp_path / "coupon.json"), *words, "--out", str(tmp_path)]) == 0
    shown = capsys.readouterr().out
    assert "15.80 mm" in shown and "0.10 mm too low" in shown and "1.300 times" in shown and "is 0.1 mm" in shown
    write_stl(tmp_path / "block.stl", block_triangles())
    plan = ["plan", str(tmp_path / "block.stl"), "--settings", str(tmp_path / "coupon-settings.json"), "--start", "edge", "--cell", "1"]
    assert run([*plan, "--out", str(tmp_path / "plan")]) == 0
    shown = capsys.readouterr().out
    assert "Measured on a test coupon: diameter of the cutter, zero of Z, minutes of the run, cusp height." in shown
    written = json.loads((tmp_path / "plan" / "block-top-plan.json").read_text(encoding="utf-8"))
    assert written["settings"]["cusp"] == 0.1 and written["result"]["cutter"]["measured_diameter"] == pytest.approx(15.8, abs=1e-3)
    assert written["result"]["time_factor"] == pytest.approx(1.3) and written["settings"]["measured"] == ["cutter", "zero", "minutes", "cusp"]
    assert next(each for each in written["settings"]["rack"] if each["diameter"] == 16.0)["measured_diameter"] == pytest.approx(15.8, abs=1e-3)
    # What was not measured stays as it was.
    assert run(["coupon", "--measured", str(tmp_path / "coupon.json"), "--field", "1", "--out", str(tmp_path / "two")]) == 0
    only = json.loads((tmp_path / "two" / "coupon-settings.json").read_text(encoding="utf-8"))["settings"]
    assert (only["cusp"], only["measured"], only["cutter"]["measured_diameter"], only["machine"]["time_factor"]) == (0.025, ["cusp"], 0.0, 1.0)


def test_the_program_runs_what_the_coupon_says(tmp_path: Path) -> None:
    record = made_by_command(tmp_path)
    program = read((tmp_path / "coupon.nc").read_bytes())
    coupon = make_coupon(CouponSettings(hollow_radius=record["coupon"]["hollow_radius"]), SIXTEEN, 5000.0, 900.0, 5.0)
    ran = np.array([step.end for step in known(program.steps)], float)
    for path in coupon.paths:
        # Every place of the path is passed, in order.
        at = 0
        for place in path.points.round(4):
            near = np.flatnonzero(np.abs(ran[at:] - place).max(axis=1) < 2e-4)
            assert len(near), place
            at += int(near[0])
    text = (tmp_path / "coupon.nc").read_text(encoding="ascii")
    timed = text.index("(Timed field)")
    assert text.index("M0", timed) < text.index("(Groove)") and text.count("M0") == 3  # the first waits for a raised cutter
    # The estimate that the stopwatch is held against is that of the simulated machine.
    assert record["coupon"]["timed_seconds"] == pytest.approx(run_time(coupon.timed, Machine()).total_seconds)


def test_the_hollow_is_the_bodys_own(tmp_path: Path) -> None:
    # A channel of 20 mm radius along X, whose radius the triangles tell within some per cent.
    def channel(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        return 30 - np.sqrt(np.maximum(20.0**2 - (y - 30) ** 2, 0.0)) * (np.abs(y - 30) < 14) - np.sqrt(20.0**2 - 14**2) * (np.abs(y - 30) >= 14)

    write_stl(tmp_path / "channel.stl", block(channel, 60.0, 60.0, 0.5))
    record = made_by_command(tmp_path, str(tmp_path / "channel.stl"), "--cutter", "16")
    assert record["coupon"]["hollow_radius"] == pytest.approx(20.0, rel=0.1)
    assert made_by_command(tmp_path, "--hollow", "5")["coupon"]["hollow_radius"] == pytest.approx(8.16)


def test_wrong_use_is_told_in_one_sentence(tmp_path: Path, capsys: pytest.CaptureFixture) -> None:
    made_by_command(tmp_path)
    measured = ["--measured", str(tmp_path / "coupon.json")]
    (tmp_path / "other.json").write_text("{}")
    capsys.readouterr()
    for words in (
        [], ["--cutter", "16", "--groove", "3"], ["--cutter", "16", "--size", "100,60"], ["--cutter", "16", "--size", "10,60,20"], measured,
        [*measured, "--field", "4"], [*measured, "--groove", "9"], ["--measured", str(tmp_path / "other.json"), "--field", "1"],
        [*measured, "--seconds", "9999"],
    ):  # fmt: skip
        assert run(["coupon", *words, "--out", str(tmp_path / "no")]) == 2, words
        assert capsys.readouterr().err.count("\n") == 1
    assert not (tmp_path / "no").exists()


def test_the_sheet_has_its_boxes_and_survives_names(tmp_path: Path) -> None:
    coupon = coupon_for(Cutter("<script>16</script>", 16.0))
    page = coupon_sheet(coupon, Request(NO_BODY, cutter=coupon.cutter)).decode("utf-8")
    assert "<script>" not in page and page.count('class="box"') == 4 and page.count('class="box tick"') == 3
    assert "16.00 mm for a cutter of 16 mm" in page
