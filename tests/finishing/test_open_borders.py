"""Open meshes: holes where faces are missing are told with their length and place, the rim of a top alone is not."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh
from shapes import block, graph

from addon.finishing.core.open_points import open_edges, open_points
from addon.finishing.core.triangles import corner_numbers
from addon.finishing.planning.mesh_findings import open_border_findings
from addon.finishing.surface.open_borders import open_borders

LENGTH, WIDTH, STEP = 60.0, 40.0, 2.0
X, Y = np.arange(0, LENGTH + 1, STEP), np.arange(0, WIDTH + 1, STEP)


def arch(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    return 12 + 3 * np.cos((x - 30) / 20) * np.cos((y - 20) / 15)


BLOCK = block(arch, LENGTH, WIDTH, STEP)
MIDDLE = BLOCK.mean(axis=1)
TOP = graph(arch, X, Y)


def closed_but(missing: np.ndarray) -> np.ndarray:
    return BLOCK[~missing]


def wall(side: float) -> np.ndarray:
    """The wall at x = side, by the middles of its faces."""
    return np.abs(MIDDLE[:, 0] - side) < 1e-9


def hole_in(middle: np.ndarray, x: float, y: float, radius: float) -> np.ndarray:
    return np.hypot(middle[:, 0] - x, middle[:, 1] - y) < radius


@pytest.mark.parametrize("triangles", [BLOCK, TOP, closed_but(MIDDLE[:, 2] < 1e-9)])
def test_whole_bodies_and_tops_alone_are_not_told(triangles: np.ndarray) -> None:
    assert open_border_findings(triangles) == ()


def test_a_missing_wall_is_told_with_its_length_and_place() -> None:
    (finding,) = open_border_findings(closed_but(wall(LENGTH)))
    (border,) = open_borders(closed_but(wall(LENGTH)))
    rim = arch(np.full(len(Y), LENGTH), Y)
    along_top = np.hypot(np.diff(Y), np.diff(rim)).sum()
    assert border.length == pytest.approx(along_top + WIDTH + rim[0] + rim[-1])
    assert border.middle[:2] == pytest.approx((LENGTH, WIDTH / 2)) and not border.is_rim
    assert finding.key == "open-mesh" and finding.must_see and finding.place == border.middle
    assert f"along {border.length:.0f} mm, in 1 borders" in str(finding.sentence) and "X 60.0, Y 20.0" in str(finding.sentence)


def test_a_top_and_a_bottom_without_walls_are_told_but_need_not_be_seen() -> None:
    upright = (np.ptp(BLOCK[:, :, 0], axis=1) < 1e-9) | (np.ptp(BLOCK[:, :, 1], axis=1) < 1e-9)
    (finding,) = open_border_findings(BLOCK[~upright])
    assert "in 2 borders" in str(finding.sentence) and not finding.must_see


def test_a_top_whose_skirts_are_missing_in_part_is_told() -> None:
    skirts = closed_but(MIDDLE[:, 2] < 1e-9)
    assert open_border_findings(skirts) == ()
    middle = skirts.mean(axis=1)
    partly = skirts[~((np.abs(middle[:, 1]) < 1e-9) & (middle[:, 0] > 20) & (middle[:, 0] < 40))]
    assert [finding.key for finding in open_border_findings(partly)] == ["open-mesh"]


@pytest.mark.parametrize("of", ["block", "top"])
def test_a_hole_in_the_surface_is_told(of: str) -> None:
    whole = BLOCK if of == "block" else TOP
    middle = whole.mean(axis=1)
    holed = whole[~(hole_in(middle, 20, 14, 6) & (middle[:, 2] > 1))]
    (finding,) = open_border_findings(holed)
    told = [border for border in open_borders(holed) if not border.is_rim]
    # By another library: the open edges of both, less those of the top's own rim.
    mesh = trimesh.Trimesh(holed.reshape(-1, 3), np.arange(3 * len(holed)).reshape(-1, 3))
    edges = mesh.edges_sorted[trimesh.grouping.group_rows(mesh.edges_sorted, require_count=1)]
    ends = mesh.vertices[edges]
    inner = np.hypot(ends[:, :, 0].mean(axis=1) - 20, ends[:, :, 1].mean(axis=1) - 14) < 10
    length = np.linalg.norm(ends[inner, 1] - ends[inner, 0], axis=1).sum()
    assert sum(border.length for border in told) == pytest.approx(length) and f"{length:.0f} mm, in 1 borders" in str(finding.sentence)
    assert told[0].middle[0] == pytest.approx(20, abs=2 * STEP) and told[0].middle[1] == pytest.approx(14, abs=2 * STEP)


def test_a_seam_between_different_points_is_no_hole() -> None:
    # One half with twice as many points along the cut as the other, on a straight line: edges of one face each, and nothing between them.
    flat = [graph(lambda x, y: 5 + 0 * x, np.linspace(a, b, 11), np.linspace(0, 20, count)) for a, b, count in ((0, 10, 6), (10, 20, 11))]
    both = np.concatenate(flat)
    assert [border.is_rim for border in open_borders(both)] == [True] and open_border_findings(both) == ()


def test_holes_that_touch_in_one_point_do_not_hide_each_other() -> None:
    # Beside each other over a corner, as on a chessboard, on a mesh whose points are numbered row by row.
    x = np.arange(0.0, 11)
    sheet = graph(lambda a, b: 0 * a, x, x)
    middle = sheet.mean(axis=1)
    square = np.floor(middle[:, :2]).astype(int)
    gone = (square == (4, 4)).all(axis=1) | (square == (5, 5)).all(axis=1)
    corners = corner_numbers(sheet[~gone])
    edges = open_edges(corners, int(corners.max()) + 1)
    assert len(edges) == 4 * 10 + 8
    points = np.zeros((int(corners.max()) + 1, 3))
    points[corners.ravel()] = sheet[~gone].reshape(-1, 3)
    (touching,) = np.flatnonzero((points == (5, 5, 0)).all(axis=1))
    assert open_points(corners, len(points))[touching]
    assert sum(border.length for border in open_borders(sheet[~gone]) if not border.is_rim) == pytest.approx(8)
