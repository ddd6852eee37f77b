"""Pictures of maps and plans: the right colours in the right places, whole words, legends that explain what is there."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from png_reader import border_of, pixels_of, share_of
from small_jobs import two_sides, with_smaller_cutter

from addon.finishing.core.errors import BadRequest
from addon.finishing.core.grid import Grid
from addon.finishing.core.message import Message
from addon.finishing.core.path import CUT, ENTRY, LIFT, LINK, Path
from addon.finishing.job.cutter import Cutter
from addon.finishing.pictures.legend import curvature_legend, cusp_legend, slope_legend, uncut_legend
from addon.finishing.pictures.palette import PAPER, QUIET
from addon.finishing.pictures.plan_maps import PLAN_MAPS, PlanMap, planned_uncut
from addon.finishing.pictures.plan_pictures import map_picture, minutes_chart, plan_pictures
from addon.finishing.pictures.ramps import CUSP, LINES, SLOPE
from addon.finishing.pictures.sheet import Words
from addon.finishing.pictures.surface_pictures import MapContent, lines_picture, picture

LEGEND_AT = 1150
"""Column of pixels right of which only the legend stands."""


def plate(cell: float = 0.5) -> tuple[Grid, np.ndarray, np.ndarray, np.ndarray]:
    """A flat round plate of radius 60 with a square pocket: grid, y of its cells, heights, pocket."""
    count = round(124 / cell) + 1
    grid = Grid(left=-62, front=-62, cell=cell, rows=count, columns=count)
    x, y = np.meshgrid(grid.x(), grid.y())
    heights = np.where(np.hypot(x, y) < 60, 20.0, -np.inf)
    pocket = (np.abs(x - 20) < 12) & (np.abs(y) < 12)
    heights[pocket] = 10
    return grid, y, heights, pocket


def three_lines() -> Path:
    """Three pass lines, the second reached by a link, the first and third through the air."""
    points, kind, line = [[0.0, 0.0, 40.0]], [LIFT], [1]
    for number, y in enumerate((-30.0, -10.0, 40.0), start=1):
        start = [-30.0, y, 20.0]
        moves = {1: [(LIFT, [-30.0, y, 40.0]), (ENTRY, start)], 2: [(LINK, start)], 3: [(LIFT, start)]}[number]
        moves += [(CUT, [x, y, 20.0]) for x in (-30.0, 0.0, 30.0)]
        for of_kind, point in moves:
            points.append(point)
            kind.append(of_kind)
            line.append(number)
    return Path(np.array(points), np.array(kind, np.uint8), np.array(line, np.int32), np.full(len(points), 3000.0))


def test_flat_ground_has_the_very_colour_of_the_legend() -> None:
    grid, _, heights, pocket = plate()
    values = np.where(np.isfinite(heights), 30.0, np.nan)
    heights[pocket] = 20
    pixels = pixels_of(picture(MapContent(grid, heights, slope_legend(), values), Words("S")))
    # The plate is round and fills the height, pi/4 of its square.
    assert share_of(pixels, SLOPE.colours(np.array([30.0]), 0, 90)[0, :3]) > 0.25
    assert share_of(pixels, PAPER) > 0.4


def test_a_map_is_not_upside_down() -> None:
    grid, y, heights, _ = plate()
    values = np.where(np.isfinite(heights), np.where(y > 0, 80.0, 5.0), np.nan)
    pixels = pixels_of(picture(MapContent(grid, heights, slope_legend(), values), Words("S")))
    dark = (pixels.sum(axis=-1) < 250)[:, 200:1000]
    rows = np.flatnonzero(dark.mean(axis=1) > 0.3)
    assert rows.max() < pixels.shape[0] * 0.62  # y upwards: the steep half is above


def test_hatched_ground_and_its_key() -> None:
    grid, _, heights, pocket = plate()
    values = np.where(np.isfinite(heights), 0.0, np.nan)
    without = MapContent(grid, heights, uncut_legend(1), values)
    plain, hatched = (pixels_of(picture(content, Words("S"))) for content in (without, replace(without, hatched=pocket)))
    changed = np.abs(plain.astype(int) - hatched).max(axis=-1) > 20
    # The pocket is 24 of some 124 mm, so about 0.03 of the map's square.
    assert 0.01 < changed.mean() < 0.05
    assert changed[:, LEGEND_AT:].any()
    nothing = pixels_of(picture(replace(without, hatched=np.zeros_like(pocket)), Words("S")))
    assert np.array_equal(nothing, plain)


def test_pass_lines_follow_the_ramp_and_show_links_and_lifts() -> None:
    grid, _, heights, _ = plate()
    path = three_lines()
    pixels = pixels_of(lines_picture(grid, heights, path, Words("Lines")))
    table = LINES.table()
    for step in (0, 128, 255):
        assert share_of(pixels[:, :LEGEND_AT], table[step, :3], 0.1) > 1e-4
    for kind in (LINK, LIFT):
        without = replace(path, kind=np.where(path.kind == kind, ENTRY, path.kind).astype(np.uint8))
        other = np.abs(pixels_of(lines_picture(grid, heights, without, Words("Lines"))).astype(int) - pixels).max(axis=-1) > 60
        assert other[:, :LEGEND_AT].any() and other[:, LEGEND_AT:].any()  # on the map, and in the legend's keys


def test_no_words_run_over_the_border() -> None:
    grid, _, heights, pocket = plate()
    values = np.where(np.isfinite(heights), 0.02, np.nan)
    long = "Außergewöhnlich langer Name eines Körpers, der nicht abgeschnitten werden darf " * 2 + "X" * 150
    pixels = pixels_of(picture(MapContent(grid, heights, curvature_legend(12.5), values=values, hatched=pocket), Words(long, long, long)))
    assert share_of(border_of(pixels), PAPER) == 1.0


@pytest.mark.parametrize("shape", [(41, 1201), (1201, 41), (1, 1), (2, 3)], ids=str)
def test_narrow_wide_and_tiny_bodies(shape: tuple[int, int]) -> None:
    grid = Grid(left=0, front=0, cell=0.5, rows=shape[0], columns=shape[1])
    content = MapContent(grid, np.full(shape, 5.0), cusp_legend(0.05), np.full(shape, 0.02))
    pixels = pixels_of(picture(content, Words("Cusp height")))
    assert 640 <= pixels.shape[1] <= 1400 and 480 <= pixels.shape[0] <= 1300
    assert share_of(pixels, CUSP.colours(np.array([0.02]), 0, 0.1)[0, :3]) > 0.005


@pytest.mark.parametrize("body", [True, False], ids=["no values", "no body"])
def test_empty_maps_say_so(body: bool) -> None:
    grid, _, heights, _ = plate()
    shown = heights if body else np.full(grid.shape, -np.inf)
    pixels = pixels_of(picture(MapContent(grid, shown, cusp_legend(0.05), np.full(grid.shape, np.nan)), Words("Cusp height")))
    assert share_of(pixels[400:700, 300:900], QUIET, 0.1) > 0.001


@pytest.mark.parametrize("name", ["heights", "values", "hatched"])
def test_arrays_of_another_shape_are_refused(name: str) -> None:
    grid, _, heights, pocket = plate()
    content = MapContent(grid, heights, cusp_legend(1), values=heights, hatched=pocket)
    with pytest.raises(BadRequest, match=name):
        picture(replace(content, **{name: np.zeros((2, 2))}), Words("S"))


# ---- pictures of a plan


def test_all_pictures_of_a_plan_and_of_its_smaller_cutter() -> None:
    first, second = with_smaller_cutter()
    found = dict(plan_pictures(first))
    assert list(found) == ["slope_map", "curvature_map", "uncut_map", "cusp_map", "pass_lines", "minutes_chart"]
    assert len(set(found.values())) == len(found)
    for data in found.values():
        pixels = pixels_of(data)
        assert share_of(border_of(pixels), PAPER) == 1.0 and share_of(pixels, PAPER) < 0.98
    # The body itself is not drawn again, and a smaller cutter's plan has no rack to compare.
    assert list(dict(plan_pictures(second))) == ["uncut_map", "cusp_map", "pass_lines"]


def test_only_the_maps_that_are_asked_for_are_drawn() -> None:
    plan = two_sides()[0]
    level = PlanMap("level_map", Message("Level"), lambda p: np.where(p.heights > -np.inf, 45.0, np.nan), lambda p: slope_legend(), of_body=True)
    found = dict(plan_pictures(plan, (level,)))
    assert list(found) == ["level_map", "pass_lines"]
    assert share_of(pixels_of(found["level_map"]), SLOPE.colours(np.array([45.0]), 0, 90)[0, :3], 0.08) > 0.3


def test_ground_that_is_left_out_is_hatched_on_maps_of_the_plan_alone() -> None:
    plan = two_sides()[0]
    half = np.zeros(plan.grid.shape, bool)
    half[: half.shape[0] // 2] = True
    skipping = replace(plan, ground=replace(plan.ground, forbidden=half))
    for item in PLAN_MAPS:
        same = map_picture(skipping, item) == map_picture(plan, item)
        assert same == item.of_body, item.name


def test_the_uncut_map_shows_planned_ground_and_reaches_its_greatest_height() -> None:
    plan = with_smaller_cutter()[0]
    values = planned_uncut(plan)
    assert np.isfinite(values).any() and not np.isfinite(values[~plan.ground.planned]).any()
    uncut = next(item for item in PLAN_MAPS if item.name == "uncut_map")
    assert uncut.legend(plan).high >= np.nanmax(values) >= uncut.legend(plan).high / 2
    nothing = replace(plan, ground=replace(plan.ground, planned=np.zeros(plan.grid.shape, bool)))
    assert uncut.legend(nothing).high == pytest.approx(0.1)


def test_the_chart_marks_the_chosen_cutter() -> None:
    plan = with_smaller_cutter()[0]
    charts = [minutes_chart(plan.rack, Cutter(name, 12.0), 0.1, Words("M")) for name in ("Round-nose 6", "Round-nose 12", "none of them")]
    assert len(set(charts)) == 3
