"""Moves between pass lines: links and turns on the surface, lifts, and how much lines may be trimmed for them."""

from __future__ import annotations

from collections.abc import Callable, Generator
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, box
from shapely import contains_xy as holds

from addon.finishing.ball.axis_region import AxisRegion
from addon.finishing.core.cusp_formulas import spacing_on_flat
from addon.finishing.core.grid import Grid
from addon.finishing.core.path import CUT, ENTRY, EXIT, LIFT, LINK, Path
from addon.finishing.core.stepping import finished
from addon.finishing.job.machine import CORNER_SPEED, OVERLAP, Machine
from addon.finishing.motion.hops import LIFT_SURCHARGE, PLUNGE_HEIGHT, Hops, RouteSettings
from addon.finishing.motion.links import ARM_SHARES, CHECK_STEP, ROUGH_STEP, heading, set_back_turn, stays_on, straying, surface_link
from addon.finishing.motion.route import RunLine, route_steps
from addon.finishing.motion.run_time import run_time
from addon.finishing.motion.trims import end_trims, with_end_trims
from addon.finishing.passes.cusp_metric import cusp_metric

EVEN = Machine(speed_z=5000.0, acceleration_z=400.0)
SEEDS = st.integers(0, 10**6)
EAST, WEST = np.array([1.0, 0.0]), np.array([-1.0, 0.0])


def anywhere(points: np.ndarray) -> np.ndarray:
    return np.ones(len(points), bool)


def within(shape) -> Callable[[np.ndarray], np.ndarray]:  # noqa: ANN001
    """Whether points lie in a shape of shapely's."""
    return lambda points: holds(shape, points[:, 0], points[:, 1])


# ---- whether a move stays on allowed ground


def plain_straying(move: np.ndarray, allowed: Callable[[np.ndarray], np.ndarray], step: float) -> bool:
    """Look at one move place by place."""
    pieces = max(1, int(np.ceil(np.hypot(*(move[1] - move[0])) / step)))
    return any(not allowed((move[0] + (move[1] - move[0]) * k / pieces)[None])[0] for k in range(pieces + 1))


@settings(max_examples=30, deadline=None)
@given(SEEDS)
def test_straight_moves_that_leave_the_ground(seed: int) -> None:
    # shapely besides the plain twin: a move that keeps to the ground never counts as straying; one that is off it for longer than a step does.
    rng = np.random.default_rng(seed)
    hole = Point(*rng.uniform(20, 80, 2)).buffer(float(rng.uniform(1, 25)))
    allowed = within(box(0, 0, 100, 100).difference(hole))
    moves = rng.uniform(0, 100, (60, 2, 2))
    moves[:3, 1] = moves[:3, 0]
    for step in (ROUGH_STEP, 17.0):
        found = straying(moves, allowed, step)
        assert found.tolist() == [plain_straying(move, allowed, step) for move in moves]
        for move, off in zip(moves[3:], found[3:], strict=True):  # the first three have no length
            outside = LineString(move).intersection(hole).length
            assert not off if outside == 0 else off or outside <= step


def test_a_polyline_stays_on_the_ground_with_all_its_moves() -> None:
    bent = np.array([[0.0, 0], [40, 0], [40, 40]])
    assert stays_on(bent, within(box(-1, -1, 41, 41)))
    assert not stays_on(bent, within(box(-1, -1, 41, 41).difference(box(39, 20.9, 41, 20.9 + 1.5 * CHECK_STEP))))


# ---- links


def test_a_link_between_lines_side_by_side_is_close_to_a_half_circle() -> None:
    for span in (1.0, 3.0, 11.0):
        link = surface_link(np.zeros(2), EAST, np.array([0.0, span]), WEST, anywhere)
        assert link is not None
        away = np.linalg.norm(link - [0, span / 2], axis=1) / (span / 2)
        assert np.abs(away - 1).max() < 0.06
        # It leaves and enters in the lines' directions, as far as a chord of a half circle in so many shows it.
        turn = np.pi / (len(link) - 1)
        assert heading(link[1] - link[0]) @ EAST > np.cos(turn) and heading(link[-1] - link[-2]) @ WEST > np.cos(turn)


@pytest.mark.parametrize("share", ARM_SHARES)
def test_where_there_is_little_room_a_link_turns_in_less(share: float) -> None:
    # Closed form: a cubic Bezier curve with two arms of a mm, square to its span, reaches 3/4 a to the side.
    span = 4.0
    deep = 0.75 * 0.7 * span * share
    link = surface_link(np.zeros(2), EAST, np.array([0.0, span]), WEST, lambda points: points[:, 0] <= deep + 0.01)
    assert link is not None
    assert link[:, 0].max() == pytest.approx(deep, rel=0.02, abs=1e-12)
    assert (len(link) == 2) == (share == 0)


def test_no_link_leads_where_even_the_straight_move_is_barred() -> None:
    assert surface_link(np.zeros(2), EAST, np.array([0.0, 4.0]), WEST, lambda points: np.abs(points[:, 1] - 2) > 0.2) is None


def test_a_long_link_turns_at_its_ends_only() -> None:
    # Closed form: arms of 0.7 * 12 mm, and 3/4 of that to the side.
    link = surface_link(np.zeros(2), EAST, np.array([0.0, 100.0]), WEST, anywhere)
    assert link is not None and link[:, 0].max() == pytest.approx(0.75 * 0.7 * 12.0, rel=0.01)
    onward = surface_link(np.zeros(2), EAST, np.array([100.0, 10.0]), EAST, anywhere)
    assert onward is not None and (np.diff(onward[:, 0]) > 0).all() and onward[:, 1].min() >= 0 and onward[:, 1].max() <= 10


# ---- the path between lines


def level(points: np.ndarray) -> Generator[float, None, np.ndarray]:
    yield 1.0
    return np.zeros(points.shape[:-1])


def routed(lines: list[RunLine], allowed: Callable[[np.ndarray], np.ndarray], cutting_way: str = "to and fro", safe_z: float = 10.0) -> Path:
    """The path over lines on level ground."""
    settings = RouteSettings(cutting_way, 3500.0, safe_z, machine=Machine(), chord_tolerance=0.002, radius=8.0)
    return finished(route_steps(lines, level, lambda points: np.zeros(len(points)), allowed, settings))


def line(*ends: tuple[float, float], uncut_left: bool = True, pieces: int = 4) -> RunLine:
    plan = np.linspace(ends[0], ends[1], pieces + 1)
    return RunLine(np.column_stack([plan, np.zeros(pieces + 1)]), uncut_left)


def in_steps(path: Path) -> list[tuple[int, int, int]]:
    """(kind, line, rows) of the consecutive rows of one kind and line."""
    changes = np.flatnonzero((np.diff(path.kind) != 0) | (np.diff(path.line) != 0)) + 1
    return [(int(path.kind[rows[0]]), int(path.line[rows[0]]), len(rows)) for rows in np.split(np.arange(len(path)), changes)]


def test_no_lines_are_a_path_without_points() -> None:
    path = routed([], anywhere)
    assert path.points.shape == (0, 3) and path.kind.shape == path.line.shape == path.feed.shape == (0,)


@pytest.mark.parametrize(("cutting_way", "uncut_left", "turned"), [
    ("climb only", True, True), ("climb only", False, False), ("conventional only", True, False), ("conventional only", False, True),
])  # fmt: skip
def test_a_line_that_is_turned_round_keeps_all_of_its_points(cutting_way: str, uncut_left: bool, turned: bool) -> None:
    bent = np.array([[0, 0, 0], [7, 1, 0], [18, 4, 0], [30, 5, 0], [50, 5.5, 0]], float)
    cut = routed([RunLine(bent, uncut_left)], anywhere, cutting_way).lines()[0]
    want = bent[::-1] if turned else bent
    assert cut[[0, -1]] == pytest.approx(want[[0, -1]])
    apart = np.linalg.norm(cut[:, None] - want[None], axis=2)
    assert (np.diff(apart.argmin(axis=0)) > 0).all() and apart.min(axis=0) == pytest.approx(np.zeros(5), abs=1e-9)


def test_lines_side_by_side_are_joined_on_the_surface() -> None:
    lines = [line((0, y), (50, y)) for y in (0, 2, 4)]
    path = routed(lines, anywhere)
    steps = in_steps(path)
    assert [step[:2] for step in steps] == [(LIFT, 1), (ENTRY, 1), (CUT, 1), (LINK, 2), (CUT, 2), (LINK, 3), (CUT, 3), (EXIT, 3)]
    machine = Machine()
    # Where nothing is known of the stock, slowly all the way down; then on a ramp of 10 mm straight on, and so away again.
    assert path.points[0] == pytest.approx([-10, 0, 10.0]) and path.feed[0] == machine.air_feed
    into = path.kind == ENTRY
    rise = 10 * np.tan(np.radians(3))
    assert path.points[into][[0, -1]] == pytest.approx(np.array([[-10, 0, rise], [0, 0, 0]]))
    # Straight down at plunge feed; the ramp at the feed of the lines, at which it comes down at 3500 sin 3 = 183 mm/min.
    assert path.feed[into][0] == machine.plunge_feed == 900 and (path.feed[into][1:] == 3500).all()
    assert path.points[-2:] == pytest.approx(np.array([[60, 4, rise], [60, 4, 10.0]])) and path.feed[-1] == machine.air_feed
    assert (path.feed[path.kind == EXIT][:-1] == 3500).all()
    on_surface = np.isin(path.kind, (CUT, LINK))
    assert not path.points[on_surface, 2].any() and (path.feed[on_surface] == 3500).all()
    # A cut begins where its entry or link has ended, so that the rows of a line are the whole of it.
    for number, run in enumerate(path.lines()):
        assert run == pytest.approx(lines[number].points[:: -1 if number == 1 else 1])
        first = int(np.flatnonzero((path.kind == CUT) & (path.line == number + 1))[0])
        assert (path.points[first] == path.points[first - 1]).all()
    assert path.lengths()[path.kind == LINK].sum() == pytest.approx(2 * np.pi, rel=0.06)  # two half circles of 1 mm radius


def test_over_barred_ground_the_cutter_is_lifted() -> None:
    def off_the_bar(points: np.ndarray) -> np.ndarray:
        return np.abs(points[:, 0] - 65) > 5

    path = routed([line((0, 0), (50, 0)), line((80, 0), (130, 0))], off_the_bar)
    assert [step[:2] for step in in_steps(path)] == [(LIFT, 1), (ENTRY, 1), (CUT, 1), (EXIT, 1), (LIFT, 2), (ENTRY, 2), (CUT, 2), (EXIT, 2)]
    # It leaves and comes on arcs, for which there is room where there is none straight on: 20 mm of radius, by hand sin and cos of half a radian.
    over = int(np.flatnonzero(path.kind == LIFT)[1])
    up = over - 1
    ahead, aside = 20 * np.sin(0.5), 20 * (1 - np.cos(0.5))
    assert np.abs(path.points[[up, over]]) == pytest.approx(np.array([[50 + ahead, aside, 10], [80 - ahead, aside, 10]]))
    assert off_the_bar(path.points).all()


def test_an_entry_from_a_safe_height_near_the_surface_only_plunges() -> None:
    path = routed([line((0, 0), (50, 0))], anywhere, safe_z=0.8 * PLUNGE_HEIGHT)
    assert [step[:2] for step in in_steps(path)[:2]] == [(LIFT, 1), (ENTRY, 1)]
    assert path.feed[path.kind == ENTRY][0] == Machine().plunge_feed


@pytest.mark.parametrize("cutting_way", ["climb only", "conventional only"])
def test_one_way_lines_keep_uncut_ground_on_their_side(cutting_way: str) -> None:
    # A spindle turning clockwise from above cuts in climb with the uncut ground on its right. Uncut ground lies towards greater y here.
    lines = [line(*((0, y), (50, y))[:: -1 if turned else 1], uncut_left=not turned) for turned in (False, True) for y in (0, 2, 4)]
    path = routed(lines, anywhere, cutting_way)
    assert path.line_count == 6
    for run in path.lines():
        eastward = run[-1, 0] > run[0, 0]  # with the uncut ground on its left
        assert eastward == (cutting_way == "conventional only")


@pytest.mark.parametrize("cutting_way", ["climb only", "conventional only", "to and fro"])
def test_a_line_between_uncut_ground_on_both_sides_is_run_either_way(cutting_way: str) -> None:
    # Three pieces of a crease 400 mm long, the middle one given the other way round: no piece has a side to climb on, so none is returned to.
    ends = (((0, 0), (120, 0)), ((260, 0), (130, 0)), ((270, 0), (400, 0)))
    path = routed([replace(line(*piece), uncut_left=None) for piece in ends], anywhere, cutting_way)
    assert path.lengths()[path.kind == LINK].sum() == pytest.approx(20.0) and (path.kind == LIFT).sum() == 1
    runs = path.lines()
    assert len({bool(run[-1, 0] > run[0, 0]) for run in runs}) == 1


def test_one_way_lines_are_finished_on_one_side_of_a_wall_before_the_other() -> None:
    # Seven lines on either side of a foot of a wall half a mm wide, each finishing 3 mm before a line beyond it begins.
    def off_the_wall(points: np.ndarray) -> np.ndarray:
        return np.abs(points[:, 0] - 51.5) > 0.26

    lines = [line((x, y), (x + 50, y)) for y in range(0, 14, 2) for x in (0, 53)]
    path = routed(lines, off_the_wall, "conventional only")
    assert (path.kind == LIFT).sum() == 2 and path.line_count == 14


def test_lines_lose_their_trims_where_they_are_joined_and_nowhere_else() -> None:
    # To and fro: the second line is run from its end, and its trims change places with it.
    lines = [line((0, y), (50, y)) for y in (0, 2, 4)]
    trims = [(0.11, 0.62), (0.23, 0.34), (0.75, 0.56)]
    runs = routed([RunLine(given.points, True, trim) for given, trim in zip(lines, trims, strict=True)], anywhere).lines()
    assert [run[k, 0] for run in runs for k in (0, -1)] == pytest.approx([0, 50 - 0.62, 50 - 0.34, 0.23, 0.75, 50])
    # One way: both are turned round for climb, and their trims with them. The first loses no more than the turn is deep at the longer line.
    short = [RunLine(line((0, y), (10, y)).points, True, (0.1, 0.6)) for y in (0, 2)]
    runs = routed(short, anywhere, "climb only").lines()
    assert [run[k, 0] for run in runs for k in (0, -1)] == pytest.approx([10, 0.1, 10 - 0.6, 0])


@pytest.mark.parametrize("bend", [1.0, -1.0])
def test_a_link_and_a_trimmed_line_meet_no_lower_than_either_lies(bend: float) -> None:
    # In a hollow the middle of a chord lies above the surface, on which links are laid: what is left of a chord that is trimmed there keeps its
    # height, since it would be tilted into the ground. On a crown the chord lies below, and the link would begin too low.
    def ground(points: np.ndarray) -> np.ndarray:
        return bend * points[..., 0] ** 2 / 40

    def in_steps_of_one(points: np.ndarray) -> Generator[float, None, np.ndarray]:
        yield 1.0
        return ground(points)

    x = np.linspace(-20, 20, 5)
    lines = [RunLine(np.column_stack([x, np.full(5, y), ground(x[:, None])]), True, (0.7, 0.7)) for y in (0.0, 2.0)]
    settings = RouteSettings("to and fro", 3500.0, 40.0, machine=Machine(), chord_tolerance=0.002, radius=8.0)
    path = finished(route_steps(lines, in_steps_of_one, ground, anywhere, settings))

    def highest(point: np.ndarray) -> float:
        return max(float(ground(point)), float(np.interp(point[0], x, ground(x[:, None]))))

    first = int(np.flatnonzero((path.kind == CUT) & (path.line == 2))[0])
    assert path.kind[first - 1] == LINK and (path.points[first] == path.points[first - 1]).all()
    assert path.points[first, 2] == pytest.approx(highest(path.points[first]))
    last = int(np.flatnonzero((path.kind == CUT) & (path.line == 1))[-1])
    assert path.kind[last + 1] == LINK and path.points[last, 2] == pytest.approx(highest(path.points[last]))


def test_no_lines_make_an_empty_path() -> None:
    assert len(routed([], anywhere)) == 0


def test_a_long_link_gives_way_to_a_lift_when_that_is_quicker() -> None:
    # Closed form with the default machine: up and down 10 mm at 25 mm/s each and 1 mm at 15 mm/s, in the air at 83.3 mm/s, linked at 58.3; and
    # what stops and starts count for.
    even = (20 / 25 + 1 / 15 + LIFT_SURCHARGE) / (60 / 3500 - 60 / 5000)
    for span, kind in ((0.98 * even, LINK), (1.02 * even, LIFT)):
        path = routed([line((0, 0), (50, 0)), line((50 + span, 0), (100 + span, 0))], anywhere)
        assert kind in path.kind[1:] and (LINK in path.kind) == (kind == LINK)
    # What is chosen well before and well after is the quicker one by the run time model, stops and starts included.
    for span, linked_is_quicker in ((0.5 * even, True), (2.5 * even, False)):
        two = [line((0, 0), (50, 0)), line((50 + span, 0), (100 + span, 0))]
        chosen = routed(two, anywhere)
        cuts = np.concatenate([two[0].points, two[1].points])
        on_surface = np.isin(np.arange(len(cuts)), len(two[0].points))
        kind = np.where(on_surface, LINK, CUT).astype(np.uint8)
        straight = Path(cuts, kind, np.ones(len(cuts), np.int32), np.full(len(cuts), 3500.0))
        lifted = routed(two, lambda points: np.zeros(len(points), bool))
        down_and_up = sum(run_time(lifted, Machine()).seconds_by_kind[name] for name in ("entry", "exit")) / 2
        linked = run_time(straight, Machine()).total_seconds + down_and_up
        assert (linked < run_time(lifted, Machine()).total_seconds) is linked_is_quicker
        assert (LINK in chosen.kind) is linked_is_quicker


@pytest.mark.parametrize(("corners", "least", "most"), [(CORNER_SPEED, 0.4, 0.6), (OVERLAP, 1.0, 1.4)])
def test_what_a_lift_counts_for_in_the_order_is_near_what_it_takes(corners: str, least: float, most: float) -> None:
    # By the run time model: between two lines square to the move, stops and starts take half a second where corners are passed at a
    # speed, and a little over one where blocks overlap, which have half of the acceleration each. A lift counts for one.
    machine, feed = Machine(corners=corners), 3500.0
    for span in (15.0, 60.0, 200.0):
        for safe_z in (8.0, 15.0, 40.0):
            points = np.array([[0, 0, 0], [60, 0, 0], [60, 0, safe_z], [60, span, safe_z], [60, span, PLUNGE_HEIGHT], [60, span, 0], [0, span, 0]])
            kind = np.array([CUT, CUT, EXIT, LIFT, ENTRY, ENTRY, CUT], np.uint8)
            feeds = np.array([feed, feed, *[machine.air_feed] * 3, machine.plunge_feed, feed])
            whole = run_time(Path(points, kind, np.ones(7, np.int32), feeds), machine).total_seconds
            through = run_time(Path(points[[0, 1]] * 2, kind[:2], np.ones(2, np.int32), feeds[:2]), machine).total_seconds
            settings = RouteSettings("to and fro", feed, safe_z, machine=machine, chord_tolerance=0.002, radius=8.0)
            up_and_down = Hops(settings, None).rough_seconds(lambda places: np.zeros(len(places)))(points[None, [1, 5], :2])[0] - LIFT_SURCHARGE
            counted = up_and_down + 60 * span / machine.air_feed
            assert least < whole - through - counted < most


# ---- trims and set back turns


def region_between(grid: Grid, left: float, right: float) -> AxisRegion:
    """Axis positions from left to right may be cut; where contacts lie does not matter here."""
    cutting = np.zeros(grid.shape, bool)
    cutting[:, (grid.x() >= left) & (grid.x() <= right)] = True
    none = np.zeros(grid.shape, np.int32)
    return AxisRegion(grid, cutting=cutting, linking=cutting, contact_row=none, contact_column=none, slope_degrees=np.zeros(grid.shape))


RADIUS, CUSP, HOLLOW = 8.0, 0.05, 20.0


@pytest.mark.parametrize("form", ["flat", "slope", "hollow"])
def test_lines_may_end_half_a_spacing_early_at_the_border(form: str) -> None:
    # Closed forms. In a hollow of radius r the tip runs on r - R, the unit along it is s sqrt((r - R)/r) there, and the contact
    # moves r / (r - R) as far as the tip: on the ground no more than half of the flat spacing s may be left.
    grid = Grid(left=-15.0, front=-5.0, cell=0.25, rows=41, columns=121)
    x = np.broadcast_to(grid.x(), grid.shape)
    flat = float(spacing_on_flat(RADIUS, CUSP))
    within = HOLLOW - RADIUS
    tip, expected = {
        "flat": (np.zeros(grid.shape), flat / 2),
        "slope": (0.7 * x, flat / 2 / np.hypot(1, 0.7)),
        "hollow": (-np.sqrt(np.maximum(within**2 - x**2, 1.0)), flat / 2 * within / HOLLOW),
    }[form]
    metric = cusp_metric(tip, grid, RADIUS, CUSP, 0.25)
    region = region_between(grid, -20.0, 4.0)
    lines = [np.array([[-3.0, 0.0], [0.0, 0.0], [4.0, 0.0]]), np.array([[4.0, 1.0], [-4.0, 1.0]])]
    trims = end_trims(lines, region, metric)
    assert trims[0, 0] == trims[1, 1] == 0  # they end amid ground that may be cut
    assert trims[0, 1] == pytest.approx(expected, rel=0.03)
    assert trims[1, 0] == pytest.approx(expected, rel=0.03)
    # A corner of the region that only the farthest place beyond lies in does not make it go on.
    region.cutting[:, grid.x() > 4.9] = True
    assert end_trims(lines, region, metric)[0, 1] == trims[0, 1]
    ring = np.array([[4.0, 0.0], [0.0, 2.0], [0.0, -2.0], [4.0, 0.0]])
    assert not end_trims([ring], region, metric).any()
    given = [RunLine(np.column_stack([plan, np.zeros(len(plan))]), left) for plan, left in zip(lines, (True, False), strict=True)]
    for before, after, own in zip(given, with_end_trims(given, region, metric), trims, strict=True):
        assert after.trim == tuple(own) and after.points is before.points and after.uncut_left == before.uncut_left


def seconds(*pieces: np.ndarray) -> float:
    """Run time of pieces in plan on a machine with all axes alike."""
    plan = np.concatenate([piece[:, :2] for piece in pieces])
    points = np.column_stack([plan, np.zeros(len(plan))])
    n = len(points)
    return run_time(Path(points, np.full(n, CUT, np.uint8), np.ones(n, np.int32), np.full(n, 3500.0)), EVEN).total_seconds


@pytest.mark.parametrize("slant", [0.0, 2.0, 4.0, 6.0, -6.0])
def test_a_turn_on_the_border_is_quick_and_stays_there(slant: float) -> None:
    apart = float(spacing_on_flat(RADIUS, CUSP))
    before = np.column_stack([np.linspace(-60, 0, 31), np.zeros(31), np.zeros(31)])
    after = np.column_stack([np.linspace(slant, slant - 60, 31), np.full(31, apart), np.zeros(31)])
    turn = set_back_turn(before, after, (apart / 2, apart / 2), anywhere)
    assert turn is not None
    first, link, second = turn
    assert np.allclose(link[0], first[-1, :2]) and np.allclose(link[-1], second[0, :2])
    for line, kept in ((before, first), (after, second)):
        lost = np.linalg.norm(np.diff(line, axis=0), axis=1).sum() - np.linalg.norm(np.diff(kept, axis=0), axis=1).sum()
        assert 0 <= lost <= apart / 2 + 1e-9
    # The border runs through both ends: the link passes it by no more than a quarter of the spacing, on the square by a tenth.
    across = np.array([apart, -slant]) / np.hypot(apart, slant)
    assert (link @ across).max() < (0.25 if slant else 0.1) * apart
    # Closed form: a half circle begun at the border, reached in a straight line with the lines.
    angle = np.linspace(-np.pi / 2, np.pi / 2, 25)
    reach = max(slant, 0.0)
    circle = np.column_stack([reach + apart / 2 * np.cos(angle), apart / 2 + apart / 2 * np.sin(angle)])
    assert seconds(first, link, second) < seconds(before, circle, after) - 0.02


@pytest.mark.parametrize("slant", [2.0, -2.0])
def test_lines_lose_no_more_than_their_turn_is_deep(slant: float) -> None:
    # Lines d apart whose ends lie s apart: a turn is d / 2 deep at the shorter line and d / s of that at the longer one.
    before = np.array([[-60.0, 0, 0], [0, 0, 0]])
    after = np.array([[slant, 2.0, 0], [slant - 60, 2.0, 0]])
    turn = set_back_turn(before, after, (5.0, 5.0), anywhere)
    assert turn is not None
    lost = [-turn[0][-1, 0], slant - turn[2][0, 0]]
    expected = [1.0, 2.0 / np.hypot(2.0, slant)]
    assert lost == pytest.approx(expected if slant > 0 else expected[::-1])


def test_lines_that_may_lose_nothing_are_left_whole() -> None:
    before, after = np.array([[-9.0, 0, 0], [0, 0, 0]]), np.array([[0.0, 2, 0], [-9, 2, 0]])
    assert set_back_turn(before, after, (0.0, 0.0), anywhere) is None
    link = surface_link(before[-1, :2], np.array([1.0, 0]), after[0, :2], np.array([-1.0, 0]), anywhere)
    assert link is not None and np.allclose(link[[0, -1]], [[0, 0], [0, 2]])
    # What is lost is measured in plan: on a slope of 45 degrees the line itself loses more.
    steep = before * [1, 1, 0] + np.column_stack([np.zeros((2, 2)), before[:, 0]])
    turn = set_back_turn(steep, after, (0.5, 0.0), anywhere)
    assert turn is not None and turn[0][-1] == pytest.approx([-0.5, 0, -0.5])
    assert (turn[2] == after).all()


def test_a_line_that_begins_where_the_one_before_ends_needs_no_turn() -> None:
    before, after = np.array([[-9.0, 0, 0], [0, 0, 0]]), np.array([[0.0, 0, 0], [-9, 2, 0]])
    assert set_back_turn(before, after, (1.0, 1.0), anywhere) is None
    link = surface_link(before[-1, :2], np.array([1.0, 0]), after[0, :2], np.array([-1.0, 0.2]), anywhere)
    assert link is not None and not link.any()


def test_a_turn_that_finds_no_room_is_not_taken() -> None:
    before, after = np.array([[-9.0, 0, 0], [0, 0, 0]]), np.array([[0.0, 2, 0], [-9, 2, 0]])
    assert set_back_turn(before, after, (1.0, 1.0), lambda points: points[:, 0] < -5) is None
