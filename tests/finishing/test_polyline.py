"""Polylines in plan against shapely, closed forms and plain twins."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import LineString, MultiLineString, Point, contains_xy

from addon.finishing.core.polyline import all_resampled, all_smoothed, at_distances, clipped, is_closed, resampled, smoothed, travelled, without_ends


def wavy(count: int = 200) -> np.ndarray:
    x = np.linspace(0, 30, count)
    return np.column_stack([x, 4 * np.sin(x / 3)])


def circle(radius: float, count: int = 240) -> np.ndarray:
    turn = np.linspace(0, 2 * np.pi, count + 1)
    line = radius * np.column_stack([np.cos(turn), np.sin(turn)])
    line[-1] = line[0]
    return line


def test_distances_along_a_line_are_shapelys() -> None:
    # Reference library: shapely's length and interpolation.
    line = wavy()
    along, reference = travelled(line), LineString(line)
    assert along[0] == 0 and along[-1] == pytest.approx(reference.length)
    wanted = np.array([0.0, 1.7, 20.0, along[-1]])
    np.testing.assert_allclose(at_distances(line, along, wanted), [reference.interpolate(d).coords[0] for d in wanted], atol=1e-12)


def test_resampled_lines_lie_on_the_old_ones_at_equal_distances() -> None:
    lines = [wavy(), wavy()[::-1][:50], np.array([[5.0, 5.0], [5.0, 5.2]])]
    for line, new in zip(lines, all_resampled(lines, 0.7), strict=True):
        reference = LineString(line)
        np.testing.assert_array_equal(new[[0, -1]], line[[0, -1]])
        count = max(round(reference.length / 0.7), 1)
        assert len(new) == count + 1
        at = [reference.project(Point(p)) for p in new]
        np.testing.assert_allclose(at, np.linspace(0, reference.length, count + 1), atol=1e-9)
        np.testing.assert_allclose(resampled(line, 0.7), new, atol=1e-9)
    assert all_resampled([], 0.7) == []


def test_smoothing_is_a_mean_of_three_at_every_point() -> None:
    # Plain twin: 1/4, 1/2, 1/4 point by point; the ends of an open line stay, a closed one is a ring.
    def plain(line: np.ndarray, closed: bool) -> np.ndarray:
        out = line.copy()
        last = len(line) - 1
        for k in range(len(line)):
            if 0 < k < last:
                before, after = line[k - 1], line[k + 1]
            elif closed:
                before, after = line[last - 1], line[1]
            else:
                continue
            out[k] = before / 4 + line[k] / 2 + after / 4
        return out

    rng = np.random.default_rng(3)
    lines = [wavy(40) + rng.normal(0, 0.1, (40, 2)), circle(5, 30), wavy(2)]
    closed = [False, True, False]
    expected = lines
    for _ in range(3):
        expected = [plain(line, ring) for line, ring in zip(expected, closed, strict=True)]
    for new, one, line, ring in zip(all_smoothed(lines, 3, closed), expected, lines, closed, strict=True):
        np.testing.assert_allclose(new, one, atol=1e-12)
        np.testing.assert_allclose(smoothed(line, 3, ring), one, atol=1e-12)
        assert is_closed(new) == ring


def test_ends_are_taken_off_by_length() -> None:
    line = wavy()
    length = travelled(line)[-1]
    shorter = without_ends(line, 2.0, 3.5)
    assert shorter is not None and travelled(shorter)[-1] == pytest.approx(length - 5.5, abs=1e-9)
    np.testing.assert_allclose(shorter[[0, -1]], at_distances(line, travelled(line), np.array([2.0, length - 3.5])))
    np.testing.assert_array_equal(without_ends(line, 0.0, 0.0), line)
    assert without_ends(line, length / 2, 1.0) is None


def test_clipped_parts_are_shapelys_intersection() -> None:
    # Reference library: shapely. The ends are found to 1/64 of a step between points.
    lines = [wavy(), wavy() + [0, 3.0], wavy() + [0, 100.0], np.array([[12.0, 0.5], [16.0, 0.5]])]
    region = Point(12, 1).buffer(7, quad_segs=64).union(Point(27, 0).buffer(3, quad_segs=64))
    parts = clipped(lines, lambda points: contains_xy(region, points[:, 0], points[:, 1]), 0.5)
    step = float(np.diff(travelled(lines[0])).max())
    assert {number for number, _ in parts} == {0, 1, 3}
    for number, line in enumerate(lines):
        own = [part for owner, part in parts if owner == number]
        cut = LineString(line).intersection(region)
        pieces = [p for p in (cut.geoms if isinstance(cut, MultiLineString) else [cut]) if p.length >= 0.5]
        assert len(own) == len(pieces)
        for part, piece in zip(own, pieces, strict=True):
            assert travelled(part)[-1] == pytest.approx(piece.length, abs=2 * step / 64)
            np.testing.assert_allclose(part[[0, -1]], np.array(piece.coords)[[0, -1]], atol=1.5 * step / 64)
            assert contains_xy(region.buffer(1e-9), part[:, 0], part[:, 1]).all()


def test_clipped_lines_keep_their_heights() -> None:
    # By construction: the height is that of the point along the line, at the ends too.
    line = np.column_stack([np.linspace(0, 10, 21), np.zeros(21), np.linspace(3, 8, 21)])
    ((_, part),) = clipped([line], lambda points: points[:, 0] < 6.2, 1.0)
    np.testing.assert_allclose(part[:, 2], 3 + part[:, 0] / 2, atol=1e-12)
    assert part[-1, 0] == pytest.approx(6.2, abs=0.5 / 64)


def test_closed_lines_stay_closed_or_are_opened_where_they_are_not_allowed() -> None:
    ring = circle(10.0)
    ((number, whole),) = clipped([ring], lambda points: np.ones(len(points), bool), 1.0)
    assert number == 0 and is_closed(whole)
    # Not allowed where the ring begins: one part of known length, not two.
    ((_, part),) = clipped([ring], lambda points: points[:, 0] < 5.0, 1.0)
    assert not is_closed(part)
    assert travelled(part)[-1] == pytest.approx(10 * np.radians(240), rel=2e-3)
    # Allowed there, but not on the far side: still one part, through the point where the ring begins.
    ((_, part),) = clipped([ring], lambda points: points[:, 0] > -5.0, 1.0)
    assert travelled(part)[-1] == pytest.approx(10 * np.radians(240), rel=2e-3)
    assert (np.linalg.norm(np.diff(part, axis=0), axis=1) < 0.3).all() and np.abs(part - [10, 0]).sum(axis=1).min() < 1e-9


def test_parts_that_are_too_short_and_repeated_points_are_dropped() -> None:
    line = np.array([[0.0, 0], [1, 0], [1, 0], [1, 0], [4, 0]])
    ((_, part),) = clipped([line], lambda points: np.ones(len(points), bool), 1.0)
    np.testing.assert_array_equal(part, [[0, 0], [1, 0], [4, 0]])
    assert clipped([line], lambda points: points[:, 0] < 0.9, 1.0) == []
    assert clipped([line], lambda points: np.zeros(len(points), bool), 0.0) == []
    assert clipped([], lambda points: np.zeros(len(points), bool), 0.0) == []
