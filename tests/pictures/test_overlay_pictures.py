"""What the viewport shows, drawn without a window by bpy 5.2 and judged by shares of colours, never by bytes."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def told() -> dict:
    """Shares of the pictures, as draw.py has read them off."""
    bpy = pytest.importorskip("bpy", reason="needs the bpy wheel")
    if bpy.app.version < (5, 2, 0):
        pytest.skip("bpy draws without a window from 5.2 on")
    words = [sys.executable, str(ROOT / "tests" / "pictures" / "draw.py"), os.environ.get("PICTURES_TO", "")]
    environment = os.environ | {"PYTHONPATH": os.pathsep.join([str(ROOT), str(ROOT / "tests" / "finishing")])}
    done = subprocess.run(words, capture_output=True, text=True, timeout=300, check=False, env=environment)
    lines = [line for line in done.stdout.splitlines() if line.startswith("JSON")]
    if not lines and ("gpu.init" in done.stderr or "GPU" in done.stderr or done.returncode < 0) and "AssertionError" not in done.stderr:
        pytest.skip("no graphics driver, not even one in software: " + done.stderr.strip()[-200:])
    assert lines, done.stderr[-3000:]
    return json.loads(lines[0][4:])


def test_nothing_is_drawn_when_nothing_is_asked_for(told: dict) -> None:
    assert told["nothing"] == 0.0


@pytest.mark.parametrize("name", ["slope", "curvature"])
def test_maps_of_the_body_cover_it(told: dict, name: str) -> None:
    # Body 80 x 60 mm in a picture of 130 mm: walls and rims cost a pixel or two round it.
    assert told[name] == pytest.approx(told["body share"], rel=0.03)


@pytest.mark.parametrize("name", ["fit", "uncut", "cusp"])
def test_maps_of_the_planned_ground_leave_out_what_is_skipped(told: dict, name: str) -> None:
    # 21 x 17 mm are skipped with their margin, rims are no ground.
    assert 0.75 * told["body share"] < told[name] < 0.97 * told["body share"]


def test_colours_are_those_of_the_legend(told: dict) -> None:
    assert told["slope on its ramp"] > 0.98 and told["cusp on its ramp"] > 0.98
    assert told["slope on the cusp's ramp"] < 0.5  # so the measure tells ramps apart


def test_lines_links_stock_and_zero_are_drawn(told: dict) -> None:
    assert told["show_lines"] > 0.05 and told["show_lines show_links"] > told["show_lines"]
    assert told["show_stock"] > 0.005 and told["show_zero"] > 0.0005


def test_hatching_lies_on_what_is_left_out_only(told: dict) -> None:
    assert told["hatch"] > 50 and told["hatch in the patch"] > 0.5 and told["hatch elsewhere"] < 0.02


def test_ground_without_a_cusp_has_a_hatching_of_its_own_in_the_view(told: dict) -> None:
    # The hollow of 3 mm radius is not reached by a ball of 6 mm; the outline is a rim that it rolls over.
    _, in_hollow, _, in_the_middle = told["hatch not reached"]
    assert in_hollow > 30 and in_the_middle == 0
    whole, in_hollow, at_outline, in_the_middle = told["hatch rim"]
    assert whole == at_outline > 60 and in_hollow == in_the_middle == 0
    assert set(told["hatched cells"]) == {"not reached", "rim"} and min(told["hatched cells"].values()) > 20


def test_the_legend_shows_the_ramp_of_its_map_and_the_banner_says_when_it_is_out_of_date(told: dict) -> None:
    # The bar is 16 x 150 pixels; the ramp's palest colours are not counted.
    assert 0.6 * 16 * 150 < told["legend's bar"] <= 1.02 * 16 * 150 and told["legend's bar on its ramp"] > 0.98
    assert told["rows of the banner"] == [pytest.approx(26, abs=1), 0]  # 2.2 times letters of 12 pixels, and nothing while all is current


def test_the_chart_draws_a_curve_for_every_cutter(told: dict) -> None:
    assert len(told["curves in the chart"]) == 2 and min(told["curves in the chart"]) > 100


def test_playing_shows_the_ground_that_is_cut_by_then(told: dict) -> None:
    (early_cut, early_standing), (late_cut, late_standing) = told["played 0.1"], told["played 0.9"]
    assert early_cut < 0.15 and early_standing > 0.8
    assert late_cut > 0.8 and late_standing < 0.2
    # At the body's own edge: what is drawn is the body to a pixel all round it, and the cutter, 12 mm wide at most, beside it.
    edge, cutter = 2 * (80 + 60) * (130 / 480) / 130**2, 12**2 / 130**2
    for share in ("0.1", "0.9"):
        assert told["body share"] - edge < told[f"played over the body {share}"] < told["body share"] + edge + cutter
