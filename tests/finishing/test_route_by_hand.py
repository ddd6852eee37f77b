"""A route of three short lines row by row, and what the search for its order is told: all by hand."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass
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

MACHINE = Machine(air_feed=4800.0, speed_z=1200.0, plunge_feed=600.0)
SAFE_Z, FEED = 40.0, 3000.0

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
        return np.where((moves[:, :, 0].min(axis=1) < -15) & (moves[:, :, 0].max(axis=1) > -15), self.between, self.here)

    def roughly(self, moves: np.ndarray) -> np.ndarray:
        return self.over(moves)


def steps_over(air: Air | None, way: str = "climb only", uncut_left: bool | None = False) -> Generator[float, None, Path]:
    settings = RouteSettings(way, FEED, SAFE_Z, machine=MACHINE, chord_tolerance=0.002, radius=6.0)
    lines = [RunLine(on_slope(plan), uncut_left) for plan in (FIRST, SECOND, THIRD)]
    return route_steps(lines, exact, slope, allowed, settings, air)


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
    assert (path.points[rows[-1]] == path.points[rows[-1] + 1]).all() and path.kind[rows[0] - 1] == path.kind[rows[-1] + 1] == CUT


def down(number: int, x: float, z: float, height: float, slow: float | None) -> list[Row]:
    """To above a place, fast to 1 mm above what may stand there, where that is lower, and slowly on."""
    fast = [] if slow is None else [(ENTRY, number, 4800.0, [x, 0.0, slow])]
    return [(LIFT, number, 4800.0, [x, 0.0, height]), *fast, (ENTRY, number, 600.0, [x, 0.0, z])]


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
        *down(1, 0.0, 5.0, SAFE_Z, slow_first), *cuts(1, FIRST), *cuts(2, SECOND), (EXIT, 2, 4800.0, [0.0, 0.5, hop]),
        *down(3, -30.0, 2.0, hop, slow_third), *cuts(3, THIRD), (EXIT, 3, 4800.0, [-30.8, 0.0, SAFE_Z]),
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
    # Links at 50 mm/s on their islands and nowhere else; in the air at 80 mm/s, up and down at 20, 0.1 s of plunge and a second for each lift.
    moves = np.array([[[0.0, 0], [0.0, 9.0]], [[0, 0], [-30, 0]], [[-31, 0], [-29.5, 0.5]], [[0, 0], [0, 12]]])
    hop = 1.1 + ((18 - 5) + (18 - 2)) / 20 + 30 / 80
    here = 1.1 + 12 / 80  # 1 mm above the 4 mm that stand here is as high as both ends already
    # To and fro short moves count as free; one way that of 9 mm, which leaves its island, counts as the hop that it is.
    short = 9 / 50 if way == "to and fro" else 1.1 + 9 / 80
    assert told["costs"].of(moves) == pytest.approx([short, hop, np.hypot(1.5, 0.5) / 50, here])
    assert told["costs"].least(12.0) == pytest.approx(12 / 50) and told["costs"].least(400.0) == pytest.approx(2 / 20 + 1.1 + 400 / 80)
