"""Scanned bodies: a clean form and its noisy twin, whose scatter is known from how it was made."""

from __future__ import annotations

from dataclasses import replace

import igl
import numpy as np
import pytest
from shapes import block

from addon.command import run
from addon.finishing.ball.axis_region import AxisRegion
from addon.finishing.core.result_store import ResultStore
from addon.finishing.core.stage_runner import StageRunner
from addon.finishing.core.stepping import finished
from addon.finishing.core.triangles import unit_normals
from addon.finishing.job.body import make_body
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.request import Request
from addon.finishing.job.stock import StockSettings
from addon.finishing.planning.plan import make_plan
from addon.finishing.planning.plan_graph import PLAN_GRAPH
from addon.finishing.planning.result import Plan
from addon.finishing.reading.mesh_net import mesh_net, neighbours, point_normals
from addon.finishing.reading.roughness import DEVIATIONS, ROUGH, roughness_of
from addon.finishing.surface.height_map import height_map
from addon.finishing.surface.mesh_smoothing import smoothed_mesh
from addon.finishing.surface.side import Side, make_side

LENGTH, WIDTH, NOISE, EDGE = 80.0, 60.0, 0.05, 0.8


def arched(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """An arched plate with a recurve along its rim and a sound hole's pocket."""
    away = np.hypot((x - 40) / 40, (y - 30) / 30)
    plate = 12 + 4 * np.cos(2.3 * away)
    return np.where((np.abs(x - 56) < 4) & (np.abs(y - 30) < 9), 5.0, plate)


def ridge(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Two curved flanks that meet in a ridge of 53 degrees."""
    return 12 - 0.5 * np.abs(x - 40) + 0.004 * (x - 40) ** 2


def scanned(triangles: np.ndarray, noise: float, seed: int = 5) -> np.ndarray:
    """The same mesh with every point moved along its normal by a normally distributed distance."""
    net = mesh_net(triangles)
    shift = np.random.default_rng(seed).normal(0.0, noise, len(net.points))
    return (net.points + shift[:, None] * point_normals(net, *unit_normals(triangles)))[net.corners]


@pytest.mark.parametrize("noise", [0.02, 0.05, 0.1])
@pytest.mark.parametrize(("form", "edge"), [(arched, 0.8), (ridge, 0.8), (lambda x, y: 9 + 0 * x, 1.5)])
def test_the_scatter_of_a_mesh_is_found(form: object, edge: float, noise: float) -> None:
    assert roughness_of(scanned(block(form, LENGTH, WIDTH, edge), noise)) == pytest.approx(noise, rel=0.15)  # type: ignore[arg-type]


def test_a_scanned_top_on_a_modelled_back_is_rough() -> None:
    # Half of the points lie on the level back: the scatter of the others is no edge beside them.
    triangles = block(arched, LENGTH, WIDTH, 0.8)
    net = mesh_net(triangles)
    shift = np.random.default_rng(2).normal(0.0, 0.05, len(net.points)) * (net.points[:, 2] > 1.0)
    top = (net.points + shift[:, None] * [0.0, 0.0, 1.0])[net.corners]
    assert roughness_of(top) == pytest.approx(0.05, rel=0.2)


@pytest.mark.parametrize("edge", [0.6, 2.0, 5.0])
@pytest.mark.parametrize("form", [arched, ridge])
def test_a_modelled_mesh_is_not_rough_however_coarse(form: object, edge: float) -> None:
    triangles = block(form, LENGTH, WIDTH, edge)  # type: ignore[arg-type]
    assert roughness_of(triangles) < ROUGH / 2
    assert smoothed_mesh(triangles, roughness_of(triangles), None).triangles is triangles


def test_means_over_neighbours_as_a_plain_loop_takes_them() -> None:
    net = mesh_net(block(ridge, 6, 4, 1.0))
    means = neighbours(net.ends, len(net.points)).means(net.points)
    for number in range(len(net.points)):
        near = {int(end) for pair in net.ends if number in pair for end in pair} - {number}
        assert means[number] == pytest.approx(net.points[sorted(near)].mean(axis=0))
    assert net.inner.all()  # a closed block has no open edge


def heights_of(triangles: np.ndarray, like: Side) -> np.ndarray:
    return height_map(triangles, like.grid, upward_only=False)


@pytest.mark.parametrize("form", [arched, ridge])
def test_smoothing_brings_the_clean_form_back_within_what_it_states(form: object) -> None:
    clean = block(form, LENGTH, WIDTH, EDGE)  # type: ignore[arg-type]
    noisy = scanned(clean, NOISE)
    found = smoothed_mesh(noisy, roughness_of(noisy), None)
    moved = np.linalg.norm(found.triangles - noisy, axis=2)
    assert found.allowed == pytest.approx(DEVIATIONS * NOISE, rel=0.1) and moved.max() <= found.allowed * 1.0001
    # Everywhere, beside walls and at corners too, by a reference library: as far from the clean form as is stated, and most of it far nearer.
    net, whole = mesh_net(found.triangles), mesh_net(clean)
    away = np.sqrt(igl.point_mesh_squared_distance(net.points, whole.points, whole.corners)[0])
    assert away.max() <= found.allowed and np.quantile(away, 0.99) < NOISE
    side = make_side(clean, 0.5)
    x, y = side.grid.middles(*np.indices(side.grid.shape).reshape(2, -1)).T
    # Away from walls, where a height map shows a step and not a deviation.
    walls = (np.abs(np.abs(x - 56) - 4) < 1.5) & (np.abs(y - 30) < 11) | (np.abs(np.abs(y - 30) - 9) < 1.5) & (np.abs(x - 56) < 6)
    inner = (x > 2) & (x < LENGTH - 2) & (y > 2) & (y < WIDTH - 2) & ~(walls & (form is arched))
    off, before = (heights_of(mesh, side).ravel()[inner] - side.heights.ravel()[inner] for mesh in (found.triangles, noisy))
    assert np.abs(off).max() <= found.allowed
    # A third of the scatter is left at most; along a ridge, whose points have but two neighbours to go by, half.
    assert np.sqrt((off**2).mean()) < (0.5 if form is ridge else 0.35) * np.sqrt((before**2).mean())
    if form is ridge:  # an edge stays one: on the crest itself nothing is rounded off
        crest = heights_of(found.triangles, side)[8:-8].max(axis=1)
        assert np.abs(crest - side.heights[8:-8].max(axis=1)).mean() < NOISE


@pytest.mark.parametrize(("offset", "seed"), [(0.0, 5), (0.2, 5), (0.4, 6)])
def test_no_line_goes_out_over_the_noisy_side_of_a_scan(offset: float, seed: int) -> None:
    # Cells of 0.25 mm: with the last offset some centres stand on the scan's own side, which is steep, and as uneven as the rest of it.
    length, width = LENGTH + offset, WIDTH + offset
    body = make_body("Plate", scanned(block(arched, length, width, EDGE), NOISE, seed))
    request = Request(body, cutter=Cutter("Round-nose 12", 12.0), rack_table=False, cell=0.25, smooth=None)
    region = finished(StageRunner(PLAN_GRAPH, ResultStore()).ask(("region",), request))["region"]
    assert isinstance(region, AxisRegion)
    # The axis is wanted as far as it rolls over the edge, not by a radius of the ball.
    assert np.ptp(region.grid.x()[region.cutting.any(axis=0)]) < length + 2.0
    assert np.ptp(region.grid.y()[region.cutting.any(axis=1)]) < width + 2.0


def test_a_greatest_deviation_that_is_given_holds() -> None:
    noisy = scanned(block(arched, LENGTH, WIDTH, EDGE), NOISE)
    found = smoothed_mesh(noisy, NOISE, 0.03)
    assert found.allowed == 0.03 and found.moved == pytest.approx(0.03)
    assert np.linalg.norm(found.triangles - noisy, axis=2).max() <= 0.03 * 1.0001
    assert smoothed_mesh(noisy, NOISE, 0.0).triangles is noisy


def planned(triangles: np.ndarray, **settings: object) -> Plan:
    request = Request(make_body("Plate", triangles), cutter=Cutter("Round-nose 12", 12.0), rack_table=False, cell=0.5, cusp=0.05)
    return make_plan(replace(request, lines_from="edge", line_angle=0.0, stock=StockSettings(margin=10.0), **settings))


@pytest.mark.parametrize("beyond", [0.0, 0.25])
def test_a_smoothed_scan_is_planned_as_its_clean_twin(beyond: float) -> None:
    # Of whole cells, and of a quarter of a mm more: so the outline, with its noise, lies on the grid in one way and another.
    clean = block(arched, LENGTH + beyond, WIDTH + beyond, EDGE)
    twin, scan = planned(clean), planned(scanned(clean, NOISE), smooth=None)
    assert scan.path.line_count == pytest.approx(twin.path.line_count, rel=0.1)
    assert scan.run_time.minutes == pytest.approx(twin.run_time.minutes, rel=0.1)
    assert [opening.kind for opening in scan.ground.openings] == [opening.kind for opening in twin.ground.openings]
    keys = {finding.key for finding in scan.findings}
    assert "smoothed-mesh" in keys and "rough-mesh" not in keys and not {finding.key for finding in twin.findings} & {"smoothed-mesh", "rough-mesh"}
    # As it is, it is told to be rough, and takes longer than the form asks for: the test can fail.
    rough = planned(scanned(clean, NOISE))
    assert "rough-mesh" in {finding.key for finding in rough.findings}
    assert rough.run_time.minutes > 1.1 * twin.run_time.minutes


def test_a_smoothing_that_is_no_number_is_refused(capsys: pytest.CaptureFixture) -> None:
    assert run(["plan", "blend_examples/carved_bass.ply", "--smooth", "much"]) == 2
    assert "greatest deviation in mm or auto" in capsys.readouterr().err
