"""Buckets of triangles: every one holds what it says, under the plane that it says."""

from __future__ import annotations

import numpy as np
import pytest
from shapes import graph

from addon.finishing.ball.triangle_tree import BUCKET, LEVELS, LONGEST_EDGE, LOOKING_DOWN, LOOKING_UP, Buckets, interleaved
from addon.finishing.core.triangles import unit_normals


def body() -> np.ndarray:
    """A wavy top with a pocket and upright walls, an underside, and a few triangles far larger than a bucket."""

    def pocketed(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        return np.where((np.abs(x - 20) < 6) & (np.abs(y - 12) < 4), 2.0, 8 + np.sin(x / 4) + np.cos(y / 3))

    x, y = np.linspace(0, 40, 81), np.linspace(0, 25, 51)
    large = np.array([[[0.0, 0, 12], [60, 3, 14], [10, 45, 13]], [[50.0, 0, 0], [50, 30, 0], [50, 10, 9]]])
    return np.concatenate([graph(pocketed, x, y), graph(lambda a, b: 0 * a, x, y)[:, ::-1], large])


@pytest.fixture(scope="module")
def buckets() -> Buckets:
    return Buckets(body())


def members(buckets: Buckets, number: int) -> list[np.ndarray]:
    """The triangles of every bucket of one level, from the ranges of all levels below it."""
    ranges = [np.arange(first, last) for first, last in zip(buckets.levels[number].first, buckets.levels[number].last, strict=True)]
    for level in reversed(buckets.levels[:number]):
        ranges = [np.concatenate([np.arange(level.first[k], level.last[k]) for k in inner]) for inner in ranges]
    return ranges


def test_every_triangle_lies_in_one_bucket_of_every_level(buckets: Buckets) -> None:
    assert len(buckets.levels) == LEVELS
    for number in range(LEVELS):
        np.testing.assert_array_equal(np.concatenate(members(buckets, number)), np.arange(len(buckets)))


@pytest.mark.parametrize("number", range(LEVELS))
def test_triangles_lie_in_their_buckets_box_and_under_its_plane(buckets: Buckets, number: int) -> None:
    level = buckets.levels[number]
    for k, own in enumerate(members(buckets, number)):
        x, y, z = (buckets.corners[:, axis, own] - buckets.origin[axis] for axis in range(3))
        off_x, off_y = x - level.middle_x[k], y - level.middle_y[k]
        assert np.abs(off_x).max() <= level.half_x[k] and np.abs(off_y).max() <= level.half_y[k]
        plane = level.height[k] + level.slope_x[k] * off_x + level.slope_y[k] * off_y
        assert (z - plane).max() <= buckets.slack
        # The plane is no worse than a level one through the highest corner by much: it does not stand out above the box.
        edge = BUCKET * 2**number
        top = level.height[k] + abs(level.slope_x[k]) * level.half_x[k] + abs(level.slope_y[k]) * level.half_y[k]
        assert top <= z.max() + 0.3 * edge + buckets.slack
        # A bucket is as large as it is meant to be, give or take the triangles that reach over its border.
        assert max(level.half_x[k], level.half_y[k]) <= edge / 2 + LONGEST_EDGE


def test_a_bucket_never_mixes_tops_walls_and_undersides(buckets: Buckets) -> None:
    up = unit_normals(buckets.corners.transpose(2, 0, 1))[0][:, 2]
    kind = np.where(up > LOOKING_UP, 0, np.where(up > LOOKING_DOWN, 1, 2))
    assert set(kind) == {0, 1, 2}
    for number in range(LEVELS):
        assert all(len(set(kind[own])) == 1 for own in members(buckets, number))


def test_large_triangles_are_cut_up_without_changing_the_surface(buckets: Buckets) -> None:
    # Closed form: halving edges keeps the area and every plane, and the corners stay among the corners.
    whole, cut = body(), buckets.corners.transpose(2, 0, 1)
    assert unit_normals(cut)[1].sum() == pytest.approx(unit_normals(whole)[1].sum(), rel=1e-12)
    assert len(cut) > len(whole)
    edges = np.linalg.norm((np.roll(cut, -1, axis=1) - cut)[:, :, :2], axis=2)
    assert edges.max() <= LONGEST_EDGE
    given = {tuple(p) for p in whole.reshape(-1, 3)}
    assert given <= {tuple(p) for p in cut.reshape(-1, 3)}


def test_normals_are_turned_up(buckets: Buckets) -> None:
    expected = unit_normals(buckets.corners.transpose(2, 0, 1))[0].T
    expected *= np.where(expected[2] < 0, -1, 1)
    np.testing.assert_allclose(buckets.normals, expected, atol=1e-12)


def test_bounds_of_single_triangles(buckets: Buckets) -> None:
    own = buckets.bounds
    for k, (x, y, z) in enumerate(own.corners):
        np.testing.assert_allclose(x + own.middle_x, buckets.corners[k, 0] - buckets.origin[0], atol=buckets.slack)
        np.testing.assert_allclose(y + own.middle_y, buckets.corners[k, 1] - buckets.origin[1], atol=buckets.slack)
        np.testing.assert_allclose(z, buckets.corners[k, 2] - buckets.origin[2], atol=buckets.slack)
        assert (np.hypot(x, y) <= own.half * (1 + 1e-6)).all()
    # A ball of radius 1 touches a plane with the unit normal n at -n: its contact lies that far from its axis in plan.
    top = buckets.normals[2] > LOOKING_UP
    np.testing.assert_allclose(own.lean_x, np.where(top, -buckets.normals[0], 0), atol=1e-6)


def test_numbers_of_buckets_nearby_lie_nearby() -> None:
    # Definition of a Morton number, bit by bit, and that quarters follow one another at every level.
    rng = np.random.default_rng(4)
    places = rng.integers(0, 1 << 14, (200, 2))
    for (x, y), code in zip(places, interleaved(places), strict=True):
        bits = [f"{y:014b}"[k] + f"{x:014b}"[k] for k in range(14)]
        assert code == int("".join(bits), 2)
    square = np.stack(np.meshgrid(np.arange(8), np.arange(8)), axis=-1).reshape(-1, 2)
    order = square[np.argsort(interleaved(square))]
    for size in (2, 4):
        groups = order.reshape(-1, size * size, 2)
        assert (np.ptp(groups, axis=1) == size - 1).all()


def test_no_triangles_at_all() -> None:
    empty = Buckets(np.zeros((0, 3, 3)))
    assert len(empty) == 0 and empty.levels == []
