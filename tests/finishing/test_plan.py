"""The whole plan on small closed-form bodies: gouge, cusp, length, openings, skip, errors, stages kept."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapes import block

from addon.finishing.core.cusp_formulas import spacing_on_flat
from addon.finishing.core.errors import BadBody, BadRequest, NothingToPlan, TooLarge
from addon.finishing.core.path import CUT, LINK
from addon.finishing.core.result_store import ResultStore
from addon.finishing.files.path_csv import path_csv, read_csv
from addon.finishing.files.plan_record import plan_record, read_record, record_bytes, with_settings
from addon.finishing.job.body import Body, make_body
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.ground_settings import RegionSettings
from addon.finishing.job.request import Request
from addon.finishing.planning.checking import check_request
from addon.finishing.planning.plan import make_plan

CUTTER = Cutter("Round-nose 12", 12.0)


def wavy(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    return 15 + 2 * np.cos(2 * np.pi * x / 70) + 1.5 * np.sin(2 * np.pi * y / 55)


@pytest.fixture(scope="module")
def body() -> Body:
    return make_body("wavy block", block(wavy, 80, 60, 0.8))


@pytest.fixture(scope="module")
def request_of(body: Body) -> Request:
    return Request(body, cutter=CUTTER, lines_from="edge", line_angle=0.0, rack_table=False)


@pytest.fixture(scope="module")
def plan(request_of: Request):  # noqa: ANN201
    return make_plan(request_of)


def densely_sampled(triangles: np.ndarray, step: float) -> np.ndarray:
    """Independent of the product: points on all triangles, about `step` mm apart."""
    a, b, c = triangles[:, 0], triangles[:, 1], triangles[:, 2]
    longest = max(np.linalg.norm(b - a, axis=1).max(), np.linalg.norm(c - a, axis=1).max())
    n = int(np.ceil(longest / step)) + 1
    u, v = np.meshgrid(np.linspace(0, 1, n), np.linspace(0, 1, n))
    keep = u + v <= 1 + 1e-9
    u, v = u[keep], v[keep]
    return (a[:, None] + u[None, :, None] * (b - a)[:, None] + v[None, :, None] * (c - a)[:, None]).reshape(-1, 3)


def test_links_meet_their_lines_without_a_step(plan) -> None:  # noqa: ANN001
    # A step in height of a thousandth of a mm between a link and its line would stop the machine there.
    on_surface = (plan.path.kind == CUT) | (plan.path.kind == LINK)
    moves = np.diff(plan.path.points, axis=0)[on_surface[1:] & on_surface[:-1]]
    in_place = np.hypot(moves[:, 0], moves[:, 1]) < 1e-6
    assert in_place.any()
    assert np.abs(moves[in_place, 2]).max() < 1e-9


def test_no_gouge_in_the_csv_as_read_again(plan) -> None:  # noqa: ANN001
    # Gouge is measured on the re-read CSV against densely sampled true triangles, with scipy's tree, not with the planner's code.
    from scipy.spatial import cKDTree

    path = read_csv(path_csv(plan.path))
    # Near one part of the body only, so that the samples can be dense: 0.05 mm apart miss at most 0.0001 mm on R 6.
    window = (np.abs(plan.body.triangles.mean(axis=1)[:, :2] - [55, 45]) < 14).all(axis=1)
    tree = cKDTree(densely_sampled(plan.body.triangles[window], 0.05))
    rows = np.flatnonzero(((path.kind == CUT) | (path.kind == LINK)) & (np.abs(path.points[:, :2] - [55, 45]) < 7).all(axis=1))
    before, after = path.points[rows - 1], path.points[rows]
    for share in (1.0, 0.5, 0.25, 0.75):
        centre = before + share * (after - before) + [0, 0, CUTTER.radius]
        nearest = tree.query(centre)[0]
        assert (CUTTER.radius - nearest).max() <= 0.002 + 5e-5  # CSV rounding is 0.00005 mm


def test_cusp_and_length_keep_their_limits(plan) -> None:  # noqa: ANN001
    # The numbers to reach: 99.9 % <= 1.03 h, all <= 1.10 h on smooth ground; cut length <= 1.03 of the bound, and one line
    # (80 mm) more on a block this small, since it need not be a whole number of passes wide.
    cusp = dict(plan.proof.cusp_percentiles)
    assert cusp[99.9] <= 1.03 * 0.05
    assert cusp[100.0] <= 1.10 * 0.05
    assert plan.path.length_of(CUT) <= 1.03 * plan.least_length + 80
    assert plan.proof.worst_gouge <= 0.002


def test_flat_block_takes_area_over_spacing() -> None:
    # Closed form: on flat ground the least length is area / s, whatever the direction.
    flat = make_body("flat block", block(lambda x, y: np.full(np.shape(x), 12.0), 60, 40, 4.0))
    made = make_plan(Request(flat, cutter=CUTTER, lines_from="edge", line_angle=0.0, rack_table=False, cusp=0.02))
    spacing = float(spacing_on_flat(6, 0.02))
    assert made.least_length == pytest.approx(59 * 39 / spacing, rel=0.005)  # rims of half a millimetre are left out
    rows = made.path.points[made.path.kind == CUT]
    np.testing.assert_allclose(rows[:, 2], 12.0, atol=1e-9)
    assert dict(made.proof.cusp_percentiles)[100.0] <= 0.02 * 1.05


def test_rows_follow_the_motion(plan) -> None:  # noqa: ANN001
    path = plan.path
    assert path.kind[0] == 4 and path.points[0, 2] == pytest.approx(plan.body.high[2] + 5.0)
    cut = path.kind == CUT
    assert sorted(set(path.line[cut])) == list(range(1, path.line_count + 1))
    assert len(path.lines()) == path.line_count
    # The step into a line's first row has no length, so consecutive rows of one line are the whole polyline.
    first = np.flatnonzero(cut & ~np.concatenate([[False], cut[:-1]]))
    np.testing.assert_allclose(path.lengths()[first], 0, atol=1e-9)


def test_no_contact_on_skipped_ground(body: Body, request_of: Request) -> None:
    # Independent: the triangle nearest to the ball's centre is where it touches.
    middle = body.triangles.mean(axis=1)
    skip = (np.hypot(middle[:, 0] - 40, middle[:, 1] - 30) < 10) & (middle[:, 2] > 5)
    cache = ResultStore()
    first = make_plan(request_of, cache)
    made = make_plan(replace(request_of, body=replace(body, skip=skip)), cache)
    # What was laid before is only clipped: nothing up to the exact heights is made anew.
    again = set(map(tuple, made.path.points[made.path.kind == CUT].round(9)))
    before = set(map(tuple, first.path.points[first.path.kind == CUT].round(9)))
    # New are only the line round the island and the ends of lines beside it (the tip is at most R away from the contact in plan), and
    # where lines end at the block's left and right, shortened for a turn that went to the other neighbour before.
    new = np.array(sorted(again - before))[:, :2] - made.job_from_body[:2, 3] - [40, 30]
    beside = np.hypot(new[:, 0], new[:, 1]) < 10 + 2 + CUTTER.radius
    turning = np.abs(new[:, 0]) > 40 - float(spacing_on_flat(CUTTER.radius, made.request.cusp))
    assert beside.sum() > 100
    assert (beside | turning).all() and (~beside).sum() < 0.02 * len(again)
    samples = densely_sampled(made.body.triangles[skip], 0.2)
    from scipy.spatial import cKDTree

    surface = (made.path.kind == CUT) | (made.path.kind == LINK)
    centres = made.path.points[surface] + [0, 0, CUTTER.radius]
    assert (cKDTree(samples).query(centres)[0] > CUTTER.radius + 1e-4).all()
    border = make_plan(replace(request_of, lines_from="border", body=replace(body, skip=skip)))
    surface = (border.path.kind == CUT) | (border.path.kind == LINK)
    assert (cKDTree(samples).query(border.path.points[surface] + [0, 0, CUTTER.radius])[0] > CUTTER.radius + 1e-4).all()


def test_a_line_runs_round_what_is_skipped() -> None:
    # By construction: on level ground the axis stands over the contact, so the line keeps the margin and a cell or two from the disc.
    flat = make_body("flat", block(lambda x, y: 15 + 0 * x, 60, 50, 0.5))
    middle = flat.triangles.mean(axis=1)
    disc = (np.hypot(middle[:, 0] - 30, middle[:, 1] - 25) < 9) & (middle[:, 2] > 14)
    made = make_plan(Request(replace(flat, skip=disc), cutter=CUTTER, lines_from="edge", line_angle=0.0, rack_table=False))
    centre = np.array([30.0, 25.0]) + made.job_from_body[:2, 3]
    rings = []
    for number in range(1, made.path.line_count + 1):
        points = made.path.points[(made.path.kind == CUT) & (made.path.line == number), :2] - centre
        turn = np.unwrap(np.arctan2(points[:, 1], points[:, 0]))
        if abs(turn[-1] - turn[0]) > np.radians(355):
            rings.append(np.hypot(points[:, 0], points[:, 1]))
    assert len(rings) == 1
    assert rings[0].min() > 9.0 + 0.5 - 0.25 and rings[0].max() < 9.0 + 0.5 + 2.0
    assert dict(made.proof.border_percentiles)[99.9] < 2.5 * made.request.cusp


def test_stages_are_kept(request_of: Request) -> None:
    cache = ResultStore()
    first = make_plan(request_of, cache)
    again = make_plan(replace(request_of, feed=2000.0), cache)
    assert again.run_time.total_seconds > first.run_time.total_seconds
    np.testing.assert_array_equal(again.path.points, first.path.points)
    assert (again.path.feed[again.path.kind == CUT] == 2000).all()
    # A cached plan equals one made from nothing.
    fresh = make_plan(replace(request_of, feed=2000.0))
    np.testing.assert_array_equal(fresh.path.points, again.path.points)


def pocketed(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    pocket = (np.abs(x - 30) < 10) & (np.abs(y - 30) < 8)
    hole = np.hypot(x - 60, y - 30) < 3
    return np.where(pocket, 5.0, np.where(hole, 4.0, 15.0))


def test_openings_are_skipped_or_bridged() -> None:
    made = make_plan(Request(make_body("pocketed", block(pocketed, 80, 60, 0.4)), cutter=CUTTER, lines_from="edge", line_angle=0.0, rack_table=False))
    kinds = {o.treatment: o for o in made.ground.openings}
    assert set(kinds) == {"skip", "bridge"}
    assert kinds["skip"].width == pytest.approx(16, abs=1.0) and kinds["skip"].depth == pytest.approx(10, abs=0.1)
    assert kinds["bridge"].width == pytest.approx(6, abs=1.0)
    cut = made.path.points[made.path.kind == CUT]
    over_hole = np.hypot(cut[:, 0] - made.job_from_body[0, 3] - 60, cut[:, 1] - made.job_from_body[1, 3] - 30) < 2
    assert over_hole.any() and cut[over_hole, 2].min() >= 15 - 0.02  # the cutter does not dip into the small hole
    with pytest.raises(NothingToPlan, match="Nothing is left"):  # bridges alone are no ground to finish
        everything = replace(made.request.body, skip=np.ones(len(made.request.body.skip), bool))
        make_plan(replace(made.request, body=everything))
    followed = make_plan(replace(made.request, region=RegionSettings(openings="follow")))
    assert followed.path.points[followed.path.kind == CUT][:, 2].min() < 6


def test_steep_walls_are_left_out() -> None:
    # Independent: a ball whose centre lies farther than its radius from all points of a face does not touch it. Looked at are the slopes
    # of 50 degrees but for their uppermost half millimetre, where the ball rolls over the edge.
    ridge = make_body("ridge", block(lambda x, y: 30 - 1.2 * np.abs(x - 40).clip(8, 18), 80, 40, 0.5))
    made = make_plan(Request(ridge, cutter=CUTTER, lines_from="edge", line_angle=90.0, rack_table=False, region=RegionSettings(wall_limit=45)))
    from scipy.spatial import cKDTree

    middle = ridge.triangles.mean(axis=1)
    steep = (np.abs(np.abs(middle[:, 0] - 40) - 13.3) < 4.7) & (middle[:, 2] > 1) & (middle[:, 1] > 0.1) & (middle[:, 1] < 39.9)
    assert steep.sum() > 1000
    cut = made.path.points[made.path.kind == CUT] + [0, 0, CUTTER.radius]
    assert (cKDTree(densely_sampled(made.body.triangles[steep], 0.2)).query(cut)[0] > CUTTER.radius + 1e-4).all()
    assert made.ground.wall_area == pytest.approx(2 * 10 * 40 * np.sqrt(1 + 1.2**2), rel=0.1)


def test_what_is_said_of_too_many_triangles_helps_when_it_is_done(body: Body, request_of: Request) -> None:
    def alike(count: int) -> Body:  # so many triangles at the same places
        return make_body("many", np.resize(body.triangles, (count, 3, 3)))

    def asked(count: int) -> Request:
        return replace(request_of, body=alike(count), cell=2.0, memory_limit_mib=230.0)

    with pytest.raises(TooLarge, match="A mesh of 90000 triangles takes .* export it again with [0-9]+ triangles at most") as told:
        check_request(asked(90_000))
    most = int(str(told.value).split(" again with ")[1].split()[0])
    check_request(asked(most))
    with pytest.raises(TooLarge, match="coarser cell"):
        check_request(asked(most + 200))


def test_bad_input_is_refused_in_one_sentence(body: Body, request_of: Request) -> None:
    huge = make_body("huge", body.triangles * 5000)
    with pytest.raises(BadBody, match="In millimetres, not metres, it would measure 400 x 300"):
        make_plan(replace(request_of, body=huge))
    with pytest.raises(BadBody, match="less than the cutter"):
        make_plan(replace(request_of, body=make_body("tiny", body.triangles / 100)))
    with pytest.raises(TooLarge, match="coarser cell"):
        make_plan(replace(request_of, cell=0.02, memory_limit_mib=300.0))
    with pytest.raises(TooLarge, match="^A mesh of [0-9]+ triangles takes about [0-9]+ MiB, more than the limit of 16 MiB, whatever the cell: raise"):
        make_plan(replace(request_of, memory_limit_mib=16.0))  # a coarser cell would not help
    with pytest.raises(NothingToPlan):
        make_plan(replace(request_of, body=replace(body, skip=np.ones(len(body.skip), bool))))
    with pytest.raises(BadBody, match="not numbers"):
        make_body("broken", np.full((2, 3, 3), np.nan))
    with pytest.raises(BadBody, match="no face with any area"):
        make_body("flat", np.zeros((2, 3, 3)))
    with pytest.raises(BadBody, match="no faces"):
        make_body("empty", np.zeros((0, 3, 3)))
    with pytest.raises(BadRequest):
        replace(request_of, cusp=-1)


def test_record_gives_the_settings_back(plan) -> None:  # noqa: ANN001
    record = read_record(record_bytes(plan_record(plan)))
    again = with_settings(Request(plan.request.body), record)
    assert again.rack == plan.request.rack and again.machine == plan.request.machine
    assert again.cutter == CUTTER and again.cusp == plan.request.cusp and again.region == plan.request.region
    matrix = np.array(record["job_from_body"]["top"])
    np.testing.assert_allclose(plan.request.body.triangles @ matrix[:3, :3].T + matrix[:3, 3], plan.body.triangles)


def test_csv_round_trip(plan) -> None:  # noqa: ANN001
    content = path_csv(plan.path)
    lines = content.decode().split("\r\n")
    assert lines[0] == "line,point,kind,x_mm,y_mm,z_mm,feed_mm_min" and lines[-1] == ""
    again = read_csv(content)
    np.testing.assert_allclose(again.points, plan.path.points, atol=5.1e-5)
    np.testing.assert_array_equal(again.kind, plan.path.kind)
    np.testing.assert_array_equal(again.line, plan.path.line)
    inches = path_csv(plan.path, "in")
    assert inches.startswith(b"line,point,kind,x_in,y_in,z_in,feed_in_min\r\n")
    np.testing.assert_allclose(read_csv(inches).points, plan.path.points, atol=25.4 * 5.1e-6)


def test_back_side_is_planned_in_its_own_axes(body: Body, request_of: Request) -> None:
    made = make_plan(replace(request_of, side="back"))
    cut = made.path.points[made.path.kind == CUT]
    # The block's flat bottom lies on top; Z is zero on the stock's top for the second side.
    np.testing.assert_allclose(cut[:, 2], 0.0, atol=1e-6)
    assert np.linalg.det(made.job_from_body[:3, :3]) == pytest.approx(1)
