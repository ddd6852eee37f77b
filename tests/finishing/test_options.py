"""What a side offers to be decided: sanding, minutes against cusp height, grain, flats, suggestions and what ground costs."""

from __future__ import annotations

import json
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rack_rows import rack_row
from scipy import ndimage
from scipy.integrate import quad

from addon.finishing.core.cusp_formulas import cusp_on_flat
from addon.finishing.core.grid import Grid
from addon.finishing.options.flats import flat_findings, flats_of, minutes_on_flats
from addon.finishing.options.grain import GrainChoice, across_grain, grain_findings, weighed
from addon.finishing.options.ground_costs import SMALLEST, cost_of, skip_costs
from addon.finishing.options.sanding import sanding_after
from addon.finishing.options.suggestions import STEEPEST_AREA, suggestions_for
from addon.finishing.options.trade_off import GREATEST_SHARE, cusp_at_share, minutes_at, trade_off
from addon.finishing.passes.cusp_metric import cusp_metric
from addon.finishing.surface.level_ground import LEAST_AREA, LEVEL_DEGREES, RIM, level_parts
from addon.finishing.surface.openings import Opening

VALUES = json.loads((Path(__file__).parents[1] / "reference_values.json").read_text())


# ---- sanding


def test_equal_cusps_by_quadrature() -> None:
    # Parabolic cusps of height 1, by quadrature with scipy, independent of the constants in the product; Ra 0.2566 h: values.json.
    mean = quad(lambda u: u * u, 0, 1)[0]
    rough = quad(lambda u: abs(u * u - mean), 0, 1, points=[mean**0.5])[0]
    sanding = sanding_after(0.05, 10_000.0)
    assert sanding.volume == pytest.approx(mean * 0.05 * 10_000)
    assert sanding.roughness_ra == pytest.approx(rough * 0.05, rel=2e-4)
    assert sanding.roughness_rz == 0.05
    assert VALUES["roughness"]["Ra_over_h"] * 0.05 == pytest.approx(sanding.roughness_ra)


def test_round_cusps_leave_what_parabolic_ones_leave() -> None:
    # Circles of radius R that cross at the cusp height, by quadrature: at heights as they are cut the parabola is right within a percent.
    radius, cusp = 8.0, 0.1
    half = np.sqrt(radius**2 - (radius - cusp) ** 2)
    mean = quad(lambda u: radius - np.sqrt(radius**2 - u * u), 0, half)[0] / half
    assert sanding_after(cusp, 1.0).volume == pytest.approx(mean, rel=0.01)


@pytest.mark.parametrize("grit", sorted(VALUES["least_removal_to_clear_a_scratch"]["mm"]))
def test_start_grit_by_the_removal_table(grit: str) -> None:
    # Woodworking Network 2014: a cusp just as deep as what clears a grit's own scratch calls for that grit; a little deeper for the next.
    removal = VALUES["least_removal_to_clear_a_scratch"]["mm"][grit]
    assert sanding_after(removal, 1.0).start_grit == int(grit)
    coarser = sanding_after(removal * 1.01, 1.0).start_grit
    assert coarser is None if grit == "60" else coarser is not None and coarser < int(grit)


# ---- minutes against cusp height


def flat_spacing(radius: float, cusp: float) -> float:
    """Spacing of pass lines on flat ground: two circles of the ball's radius that cross at the cusp height (Pythagoras)."""
    return 2 * float(np.sqrt(radius**2 - (radius - cusp) ** 2))


def test_minutes_of_the_least_length_scale_with_the_cusp() -> None:
    # On flat ground the length is area over spacing: the closed form that the scaling has to follow.
    row = rack_row(16.0, 20.0)
    cusps = np.array([0.01, 0.03, 0.05, 0.12, 0.4])
    expected = [20.0 * flat_spacing(8.0, 0.05) / flat_spacing(8.0, cusp) for cusp in cusps]
    assert minutes_at(row, cusps) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("cusp", [0.01, 0.05, 0.31, 4.0])
def test_cusp_for_minutes_is_the_inverse(cusp: float) -> None:
    row = rack_row(16.0, 20.0)
    minutes = float(minutes_at(row, np.array([cusp]))[0])
    assert cusp_at_share(0.05, 8.0, minutes / 20.0) == pytest.approx(cusp, rel=1e-9)


def test_no_cusp_is_offered_for_passes_that_would_lie_too_far_apart() -> None:
    row = rack_row(16.0, 20.0)
    least = float(minutes_at(row, GREATEST_SHARE * 8.0))
    assert cusp_at_share(row.cusp, 8.0, 0.99 * least / row.minutes) is None and cusp_at_share(row.cusp, 8.0, 0.05) is None


def test_trade_off_tells_spacing_minutes_and_sanding_at_once() -> None:
    rows = trade_off([rack_row(12.0, 17.0), rack_row(16.0, 15.0)], 0.05, 90_000.0, overhead=1.2)
    assert [row.minutes for row in rows] == pytest.approx([20.4, 18.0])
    assert [row.spacing for row in rows] == pytest.approx([flat_spacing(6.0, 0.05), flat_spacing(8.0, 0.05)])
    assert rows[0].sanding.volume == pytest.approx(1500.0)
    # A ball of 3 mm leaves no cusp of 2 mm: half of its radius is the most.
    (small,) = trade_off([rack_row(6.0, 17.0)], 2.0, 90_000.0)
    assert small.cusp == 1.5 and small.spacing == pytest.approx(flat_spacing(3.0, 1.5))


def test_practice_minutes_are_met_by_the_least_length() -> None:
    # Common practice, no source: 90000 to 110000 mm2 with a 16 mm cutter, spacing 2 mm, 3500 mm/min, take 12 to 17 minutes. The metric of level
    # ground at the cusp height of that spacing, and what passes over all of it cost.
    practice = VALUES["common_practice"]["finish_time_per_side_min"]
    for area in (90_000.0, 110_000.0):
        grid = Grid(left=0.0, front=0.0, cell=1.0, rows=250, columns=round(area / 250))
        metric = cusp_metric(np.zeros(grid.shape), grid, 8.0, float(cusp_on_flat(8.0, practice["spacing"])), smoothing=1.0)
        whole = cost_of("overrun", metric.line_density(), grid, np.ones(grid.shape, bool))
        assert whole.area == pytest.approx(area)
        assert 12 <= whole.length / practice["feed_mm_min"] <= 17


# ---- what pieces of ground cost


def test_costs_of_pieces_of_ground_add_up() -> None:
    # Closed form: an even density times the area; two patches are listed one by one, the dearer first, with their middles.
    grid = Grid(left=0.0, front=0.0, cell=0.5, rows=100, columns=200)
    all_cells = np.ones(grid.shape, bool)
    kept = all_cells.copy()
    kept[10:30, 20:60] = False
    kept[60:80, 100:180] = False
    density = np.full(grid.shape, 0.6)
    dear, cheap = skip_costs(density, grid, all_cells, kept)
    assert (dear.area, cheap.area) == (400.0, 200.0)
    assert (dear.length, cheap.length) == pytest.approx((240.0, 120.0))
    assert dear.place == pytest.approx((69.75, 34.75))
    assert cost_of("overrun", density, grid, ~kept).length == pytest.approx(360.0)


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 10**6))
def test_skipped_pieces_by_another_labelling(seed: int) -> None:
    # scipy.ndimage: 4-connected pieces of what is skipped, summed and averaged piece by piece.
    rng = np.random.default_rng(seed)
    grid = Grid(left=-7.0, front=3.0, cell=0.8, rows=60, columns=80)
    blobs = ndimage.gaussian_filter(rng.normal(size=grid.shape), 3)
    before, after = blobs > -0.05, (blobs > -0.05) & (ndimage.gaussian_filter(rng.normal(size=grid.shape), 3) > 0)
    density = rng.uniform(0.1, 2.0, grid.shape)
    labels, count = ndimage.label(before & ~after)
    expected = []
    for k in range(1, count + 1):
        cells = labels == k
        area = float(cells.sum()) * 0.64
        if area >= SMALLEST:
            row, column = ndimage.center_of_mass(cells)
            expected.append((float(density[cells].sum()) * 0.64, area, -7.0 + 0.8 * column, 3.0 + 0.8 * row))
    found = skip_costs(density, grid, before, after)
    assert [(c.length, c.area, *c.place) for c in found if c.place] == [pytest.approx(item) for item in sorted(expected, reverse=True)]
    assert all(cost.kind == "skip" for cost in found)


def test_nothing_skipped_costs_nothing() -> None:
    grid = Grid(left=0.0, front=0.0, cell=1.0, rows=10, columns=10)
    cells = np.ones(grid.shape, bool)
    assert skip_costs(np.ones(grid.shape), grid, cells, cells) == ()


# ---- grain


@pytest.mark.parametrize(("angle", "grain", "across"), [(0, 0, 0.0), (90, 0, 1.0), (45, 0, 0.5), (30, 30, 0.0), (120, 30, 1.0)])
def test_across_the_grain_of_straight_lines(angle: float, grain: float, across: float) -> None:
    direction = np.array([np.cos(np.radians(angle)), np.sin(np.radians(angle))])
    assert across_grain([np.outer([0.0, 3.0, 10.0], direction)], grain) == pytest.approx(across, abs=1e-12)


def test_across_the_grain_counts_by_length() -> None:
    # Closed form: the mean of sin^2 over a circle is 1/2; a line along the grain as long as the circle halves it. Heights do not count.
    angle = np.linspace(0, 2 * np.pi, 721)
    circle = np.column_stack([5 * np.cos(angle), 5 * np.sin(angle), 40 * angle])
    along = np.array([[0.0, 0, 0], [10 * np.pi, 0, 99.0]])
    assert across_grain([circle], 20.0) == pytest.approx(0.5, abs=1e-4)
    assert across_grain([circle, along], 0.0) == pytest.approx(0.25, abs=1e-4)
    assert across_grain([np.repeat(circle, 2, axis=0)], 20.0) == pytest.approx(across_grain([circle], 20.0))  # moves of no length
    assert across_grain([], 0.0) == across_grain([np.zeros((3, 2))], 0.0) == 0.0


def test_the_share_of_the_grain_is_the_time_that_may_be_given_for_it() -> None:
    # A start square to the grain, and one along it that takes 5 percent longer, count alike at a share of 0.05; at any other they do not.
    assert weighed(100.0, 1.0, 0.05) == pytest.approx(weighed(105.0, 0.0, 0.05))
    assert weighed(100.0, 1.0, 0.04) < weighed(105.0, 0.0, 0.04)
    assert weighed(100.0, 1.0, 0.06) > weighed(105.0, 0.0, 0.06)


@pytest.mark.parametrize(
    ("choice", "named"),
    [
        (None, False),
        (GrainChoice(across=0.1, quickest_across=0.9, cost_minutes=1.2), True),
        (GrainChoice(across=0.9, quickest_across=0.9, cost_minutes=0.0), True),
        (GrainChoice(across=0.1, quickest_across=0.1, cost_minutes=0.0), False),
    ],
)
def test_the_grain_is_named_where_it_costs_or_is_not_followed(choice: GrainChoice | None, named: bool) -> None:
    assert [finding.key for finding in grain_findings(choice)] == ["grain"] * named


# ---- flats and suggestions


def plateaus() -> tuple[Grid, np.ndarray, np.ndarray]:
    """Cones of 20 degrees with level tops: a disc of 30 mm, one of 14 mm, one of 9 mm radius; and a level strip 3 by 160 mm."""
    grid = Grid(left=-50.0, front=-80.0, cell=0.5, rows=321, columns=401)
    x, y = np.meshgrid(grid.x(), grid.y())
    heights, slope = np.full(grid.shape, 5.0), np.full(grid.shape, 20.0)
    for middle, radius in (((0.0, 0.0), 30.0), ((60.0, 10.0), 14.0), ((90.0, 10.0), 9.0)):
        level = np.hypot(x - middle[0], y - middle[1]) <= radius
        heights[level], slope[level] = 10.0 + radius, 0.1
    strip = np.abs(x - 130) <= 1.5
    heights[strip], slope[strip] = 7.0, 0.0
    heights[:, x[0] > 140], slope[:, x[0] > 140] = -np.inf, np.nan
    return grid, heights, slope


def test_flats_are_the_level_discs_worth_a_tool_change() -> None:
    # Closed form: pi r^2. The disc of 9 mm is too small, the strip too narrow for all its 480 mm2.
    grid, heights, slope = plateaus()
    found = list(level_parts(heights > -np.inf, slope, heights, grid))
    assert [area for _, area, _ in found] == pytest.approx([np.pi * 30**2, np.pi * 14**2], rel=0.01)
    assert np.pi * 9**2 < LEAST_AREA < np.pi * 14**2 and LEAST_AREA < 480 and 2 * RIM > 3.0
    for (cells, area, place), middle, radius in zip(found, ((0.0, 0.0), (60.0, 10.0)), (30.0, 14.0), strict=True):
        assert cells.sum() * grid.cell_area == area
        assert np.hypot(place[0] - middle[0], place[1] - middle[1]) < radius - RIM and place[2] == 10.0 + radius
    # Ground that is not planned is not named, nor what slopes more than a little.
    assert [round(area) for _, area, _ in level_parts((heights > -np.inf) & (heights != 40.0), slope, heights, grid)] == [round(found[1][1])]
    assert list(level_parts(heights > -np.inf, slope + LEVEL_DEGREES, heights, grid)) == []


def test_planned_flats_are_findings_with_their_area() -> None:
    grid, heights, slope = plateaus()
    ground = SimpleNamespace(planned=heights > -np.inf, slope_degrees=slope, heights=heights)
    flats = flats_of(ground, grid)  # type: ignore[arg-type]
    # Closed form: on flat ground passes of a 16 mm ball that leave 0.05 mm lie 2 sqrt(2 * 8 * 0.05 - 0.05^2) = 1.786 mm apart.
    minutes = minutes_on_flats(8.0, 0.05, 3500.0)
    assert minutes.over(1000.0) == pytest.approx(1000 / 1.786 / 3500, rel=1e-3)
    findings = flat_findings(flats, minutes)
    assert [finding.key for finding in findings] == ["flat", "flat"]
    assert f"{flats[0].area / 100:.1f} cm²" in str(findings[0].sentence) and findings[0].place == flats[0].place
    assert f"{minutes.over(flats[0].area):.1f} minutes" in str(findings[0].sentence)


def walled_cone(steepness: float) -> tuple[Grid, np.ndarray, np.ndarray]:
    """A cone as steep as that between radius 20 and 30 mm, a dome of 20 degrees within and a skirt of 10 degrees round it."""
    grid = Grid(left=-45.0, front=-45.0, cell=0.25, rows=361, columns=361)
    x, y = np.meshgrid(grid.x(), grid.y())
    away = np.hypot(x, y)
    slope = np.where(away < 20, 20.0, np.where(away < 30, steepness, 10.0))
    heights = 60.0 - away
    outside = away > 40
    return grid, np.where(outside, -np.inf, heights), np.where(outside, np.nan, slope)


def test_walls_are_suggested_with_the_area_of_their_flank() -> None:
    # Closed form: the lateral area of a frustum is that of its ring in plan over the cosine of its slope.
    grid, heights, slope = walled_cone(70.0)
    none = np.zeros(grid.shape, np.int32)
    ring = np.pi * (30**2 - 20**2)
    (walls,) = suggestions_for(heights, slope, none, (), grid, 60.0)
    assert walls.kind == "walls" and walls.number == 0
    assert walls.area == pytest.approx(ring / np.cos(np.radians(70.0)), rel=0.01)
    assert 20 <= np.hypot(*walls.place[:2]) <= 30 and walls.place[2] == pytest.approx(60 - np.hypot(*walls.place[:2]))
    assert np.array_equal(walls.cells, slope == 70.0)
    assert "steeper than 60 degrees" in str(walls.words) and f"{walls.area / 100:.1f} cm²" in str(walls.words)
    assert suggestions_for(heights, slope, none, (), grid, 70.1) == ()
    assert [item.area for item in suggestions_for(heights, slope, none, (), grid, 70.0)] == [walls.area]  # as steep as the limit is a wall
    # Upright, cells in plan say nothing of a wall's height: it counts as steep as that and no more.
    (upright,) = suggestions_for(heights, walled_cone(89.99)[2], none, (), grid, 60.0)
    assert upright.area == pytest.approx(ring / np.cos(np.radians(STEEPEST_AREA)), rel=0.01)


def test_flats_walls_and_openings_are_suggested_in_that_order() -> None:
    grid, heights, slope = plateaus()
    labels = np.zeros(grid.shape, np.int32)
    labels[:, grid.x() < -40] = 2
    slope = slope.copy()
    slope[:, (grid.x() > 110) & (grid.x() < 125)] = 80.0
    place = (-45.0, 0.0, 5.0)
    pocket = Opening(2, "pocket", area=1.0, width=9.5, depth=4.0, place=place, treatment="auto", floors=())
    hole = Opening(3, "hole", area=1.0, width=3.0, depth=None, place=place, treatment="auto", floors=())
    found = suggestions_for(heights, slope, labels, (pocket, hole), grid, 60.0)
    assert [(item.kind, item.number) for item in found] == [("flat", 0), ("flat", 0), ("walls", 0), ("opening", 2), ("opening", 3)]
    assert np.array_equal(found[3].cells, labels == 2) and found[3].area == (labels == 2).sum() * 0.25
    assert found[3].place == place and found[4].area == 0
    assert "9.5 mm wide and 4.0 mm deep" in str(found[3].words) and "through" in str(found[4].words)
    # Walls and flats inside an opening are the opening's own matter.
    labels[:] = np.where(slope > 70, 4, labels)
    assert not any(item.kind == "walls" for item in suggestions_for(heights, slope, labels, (), grid, 60.0))
