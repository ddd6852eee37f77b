"""Polygons cut into triangles, held against shapely: the triangles cover the polygon, overlap nowhere and keep its sense."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon

from addon.finishing.core.errors import BadFile
from addon.finishing.core.message import Message
from addon.finishing.reading.ear_clipping import crosses_itself, ears
from addon.finishing.reading.polygons import MOST_WORK, WORK_OF_ONE, triangulated


def refusal(_face: int, what: Message, remedy: Message) -> BadFile:
    """The error for a face."""
    return BadFile("{what}: {remedy}", what=what, remedy=remedy)


def turned(flat: np.ndarray, seed: int = 0) -> np.ndarray:
    """Corners (n, 2) laid into a plane askew in space, (n, 3)."""
    rng = np.random.default_rng(seed)
    frame = np.linalg.qr(rng.normal(size=(3, 3)))[0]
    frame *= np.sign(np.linalg.det(frame))
    return flat @ frame[:2] + rng.normal(size=3)


def cut(corners: np.ndarray) -> np.ndarray:
    """The triangles (m, 3) of one polygon (n, 3) with its own corner numbers."""
    # With a triangle beside it the quick answer for files of triangles alone is not taken.
    points = np.concatenate([corners, corners[:3]])
    sizes = np.array([len(corners), 3])
    triangles, face = triangulated(points, np.arange(len(points)), sizes, refusal)
    assert face.tolist() == [0] * (len(triangles) - 1) + [1]
    return triangles[:-1]


def areas(triangles: np.ndarray) -> np.ndarray:
    """Areas (n,) of plane triangles (n, 3, 2), above 0 for anticlockwise ones."""
    (x, y), (u, v) = (triangles[:, 1] - triangles[:, 0]).T, (triangles[:, 2] - triangles[:, 0]).T
    return 0.5 * (x * v - y * u)


def check(flat: np.ndarray, hole_area: float = 0.0) -> None:
    """The triangles of an anticlockwise polygon (n, 2) all turn as it does, and cover it once."""
    triangles = cut(turned(flat))
    assert triangles.shape == (len(flat) - 2, 3)
    own = flat[triangles]
    area = areas(own)
    whole = Polygon(flat)
    x, y = flat.T
    enclosed = 0.5 * (x * np.roll(y, -1) - np.roll(x, -1) * y).sum()
    assert area.min() > -1e-9 * enclosed
    assert area.sum() == pytest.approx(enclosed, rel=1e-9)
    covered = shapely.union_all([Polygon(corners).buffer(0) for corners, size in zip(own, area, strict=True) if size > 1e-12 * enclosed])
    assert covered.area == pytest.approx(enclosed, rel=1e-6)
    assert covered.difference(whole.buffer(1e-7 * np.sqrt(enclosed))).area < 1e-7 * enclosed


def star_shaped(radii: list[float]) -> np.ndarray:
    """An anticlockwise polygon round the origin; it cannot cross itself."""
    angle = np.linspace(0, 2 * np.pi, len(radii), endpoint=False)
    return np.stack([np.cos(angle), np.sin(angle)], axis=1) * np.array(radii)[:, None]


L_SHAPE = np.array([[0, 0], [4, 0], [4, 1], [1, 1], [1, 3], [0, 3.0]])
ARROW = np.array([[0, 0], [3, 0], [1, 1], [0, 3.0]])
COMB = np.array([[0, 0], [9, 0], *([x, y] for k in range(4, -1, -1) for x, y in ((2 * k + 1, 5), (2 * k + 1, 1), (2 * k, 1), (2 * k, 5)))], float)[:-2]
SPIRAL = np.array([[0, 0], [10, 0], [10, 10], [2, 10], [2, 4], [6, 4], [6, 6], [4, 6], [4, 8], [8, 8], [8, 2], [0, 2.0]])


@pytest.mark.parametrize("flat", [L_SHAPE, ARROW, COMB, SPIRAL, star_shaped([3, 1] * 9)], ids=["L", "arrow", "comb", "spiral", "star"])
def test_shapes(flat: np.ndarray) -> None:
    for first in range(len(flat)):
        check(np.roll(flat, first, axis=0))


@settings(max_examples=150, deadline=None)
@given(st.lists(st.floats(0.05, 5), min_size=4, max_size=40))
def test_polygons_round_a_point(radii: list[float]) -> None:
    check(star_shaped(radii))


@settings(max_examples=100, deadline=None)
@given(st.lists(st.integers(0, 4), min_size=3, max_size=12), st.lists(st.integers(0, 4), min_size=3, max_size=12))
def test_towers_with_straight_and_equal_corners(above: list[int], below: list[int]) -> None:
    # Steps up and down: many corners on one line, some twice in a place.
    top = [(x, 5 + height) for n, height in enumerate(above) for x in (n / len(above), (n + 1) / len(above))]
    low = [(x, -1 - height) for n, height in enumerate(below) for x in (n / len(below), (n + 1) / len(below))]
    check(np.array([*low, *top[::-1]], float))


def test_a_polygon_with_a_hole_joined_by_a_cut() -> None:
    outer = np.array([[0, 0], [10, 0], [10, 10], [0, 10.0]])
    hole = np.array([[3, 3], [3, 7], [7, 7], [7, 3.0]])  # clockwise
    keyhole = np.concatenate([outer, outer[:1], hole, hole[:1]])
    triangles = keyhole[ears(keyhole)]
    area = areas(triangles)
    assert area.min() >= 0 and area.sum() == pytest.approx(84)
    covered = shapely.union_all([Polygon(t) for t, size in zip(triangles, area, strict=True) if size])
    assert covered.equals_exact(Polygon(outer, [hole]).normalize(), 1e-9) or covered.symmetric_difference(Polygon(outer, [hole])).area < 1e-9


def test_a_great_outline_takes_no_long_time() -> None:
    # The flat back of a body as one face: some thousand corners, half of them turning inward at times.
    angle = np.linspace(0, 2 * np.pi, 4000, endpoint=False)
    check(star_shaped((100 + 20 * np.sin(7 * angle) + 0.5 * np.sin(400 * angle)).tolist()))


def test_what_crosses_itself_is_refused() -> None:
    angle = np.arange(5) * 0.8 * np.pi
    pentagram = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    bow = np.array([[0, 0], [2, 2], [2, 0], [0, 1.0]])
    eight = np.array([[0, 0], [2, 2], [2, 0], [0, 2.0]])
    for flat in (pentagram, bow, eight, np.concatenate([L_SHAPE[:3], [[-1, -1]], L_SHAPE[3:]])):
        with pytest.raises(BadFile, match="crosses itself"):
            cut(turned(flat))


def test_crossings_against_shapely() -> None:
    rng = np.random.default_rng(4)
    seen = set()
    for _ in range(300):
        flat = rng.random((rng.integers(4, 9), 2))
        ring = list(pairwise([*flat, flat[0]]))
        crossing = any(shapely.LineString(a).crosses(shapely.LineString(b)) for k, a in enumerate(ring) for b in ring[k + 2 :])
        assert crosses_itself(flat) == crossing
        seen.add(crossing)
    assert seen == {True, False}


def test_what_has_no_area_is_let_pass() -> None:
    line = np.array([[0, 0], [1, 0], [3, 0], [2, 0.0]])
    assert len(cut(turned(line))) == 2
    assert len(cut(np.zeros((5, 3)))) == 3


def test_a_crossing_too_small_to_matter_is_let_pass() -> None:
    bow = np.array([[0, 0, 0], [2, 2, 0], [2, 0, 0], [0, 1.0, 0]]) * 1e-7
    body = np.array([[0, 0, 0], [1, 0, 0], [0, 1, 0.0]])
    triangles, face = triangulated(np.concatenate([bow, body]), np.arange(7), np.array([4, 3]), refusal)
    assert face.tolist() == [0, 0, 1]


def test_faces_keep_their_order_and_corners() -> None:
    corners = np.array([0, 1, 2, 3, 4, 5, 6, 7, 0, 1, 2, 4, 5, 6, 0, 2, 1])
    angle = np.linspace(0, 2 * np.pi, 8, endpoint=False)
    points = np.stack([np.cos(angle), np.sin(angle), 0 * angle], axis=1)
    triangles, face = triangulated(points, corners, np.array([8, 3, 3, 3]), refusal)
    assert face.tolist() == [0] * 6 + [1, 2, 3]
    assert triangles[6:].tolist() == [[0, 1, 2], [4, 5, 6], [0, 2, 1]]
    assert triangles[:6].tolist() == [[0, k, k + 1] for k in range(1, 7)]


def test_what_takes_too_long_is_refused() -> None:
    count = 12_000
    big = turned(star_shaped([3.0, 2.9] * (count // 2)))
    with pytest.raises(BadFile, match="with 12000 corners that is not convex"):
        cut(big)
    # Many faces together.
    one = turned(L_SHAPE)
    faces = int(MOST_WORK / WORK_OF_ONE) + 10
    corners = np.tile(np.arange(6), faces)
    with pytest.raises(BadFile, match="with 6 corners that is not convex is too much work"):
        triangulated(one, corners, np.full(faces, 6), refusal)
