"""Ways round ground that links may not cross: against closed forms, visibility graphs by shapely, and hops."""

from __future__ import annotations

from collections.abc import Callable, Generator
from itertools import pairwise

import numpy as np
import pytest
from scipy.sparse.csgraph import shortest_path
from shapely import LineString, Point, Polygon, box
from shapely import contains_xy as holds

from addon.finishing.core.path import LIFT, LINK, Path
from addon.finishing.core.stepping import finished
from addon.finishing.job.machine import Machine
from addon.finishing.job.request import TO_AND_FRO
from addon.finishing.motion.hops import RouteSettings
from addon.finishing.motion.links import CHECK_STEP, stays_on
from addon.finishing.motion.route import RunLine, route_steps
from addon.finishing.motion.ways_round import FINEST_LATTICE, LONGEST_WAY, way_round


def within(shape) -> Callable[[np.ndarray], np.ndarray]:  # noqa: ANN001
    """Whether points lie in a shape of shapely's."""
    return lambda points: holds(shape, points[:, 0], points[:, 1])


def length_of(way: np.ndarray) -> float:
    return float(np.hypot(*np.diff(way, axis=0).T).sum())


def shortest_by_visibility(start: np.ndarray, end: np.ndarray, ground: Polygon) -> float:
    """Length of the shortest way within a polygon with holes: over its corners that see each other (T. Lozano-Perez, M. Wesley 1979)."""
    rings = [ground.exterior, *ground.interiors]
    corners = np.concatenate([[start, end], *(np.array(ring.coords)[:-1] for ring in rings)])
    wide = ground.buffer(1e-6)
    count = len(corners)
    apart = np.zeros((count, count))
    for i in range(count):
        for j in range(i):
            if wide.contains(LineString([corners[i], corners[j]])):
                apart[i, j] = apart[j, i] = np.hypot(*(corners[i] - corners[j]))
    return float(shortest_path(apart, indices=0)[1])


@pytest.mark.parametrize("seed", range(6))
def test_ways_are_little_longer_than_the_shortest_that_there_is(seed: int) -> None:
    rng = np.random.default_rng(seed)
    ground = box(0, 0, 60, 40)
    for _ in range(5):
        x, y = rng.uniform(8, 52), rng.uniform(5, 35)
        ground = ground.difference(box(x - 3, y - rng.uniform(2, 8), x + 3, y + rng.uniform(2, 8)))
    start, end = np.array([2.0, rng.uniform(5, 35)]), np.array([58.0, rng.uniform(5, 35)])
    if not isinstance(ground, Polygon):
        pytest.fail("these boxes leave the ground in one piece")
    best = shortest_by_visibility(start, end, ground)
    way = way_round(start, end, within(ground), 150.0)
    assert way is not None and (way[0] == start).all() and (way[-1] == end).all()
    assert best <= length_of(way) * (1 + 1e-9) and length_of(way) <= 1.1 * best + 2 * FINEST_LATTICE
    # No piece of it lies on barred ground for longer than the step that moves are looked at with.
    assert stays_on(way, within(ground))
    assert all(LineString([a, b]).difference(ground).length <= 2 * CHECK_STEP for a, b in pairwise(way))


def test_a_notch_between_two_line_ends_is_gone_round() -> None:
    # By construction: the ends lie 4 mm apart with a notch 2 mm wide and 6 mm deep between; the way goes round its end.
    ground = box(-50, -10, 0, 10).difference(box(-6, -1, 1, 1))
    way = way_round(np.array([-0.3, -2.0]), np.array([-0.3, 2.0]), within(ground), 40.0)
    assert way is not None
    assert way[:, 0].min() == pytest.approx(-6.0, abs=1.0)
    assert length_of(way) == pytest.approx(2 * np.hypot(5.7, 1.0) + 2.0, abs=1.5)


def test_where_a_way_would_be_too_long_or_there_is_none_nothing_is_found() -> None:
    wall = box(-50, -50, 50, 50).difference(box(-1, -30, 1, 30))
    start, end = np.array([-5.0, 0.0]), np.array([5.0, 0.0])
    over = 2 * np.hypot(4.0, 30.0) + 2.0
    assert way_round(start, end, within(wall), 0.9 * over) is None
    found = way_round(start, end, within(wall), 1.2 * over)
    assert found is not None and length_of(found) == pytest.approx(over, rel=0.05)
    island = Point(0, 0).buffer(3).union(Point(20, 0).buffer(3))
    assert way_round(np.zeros(2), np.array([20.0, 0.0]), within(island), LONGEST_WAY) is None
    assert way_round(start, end, within(wall), 5.0) is None


def level(points: np.ndarray) -> Generator[float, None, np.ndarray]:
    yield 1.0
    return np.zeros(points.shape[:-1])


def routed(wall_to: float) -> Path:
    """Two lines side by side whose ends are parted by walls 1 mm wide: 100 mm of one at their left ends, one down to some x at their right ends."""
    ground = box(-300, -20, 100, 20).difference(box(wall_to, 1.5, 100, 2.5)).difference(box(-300, 1.5, -50, 2.5))
    lines = [RunLine(np.column_stack([np.linspace(-200, 90, 30), np.full(30, y), np.zeros(30)]), uncut_left=True) for y in (0.0, 4.0)]
    settings = RouteSettings(TO_AND_FRO, 3500.0, 10.0, machine=Machine(), chord_tolerance=0.002, radius=8.0)
    return finished(route_steps(lines, level, lambda points: np.zeros(len(points)), within(ground), settings))


def test_the_cutter_goes_round_where_that_is_quicker_and_hops_where_it_is_not() -> None:
    short, long = routed(85.0), routed(-10.0)
    assert int((short.kind == LIFT).sum()) == 1 and int((long.kind == LIFT).sum()) == 2  # the first lift is the way to the first line
    assert 10.0 < short.length_of(LINK) < 25.0
    on_wall = box(85.0, 1.5, 100, 2.5)
    assert all(not LineString(pair).intersection(on_wall).length > 0.2 for pair in pairwise(short.points[short.kind == LINK][:, :2]))
