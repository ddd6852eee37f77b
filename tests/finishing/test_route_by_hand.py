"""A route of three short lines row by row, and what the search for its order is told: all by hand."""

from __future__ import annotations

from collections.abc import Generator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from shapely import box
from shapely import contains_xy as holds

from addon.finishing.core.path import CUT, ENTRY, EXIT, LIFT, LINK, Path
from addon.finishing.core.stepping import finished
from addon.finishing.job.machine import Machine
from addon.finishing.motion import route as route_module
from addon.finishing.motion.hops import Air, RouteSettings
from addon.finishing.motion.route import RunLine, route_steps

MACHINE = Machine(air_feed=4830.0, speed_z=1200.0, plunge_feed=600.0)
SAFE_Z, FEED = 40.0, 3015.0

FIRST = np.array([[0.0, 0], [0.3, 0], [0.8, 0]])
SECOND = np.array([[0.8, 0.5], [0.5, 0.5], [0, 0.5]])
THIRD = np.array([[-30.0, 0], [-30.4, 0], [-30.8, 0]])
"""Too short for ramps, in the one order and direction in which the way between them is shortest."""

GROUND = box(-1, -1, 2, 1.5).union(box(-32, -1, -29, 1))
"""Two islands, too small for ramps beyond the lines; one holds the first two lines."""


def allowed(points: np.ndarray) -> np.ndarray:
    return holds(GROUND, points[:, 0], points[:, 1])


def slope(points: np.ndarray) -> np.ndarray:
    """Tip heights: a plane that falls to the left, 5 mm at the first line and 2 mm at the third."""
    return 5 + points[..., 0] / 10


def on_slope(plan: np.ndarray) -> np.ndarray:
    return np.column_stack([plan, slope(plan)])


def exact(points: np.ndarray) -> Generator[float, None, np.ndarray]:
    yield 0.5
    return slope(points)


@dataclass(frozen=True)
class Stands(Air):
    """Something of one height between the islands, and something lower on them."""

    between: float
    here: float

    def over(self, moves: np.ndarray) -> np.ndarray:
        assert moves.shape[1:] == (2, 2)
        return np.where((moves[:, :, 0].min(axis=1) < -15) & (moves[:, :, 0].max(axis=1) > -15), self.between, self.here)

    def roughly(self, moves: np.ndarray) -> np.ndarray:
        return self.over(moves)


SETTINGS = RouteSettings("to and fro", FEED, SAFE_Z, machine=MACHINE, chord_tolerance=0.002, radius=6.0)


def steps_over(air: Air | None, way: str = "climb only", uncut_left: bool | None = False) -> Generator[float, None, Path]:
    lines = [RunLine(on_slope(plan), uncut_left) for plan in (FIRST, SECOND, THIRD)]
    return route_steps(lines, exact, slope, allowed, replace(SETTINGS, cutting_way=way), air)


Row = tuple[int, int, float, list[float]]
"""Kind, line, feed and place of one row of a path."""


def cuts(number: int, plan: np.ndarray) -> list[Row]:
    return [(CUT, number, FEED, point) for point in on_slope(plan).tolist()]


def assert_turn(path: Path) -> None:
    """The link from the first line to the second lies on a Bezier curve with arms of 0.7 * 0.5 mm, but for 0.02 mm for every 2 mm of its span by
    which chords of nine points leave a half circle, and its last row begins the line.
    """
    rows = np.flatnonzero(path.kind == LINK)
    assert len(rows) > 3 and (np.diff(rows) == 1).all() and (path.line[rows] == 2).all() and (path.feed[rows] == FEED).all()
    t = np.linspace(0, 1, 2001)[:, None]
    corners = np.array([[0.8, 0], [0.8 + 0.35, 0], [0.8 + 0.35, 0.5], [0.8, 0.5]])
    curve = on_slope(np.concatenate([(1 - t) ** 3, 3 * (1 - t) ** 2 * t, 3 * (1 - t) * t**2, t**3], axis=1) @ corners)
    away = np.linalg.norm(path.points[rows, None] - curve, axis=2)
    assert away.min(axis=1).max() < 0.005 and (np.diff(away.argmin(axis=1)) > 0).all()
    assert (path.points[rows[-1]] == path.points[rows[-1] + 1]).all() and (path.points[rows[0]] != path.points[rows[0] - 1]).any()
    assert path.kind[rows[0] - 1] == path.kind[rows[-1] + 1] == CUT


def down(number: int, x: float, z: float, height: float, slow: float | None) -> list[Row]:
    """To above a place, fast to 1 mm above what may stand there, where that is lower, and slowly on."""
    fast = [] if slow is None else [(ENTRY, number, 4830.0, [x, 0.0, slow])]
    return [(LIFT, number, 4830.0, [x, 0.0, height]), *fast, (ENTRY, number, 600.0, [x, 0.0, z])]


def assert_rows(path: Path, expected: list[Row]) -> None:
    others = path.kind != LINK
    assert path.kind[others].tolist() == [row[0] for row in expected]
    assert path.line[others].tolist() == [row[1] for row in expected]
    assert path.feed[others].tolist() == [row[2] for row in expected]
    assert path.points[others] == pytest.approx(np.array([row[3] for row in expected]), abs=1e-9)


@pytest.mark.parametrize(("air", "slow_first", "slow_third", "hop"), [
    # 1 mm above what stands here, or above the line's own beginning; the hop 1 mm above what stands between.
    (Stands(17.0, 4.0), 6.0, 5.0, 18.0),
    (Stands(17.0, 1.0), 6.0, 3.0, 18.0),
    # Where nothing stands between, the hop goes 1 mm above the higher of its ends.
    (Stands(-np.inf, -np.inf), 6.0, 3.0, 6.0),
    # What stands as high as the move comes in leaves no way down that is fast; so too where nothing is known.
    (Stands(60.0, 38.9), 39.9, 39.9, 40.0),
    (Stands(60.0, 39.0), None, None, 40.0),
    (None, None, None, 40.0),
])  # fmt: skip
def test_three_lines_row_by_row(air: Air | None, slow_first: float | None, slow_third: float | None, hop: float) -> None:
    path = finished(steps_over(air))
    assert_turn(path)
    assert_rows(path, [
        *down(1, 0.0, 5.0, SAFE_Z, slow_first), *cuts(1, FIRST), *cuts(2, SECOND), (EXIT, 2, 4830.0, [0.0, 0.5, hop]),
        *down(3, -30.0, 2.0, hop, slow_third), *cuts(3, THIRD), (EXIT, 3, 4830.0, [-30.8, 0.0, SAFE_Z]),
    ])  # fmt: skip


def test_shares_of_the_work_rise_from_nothing_to_all() -> None:
    shares = list(steps_over(Stands(17.0, 4.0)))
    assert shares[0] > 0 and all(before <= after for before, after in pairwise(shares)) and shares[-1] <= 1
    # Half of the heights of links are known half of their way, and so the others.
    assert {0.3, 0.6} <= {round(share, 9) for share in shares} and len(set(shares)) >= 5


@pytest.mark.parametrize(("way", "uncut_left", "reversed_lines", "may_reverse"), [
    ("to and fro", True, False, True), ("to and fro", False, False, True),
    ("climb only", True, True, False), ("climb only", False, False, False),
    ("conventional only", True, False, False), ("conventional only", False, True, False),
    ("climb only", None, False, True), ("conventional only", None, False, True),
])  # fmt: skip
def test_what_the_search_for_an_order_is_told(
    monkeypatch: pytest.MonkeyPatch, way: str, uncut_left: bool | None, reversed_lines: bool, may_reverse: bool
) -> None:
    told: dict[str, Any] = {}
    search = route_module.running_order

    def heard(lines, start, reverse, costs):  # noqa: ANN001, ANN202
        told.update(lines=lines, start=start, reverse=reverse, costs=costs)
        return search(lines, start, reverse, costs)

    monkeypatch.setattr(route_module, "running_order", heard)
    finished(steps_over(Stands(17.0, 4.0), way, uncut_left))
    given = [on_slope(plan)[:: -1 if reversed_lines else 1] for plan in (FIRST, SECOND, THIRD)]
    assert all(np.array_equal(mine, theirs) for mine, theirs in zip(given, told["lines"], strict=True))
    assert told["start"].tolist() == given[0][0].tolist() and told["reverse"].tolist() == [may_reverse] * 3
    # Links at 50.25 mm/s on their islands and nowhere else; in the air at 80.5 mm/s, up and down at 20, 0.1 s of plunge and a second for each lift.
    moves = np.array([[[0.0, 0], [0.0, 9.0]], [[0, 0], [-30, 0]], [[-31, 0], [-29.5, 0.5]], [[0, 0], [0, 12]]])
    hop = 1.1 + ((18 - 5) + (18 - 2)) / 20 + 30 / 80.5
    here = 1.1 + 12 / 80.5  # 1 mm above the 4 mm that stand here is as high as both ends already
    # To and fro short moves count as free; one way that of 9 mm, which leaves its island, counts as the hop that it is.
    short = 9 / 50.25 if way == "to and fro" else 1.1 + 9 / 80.5
    assert told["costs"].of(moves) == pytest.approx([short, hop, np.hypot(1.5, 0.5) / 50.25, here])
    assert told["costs"].least(12.0) == pytest.approx(12 / 50.25) and told["costs"].least(400.0) == pytest.approx(2 / 20 + 1.1 + 400 / 80.5)


# ---- leads and links of longer lines

RISE = float(np.tan(np.radians(3.0)))
"""Of ramps."""


def level(points: np.ndarray) -> Generator[float, None, np.ndarray]:
    yield 0.5
    return np.zeros(points.shape[:-1])


def on_level(lines: list[RunLine], room: object, air: Air | None, beside: object = None) -> Path:
    """The path over lines on level ground at 0; room: where links may go, a shape of shapely's."""
    ground = lambda points: holds(room, points[:, 0], points[:, 1])  # noqa: E731
    return finished(route_steps(lines, level, lambda points: np.zeros(len(points)), ground, SETTINGS, air, beside))  # type: ignore[arg-type]


def flat_line(*plan: tuple[float, float]) -> RunLine:
    return RunLine(np.column_stack([np.array(plan, float), np.zeros(len(plan))]), True)


def test_a_line_loses_nothing_unless_it_may() -> None:
    assert flat_line((0, 0), (1, 0)).trim == (0.0, 0.0)


@pytest.mark.parametrize(("stands", "slow"), [(-np.inf, 10 * RISE + 1), (0.3, 10 * RISE + 1), (4.0, 5.0)])
def test_the_way_down_to_a_ramp_is_fast_to_1_mm_above_its_far_end_or_what_may_stand_there(stands: float, slow: float) -> None:
    # Straight on before the first chord and beyond the last one, which bends, 10 mm and 3 degrees.
    path = on_level([flat_line((0, 0), (30, 0), (33, 4))], box(-20, -20, 60, 60), Stands(stands, stands))
    far, out = [-10.0, 0.0, 10 * RISE], [33 + 6.0, 4 + 8.0, 10 * RISE]
    assert path.points[:3] == pytest.approx(np.array([[*far[:2], SAFE_Z], [*far[:2], slow], far]))
    assert path.feed[:3].tolist() == [4830.0, 4830.0, 600.0]
    assert path.points[-2:] == pytest.approx(np.array([out, [*out[:2], SAFE_Z]]))


@dataclass(frozen=True)
class Banks(Air):
    """Stock that stands 20 mm high beyond both ends of a line of 30 mm."""

    def over(self, moves: np.ndarray) -> np.ndarray:
        return np.where((moves[:, :, 0].min(axis=1) < -1) | (moves[:, :, 0].max(axis=1) > 31), 20.0, 0.0)

    def roughly(self, moves: np.ndarray) -> np.ndarray:
        return self.over(moves)


def test_a_ramp_is_laid_over_the_line_itself_where_stock_is_known_to_stand_beyond_its_end() -> None:
    for air, far in ((Banks(), (10.0, 20.0)), (None, (-10.0, 40.0))):
        path = on_level([flat_line((0, 0), (30, 0))], box(-20, -20, 60, 60), air)
        assert path.points[[0, -1]] == pytest.approx(np.array([[far[0], 0, SAFE_Z], [far[1], 0, SAFE_Z]]))


def test_every_row_of_a_hop_carries_the_number_of_its_line() -> None:
    path = on_level([flat_line((x, 0), (x + 20, 0)) for x in (0, 60, 120)], box(-20, -1, 41, 1).union(box(45, -1, 96, 1)), Stands(17.0, 4.0))
    assert (np.diff(path.line) >= 0).all() and set(path.line) == {1, 2, 3}
    changes = np.flatnonzero(np.diff(path.line) == 1)
    assert path.kind[changes].tolist() == [EXIT, EXIT] and path.kind[changes + 1].tolist() == [LIFT, LIFT]
    # After a lift the way down, fast and then slow, down to the ramp and along it.
    assert [path.kind[path.line == number].tolist()[:3] for number in (1, 2, 3)] == [[LIFT, ENTRY, ENTRY]] * 3


@dataclass(frozen=True)
class Walls(Air):
    """A wall of 17 mm at x = -20 and one of 12 mm at x = -80."""

    def over(self, moves: np.ndarray) -> np.ndarray:
        low, high = moves[:, :, 0].min(axis=1), moves[:, :, 0].max(axis=1)
        return np.maximum(np.where((low < -20) & (high > -20), 17.0, 0.0), np.where((low < -80) & (high > -80), 12.0, 0.0))

    def roughly(self, moves: np.ndarray) -> np.ndarray:
        return self.over(moves)


def test_links_and_hops_of_different_heights_come_where_they_belong() -> None:
    plans = [((0, 0), (20, 0)), ((20, 2), (0, 2)), ((-40, 2), (-60, 2)), ((-100, 2), (-120, 2)), ((-120, 0), (-100, 0))]
    islands = box(-1, -1, 22, 3).union(box(-62, -1, -39, 3)).union(box(-122, -1, -99, 3))
    path = on_level([flat_line(*plan) for plan in plans], islands, Walls())
    begins = [int(np.flatnonzero(path.line == number)[0]) for number in range(1, 6)]
    # Alike in both directions: a link on the first island, over both walls to the others, and a link again.
    assert path.kind[begins].tolist() == [LIFT, LINK, LIFT, LIFT, LINK] and (np.diff(path.line) >= 0).all()
    for row in begins[2:4]:
        wall = 17.0 if abs(path.points[row, 0] + path.points[row - 1, 0]) < 80 else 12.0
        assert path.points[[row - 1, row], 2].tolist() == [wall + 1, wall + 1]


def one_way(plans: Sequence[Sequence[tuple[float, float]]], room: object, air: Air) -> Path:
    """The path over lines on level ground that are run as they are given."""
    lines = [RunLine(flat_line(*plan).points, uncut_left=False) for plan in plans]
    ground = lambda points: holds(room, points[:, 0], points[:, 1])  # noqa: E731
    settings = replace(SETTINGS, cutting_way="climb only")
    return finished(route_steps(lines, level, lambda points: np.zeros(len(points)), ground, settings, air))


def test_after_a_hop_that_is_quicker_than_a_link_links_go_on() -> None:
    path = one_way([((0, 0), (30, 0)), ((330, 0), (360, 0)), ((360, 2), (330, 2))], box(-99, -99, 499, 99), Stands(0.0, 0.0))
    assert path.kind[[int(np.flatnonzero(path.line == number)[0]) for number in (1, 2, 3)]].tolist() == [LIFT, LIFT, LINK]


@pytest.mark.parametrize(("plans", "room"), [
    ((((0, 0), (30, 0)), ((60, 0), (60.8, 0))), box(-20, -20, 45, 20).union(box(59, -1, 62, 1))),
    ((((0, 0), (0.8, 0)), ((30, 0), (60, 0))), box(-1, -1, 2, 1).union(box(15, -20, 80, 20))),
])  # fmt: skip
def test_a_hop_begins_and_ends_at_the_far_ends_of_leads(plans, room) -> None:  # noqa: ANN001
    # One of the lines is too short for a ramp, the other has one of 10 mm: the hop is 1 mm above the far end of that, and goes from there.
    path = one_way(plans, room, Stands(-np.inf, -np.inf))
    over = int(np.flatnonzero(path.kind == LIFT)[1])
    assert path.points[[over - 1, over], 2] == pytest.approx(10 * RISE + 1)
    assert path.points[over, 0] - path.points[over - 1, 0] == pytest.approx(plans[1][0][0] - plans[0][1][0] - 10)


def test_a_lead_out_is_the_lead_in_of_the_line_run_backwards() -> None:
    # No room straight on, so that leads follow arcs with points between.
    there, back = (on_level([flat_line(*plan)], box(-6, -12, 36, 12), None) for plan in (((0, 0), (30, 0)), ((30, 0), (0, 0))))
    into, out = (path.points[path.kind == kind] for path, kind in ((back, ENTRY), (there, EXIT)))
    # The way down ends on the line itself, which is the last row of its cut; the way up ends at the safe height.
    assert len(into) > 6 and out[:-1] == pytest.approx(into[-2::-1]) and out[-1] == pytest.approx([*into[0, :2], SAFE_Z])
    assert (there.feed[there.kind == EXIT] == [*[FEED] * (len(out) - 1), 4830.0]).all()


def test_beside_the_work_the_cutter_leaves_level_as_it_comes() -> None:
    # The surface falls away beyond x = 0 and x = 30: 0.5 mm lower it is clear, which is at the first place looked at.
    def falling(points: np.ndarray) -> np.ndarray:
        return np.where((points[..., 0] < -1e-9) | (points[..., 0] > 30 + 1e-9), -1.0, 0.0)

    def steps(points: np.ndarray) -> Generator[float, None, np.ndarray]:
        yield 0.5
        return falling(points)

    beside = lambda points: (points[:, 0] < 0) | (points[:, 0] > 30)  # noqa: E731
    path = finished(
        route_steps([flat_line((0, 0), (30, 0))], steps, falling, lambda points: ~beside(points), SETTINGS, Stands(-np.inf, -np.inf), beside)
    )
    assert path.kind.tolist() == [LIFT, ENTRY, ENTRY, ENTRY, CUT, CUT, EXIT, EXIT]
    expected = [[-0.5, 0, SAFE_Z], [-0.5, 0, 1], [-0.5, 0, 0], [0, 0, 0], [0, 0, 0], [30, 0, 0], [30.5, 0, 0], [30.5, 0, SAFE_Z]]
    assert path.points == pytest.approx(np.array(expected))
    assert path.feed.tolist() == [4830.0, 4830.0, 600.0, FEED, FEED, FEED, FEED, 4830.0]


def test_a_link_leaves_along_the_last_chord_and_enters_along_the_first() -> None:
    # Both lines bend in their last mm towards each other, by 45 degrees.
    path = on_level([flat_line((0, 0), (20, 0), (21, 0.5)), flat_line((21, 3.5), (20, 4), (0, 4))], box(-40, -40, 80, 80), None)
    rows = np.flatnonzero(path.kind == LINK)
    link = path.points[[rows[0] - 1, *rows]]
    leaving, entering = link[1] - link[0], link[-1] - link[-2]
    for move, chord in ((leaving, [1, 0.5]), (entering, [-1, 0.5])):
        # A chord of the turn, which turns by less than 127 degrees over nine points.
        along = move[:2] @ chord / np.hypot(*move[:2]) / np.hypot(*chord)
        assert along > np.cos(np.radians(12))


def test_lines_and_links_on_a_slope_lie_on_it() -> None:
    # Each line lies higher than the one before; no end is raised to a link that it does not meet.
    def uphill(points: np.ndarray) -> np.ndarray:
        return points[..., 1] / 2

    def steps(points: np.ndarray) -> Generator[float, None, np.ndarray]:
        yield 0.5
        return uphill(points)

    lines = [RunLine(np.array([[0, y, y / 2], [9, y, y / 2], [30, y, y / 2]]), True) for y in (0.0, 2.0, 4.0, 6.0)]
    path = finished(route_steps(lines, steps, uphill, lambda points: np.ones(len(points), bool), SETTINGS))
    surface = np.isin(path.kind, (CUT, LINK))
    assert path.kind[surface].tolist().count(CUT) == 12
    assert path.points[surface, 2] == pytest.approx(path.points[surface, 1] / 2, abs=1e-9)


def test_how_long_a_way_round_may_be(monkeypatch: pytest.MonkeyPatch) -> None:
    told: dict[str, Any] = {}

    def heard(start, end, ground, longest):  # noqa: ANN001, ANN202
        told.update(start=start.tolist(), end=end.tolist(), longest=longest)
        return None

    monkeypatch.setattr(route_module, "way_round", heard)
    finished(steps_over(Stands(17.0, 4.0)))
    # From the end of the second line to the beginning of the third: as long as a hop up 13 mm and down 16 mm takes on the surface.
    assert told["start"] == [0.0, 0.5] and told["end"] == [-30.0, 0.0]
    seconds = (13 + 16) / 20 + 1.1 + np.hypot(30, 0.5) / 80.5
    assert told["longest"] == pytest.approx(seconds * FEED / 60)


def test_a_run_is_raised_at_its_ends_to_the_links_that_meet_it() -> None:
    run = np.array([[0.0, 0, 1], [1, 0, 2], [2, 0, 3]])
    before, after = np.array([[9.0, 9, 7], [0, 0, 5]]), np.array([[2.0, 0, 6], [9, 9, 8]])
    raise_ends = route_module._at_ends_of_links
    assert raise_ends(run, None, None)[:, 2].tolist() == [1, 2, 3]
    assert raise_ends(run, before, None)[:, 2].tolist() == [5, 2, 3]
    assert raise_ends(run, None, after)[:, 2].tolist() == [1, 2, 6]
    assert raise_ends(run, before - [0, 0, 9], after - [0, 0, 9]).tolist() == run.tolist() == [[0, 0, 1], [1, 0, 2], [2, 0, 3]]
