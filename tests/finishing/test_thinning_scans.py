"""Scans of too many triangles: thinned to means of patches, and held against the clean form that they were made from."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import trimesh
from shapes import block

from addon.finishing.core.stepping import finished
from addon.finishing.core.triangles import unit_normals
from addon.finishing.job.body import Body
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.request import Request
from addon.finishing.planning.plan import make_plan
from addon.finishing.reading.mesh_net import mesh_net, point_normals
from addon.finishing.reading.point_net import PointNet, net_of_triangles
from addon.finishing.reading.roughness import roughness_of
from addon.finishing.reading.thinning import SCAN_DEVIATIONS, thinned_body_steps

LENGTH, WIDTH, EDGE, NOISE, LEFT = 60.0, 44.0, 0.25, 0.04, 34_000


def roof(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """A bent top with a ridge of 60 degrees, a level terrace 2 mm lower, and a groove of 5 mm radius."""
    form = 14 - 0.577 * np.abs(x - 18) + 0.01 * (y - 20) ** 2
    groove = np.sqrt(np.maximum(25 - (y - 33) ** 2, 0)) - 3.5
    form = form - np.where(groove > 0, groove, 0.0)
    return np.where(x > 44, 7.0, np.maximum(form, 3.0))


def scanned(triangles: np.ndarray, seed: int) -> np.ndarray:
    """Points moved by a normally distributed distance off the surface."""
    net, rng = mesh_net(triangles), np.random.default_rng(seed)
    normals = point_normals(net, *unit_normals(triangles))
    return (net.points + rng.normal(0.0, NOISE, len(net.points))[:, None] * normals)[net.corners]


def thinned(triangles: np.ndarray, marks: np.ndarray | None = None) -> Body:
    net = net_of_triangles(triangles, 1.0)
    net = net if marks is None else PointNet(net.points, net.corners, marks)
    return finished(thinned_body_steps("scan", net, left_of_a_scan=LEFT))


def distances(points: np.ndarray, triangles: np.ndarray) -> np.ndarray:
    """How far points lie from a mesh, by trimesh; below zero inside of it."""
    mesh = trimesh.Trimesh(triangles.reshape(-1, 3), np.arange(3 * len(triangles)).reshape(-1, 3))
    near, away, face = trimesh.proximity.closest_point(mesh, points)
    return away * np.sign(((points - near) * mesh.face_normals[face]).sum(axis=1))


@pytest.fixture(scope="module")
def clean() -> np.ndarray:
    return block(roof, LENGTH, WIDTH, EDGE)


@pytest.fixture(scope="module")
def scan(clean: np.ndarray) -> np.ndarray:
    return scanned(clean, 3)


@pytest.fixture(scope="module")
def thin(scan: np.ndarray) -> Body:
    return thinned(scan)


def test_it_comes_down_to_what_is_asked_and_says_within_what(scan: np.ndarray, thin: Body) -> None:
    told = thin.thinned
    assert told is not None and told.given == len(scan) and told.kept == len(thin.triangles) <= 1.1 * LEFT < len(scan) / 4
    assert told.roughness == pytest.approx(NOISE, rel=0.15) and told.within == SCAN_DEVIATIONS * told.roughness
    away = np.abs(distances(np.unique(scan.reshape(-1, 3), axis=0)[::3], thin.triangles))
    assert away.max() <= told.deviation * 1.0001 <= told.within


def off_the_form(middles: np.ndarray, clean: np.ndarray) -> dict[str, np.ndarray]:
    """How far the middles of faces lie off the clean form on kinds of ground apart from others."""
    x, y, z = middles.T
    grounds = {
        "bent": np.hypot(x - 31, y - 14) < 10,
        "level": (x > 47) & (x < 57) & (y > 3) & (y < 41) & (z > 5),
        "ridge": (np.abs(x - 18) < 0.6) & (np.abs(y - 14) < 12) & (z > 5),
        "groove": (np.abs(y - 33) < 3) & (x > 3) & (x < 15) & (z > 5),
    }
    return {name: distances(middles[ground], clean) for name, ground in grounds.items()}


def test_scatter_goes_and_shape_stays(clean: np.ndarray, scan: np.ndarray, thin: Body) -> None:
    given, left = (off_the_form(triangles.mean(axis=1), clean) for triangles in (scan[::3], thin.triangles))
    for name in ("bent", "level"):
        # A face of the scan is the mean of three points, one of the thinned mesh of three patches of several: a mean of four halves the scatter.
        assert given[name].std() == pytest.approx(NOISE / np.sqrt(3), rel=0.1) and left[name].std() < 0.65 * given[name].std()
    for name, off in left.items():
        # A third of the scatter at most: a chord of 1 mm lies 0.025 mm off a round of 5 mm, two thirds of it in the mean.
        assert len(off) > 200 and abs(off.mean()) < NOISE / 3, name
    assert roughness_of(thin.triangles) < 0.6 * NOISE


def test_hardly_a_patch_is_left_as_it_scattered(thin: Body) -> None:
    x, y, z = np.moveaxis(thin.triangles, -1, 0)
    corners = thin.triangles[((x > 47) & (x < 57) & (y > 3) & (y < 41) & (z > 5)).all(axis=1)]
    longest = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).max(axis=1)
    assert len(corners) > 1000 and (longest < 1.6 * EDGE).mean() < 0.005  # those of the scan are 1.4 of it


def test_the_scatter_that_is_left_is_told_and_smoothed(thin: Body) -> None:
    assert thin.thinned is not None
    x, y, z = np.unique(thin.triangles.reshape(-1, 3), axis=0).T
    level = (x > 47) & (x < 57) & (y > 3) & (y < 41) & (z > 5)
    assert level.sum() > 500 and thin.thinned.scatter_left == pytest.approx(np.std(z[level]), rel=0.25)
    request = Request(thin, cutter=Cutter("ball 12", 12.0), cell=1.0, memory_limit_mib=400.0)
    rough, smoothed = ({finding.key for finding in make_plan(replace(request, smooth=smooth)).findings} for smooth in (0.0, None))
    assert "rough-mesh" in rough - smoothed and "smoothed-mesh" in smoothed - rough


def test_the_surface_stays_closed(scan: np.ndarray, thin: Body) -> None:
    corners = net_of_triangles(thin.triangles, 1.0).corners
    edges = np.sort(np.concatenate([corners[:, [0, 1]], corners[:, [1, 2]], corners[:, [2, 0]]]), axis=1)
    _, faces = np.unique(edges, axis=0, return_counts=True)
    assert (faces % 2 == 0).all() and (faces > 2).sum() < len(faces) / 1000  # sheets may touch along an edge, none may end
    volume = trimesh.Trimesh(scan.reshape(-1, 3), np.arange(3 * len(scan)).reshape(-1, 3)).volume
    assert trimesh.Trimesh(thin.triangles.reshape(-1, 3), np.arange(3 * len(thin.triangles)).reshape(-1, 3)).volume == pytest.approx(volume, rel=2e-3)


def test_marked_ground_keeps_its_border(scan: np.ndarray) -> None:
    middle = scan.mean(axis=1)
    marks = np.hypot(middle[:, 0] - 31, middle[:, 1] - 14) < 8
    body = thinned(scan, marks)
    across = np.hypot(*(body.triangles[body.skip].mean(axis=1)[:, :2] - (31, 14)).T)
    assert 100 < body.skip.sum() < marks.sum() / 2 and across.max() < 8.0
    area = [0.5 * unit_normals(part)[1].sum() for part in (scan[marks], body.triangles[body.skip])]
    assert 0.9 * area[0] < area[1] < area[0]  # less rough, so a little smaller


def test_the_plan_says_what_became_of_the_mesh(thin: Body) -> None:
    plan = make_plan(Request(thin, cutter=Cutter("ball 12", 12.0), cell=1.0, memory_limit_mib=400.0))
    told = [str(finding.sentence) for finding in plan.findings if finding.key == "thinned-mesh"]
    assert len(told) == 1 and "Its points scatter by 0.038 mm" in told[0] and "more than 0.21 mm from" in told[0]
