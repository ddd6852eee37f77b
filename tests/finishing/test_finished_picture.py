"""Pictures of the finished surface: light by Lambert's law, true scale, and on the bench sheet."""

from __future__ import annotations

import re
from base64 import b64decode
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from png_reader import pixels_of
from shapes import block
from small_jobs import two_sides
from test_command import block_triangles, write_stl

from addon.command import run
from addon.finishing.core.errors import BadRequest
from addon.finishing.files.job_files import FinishedView
from addon.finishing.job.body import make_body
from addon.finishing.pictures.finished_picture import finished_strip, light_for, light_words
from addon.finishing.pictures.raking_light import RakingLight, lit
from addon.finishing.planning.plan import make_plan


@pytest.mark.parametrize("slope", [-30.0, -5.0, 0.0, 6.0, 40.0, 80.0])
@pytest.mark.parametrize("turn", [0.0, 90.0, 135.0])
def test_planes_are_lit_by_the_cosine_law(slope: float, turn: float) -> None:
    y, x = np.mgrid[0:9, 0:9] * 0.1
    uphill = x * np.cos(np.radians(turn)) + y * np.sin(np.radians(turn))
    bright = lit(np.tan(np.radians(slope)) * uphill, 0.1, RakingLight(turn, 12.0))
    # A plane that rises towards the lamp by `slope` has its normal turned away from it: the angle to the lamp is 78 degrees + slope.
    b = max(np.sin(np.radians(12.0 - slope)), 0.0) / np.sin(np.radians(12.0))
    np.testing.assert_allclose(bright, b / (1 + b), atol=1e-5)


def test_heights_are_enlarged_only_when_asked_for() -> None:
    heights = 0.02 * np.sin(np.arange(60) / 3)[None, :] * np.ones((5, 1))
    true, enlarged = (lit(heights, 0.1, RakingLight(0.0, heights_times=times)) for times in (1.0, 5.0))
    assert np.ptp(enlarged) > 1.5 * np.ptp(true)
    np.testing.assert_allclose(enlarged, lit(5 * heights, 0.1, RakingLight(0.0)), atol=1e-6)
    assert "heights true" in str(light_words(RakingLight(30.0))) and "enlarged 5 times" in str(light_words(RakingLight(30.0, heights_times=5.0)))
    for wrong in ({"above_degrees": 0.0}, {"heights_times": 0.0}):
        with pytest.raises(BadRequest):
            RakingLight(0.0, **wrong)


def test_a_strip_is_in_true_scale_and_shows_the_cusps() -> None:
    plan = two_sides()[0]
    light = light_for((plan,))
    assert light.from_degrees == pytest.approx(90.0, abs=2.0)  # the lines run along X
    low = plan.body.low
    strip = finished_strip((plan,), light, middle=(low[0] + 15.0, low[1] + 20.0))
    pixels = pixels_of(strip.png)
    assert pixels.shape[:2] == (round(10 * strip.width), round(10 * strip.length)) and strip.length == pytest.approx(60.0, abs=0.1)
    assert strip.roughness is not None and 0.8 * plan.request.cusp < strip.roughness.rz < 1.05 * plan.request.cusp
    # Down a column the light changes with every pass: as many dark places as crests.
    grey = pixels[:, 150, :3].astype(float).mean(axis=1)
    falls = np.flatnonzero(np.diff(grey) < -0.04)
    passes = len(falls) - (np.diff(falls) <= 3).sum()
    assert abs(passes - strip.width / plan.line_spacing.usual) <= 2


def test_the_roughness_along_a_strip_is_that_of_parabolic_cusps() -> None:
    # A vault that rises to its back edge: under a summit in the strip the stock's own face would cut the crests off.
    vault = make_body("vault", block(lambda x, y: 10 + 0.2 * y - (y - 20) ** 2 / 300, 60, 40, 1.0))
    plan = make_plan(replace(two_sides()[0].request, body=vault))
    low = plan.body.low
    roughness = finished_strip((plan,), light_for((plan,)), middle=(low[0] + 15.0, low[1] + 20.0)).roughness
    assert roughness is not None and 0.8 * plan.request.cusp < roughness.rz < 1.05 * plan.request.cusp
    assert roughness.ra == pytest.approx(0.2566 * roughness.rz, rel=0.1)  # 4 / (9 sqrt 3)


@pytest.mark.filterwarnings("error")
@pytest.mark.parametrize("degrees", [-70.0, 8.0, 12.0, 15.0, 20.0, 45.0, 165.0, 170.0, 195.0, 359.0])
def test_a_strip_may_be_lit_from_anywhere(degrees: float) -> None:
    plan = two_sides()[0]
    low = plan.body.low
    strip = finished_strip((plan,), RakingLight(degrees), middle=(low[0] + 30.0, low[1] + 20.0))
    assert strip.roughness is not None and 0 < strip.roughness.rz < 1.1 * plan.request.cusp
    # In a corner of the body too; the profile keeps off the border, where crests stand higher.
    assert finished_strip((plan,), RakingLight(degrees), middle=(low[0], low[1])).png


@pytest.mark.parametrize("wrong", [{"light_from": float("nan")}, {"light_from": 1e9}, {"heights_times": 0.0}])
def test_a_lamp_that_cannot_be_is_refused_before_anything_is_planned(wrong: dict[str, float]) -> None:
    with pytest.raises(BadRequest):
        FinishedView(**wrong)


def test_the_command_writes_picture_strip_and_sheet(tmp_path: Path) -> None:
    write_stl(tmp_path / "block.stl", block_triangles())
    words = ["plan", str(tmp_path / "block.stl"), "--cutter", "12", "--start", "edge", "--cell", "1", "--out", str(tmp_path / "out")]
    assert run([*words, "--finished-surface", "--light-from", "45", "--heights-times", "3"]) == 0
    assert pixels_of((tmp_path / "out" / "block-top-finished-surface.png").read_bytes()).shape[1] == 1400
    sheet = (tmp_path / "out" / "block-bench-sheet.html").read_text(encoding="utf-8")
    width, content = re.findall(r'width:([0-9.]+)mm;[^>]*base64,([A-Za-z0-9+/=]+)"', sheet)[0]
    assert b64decode(content) == (tmp_path / "out" / "block-top-finished-strip.png").read_bytes()
    assert pixels_of(b64decode(content)).shape[1] == round(10 * float(width))
    assert "from 45 degrees; heights enlarged 3 times" in sheet
    assert run([*words, "--replace"]) == 0
    assert "Finished surface" not in (tmp_path / "out" / "block-bench-sheet.html").read_text(encoding="utf-8")
    assert not list((tmp_path / "out").glob("*finished*"))
