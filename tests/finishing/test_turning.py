"""Turning the stock over with real numbers: zeros, dowels, keep-out boxes, and what is said when they do not fit."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial.transform import Rotation
from shapely.geometry import LineString, MultiPoint, Point, box
from shapes import block

from addon.finishing.core.errors import BadRequest
from addon.finishing.core.grid import Grid
from addon.finishing.core.path import CUT, Path
from addon.finishing.job.body import Body, make_body
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.dowels import DowelSettings, check_dowels, distance_in_plan, dowel_findings, dowel_places, in_job
from addon.finishing.job.keep_out import STEP, KeepOut, deepest_inside, keep_out_findings
from addon.finishing.job.machine import Machine
from addon.finishing.job.request import Request
from addon.finishing.job.stock import StockSettings, job_from_body, resolve_stock
from addon.finishing.job.turning import parted_by, stock_findings, zeroed_face
from addon.finishing.planning.checking import check_request
from addon.finishing.planning.findings import points_of_body
from addon.finishing.planning.plan import make_plan
from addon.finishing.tooling.box_room import BesideBody, beside_boxes
from addon.finishing.tooling.free_height import tool_outline

NO_PATH = Path(np.zeros((0, 3)), np.zeros(0, np.uint8), np.zeros(0, np.int32), np.zeros(0))


@pytest.fixture(scope="module")
def body() -> Body:
    return make_body("block", block(lambda x, y: 30 + 0 * x, 200, 120, 20.0))


def on_machine(point: np.ndarray, settings: StockSettings, body: Body, side: str, thickness: float, xy_zero: np.ndarray) -> np.ndarray:
    """Where a job point of a side is cut in the real stock: in the axes of the real stock as it lay for the first side.

    Independent of the product: the machine's spoilboard is z 0, X and Y zero stay at `xy_zero`, Z zero is the spoilboard or the top
    of the real stock, and for the back the real stock lies turned half round its own middle (scipy's rotation).
    """
    stock = resolve_stock(settings, body.low, body.high)
    z_zero = 0.0 if stock.z_zero(side) == "spoilboard" else thickness
    machine = point + np.append(xy_zero, z_zero)
    if side == settings.first_side:
        return machine
    middle = np.array([*(np.array(stock.size[:2]) / 2), thickness / 2])
    half_turn = Rotation.from_euler(settings.turn_axis, 180, degrees=True)
    return half_turn.apply(machine - middle) + middle


@pytest.mark.parametrize("turn_axis", ["x", "y"])
@pytest.mark.parametrize("xy_zero", ["corner", "centre"])
@pytest.mark.parametrize("first_side", ["top", "back"])
@pytest.mark.parametrize("deviation", [-1.0, 0.0, 1.0])
def test_both_sides_meet_in_stock_of_any_thickness(body: Body, turn_axis: str, xy_zero: str, first_side: str, deviation: float) -> None:
    settings = StockSettings(thickness=40.0, height_in_stock=4.0, turn_axis=turn_axis, xy_zero=xy_zero, first_side=first_side)
    stock = resolve_stock(settings, body.low, body.high)
    real = stock.size[2] + deviation
    corner = np.zeros(2) if xy_zero == "corner" else np.array(stock.size[:2]) / 2
    points = np.random.default_rng(0).uniform(body.low, body.high, (20, 3))
    places = []
    for side in ("top", "back"):
        matrix = job_from_body(stock, side)
        job = points @ matrix[:3, :3].T + matrix[:3, 3]
        places.append(np.array([on_machine(p, settings, body, side, real, corner) for p in job]))
    # The same point of the body is cut at the same place of the real stock from both sides.
    np.testing.assert_allclose(places[0], places[1], atol=0.001)
    assert zeroed_face(stock, "top") == zeroed_face(stock, "back") and parted_by(stock, deviation) == 0


@pytest.mark.parametrize("z_zero", ["spoilboard", "stock top"])
@pytest.mark.parametrize("deviation", [-1.0, 1.0])
def test_zeros_on_two_faces_part_the_sides_by_the_deviation(body: Body, z_zero: str, deviation: float) -> None:
    settings = StockSettings(thickness=40.0, height_in_stock=4.0, z_zero=z_zero)
    stock = resolve_stock(settings, body.low, body.high)
    places = []
    for side in ("top", "back"):
        matrix = job_from_body(stock, side)
        point = body.high @ matrix[:3, :3].T + matrix[:3, 3]
        places.append(on_machine(point, settings, body, side, stock.size[2] + deviation, np.zeros(2)))
    assert abs(places[0][2] - places[1][2]) == pytest.approx(abs(deviation), abs=1e-9)
    assert parted_by(stock, deviation) == deviation
    found = stock_findings(stock, "top", NO_PATH)
    assert [f.key for f in found] == ["zeros-on-two-faces"]


def test_stock_that_does_not_hold_the_body_is_refused_with_axis_and_numbers(body: Body) -> None:
    # By hand: 28 mm of stock round a block of 30 mm end at 1 and 29 mm of its height; 100 mm of width round 120 mm at 10 and 110 mm.
    for settings, words in (
        (StockSettings(thickness=28.0), "along Z the body reaches from 0.00 to 30.00 mm, the stock only from 1.00 to 29.00 mm"),
        (StockSettings(width=100.0), "along Y the body reaches from 0.00 to 120.00 mm, the stock only from 10.00 to 110.00 mm"),
        (StockSettings(length=150.0, width=119.0), "along X the body reaches from 0.00 to 200.00 mm, the stock only from 25.00 to 175.00 mm"),
        (StockSettings(thickness=40.0, height_in_stock=12.0), "along Z the body reaches from 0.00 to 30.00 mm, the stock only from -12.00 to 28.00 mm"),
    ):
        for side in ("top", "back"):
            with pytest.raises(BadRequest, match=words):
                check_request(Request(body, side=side, cutter=Cutter("Round-nose 16", 16.0), stock=settings))
    check_request(Request(body, cutter=Cutter("Round-nose 16", 16.0), stock=StockSettings(thickness=40.0, height_in_stock=10.0)))


def test_boxes_outside_the_stock_are_refused_with_axis_and_numbers(body: Body) -> None:
    # The stock is 250 x 170 x 30 mm with zero at its corner on the spoilboard.
    fine = Request(body, cutter=Cutter("Round-nose 16", 16.0))
    for low, high, words in (
        ((-40.0, 20.0, 0.0), (-5.0, 60.0, 40.0), "along X it reaches from -40.0 to -5.0 mm, the stock from 0.0 to 250.0 mm"),
        ((20.0, 171.0, 0.0), (60.0, 190.0, 40.0), "along Y it reaches from 171.0 to 190.0 mm, the stock from 0.0 to 170.0 mm"),
        ((20.0, 20.0, 300.0), (60.0, 60.0, 340.0), "along Z it reaches from 300.0 to 340.0 mm, the stock from 0.0 to 30.0 mm"),
        ((20.0, 20.0, -90.0), (60.0, 60.0, -40.0), "along Z it reaches from -90.0 to -40.0 mm, the stock from 0.0 to 30.0 mm"),
    ):
        with pytest.raises(BadRequest, match=words):
            check_request(replace(fine, keep_out=(KeepOut("clamp", low, high),)))
    # A clamp that only touches the stock's edge, and one whose arm lies above the top, are where clamps are; on either side.
    clamps = (KeepOut("edge", (-20.0, 0.0, 0.0), (0.0, 40.0, 40.0)), KeepOut("arm", (0.0, 60.0, 30.0), (25.0, 90.0, 45.0)))
    for side in ("top", "back"):
        check_request(replace(fine, side=side, keep_out=clamps))


@pytest.mark.parametrize("seed", range(8))
def test_dowels_in_the_body_are_refused_as_shapely_finds_them(seed: int) -> None:
    # A disc with a hole through it: its shadow in plan is the union of its triangles.
    rng = np.random.default_rng(seed)
    disc = make_body("ring", ring_body(30.0, 9.0, 24))
    shadow = Point(0, 0).buffer(30.0, quad_segs=6).difference(Point(0, 0).buffer(9.0, quad_segs=6))
    place = tuple(rng.uniform(-42, 42, 2).tolist()) if seed else (0.5, 0.5)
    stock = resolve_stock(StockSettings(), disc.low, disc.high)
    dowels = DowelSettings(places=(place,), diameter=8.0)
    depth = 4.0 - shadow.distance(Point(place))
    assert distance_in_plan(disc.triangles, np.array(place)) == pytest.approx(shadow.distance(Point(place)), abs=1e-9)
    if depth > 1e-3:
        with pytest.raises(BadRequest, match=f"Dowel 1 of 8 mm at X {place[0]:.1f}, Y {place[1]:.1f} mm would be drilled {depth:.1f} mm into the body"):
            check_dowels(dowels, stock, disc)
    else:
        check_dowels(dowels, stock, disc)


def ring_body(outer: float, inner: float, count: int) -> np.ndarray:
    """The top and the walls of a flat ring 5 mm high as triangles (n, 3, 3), a polygon of `count` corners."""
    turn = 2 * np.pi * np.arange(count + 1) / count
    circle = np.column_stack([np.cos(turn), np.sin(turn)])
    rims = {(r, z): np.column_stack([r * circle, np.full(count + 1, z)]) for r in (outer, inner) for z in (0.0, 5.0)}
    faces = []
    for a, b in (((outer, 5.0), (inner, 5.0)), ((outer, 0.0), (outer, 5.0)), ((inner, 5.0), (inner, 0.0)), ((inner, 0.0), (outer, 0.0))):
        for k in range(count):
            p, q, r, s = rims[a][k], rims[a][k + 1], rims[b][k + 1], rims[b][k]
            faces += [(p, q, r), (p, r, s)]
    return np.array(faces)


def test_a_path_below_the_spoilboard_is_reported(body: Body) -> None:
    for allowed, codes in ((0.0, ["below-spoilboard"]), (0.5, [])):
        stock = resolve_stock(StockSettings(into_spoilboard=allowed), body.low, body.high)
        for side in ("top", "back"):
            low = stock.spoilboard(side) - 0.4
            path = path_along(np.array([[10.0, 10, low], [20, 10, low]]))
            assert [f.key for f in stock_findings(stock, side, path)] == codes


def path_along(points: np.ndarray) -> Path:
    return Path(points, np.full(len(points), CUT, np.uint8), np.ones(len(points), np.int32), np.full(len(points), 3000.0))


@pytest.mark.parametrize("turn_axis", ["x", "y"])
@pytest.mark.parametrize("count", [2, 4])
def test_dowel_holes_meet_when_the_stock_is_turned(body: Body, turn_axis: str, count: int) -> None:
    stock = resolve_stock(StockSettings(turn_axis=turn_axis), body.low, body.high)
    dowels = DowelSettings(count=count)
    places = dowel_places(dowels, stock)
    assert len(places) == count
    top, back = in_job(places, stock, "top"), in_job(places, stock, "back")
    # The spoilboard's holes do not move: every hole of the turned stock lies on one of them.
    apart = np.linalg.norm(top[:, None] - back[None], axis=2)
    np.testing.assert_allclose(apart.min(axis=1), 0, atol=1e-9)
    assert dowel_findings(dowels, stock, "top", np.zeros((0, 2)), in_job(corners_of(body), stock, "top"), 8.0, ()) == []


@pytest.mark.parametrize("turn_axis", ["x", "y"])
def test_dowels_lie_in_the_middle_of_the_margins(body: Body, turn_axis: str) -> None:
    # By hand: the block of 200 x 120 mm has a margin of 25 mm round it. Two holes lie on the turn axis, half-way between body and edge.
    stock = resolve_stock(StockSettings(turn_axis=turn_axis), body.low, body.high)
    two, four = (dowel_places(DowelSettings(count=count), stock) for count in (2, 4))
    assert two.tolist() == ([[100.0, -12.5], [100.0, 132.5]] if turn_axis == "y" else [[-12.5, 60.0], [212.5, 60.0]])
    assert sorted(four.tolist()) == [[-12.5, -12.5], [-12.5, 132.5], [212.5, -12.5], [212.5, 132.5]]
    # Where half a margin is less than a thick dowel and its clearance need, they keep those from the edge.
    thick = dowel_places(DowelSettings(count=4, diameter=20.0, clearance=6.0), stock)
    assert thick.min() == -25.0 + 10.0 + 6.0
    assert dowel_places(DowelSettings(), stock).shape == (0, 2)
    assert dowel_places(DowelSettings(places=((1.0, 2.0),)), stock).tolist() == [[1.0, 2.0]]


@pytest.mark.parametrize(("gap", "codes"), [(5.9, ["dowel-in-clamp"]), (6.1, [])])
def test_a_dowel_keeps_its_clearance_from_a_clamp(body: Body, gap: float, codes: list[str]) -> None:
    # A hole of 4 mm radius and 2 mm of clearance: its middle must lie 6 mm from the clamp.
    stock = resolve_stock(StockSettings(), body.low, body.high)
    hole = in_job(dowel_places(DowelSettings(count=2), stock), stock, "top")[0]
    clamp = KeepOut("clamp", (hole[0] + gap, hole[1] - 3, 0.0), (hole[0] + gap + 9, hole[1] + 3, 50.0))
    outline = in_job(corners_of(body), stock, "top")
    assert [f.key for f in dowel_findings(DowelSettings(count=2), stock, "top", np.zeros((0, 2)), outline, 8.0, (clamp,))] == codes


@pytest.mark.parametrize("seed", range(25))
def test_dowels_against_shapely(body: Body, seed: int) -> None:
    # Round holes as discs in the stock's axes: inside its rectangle, off the body, off the cutter's path, off a clamp, and symmetric.
    rng = np.random.default_rng(seed)
    stock = resolve_stock(StockSettings(margin=30.0), body.low, body.high)
    mirrored = bool(rng.integers(0, 2))
    x, y = float(rng.uniform(-33, -4)), float(rng.uniform(-33, 60))
    places = ((x, y), (200.0 - x, y)) if mirrored else ((x, y), (206.0 - x, y + 3))
    dowels = DowelSettings(places=places, diameter=8.0, clearance=2.0)
    outline = in_job(corners_of(body), stock, "top")
    axis = in_job(rng.uniform([-12, -12], [0, 132], (30, 2)), stock, "top")
    corner = in_job(np.array([[float(rng.uniform(-30, -5)), float(rng.uniform(-30, 60))]]), stock, "top")[0]
    clamp = KeepOut("clamp", (corner[0], corner[1], 0.0), (corner[0] + 6, corner[1] + 6, 50.0))
    found = {f.key for f in dowel_findings(dowels, stock, "top", axis, outline, 5.0, (clamp,))}
    holes = [Point(p) for p in in_job(np.array(places), stock, "top")]
    rectangle = box(0, 0, stock.size[0], stock.size[1])
    expected = set() if mirrored else {"dowels-not-symmetric"}
    for hole in holes:
        if not rectangle.contains(hole.buffer(4.0 - 1e-6)):
            expected.add("dowel-outside-stock")
        if MultiPoint(outline).distance(hole) < 4.0 + 2.0:
            expected.add("dowel-in-body")
        if MultiPoint(axis).distance(hole) < 4.0 + 2.0 + 5.0:
            expected.add("dowel-in-path")
        if box(corner[0], corner[1], corner[0] + 6, corner[1] + 6).distance(hole) < 4.0 + 2.0:
            expected.add("dowel-in-clamp")
    assert found == expected


def corners_of(body: Body) -> np.ndarray:
    x, y = np.meshgrid(np.linspace(body.low[0], body.high[0], 41), np.linspace(body.low[1], body.high[1], 41))
    return np.column_stack([x.ravel(), y.ravel()])


def test_dowels_that_cannot_be_are_reported(body: Body) -> None:
    stock = resolve_stock(StockSettings(), body.low, body.high)
    outline = in_job(corners_of(body), stock, "top")

    def codes(dowels: DowelSettings, axis: np.ndarray = np.zeros((0, 2)), boxes: tuple[KeepOut, ...] = ()) -> list[str]:  # noqa: B008
        return [f.key for f in dowel_findings(dowels, stock, "top", axis, outline, 8.0, boxes)]

    lopsided = DowelSettings(places=((-12.0, 60.0), (190.0, -12.0)))
    assert codes(lopsided)[0] == "dowels-not-symmetric"
    assert "dowel-outside-stock" in codes(DowelSettings(places=((100.0, -24.0), (100.0, 144.0))))
    assert codes(DowelSettings(places=((100.0, 60.0),))) == ["dowel-in-body"]
    fine = DowelSettings(count=2)
    assert codes(fine) == []
    hole = in_job(dowel_places(fine, stock), stock, "top")[0]
    assert codes(fine, axis=hole[None] + 5) == ["dowel-in-path"]
    assert codes(fine, boxes=(KeepOut("clamp", (hole[0] - 5, hole[1] - 5, 0), (hole[0] + 5, hole[1] + 5, 60)),)) == ["dowel-in-clamp"]
    with pytest.raises(BadRequest):
        DowelSettings(count=3)
    with pytest.raises(BadRequest):
        DowelSettings(diameter=0)


@pytest.mark.parametrize("seed", range(20))
def test_keep_out_boxes_against_shapely(seed: int) -> None:
    # High above the box's top nothing is touched; below it the cutter is a cylinder: distances in plan by shapely.
    rng = np.random.default_rng(seed)
    a, b = rng.uniform(0, 60, (2, 2))
    clamp = KeepOut("clamp", (25.0, 25.0, 0.0), (35.0, 40.0, 30.0))
    radius = 6.0
    away = LineString([a, b]).distance(box(25, 25, 35, 40))
    low = keep_out_findings(path_along(np.array([[*a, 10.0], [*b, 10.0]])), radius, (clamp,))
    assert bool(low) == (away < radius - 1e-6) or abs(away - radius) < 0.02
    if low and away > 0:
        assert dict(low[0].sentence.values)["depth"] == pytest.approx(radius - away, abs=0.06)
    assert keep_out_findings(path_along(np.array([[*a, 30.5], [*b, 30.5]])), radius, (clamp,)) == []


def reach_into(tip: np.ndarray, radius: float, clamp: KeepOut) -> float:
    """How far the cutter at one tip goes into a box: its radius less the distance from its axis, from the ball's centre upwards, to the box."""
    low, high = np.array(clamp.low), np.array(clamp.high)
    nearest = np.clip(tip + [0, 0, radius], low, high)
    nearest[2] = min(tip[2] + radius, high[2])  # the axis goes up without end: beside the box some of its points are as high as any of the box
    return radius - float(np.linalg.norm(nearest - (tip + [0, 0, radius])))


@pytest.mark.parametrize("seed", range(30))
def test_depth_in_a_box_by_a_walk_along_the_path(seed: int) -> None:
    # The plain twin walks in steps of 0.002 mm; places every STEP mm miss no more than a ball rises over half of one.
    rng = np.random.default_rng(seed)
    clamp, radius = KeepOut("clamp", (25.0, 25.0, 0.0), (35.0, 40.0, 12.0)), 5.0
    points = np.column_stack([rng.uniform(15, 45, (4, 2)), rng.uniform(2, 18, 4)])
    depth, place = deepest_inside(points, radius, clamp)
    deepest = -np.inf
    for a, b in zip(points[:-1], points[1:], strict=True):
        for share in np.linspace(0, 1, int(np.linalg.norm(b - a) / 0.002) + 2):
            deepest = max(deepest, reach_into(a + share * (b - a), radius, clamp))
    if deepest <= 0:
        assert depth <= 0
        return
    near = max(radius - deepest, 0.0)
    missed = float(np.hypot(near, STEP / 2)) - near
    assert deepest - missed - 1e-3 <= depth <= deepest + 1e-9
    assert place is not None and reach_into(np.array(place), radius, clamp) == pytest.approx(depth)


def test_every_box_that_is_touched_has_a_finding_of_its_own() -> None:
    boxes = tuple(KeepOut(name, (x, 0.0, 0.0), (x + 5, 10.0, 20.0)) for name, x in (("left", 0.0), ("right", 40.0), ("far", 90.0)))
    found = keep_out_findings(path_along(np.array([[-9.0, 5.0, 10.0], [60, 5, 10]])), 4.0, boxes)
    assert [f.key for f in found] == ["keep-out", "keep-out"] and all(f.must_see for f in found)
    assert ["'left'" in str(found[0].sentence), "'right'" in str(found[1].sentence)] == [True, True]
    assert keep_out_findings(NO_PATH, 4.0, boxes) == [] and keep_out_findings(path_along(np.array([[2.0, 5, 10]])), 4.0, ()) == []


def test_the_ball_clears_a_box_at_its_height() -> None:
    # Closed form: a ball with its tip h below a box's top reaches sqrt(R^2 - (R - h)^2) sideways at that top.
    clamp, radius, below = KeepOut("tab", (0.0, 0.0, 0.0), (10.0, 10.0, 8.0)), 6.0, 2.0
    reach = np.sqrt(radius**2 - (radius - below) ** 2)
    for gap, touched in ((reach - 0.05, True), (reach + 0.05, False)):
        path = path_along(np.array([[10 + gap, 2.0, 8 - below], [10 + gap, 8.0, 8 - below]]))
        assert bool(keep_out_findings(path, radius, (clamp,))) == touched
    with pytest.raises(BadRequest):
        KeepOut("flat", (0, 0, 0), (1, 1, 0))


def test_zero_words_name_the_stocks_top(body: Body) -> None:
    stock = resolve_stock(StockSettings(), body.low, body.high)
    assert tuple(map(str, stock.zero_words("top"))) == ("lower left corner of the stock, seen from above", "spoilboard under the stock")
    assert "not of the body" in str(stock.zero_words("back")[1])
    turned = replace(stock, settings=replace(stock.settings, xy_zero="centre"))
    assert str(turned.zero_words("top")[0]) == "middle of the stock"


@pytest.mark.parametrize("cell", [0.125, 0.25, 1.0, 2.0])
def test_points_that_stand_for_a_body_leave_no_room_for_a_dowel(cell: float) -> None:
    # By construction: no cell of the body lies farther from a point than the diagonal of a mm, or of a cell that is larger.
    grid = Grid(left=0.0, front=0.0, cell=cell, rows=40, columns=60)
    body = np.zeros(grid.shape, bool)
    body[3:37, 5:55] = True
    body[10:12, 20:24] = False
    points = points_of_body(body, grid)
    row, column = np.nonzero(body)
    cells = np.column_stack([cell * column, cell * row])
    apart = np.linalg.norm(cells[:, None] - points[None], axis=2)
    assert apart.min(axis=0).max() < 1e-9
    assert apart.min(axis=1).max() <= max(1.0, cell) * np.sqrt(0.5)
    assert cell > 0.5 or len(points) < 0.7 * body.sum()


def test_a_box_bars_the_axis_as_shapely_and_the_balls_own_form_say() -> None:
    # On a grid by hand: the ball's centre farther than its radius and room from the box, shank and nut as cylinders, each place by itself.
    grid = Grid.over(np.array([0.0, 0.0]), np.array([60.0, 50.0]), 1.0)
    rng = np.random.default_rng(3)
    tip = rng.uniform(-6.0, 30.0, grid.shape)
    cutter, machine = Cutter("Round-nose 10", 10.0, usable_length=20.0, shank_diameter=12.0, stick_out=40.0), Machine(nut_diameter=30.0)
    clamp = KeepOut("clamp", (25.0, 20.0, 0.0), (40.0, 33.0, 22.0))
    plan = box(25, 20, 40, 33)
    expected = np.zeros(grid.shape, bool)
    for row, y in enumerate(grid.y()):
        for column, x in enumerate(grid.x()):
            away, z = plan.distance(Point(x, y)), tip[row, column]
            ball = np.hypot(away, max(z + 5.0 - 22.0, 0.0)) < 5.5
            shank, nut = (away < r + 0.5 and z + above < 22.5 for r, above in ((6.0, 20.0), (15.0, 40.0)))
            expected[row, column] = ball or shank or nut
    assert 0 < expected.sum() < expected.size
    assert np.array_equal(beside_boxes(tip, grid, tool_outline(cutter, machine), (clamp,)), expected)


@pytest.mark.parametrize("start", ["edge", "border"])
def test_lines_are_clipped_at_boxes_and_the_way_between_them_goes_round_or_over(start: str) -> None:
    gentle = make_body("gentle", block(lambda x, y: 14 + np.sin(x / 9) + y / 30, 70.0, 50.0, 1.0))
    asked = Request(gentle, cutter=Cutter("Round-nose 10", 10.0), rack_table=False, cell=0.5, cusp=0.1, lines_from=start, line_angle=0.0)
    asked = replace(asked, stock=StockSettings(margin=10.0))
    # A clamp that reaches over the middle of one edge, and one in the middle of the work that is higher than the safe height.
    clamps = (KeepOut("clamp", (32.0, 0.0, 0.0), (48.0, 22.0, 19.0)), KeepOut("screw", (60.0, 40.0, 0.0), (66.0, 46.0, 40.0)))
    plan, free = make_plan(replace(asked, keep_out=clamps)), make_plan(asked)
    for clamp in clamps:
        assert deepest_inside(free.path.points, 5.0, clamp)[0] > 1.0
        assert deepest_inside(plan.path.points, 5.0, clamp)[0] <= 0.0
    keys = {finding.key for finding in plan.findings}
    assert "kept-out" in keys and "keep-out" not in keys
    # What lies away from them is finished as before.
    cut = np.concatenate([line for line in plan.path.lines()])
    far = (cut[:, 0] < 18.0) | (cut[:, 1] > 62.0)
    assert far.sum() > 200 and plan.proof.cusp_percentiles[-1][1] <= 1.2 * 0.1
    if start == "edge":
        own = {tuple(p) for p in np.round(np.concatenate(free.path.lines()), 6).tolist()}
        assert np.mean([tuple(p) in own for p in np.round(cut[far], 6).tolist()]) > 0.9


def test_beside_the_body_is_off_its_outline_with_room_beside_boxes() -> None:
    grid = Grid.over(np.array([0.0, 0.0]), np.array([60.0, 50.0]), 0.5)
    body = np.where((grid.x() > 20) & (grid.x() < 40) & np.ones((grid.rows, 1), bool), 12.0, -np.inf)
    room = BesideBody(grid, body, (KeepOut("clamp", (45.0, 20.0, 0.0), (55.0, 30.0, 40.0)),), 6.5)
    # By hand: on the body; off it; 6.4 and 6.6 mm from the clamp's side; 5 and 4 mm off its corner in x and y, which is 6.403 mm.
    places = np.array([[30.0, 25.0], [10.0, 25.0], [50.0, 36.4], [50.0, 36.6], [60.0, 34.0], [60.0, 34.3]])
    assert room.holds(places).tolist() == [False, True, False, True, False, True]
