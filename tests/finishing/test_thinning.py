"""Meshes of too many triangles: thinned, and held against the given ones by another library."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import trimesh
from shapes import block, graph

from addon.finishing.core.stepping import finished
from addon.finishing.job.body import Body
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.request import Request
from addon.finishing.planning.plan import make_plan
from addon.finishing.reading import mesh_file
from addon.finishing.reading.point_net import PointNet, fixed_points, net_of_points, net_of_triangles
from addon.finishing.reading.thinning import thinned_body_steps

WITHIN = 0.005
LENGTH, WIDTH = 60.0, 40.0


def saddle_with_channel(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """A gentle saddle, a round channel of 3 mm radius along its rim, and a sharp step of 30 degrees."""
    form = 12 + 0.002 * (x - 30) ** 2 - 0.003 * (y - 20) ** 2
    away = np.abs(y - 31)
    form = form - np.where(away < 2.5, np.sqrt(np.maximum(9 - away**2, 0)) - np.sqrt(9 - 2.5**2), 0.0)
    return form + 0.577 * np.maximum(x - 45, 0)


def thinned(triangles: np.ndarray, marks: np.ndarray | None = None, within: float = WITHIN) -> Body:
    net = net_of_triangles(triangles, 1.0)
    net = net if marks is None else PointNet(net.points, net.corners, marks)
    return finished(thinned_body_steps("any", net, within))


def greatest_distance(one: np.ndarray, other: np.ndarray, count: int = 6_000) -> float:
    """Greatest distance of points spread over one mesh, and of its corners, from the other, by trimesh."""
    meshes = [trimesh.Trimesh(part.reshape(-1, 3), np.arange(3 * len(part)).reshape(-1, 3), process=False) for part in (one, other)]
    points = np.concatenate([trimesh.sample.sample_surface(meshes[0], count, seed=3)[0], one.reshape(-1, 3)[:: max(1, 3 * len(one) // count)]])
    return float(trimesh.proximity.closest_point(meshes[1], points)[1].max())


@pytest.fixture(scope="module")
def fine() -> np.ndarray:
    return block(saddle_with_channel, LENGTH, WIDTH, 0.25)


@pytest.fixture(scope="module")
def thin(fine: np.ndarray) -> Body:
    return thinned(fine)


def test_both_surfaces_lie_within_what_is_stated(fine: np.ndarray, thin: Body) -> None:
    assert thin.thinned is not None
    assert thin.thinned.given == len(fine) and thin.thinned.kept == len(thin.triangles) and thin.thinned.within == WITHIN
    assert len(thin.triangles) < len(fine) / 4
    there, back = greatest_distance(fine, thin.triangles), greatest_distance(thin.triangles, fine)
    assert there <= WITHIN and back <= WITHIN
    # What it says of itself was measured at each point and face: no random point lies much farther.
    assert 0.2 * WITHIN < thin.thinned.deviation <= WITHIN and there <= 1.1 * thin.thinned.deviation


def test_the_surface_stays_closed_and_its_points_are_given_ones(fine: np.ndarray, thin: Body) -> None:
    mesh = trimesh.Trimesh(*_welded(thin.triangles), process=False)
    assert mesh.is_watertight and mesh.volume == pytest.approx(trimesh.Trimesh(*_welded(fine)).volume, rel=1e-4)
    given = {point.tobytes() for point in fine.reshape(-1, 3)}
    assert all(point.tobytes() in given for point in thin.triangles.reshape(-1, 3))


def _welded(triangles: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    net = net_of_triangles(triangles, 1.0)
    return net.points, net.corners


def test_a_wider_tolerance_leaves_fewer_triangles(fine: np.ndarray, thin: Body) -> None:
    assert len(thinned(fine, within=0.02).triangles) < len(thin.triangles) < len(thinned(fine, within=0.001).triangles)


def test_corners_and_open_edges_keep_their_place() -> None:
    # A round hole in a bent sheet: neither its rim nor that of the sheet may move.
    x, y = np.linspace(0, 40, 161), np.linspace(0, 30, 121)
    sheet = graph(lambda a, b: 0.01 * a**2, x, y)
    middle = sheet[:, :, :2].mean(axis=1)
    sheet = sheet[np.hypot(middle[:, 0] - 20, middle[:, 1] - 15) > 6]
    net = net_of_triangles(sheet, 1.0)
    edges = np.sort(np.concatenate([net.corners[:, [0, 1]], net.corners[:, [1, 2]], net.corners[:, [2, 0]]]), axis=1)
    _, first, times = np.unique(edges, axis=0, return_index=True, return_counts=True)
    at_border = np.zeros(len(net.points), bool)
    at_border[edges[first[times == 1]]] = True
    assert np.array_equal(fixed_points(net), at_border)
    kept = {point.tobytes() for point in thinned(sheet).triangles.reshape(-1, 3)}
    assert all(point.tobytes() in kept for point in net.points[at_border])
    assert len(thinned(sheet).triangles) < len(sheet) / 2


def test_marked_ground_keeps_its_border_and_its_area(fine: np.ndarray) -> None:
    marks = np.hypot(fine[:, :, 0].mean(axis=1) - 20, fine[:, :, 1].mean(axis=1) - 15) < 8
    body = thinned(fine, marks)
    flat = 0.5 * np.linalg.norm(np.cross(*np.moveaxis(fine[marks][:, 1:] - fine[marks][:, :1], 1, 0)), axis=1).sum()
    left = body.triangles[body.skip]
    assert 0.5 * np.linalg.norm(np.cross(*np.moveaxis(left[:, 1:] - left[:, :1], 1, 0)), axis=1).sum() == pytest.approx(flat, rel=1e-3)
    assert greatest_distance(left, fine[marks]) <= WITHIN and greatest_distance(fine[marks], left) <= WITHIN


def test_points_at_one_place_are_one_and_loose_points_count_for_nothing(fine: np.ndarray, thin: Body) -> None:
    # As a mesh of Blender's whose edges are split, with points that no face uses.
    points = np.concatenate([fine.reshape(-1, 3), [[500.0, 500.0, 500.0]]])
    net = net_of_points(points, np.arange(3 * len(fine)).reshape(-1, 3), np.zeros(len(fine), bool))
    assert np.array_equal(finished(thinned_body_steps("any", net)).triangles, thin.triangles)


@pytest.mark.parametrize("ending", ["stl", "obj", "ply"])
def test_every_kind_of_file_is_thinned_and_the_plan_says_so(ending: str, fine: np.ndarray, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / f"fine.{ending}"
    trimesh.Trimesh(*_welded(fine), process=False).export(path)
    whole = mesh_file.read_mesh_body(path)
    assert whole.thinned is None and len(whole.triangles) == len(fine)
    monkeypatch.setattr(mesh_file, "MOST_TRIANGLES", 50_000)
    body = mesh_file.read_mesh_body(path)
    assert body.thinned is not None and len(body.triangles) < len(fine) / 4
    if ending == "stl":
        plan = make_plan(Request(body, cutter=Cutter("ball 6", 6.0), cell=1.0))
        told = [str(finding.sentence) for finding in plan.findings if finding.key == "thinned-mesh"]
        assert len(told) == 1 and f"from {len(fine)} triangles to {body.thinned.kept}" in told[0] and "may lie 0.005 mm" in told[0]
