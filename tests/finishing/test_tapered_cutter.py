"""Tapered round-nose cutters: profile, exact tips, simulated cut, bend and a whole plan, against closed forms and plain slow twins."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from scipy.integrate import quad
from shapely.geometry import Polygon
from tapered import PlainTips, profile, sampled, stepped, stepped_body

from addon.finishing.ball.cutter_view import cutter_view_steps
from addon.finishing.ball.exact_tip import TipFinder
from addon.finishing.ball.flank_tip import FlankTip
from addon.finishing.ball.uncut_height import FreeBall
from addon.finishing.core.errors import BadRequest
from addon.finishing.core.grid import Grid
from addon.finishing.core.result_store import ResultStore
from addon.finishing.core.stepping import finished
from addon.finishing.files.bench_sheet import bench_sheet
from addon.finishing.files.plan_programs import finishing_program
from addon.finishing.files.plan_record import plan_record, with_settings
from addon.finishing.files.summary import summary
from addon.finishing.job.cutter import Cutter, taper_words
from addon.finishing.job.flank import Flank
from addon.finishing.job.ground_settings import FitSettings, RegionSettings
from addon.finishing.job.keep_out import KeepOut, deepest_inside
from addon.finishing.job.machine import Machine
from addon.finishing.job.request import Request
from addon.finishing.options.coupon import CouponSettings, diameter_of_groove, groove_width, make_coupon
from addon.finishing.planning.plan import make_plan
from addon.finishing.planning.result import Plan
from addon.finishing.planning.run_list import finishing_row
from addon.finishing.simulation.finished_surface import Run, finished_heights_steps
from addon.finishing.simulation.swept_taper import SweptTaper
from addon.finishing.tooling.beam import STIFFNESS, cantilever_bend, cone_bend, cutter_bend
from addon.finishing.tooling.bite import edge_length, effective_diameter, section_area
from addon.finishing.tooling.box_room import beside_boxes
from addon.finishing.tooling.clearance import Obstacles, contacts_at
from addon.finishing.tooling.free_height import tool_outline

STRAIGHT = Cutter("Round-nose 3", 3.0, shank_diameter=6.0, usable_length=30.0, stick_out=45.0, feed=1500.0)
SLIM = replace(STRAIGHT, name="Tapered 3", half_angle=8.0, top_diameter=7.0)
WIDE = replace(STRAIGHT, name="Wide 4", diameter=4.0, half_angle=30.0, top_diameter=10.0)
TO_SHANK = replace(STRAIGHT, name="To the shank", diameter=2.0, half_angle=4.0, usable_length=32.0)
TAPERED = (SLIM, WIDE, TO_SHANK)


def flank_of(cutter: Cutter) -> Flank:
    assert cutter.flank is not None
    return cutter.flank


@pytest.mark.parametrize("cutter", TAPERED)
def test_the_profile_is_a_circle_and_its_tangent(cutter: Cutter) -> None:
    flank = flank_of(cutter)
    distance = np.linspace(0, 1.2 * flank.top_radius, 400)
    np.testing.assert_allclose(flank.height(distance), profile(cutter, distance), atol=1e-12)
    inside = distance[distance <= flank.top_radius]
    np.testing.assert_allclose(flank.half_width(flank.height(inside)), inside, atol=1e-7)
    assert float(flank.half_width(flank.top_height + 5)) == flank.top_radius == cutter.widest_radius
    for across in (0.4, 0.9 * flank.foot, flank.foot + 0.7 * (flank.top_radius - flank.foot)):
        assert float(flank.area_under(across)) == pytest.approx(quad(flank.height, 0, across)[0], rel=1e-7)
        assert float(flank.area_under(-across)) == -float(flank.area_under(across))


def test_a_cutter_without_taper_has_no_flank_and_runout_widens_all_of_one() -> None:
    assert STRAIGHT.flank is None and STRAIGHT.widest_radius == 1.5 and taper_words(STRAIGHT) is None
    worn = replace(SLIM, measured_diameter=2.9, runout=0.04)
    assert worn.flank == Flank(1.47, 8.0, 3.52)
    assert str(taper_words(TO_SHANK)) == "4° to 6 mm"


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"top_diameter": 6.0}, "no half angle"),
        ({"half_angle": 0.05}, "is no taper"),
        ({"half_angle": 50.0}, "between 0 and 45 degrees"),
        ({"half_angle": 5.0, "top_diameter": 2.9}, "thinner than its ball"),
        ({"half_angle": 2.0, "top_diameter": 8.0}, "would reach 8 mm only 73.1 mm above the tip"),
    ],
)
def test_tapers_that_no_cutter_has_are_refused(changes: dict[str, float], says: str) -> None:
    with pytest.raises(BadRequest, match=says):
        replace(STRAIGHT, **changes)  # type: ignore[arg-type]


@pytest.mark.parametrize("cutter", TAPERED)
def test_exact_tips_are_those_of_all_points_of_the_body(cutter: Cutter) -> None:
    triangles = stepped_body().triangles
    flank = flank_of(cutter)
    axes = np.random.default_rng(4).uniform((-5, -5), (49, 39), (400, 2))
    ball = finished(TipFinder(triangles, upward_only=False).tip_heights_steps(axes, flank.radius))
    exact = finished(FlankTip(triangles, flank).raised_steps(axes, ball))
    plain = PlainTips(sampled(triangles[triangles[:, :, 2].max(axis=1) > 1], 0.1), cutter).at(axes)
    # Points of the body hold the tip no higher than the whole of it does; between them, where they stand 0.1 mm apart, it may come higher.
    assert (exact >= plain - 1e-9).all() and (exact > ball + 0.1).sum() > 20
    known = np.isfinite(plain)
    assert (np.isfinite(exact) == known).mean() > 0.99
    more = exact[known] - plain[known]
    assert (more > 0.02).mean() < 0.01 and np.median(more) < 1e-3


def leaning_wall(lean: float, height: float) -> np.ndarray:
    """A wall from z = 0 at x = 0 that leans back by `lean` mm, in two triangles 40 mm long, and level ground before and behind it."""
    corners = [np.array([[x, y, z] for y in (0.0, 40.0)]) for x, z in ((-30.0, 0.0), (0.0, 0.0), (lean, height), (lean + 30.0, height))]
    out = []
    for (a, b), (c, d) in zip(corners[:-1], corners[1:], strict=True):
        out += [[a, c, d], [a, d, b]]
    return np.array(out)


@pytest.mark.parametrize("lean", [0.0, 0.5, 2.0, 9.0])
@pytest.mark.parametrize("height", [2.0, 8.0, 24.0])
def test_the_tip_before_a_wall_is_where_the_closed_form_says(lean: float, height: float) -> None:
    """The wall's upper edge stands `height` up and `lean` back, so the flank may come so near; above its top it holds off the whole wall."""
    flank = Flank(1.5, 8.0, 4.0)
    triangles = leaning_wall(lean, height)
    away = np.linspace(0.1, 6.0, 60)
    axes = np.column_stack([-away, np.full(60, 20.0)])
    ball = finished(TipFinder(triangles, upward_only=False).tip_heights_steps(axes, flank.radius))
    exact = finished(FlankTip(triangles, flank).raised_steps(axes, ball))
    along = np.linspace(0, 1, 20_001)  # the wall's section
    r = np.abs(along * lean + away[:, None])
    expected = np.maximum((along * height - flank.height(r)).max(axis=1), 0.0)
    np.testing.assert_allclose(exact, expected, atol=0.03 if lean else 1e-9)
    assert (exact >= expected - 1e-9).all()


def test_the_grids_tip_surface_and_closing_are_plain_dilation_and_erosion() -> None:
    grid = Grid(0.0, 0.0, 0.5, 69, 89)
    x, y = np.meshgrid(grid.x(), grid.y())
    heights = stepped(x, y).astype(np.float32)
    for cutter in (SLIM, WIDE):
        flank = flank_of(cutter)
        rim = int(np.ceil(cutter.radius / grid.cell)) + 1
        wide = np.pad(heights, rim, constant_values=-np.inf)
        view = finished(cutter_view_steps(wide, grid, cutter.radius, flank))
        most = int(flank.top_radius / grid.cell)
        tip, closing = np.full(wide.shape, -np.inf), np.full(wide.shape, np.inf)
        offsets = [(i, j) for i in range(-most, most + 1) for j in range(-most, most + 1) if np.hypot(i, j) * grid.cell <= flank.top_radius]
        under = {(i, j): float(profile(cutter, np.array(np.hypot(i, j) * grid.cell))) for i, j in offsets}
        padded = np.pad(wide, most, constant_values=-np.inf)
        for (i, j), high in under.items():
            tip = np.maximum(tip, padded[most + i : most + i + wide.shape[0], most + j : most + j + wide.shape[1]] - high)
        np.testing.assert_allclose(view.tip, tip, atol=2e-5)
        padded = np.pad(np.where(tip > -np.inf, tip, np.inf), most, constant_values=np.inf)
        for (i, j), high in under.items():
            closing = np.minimum(closing, padded[most + i : most + i + wide.shape[0], most + j : most + j + wide.shape[1]] + high)
        standing = wide > -np.inf
        np.testing.assert_allclose(view.closing[standing], closing[standing], atol=4e-5)
        assert view.held is not None and view.held.sum() > 100
        # Off the grid, a cutter whose axis stands on cells comes as low.
        free = FreeBall(heights, grid, cutter.radius, flank)
        rows, columns = (number.ravel() for number in np.mgrid[10:60:7, 10:80:7])
        np.testing.assert_allclose(finished(free.tip_heights_steps(grid.middles(rows, columns))), tip[rows + rim, columns + rim], atol=2e-5)


def cut_by(cutter: Cutter, tips: np.ndarray, places: np.ndarray) -> np.ndarray:
    """Underside over places (n, 2) of a cutter on straight moves between tips (m, 3), by 400 places of each move."""
    share = np.linspace(0, 1, 400)[:, None]
    all_tips = np.concatenate([a + share * (b - a) for a, b in zip(tips[:-1], tips[1:], strict=True)])
    return np.array([(all_tips[:, 2] + profile(cutter, np.hypot(*(all_tips[:, :2] - place).T))).min() for place in places])


@pytest.mark.parametrize("cutter", TAPERED)
def test_the_finished_surface_is_cut_by_the_whole_profile(cutter: Cutter) -> None:
    rng = np.random.default_rng(7)
    tips = np.column_stack([rng.uniform(0, 16, 12), rng.uniform(0, 12, 12), rng.uniform(-1, 3, 12)])
    tips = np.concatenate([tips, tips[-1:] + [0, 0, 6.0]])  # and up at the end
    grid = Grid(-1.0, -1.0, 0.7, 20, 26)
    heights = finished(finished_heights_steps(np.full(grid.shape, 9.0), grid, [Run(tips, cutter.radius, cutter.flank)]))
    rows, columns = np.indices(grid.shape)
    plain = np.minimum(cut_by(cutter, tips, grid.middles(rows.ravel(), columns.ravel())), 9.0).reshape(grid.shape)
    np.testing.assert_allclose(heights, plain, atol=0.06)  # the twin's steps of up to 0.05 mm along moves
    assert (heights <= plain + 1e-5).all() and np.median(plain - heights) < 1e-4
    ball = finished(finished_heights_steps(np.full(grid.shape, 9.0), grid, [Run(tips, cutter.radius)]))
    assert (heights < ball - 0.5).sum() > 10


@pytest.mark.parametrize("slope", [20.0, 60.0, 82.0, 86.0])
def test_rays_enter_the_flank_where_the_closed_form_says(slope: float) -> None:
    """A cutter that runs level along a plane of a slope, its tip 1 mm aside of it: what stands on it, and how deep its flank cuts into it."""
    flank = Flank(1.5, 8.0, 4.0)
    t = np.radians(slope)
    normal, up = np.array([-np.sin(t), 0.0, np.cos(t)]), np.array([np.cos(t), 0.0, np.sin(t)])
    height = np.linspace(0.2, 9.0, 23)
    feet = height[:, None] / up[2] * up + [0, 3.0, 0]
    for aside in (1.0, 2.0):
        tips = np.array([[-aside, -9.0, 0.0], [-aside, 15.0, 0.0]]) + [0, 0, flank.radius]
        found = SweptTaper(tips[:1], tips[1:], flank, 0.5).entry_heights(feet, np.tile(normal, (23, 1)), np.zeros(23))
        # Within the section, a ray meets the half-profile of the cutter that stands at x = -aside.
        ways = np.linspace(-0.9, flank.radius, 240_001)
        for k in range(0, 23, 2):
            at = feet[k] + ways[:, None] * normal
            inside = at[:, 2] >= flank.height(np.abs(at[:, 0] + aside))
            met = ways[inside.argmax()] if inside.any() else np.inf
            if -0.85 < met < flank.radius - 0.01:
                assert found[k] == pytest.approx(met, abs=1e-4)


def test_where_nothing_is_asked_of_a_tapered_cutter_nothing_is_told() -> None:
    none, move = np.zeros((0, 3)), np.array([[0.0, 0.0, 1.5]])
    swept_volume = SweptTaper(move, move + [5.0, 0, 0], Flank(1.5, 8.0, 4.0), 0.5)
    assert swept_volume.entry_heights(none, none, np.zeros(0)).shape == (0,)
    assert finished(swept_volume.undersides_steps(none)).shape == (0,)


def test_bend_of_a_cone_is_the_known_one_and_of_a_cutter_the_integral() -> None:
    # A tapered cantilever with its load at the thin end: 64 F L^3 / (3 pi E d0 d1^3) (Gere and Timoshenko, Mechanics of Materials, deflections by
    # integration: tapered beams).
    assert float(cone_bend(10.0, 0.0, 50.0, (4.0, 9.0))) == pytest.approx(64 * 10 * 50**3 / (3 * np.pi * STIFFNESS * 4.0 * 9.0**3), rel=1e-9)
    assert float(cone_bend(10.0, 0.0, 50.0, (4.0, 4.0))) == pytest.approx(float(cantilever_bend(10.0, 50.0, 4.0)), rel=1e-12)
    assert float(cone_bend(10.0, 20.0, 50.0, (4.0, 4.003))) == pytest.approx(float(cone_bend(10.0, 20.0, 50.0, (4.0, 4.005))), rel=2e-3)
    for cutter in (*TAPERED, replace(WIDE, usable_length=30.0, stick_out=33.0), replace(SLIM, stick_out=12.0)):
        flank = flank_of(cutter)

        def thickness(height: float, cutter: Cutter = cutter, flank: Flank = flank) -> float:
            if height > cutter.usable_length:
                return cutter.shank_diameter
            return 0.8 * 2 * float(flank.half_width(max(height, flank.foot_height)))

        ends = sorted({0.0, *(min(h, cutter.stick_out) for h in (flank.foot_height, flank.top_height, cutter.usable_length, cutter.stick_out))})
        whole = sum(quad(lambda h: h**2 / (np.pi * thickness(h) ** 4 / 64), a, b)[0] for a, b in zip(ends[:-1], ends[1:], strict=True))
        assert float(cutter_bend(20.0, cutter)) == pytest.approx(20.0 / STIFFNESS * whole, rel=1e-6)
    assert float(cutter_bend(20.0, SLIM)) < 0.25 * float(cutter_bend(20.0, STRAIGHT))


def test_the_section_of_a_bite_is_that_of_polygons() -> None:
    flank = flank_of(SLIM)
    u = np.linspace(-flank.top_radius, flank.top_radius, 4001)

    def above(shift: float) -> Polygon:
        return Polygon([*zip(u + shift, flank.height(np.abs(u)), strict=True), (flank.top_radius + shift, 99.0), (shift - flank.top_radius, 99.0)])

    for depth in (0.5, 2.0, 9.0):
        layer = Polygon([(-50, -5), (50, -5), (50, depth), (-50, depth)])
        for left, right in ((np.inf, np.inf), (1.0, np.inf), (0.8, 2.5)):
            taken = above(0).intersection(layer)
            for shift in (-left, right):
                taken = taken if np.isinf(shift) else taken.difference(above(shift))
            assert float(section_area(1.5, depth, left, right, flank)) == pytest.approx(taken.area, rel=2e-3)
        outline = np.column_stack([u, flank.height(np.abs(u))])
        kept = outline[(outline[:, 1] <= depth) & (u >= 0)]
        assert float(edge_length(1.5, depth, flank)) == pytest.approx(np.linalg.norm(np.diff(kept, axis=0), axis=1).sum(), rel=5e-3)
        assert float(effective_diameter(1.5, depth, flank)) == pytest.approx(2 * kept[-1, 0], abs=0.004)


def test_boxes_and_hops_meet_the_flank() -> None:
    flank, machine = flank_of(WIDE), Machine()
    box = KeepOut("Clamp", (10.0, 0.0, 0.0), (20.0, 20.0, 9.0))
    for tip in (-2.0, 4.0, 8.5, 9.5):
        for away in (0.5, 2.5, 4.0, 4.9, 5.1):
            points = np.array([[10.0 - away, 5.0, tip], [10.0 - away, 6.0, tip]])
            touches = bool(tip + profile(WIDE, np.array(away)) < 9.0)
            assert (deepest_inside(points, WIDE.radius, box, flank)[0] > 0) == touches, (tip, away)
    outline = tool_outline(WIDE, machine)
    np.testing.assert_allclose(outline.underside(np.linspace(0, 2.5, 9)), profile(WIDE, np.linspace(0, 2.5, 9)))
    grid = Grid(0.0, 0.0, 0.25, 60, 60)
    barred = beside_boxes(np.full(grid.shape, 2.0), grid, outline, (box,))
    straight = beside_boxes(np.full(grid.shape, 2.0), grid, tool_outline(replace(WIDE, half_angle=0.0, top_diameter=0.0), machine), (box,))
    row = round(5.0 / grid.cell)
    # Half a millimetre of room: the flank is as wide there, at 7 mm above the tip and a half lower, as 30 degrees say.
    reach = float(flank.with_room(0.5).half_width(7.5))
    assert 10.0 - grid.x()[barred[row]].min() == pytest.approx(reach, abs=grid.cell) and barred.sum() > straight.sum()


def test_stock_beside_the_channel_is_held_against_the_flank() -> None:
    grid = Grid(0.0, 0.0, 0.5, 60, 60)
    nothing = np.full(grid.shape, -np.inf, np.float32)
    standing = nothing.copy()
    standing[:, :20] = 20.0  # up to x = 9.5
    obstacles = Obstacles(grid, nothing, standing, standing)
    low = np.array([[9.5 + 4.0, 15.0, 0.0]])
    machine = Machine(nut_diameter=8.0)
    assert contacts_at(low, replace(STRAIGHT, stick_out=60.0), machine, obstacles) == ()
    found = contacts_at(low, replace(WIDE, shank_diameter=6.0, stick_out=60.0), machine, obstacles)
    assert [(contact.part, contact.obstacle) for contact in found] == [("cutter", "stock")]
    flank = flank_of(WIDE).with_room(0.5)
    assert found[0].depth == pytest.approx(20.0 - float(flank.height(4.0)) + 0.5, abs=1e-3)


@cache
def planned(cutter: Cutter, wall_limit: float = 60.0) -> Plan:
    request = Request(
        stepped_body(), cutter=cutter, rack=(cutter,), rack_table=False, lines_from="edge", line_angle=0.0, cell=0.5, cusp=0.08,
        region=RegionSettings(wall_limit=wall_limit),
    )  # fmt: skip
    return make_plan(request, ResultStore())


@pytest.mark.parametrize("cutter", [SLIM, WIDE])
def test_no_move_of_a_plan_lets_ball_or_flank_into_the_body(cutter: Cutter) -> None:
    plan = planned(cutter)
    points = plan.path.points
    rng = np.random.default_rng(2)
    row = np.sort(rng.choice(len(points) - 1, 500, replace=False))
    between = points[row] + rng.uniform(0, 1, (500, 1)) * (points[row + 1] - points[row])
    triangles = plan.body.triangles
    plain = PlainTips(sampled(triangles[triangles[:, :, 2].max(axis=1) > 1], 0.15), cutter)
    deepest = float((plain.at(between[:, :2]) - between[:, 2]).max())
    assert deepest <= 0.0015 and plan.proof.worst_gouge <= 0.002
    if cutter is WIDE:  # whose flank the path of a straight cutter would run into the body
        straight = planned(replace(cutter, half_angle=0.0, top_diameter=0.0)).path.points[::7]
        assert float((plain.at(straight[:, :2]) - straight[:, 2]).max()) > 0.3


def test_ground_that_the_flank_keeps_the_ball_off_is_left_and_the_rest_has_its_cusps() -> None:
    tapered, straight = planned(WIDE), planned(replace(WIDE, half_angle=0.0, top_diameter=0.0))
    assert tapered.proof.unreached.area > straight.proof.unreached.area + 50
    # The limit of the examples, at their cell: on cells twice as wide the crests of both stand up to a fifth higher.
    with_taper, without = (
        dict(fine.proof.cusp_percentiles)[99.9] / fine.request.cusp
        for fine in (make_plan(replace(plan.request, cell=0.25)) for plan in (tapered, straight))
    )
    assert with_taper <= 1.02 * without and max(with_taper, without) <= 1.03
    assert tapered.fit.area > 1.5 * straight.fit.area
    # Before the step, as far as its upper edge is high: the flank's width there, less what a straight cutter leaves.
    inner = slice(tapered.tip_surface.rim, -tapered.tip_surface.rim)
    left = (tapered.tip_surface.uncut[inner, inner] > 0.05).any(axis=0)
    rim = tapered.tip_surface.rim
    x = tapered.tip_surface.grid.x()[rim:-rim] - tapered.job_from_body[0, 3]
    foot = x[left & (x > 20) & (x < 28.5)].min()
    low, high = 10 + 2 * np.sin(np.pi * foot / 44), 19 + 2 * np.sin(np.pi * 28.8 / 44)
    assert 1.0 < 28.8 - foot <= float(flank_of(WIDE).half_width(high - low)) + 1.5


def test_the_groove_of_a_coupon_tells_the_diameter_of_a_tapers_ball() -> None:
    coupon = make_coupon(CouponSettings(), SLIM, 3000.0, 300.0, 5.0)
    assert coupon.groove_depth < flank_of(SLIM).foot_height
    width = 2 * float(flank_of(SLIM).half_width(coupon.groove_depth))
    assert width == pytest.approx(groove_width(SLIM.radius, coupon.groove_depth))
    assert diameter_of_groove(width, coupon.groove_depth) == pytest.approx(3.0)
    # The columns keep apart from the timed field by the flank's width at the deepest.
    straight = make_coupon(CouponSettings(), STRAIGHT, 3000.0, 300.0, 5.0)
    assert coupon.fields[-1].high < straight.fields[-1].high


def test_a_taper_that_does_not_fit_is_told_from_its_ball() -> None:
    small = replace(WIDE, name="Round-nose 2", diameter=2.0, half_angle=0.0, top_diameter=0.0)
    request = replace(planned(WIDE).request, rack=(small, WIDE), rack_table=True, fit=FitSettings(uncut_area=60.0))
    plan = make_plan(request, ResultStore())
    assert [row.fits for row in plan.rack] == [True, False] and plan.largest is not None and plan.largest.radius > WIDE.radius
    told = next(str(finding.remedy) for finding in plan.findings if finding.key == "cutter-too-large")
    assert told.startswith(f"A straight cutter of up to {2 * plan.largest.radius:.1f} mm")


def test_a_plan_says_what_is_too_steep_for_its_taper() -> None:
    steep = planned(WIDE, 85.0)
    finding = next(finding for finding in steep.findings if finding.key == "taper")
    assert "keeps its ball off slopes above 60 degrees" in str(finding.words) and finding.must_see
    assert steep.proof.worst_gouge <= 0.002
    assert not any(finding.key == "taper" for finding in planned(WIDE).findings)


def test_sheet_program_record_and_summary_name_the_taper() -> None:
    plan = planned(SLIM)
    assert "taper 8° to 7 mm" in summary(plan)
    assert b"taper 8 degrees to 7 mm" in finishing_program(plan, "mm")
    record = plan_record(plan)
    assert record["result"]["cutter"]["half_angle"] == record["settings"]["cutter"]["half_angle"] == 8.0
    assert with_settings(replace(plan.request, cutter=STRAIGHT), record).cutter == SLIM
    row = finishing_row(plan, 1, "top.nc")
    page, plain = (bench_sheet((each,), (row,)).decode("utf-8") for each in (plan, planned(STRAIGHT)))
    assert ">Taper<" in page and "8° to 7 mm" in page and ">Taper<" not in plain
