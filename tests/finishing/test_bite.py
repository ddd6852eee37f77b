"""The bite along the passes: chips, bend, sections, earlier passes, against published tables, closed forms, shapely and a plain twin."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path as FilePath

import numpy as np
import pytest
from shapely import LineString, Point, box

from addon.finishing.core.errors import BadRequest
from addon.finishing.core.grid import Grid
from addon.finishing.core.path import CUT, LIFT, Path
from addon.finishing.job.bite_settings import BiteSettings
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.wood import WOODS, greatest_feed, wood_named
from addon.finishing.tooling.beam import cantilever_bend, cutter_bend
from addon.finishing.tooling.bite import (
    CELL,
    SAMPLE,
    bite_findings,
    bite_of,
    distances_to_earlier,
    edge_length,
    effective_diameter,
    engagement_of,
    feed_in_slot,
    greatest_chip,
    section_area,
    thinning,
    with_allowed_feed,
)

VALUES = json.loads((FilePath(__file__).parents[1] / "reference_values.json").read_text())
INCH = 25.4
CUTTER = Cutter("Round-nose 16", 16.0)


# ---- chip load, effective diameter, bend


def test_effective_diameter_table() -> None:
    # Dapra Corporation, ball nose speed and feed diameter compensation, Table 1 (inch, to 0.001).
    table = VALUES["effective_diameter"]
    for diameter, row in table["rows"].items():
        for depth, value in zip(table["depths_inch"], row, strict=False):
            if depth <= float(diameter) / 2:
                assert effective_diameter(float(diameter) / 2 * INCH, depth * INCH) / INCH == pytest.approx(value, abs=0.0011)


def test_chip_loads_are_those_of_the_charts() -> None:
    # Router-bit makers' charts; greatest feed by the worked example of cncshop.eu: 18000 1/min, 2 flutes, 0.1 mm give 3600 mm/min.
    chart, worked = VALUES["chip_load"], VALUES["chip_load"]["worked"]
    for wood in WOODS:
        assert [wood.least_chip, wood.greatest_chip] == chart[wood.name]
    wood = replace(wood_named("hardwood"), greatest_chip=worked["chip_load"])
    assert greatest_feed(wood, worked["rpm"], worked["flutes"]) == pytest.approx(worked["feed_mm_min"])
    hard = wood_named("hardwood")
    shares = greatest_chip(hard, [0.5, 1.0, 2.0, 3.0, 5.0]) / hard.greatest_chip
    assert shares == pytest.approx([1.0, 1.0, chart["derating"]["2xD"], chart["derating"]["3xD"], chart["derating"]["3xD"]])
    with pytest.raises(BadRequest, match="The wood must be one of"):
        wood_named("brass")


def thickest_chip(diameter: float, width: float, feed: float) -> float:
    """Thickness of the chip between the circles of two teeth that follow each other, measured towards the second one's middle.

    The stock reaches `width` mm into the circle that a tooth describes; the middle has moved on by the feed per tooth between the two.
    """
    radius = diameter / 2
    second = Point(0, 0).buffer(radius, quad_segs=20_000)
    first = Point(-feed, 0).buffer(radius, quad_segs=20_000)
    chip = second.difference(first).intersection(box(0, radius - width, radius, radius))
    thickest = 0.0
    for angle in np.linspace(0, np.pi / 2, 400):
        spoke = LineString([(0, 0), (2 * radius * np.cos(angle), 2 * radius * np.sin(angle))])
        thickest = max(thickest, chip.intersection(spoke).length)
    return thickest


@pytest.mark.parametrize("width", [0.3, 1.0, 2.5, 4.9, 5.0, 8.0])
def test_chips_are_as_thick_as_two_teeth_leave_them(width: float) -> None:
    # Geometry by shapely: the crescent between two circles a feed apart, as far as the stock reaches into them.
    feed = 0.02
    assert feed * float(thinning(10.0, width)) == pytest.approx(thickest_chip(10.0, width, feed), rel=0.03)


def test_chips_in_a_tenth_of_the_diameter_by_a_published_figure() -> None:
    # machinecalcs.com, radial chip thinning: a stepover of a tenth of the diameter thins chips to 60 percent of the feed per tooth.
    assert float(thinning(10.0, 1.0)) == pytest.approx(0.6, abs=0.005)
    assert thinning(10.0, [5.0, 8.0]) == pytest.approx(1.0)


def test_feed_adjustment_table() -> None:
    # Dapra Corporation, Table 2: the ball's diameter over that of its cut, rounded to 0.1.
    table = VALUES["feed_adjustment"]
    for diameter, row in table["rows"].items():
        for depth, ratio in row.items():
            own = float(diameter) / (float(effective_diameter(float(diameter) / 2 * INCH, float(depth) * INCH)) / INCH)
            assert own == pytest.approx(ratio, abs=table["tolerance"])


def test_bend_of_a_cantilever() -> None:
    # Closed form and scaling (Mitsubishi Materials training pages: twice the overhang bends 8 times, twice the diameter a sixteenth).
    case = VALUES["deflection"]["case"]
    assert cantilever_bend(case["F_N"], case["L"], case["d"], case["E_GPa"] * 1000) == pytest.approx(case["deflection"], rel=1e-4)
    assert cantilever_bend(1, 60, 6) / cantilever_bend(1, 30, 6) == pytest.approx(8)
    assert cantilever_bend(1, 30, 12) / cantilever_bend(1, 30, 6) == pytest.approx(1 / 16)


def test_bend_of_a_stepped_cutter_against_numbers_by_integration() -> None:
    # Independent: y'' = M / (E I) integrated twice from the nut with scipy.
    from scipy.integrate import solve_ivp

    cutter = Cutter("c", 8.0, usable_length=30.0, shank_diameter=12.0, stick_out=55.0)
    force, stiffness = 40.0, 210_000.0

    def slope(z: float, y: np.ndarray) -> list[float]:  # z from the nut down to the tip
        d = 12.0 if z < 25.0 else 0.8 * 8.0
        return [y[1], force * (55.0 - z) / (stiffness * np.pi * d**4 / 64)]

    first = solve_ivp(slope, (0, 25.0), [0.0, 0.0], rtol=1e-10, atol=1e-14).y[:, -1]
    bend = solve_ivp(slope, (25.0 + 1e-12, 55.0), first, rtol=1e-10, atol=1e-14).y[0, -1]
    assert float(cutter_bend(force, cutter)) == pytest.approx(bend, rel=1e-6)


@pytest.mark.parametrize("depth", [0.2, 0.5, 3.0, 8.0, 11.0])
def test_section_of_passes_against_polygons(depth: float) -> None:
    # Independent: shapely's areas of the ball with its flanks, in an even layer, alone and beside another pass.
    radius, distance = 8.0, 1.8
    layer = box(-60, 0, 60, depth)

    def cut(x: float):  # noqa: ANN202
        return Point(x, radius).buffer(radius, quad_segs=4000).union(box(x - radius, radius, x + radius, 60)).intersection(layer)

    assert float(section_area(radius, depth)) == pytest.approx(cut(0).area, rel=1e-4)
    for left, right in ((np.inf, distance), (distance, np.inf), (distance, 1.3 * distance), (9.0, distance), (30.0, 30.0)):
        before = [cut(x) for x in (-left, right) if np.isfinite(x)]
        taken = cut(0)
        for other in before:
            taken = taken.difference(other)
        assert float(section_area(radius, depth, left, right)) == pytest.approx(taken.area, rel=1e-3, abs=1e-4)


@pytest.mark.parametrize("depth", [0.0, 0.2, 3.0, 8.0, 11.0])
def test_edge_in_the_stock_by_the_outline_of_the_cutter(depth: float) -> None:
    # shapely: half of the outline of ball and flanks, as far up as the stock reaches.
    radius = 8.0
    cutter = Point(0, radius).buffer(radius, quad_segs=4000).union(box(-radius, radius, radius, 60))
    outline = cutter.boundary.intersection(box(-60, -1, 60, depth))
    assert float(edge_length(radius, depth)) == pytest.approx(outline.length / 2, rel=1e-5, abs=1e-9)


# ---- the bite


def straight_passes(spacing: float, count: int, length: float, feed: float = 3500.0, z: float = 0.0) -> Path:
    """Passes along x on level ground, to and fro, in the order of y."""
    points = []
    for k in range(count):
        ends = [0.0, length] if k % 2 == 0 else [length, 0.0]
        points += [[x, k * spacing, z] for x in ends]
    n = len(points)
    kind = np.full(n, CUT, np.uint8)
    kind[0] = LIFT
    kind[2::2] = LIFT
    return Path(np.array(points), kind, np.repeat(np.arange(count) + 1, 2).astype(np.int32), np.full(n, feed))


def level_depth(depth: float) -> tuple[np.ndarray, Grid]:
    grid = Grid(left=-40.0, front=-40.0, cell=0.5, rows=300, columns=400)
    return np.full(grid.shape, depth, np.float32), grid


def sequential_sections(path: Path, radius: float, depth: float, cell: float) -> np.ndarray:
    """Independent referee: stock as columns across the passes, lowered by one pass after the other; the area that each takes."""
    y = np.arange(-20.0, 80.0, cell)
    stock = np.full(len(y), depth)
    taken = []
    for line in range(1, path.line_count + 1):
        at = path.points[path.line == line][0, 1]
        away = np.abs(y - at)
        ball = np.where(away <= radius, radius - np.sqrt(np.maximum(radius**2 - away**2, 0)), np.inf)
        lower = np.minimum(stock, ball)
        taken.append((stock - lower).sum() * cell)
        stock = lower
    return np.array(taken)


@pytest.mark.parametrize("order", ["along", "middle out"])
@pytest.mark.parametrize("depth", [0.5, 3.0])
def test_sections_against_one_pass_after_the_other(depth: float, order: str) -> None:
    path = straight_passes(1.8, 20, 60.0)
    if order == "middle out":  # every second pass first, so that the others have neighbours on both sides
        rank = np.concatenate([np.arange(0, 20, 2), np.arange(1, 20, 2)])
        rows = np.concatenate([[2 * k, 2 * k + 1] for k in rank])
        path = Path(path.points[rows], path.kind, path.line, path.feed)
    values, grid = level_depth(depth)
    engagement = engagement_of(path, CUTTER.radius, values, grid)
    referee = sequential_sections(path, CUTTER.radius, depth, 0.002)
    for line in range(1, path.line_count + 1):
        mine = engagement.section[path.line[engagement.row] == line]
        assert np.median(mine) == pytest.approx(referee[line - 1], rel=0.01, abs=0.01)


def test_what_all_passes_take_is_the_layer() -> None:
    # Conservation: sections times length make the volume of the layer between first and last pass, without the cusps that stay.
    path = straight_passes(2.0, 30, 100.0)
    values, grid = level_depth(0.5)
    engagement = engagement_of(path, CUTTER.radius, values, grid)
    step = 100.0 / (engagement.row == 1).sum()
    volume = engagement.section.sum() * step
    assert volume == pytest.approx(sequential_sections(path, 8.0, 0.5, 0.002).sum() * 100.0, rel=0.01)


def plain_distances(points: np.ndarray, direction: np.ndarray, travelled: np.ndarray, widest: float) -> list[list[float]]:
    """Distances to earlier passes, left and right, place by place: cells remember their first place, and one walks across in half cells."""
    low = points[:, :2].min(axis=0) - widest - 2 * CELL

    def cell_of(place: np.ndarray) -> tuple[int, int]:
        row, column = np.rint((place - low) / CELL)
        return int(row), int(column)

    first: dict[tuple[int, int], int] = {}
    for number, place in enumerate(points[:, :2]):
        first.setdefault(cell_of(place), number)
    found = []
    for turn in (1.0, -1.0):
        side = []
        for number, place in enumerate(points[:, :2]):
            across = turn * np.array([-direction[number, 1], direction[number, 0]])
            distance = np.inf
            for walked in np.arange(CELL / 2, widest + CELL, CELL / 2):
                seen = first.get(cell_of(place + walked * across), number)
                if seen < number and travelled[number] - travelled[seen] > walked + 2 * SAMPLE:
                    distance = abs(float((points[seen, :2] - place) @ across))
                    break
            side.append(distance)
        found.append(side)
    return found


def along(line: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Places of a line (n, 2) with their directions and how far they have been travelled to."""
    moves = np.diff(line, axis=0)
    lengths = np.linalg.norm(moves, axis=1)
    return line[1:], moves / lengths[:, None], np.cumsum(lengths)


@pytest.mark.parametrize("seed", range(6))
def test_distances_to_earlier_passes_are_those_of_the_plain_twin(seed: int) -> None:
    # Lines that wander, cross themselves and turn back, sampled more closely than the cells.
    rng = np.random.default_rng(seed)
    angle = np.cumsum(rng.normal(0, 0.25, 900))
    line = np.cumsum(0.4 * np.column_stack([np.cos(angle), np.sin(angle)]), axis=0)
    places, direction, travelled = along(line)
    found = distances_to_earlier(places, direction, travelled, 6.0)
    expected = plain_distances(places, direction, travelled, 6.0)
    for own, plain in zip(found, expected, strict=True):
        np.testing.assert_allclose(own, plain, rtol=1e-13, atol=1e-13)  # what is beyond in both; else but for how a processor sums two products
        assert np.isfinite(own).any() and np.isinf(own).any()


def test_on_a_spiral_the_earlier_pass_lies_a_pitch_away_on_one_side() -> None:
    # Closed form: an Archimedean spiral run outwards has its last turn one pitch to the inside, and nothing outside.
    pitch = 3.0
    angle = np.sqrt(np.linspace((4 * np.pi) ** 2, (12 * np.pi) ** 2, 12000))
    radius = pitch * angle / (2 * np.pi)
    places, direction, travelled = along(np.column_stack([radius * np.cos(angle), radius * np.sin(angle)]))
    left, right = distances_to_earlier(places, direction, travelled, 6.0)
    assert np.isinf(right).all()
    beyond_the_first_turn = angle[1:] > 6 * np.pi + 0.5
    off = np.abs(left[beyond_the_first_turn] - pitch)
    assert np.quantile(off, 0.999) < 0.05
    assert (off[off > 0.05] - pitch == pytest.approx(0, abs=0.05)) and (off > 0.05).mean() < 0.001  # slipped through between two cells' corners
    assert np.isinf(left[angle[1:] < 6 * np.pi - 0.5]).all()
    near, _ = distances_to_earlier(places, direction, travelled, 2.0)
    assert np.isinf(near).all()


def test_bite_of_the_first_pass_by_hand() -> None:
    # 3 mm deep with a ball of 8 mm radius, nothing cut before: the whole segment of the circle, by its closed form.
    radius, depth, feed = 8.0, 3.0, 6000.0
    segment = radius**2 * np.arccos(1 - depth / radius) - (radius - depth) * np.sqrt(2 * radius * depth - depth**2)
    path = straight_passes(2.0, 1, 50.0, feed)
    values, grid = level_depth(depth)
    engagement = engagement_of(path, radius, values, grid)
    assert engagement.section == pytest.approx(segment) and engagement.width == pytest.approx(segment / depth)
    assert np.linalg.norm(np.diff(engagement.points, axis=0), axis=1).max() <= SAMPLE + 1e-9
    bite = bite_of(engagement, path, CUTTER, BiteSettings(wood="softwood", tip_bend_limit=0.04))
    # Wider than half of its cut of 12.5 mm: no thinning. 18000 turns of two teeth a minute; softwood bears 0.20 mm and pushes with 20 N/mm2.
    assert bite.chip == pytest.approx(feed / 36000)
    assert bite.greatest_chip == pytest.approx(0.20)
    force = 20.0 * feed / 36000 * radius * np.arccos(5 / 8)
    assert bite.bend == pytest.approx(float(cutter_bend(force, CUTTER)))
    assert bite.allowed == pytest.approx(min(1.0, 0.20 / (feed / 36000), 0.04 / float(cutter_bend(force, CUTTER))))


def test_a_path_without_cuts_has_no_bite() -> None:
    values, grid = level_depth(3.0)
    path = Path(np.array([[0.0, 0, 5], [9, 0, 5]]), np.full(2, LIFT, np.uint8), np.ones(2, np.int32), np.full(2, 5000.0))
    engagement = engagement_of(path, 8.0, values, grid)
    assert len(engagement.points) == 0
    bite = bite_of(engagement, path, CUTTER, BiteSettings())
    assert bite_findings(bite, BiteSettings()) == [] and (with_allowed_feed(path, bite).feed == path.feed).all()


def test_practice_feeds_keep_the_chips_within_the_charts() -> None:
    # Common practice, no source: 3500 to 4500 mm/min for finishing with half a millimetre of allowance runs without trouble.
    for feed in VALUES["common_practice"]["finish_feed_mm_min"]:
        values, grid = level_depth(VALUES["common_practice"]["allowance_left_by_roughing"])
        path = straight_passes(2.0, 5, 50.0, feed)
        bite = bite_of(engagement_of(path, CUTTER.radius, values, grid), path, CUTTER, BiteSettings())
        assert bite.allowed.min() == 1.0
        assert bite.chip.max() <= feed / (18000 * 2) + 1e-12


def test_deep_terraces_lower_the_feed_or_are_reported() -> None:
    values, grid = level_depth(14.0)
    thin = Cutter("Round-nose 6", 6.0, usable_length=25.0, shank_diameter=6.0, stick_out=60.0)
    path = straight_passes(1.0, 4, 50.0, 6000.0)
    engagement = engagement_of(path, thin.radius, values, grid)
    lowering, reporting = BiteSettings(), BiteSettings(lower_feed=False)
    bite = bite_of(engagement, path, thin, lowering)
    slower = with_allowed_feed(path, bite)
    assert (slower.feed <= path.feed).all() and slower.feed.min() < path.feed.min()
    again = bite_of(engagement, slower, thin, lowering)
    assert (again.chip <= again.greatest_chip + 1e-9).all() and (again.bend <= lowering.tip_bend_limit + 1e-9).all()
    (lowered,) = bite_findings(bite, lowering)
    (reported,) = bite_findings(bite, reporting)
    assert not lowered.must_see and reported.must_see and reported.place is not None
    assert f"{slower.feed.min():.0f} mm/min at the worst place" in str(lowered.remedy)


def test_the_feed_in_a_slot_is_the_greatest_that_chips_and_bend_bear() -> None:
    # A slot is a pass of a run of its own: chips are as thick as the feed per tooth, and the edge cuts all along its arc.
    limp = replace(Cutter("Round-nose 6", 6.0, shank_diameter=6.0), stick_out=60.0)
    settings, depth = BiteSettings(tip_bend_limit=0.02), np.array([0.0, 0.3, 1.0, 2.0, 4.0, 8.0])
    wood = wood_named(settings.wood)
    feed = feed_in_slot(depth, 3000.0, limp, settings)
    chip = feed / (limp.spindle_speed * limp.flutes)
    bend = cutter_bend(wood.cutting_pressure * chip * edge_length(limp.radius, depth), limp)
    share = np.maximum(chip / greatest_chip(wood, depth / limp.diameter), bend / settings.tip_bend_limit)
    held = feed < 3000.0
    assert held.any() and not held.all()
    # Whole numbers below the limit, and no lower.
    assert (share[1:] <= 1 + 1e-9).all() and (share[held] * (1 + 1 / feed[held]) > 1 - 1e-9).all()
    assert (np.diff(feed) <= 0).all()
