"""Coarse facets: lines follow the form that they stand for, against the same form finely meshed and against its closed form."""

from __future__ import annotations

import numpy as np
import pytest
from shapes import block, graph

from addon.finishing.core.result_store import ResultStore
from addon.finishing.core.stage_graph import Graph
from addon.finishing.core.stage_runner import StageRunner
from addon.finishing.core.stepping import finished
from addon.finishing.job.body import make_body
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.request import Request
from addon.finishing.job.stock import StockSettings
from addon.finishing.passes.laid_lines import LaidLine
from addon.finishing.planning.plan_graph import PLAN_GRAPH, STAGES, graph_of
from addon.finishing.surface.height_map import height_map
from addon.finishing.surface.side import Side, side_grid
from addon.finishing.surface.smooth_form import SmoothForm, smooth_form

LENGTH, WIDTH, INSET = 84.0, 60.0, 12.0
FACET = 5.0
STATIONS = np.arange(INSET, LENGTH - INSET, 0.5)


def carved(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """A belly that runs out into a hollow along its rim, and a dent beside it: curved both ways everywhere."""
    away = np.hypot((x - 44) / 40, (y - 28) / 27)
    return 16 + 5 * np.cos(2.2 * away) - 1.2 * np.exp(-((x - 70) ** 2 + (y - 44) ** 2) / 150)


def side_of(triangles: np.ndarray, cell: float = 0.5) -> SmoothForm:
    corners = triangles.reshape(-1, 3)
    grid = side_grid(corners.min(axis=0), corners.max(axis=0), cell)
    return smooth_form(triangles, height_map(triangles, grid, upward_only=False).astype(np.float32), grid)


@pytest.mark.parametrize(("facet", "radius"), [(4.5, 40.0), (5.0, 40.0), (6.0, -40.0)])
def test_the_form_over_facets_of_a_sphere_is_the_sphere(facet: float, radius: float) -> None:
    def dome(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        return np.sign(radius) * (np.sqrt(radius**2 - (x - 15) ** 2 - (y - 15) ** 2) - abs(radius)) + 20

    triangles = graph(dome, np.arange(0, 30 + facet, facet), np.arange(0, 30 + facet, facet))
    corners = triangles.reshape(-1, 3)
    grid = side_grid(corners.min(axis=0), corners.max(axis=0), 0.5)
    flat = height_map(triangles, grid, upward_only=False)
    rise = smooth_form(triangles, flat.astype(np.float32), grid).rise
    x, y = grid.middles(*np.nonzero(np.isfinite(flat))).T
    inner = np.hypot(x - 15, y - 15) < 8  # a corner at the end of the mesh has faces on one side only
    missing = (dome(x, y) - flat[np.isfinite(flat)])[inner]
    off = missing - rise[np.isfinite(flat)][inner]
    # The sag of a square facet's diagonal, e^2 / (4 R), is what there is to be found; the patch leaves a tenth of it.
    assert np.abs(missing).max() > 0.6 * facet**2 / (4 * abs(radius))
    assert np.abs(off).max() < 0.1 * np.abs(missing).max()


def test_planes_creases_and_fine_meshes_keep_their_heights() -> None:
    assert not side_of(block(lambda x, y: 10 + 0.1 * x, 40, 30, 5.0)).shows  # wide facets of one plane
    assert not side_of(block(lambda x, y: 10 + 0.4 * np.abs(x - 20), 40, 30, 5.0)).shows  # a crease of 44 degrees between planes
    assert not side_of(block(carved, LENGTH, WIDTH, 1.2)).shows


def test_a_crease_stays_where_curved_ground_meets_it() -> None:
    # Two cylinders that meet in a ridge of 50 degrees along x = 20: the form goes through the ridge's corners and is bent on both sides.
    def roof(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        return 12 - 0.47 * np.abs(x - 20) - 0.006 * (x - 20) ** 2

    found = side_of(block(roof, 40, 30, 5.0))
    assert found.shows
    columns = found.rise[10:-10].mean(axis=0)
    assert np.abs(columns[41:44]).max() < 0.25 * np.abs(columns).max()  # cells within 1 mm of the ridge


def request_of(step: float, diameter: float = 12.0) -> Request:
    body = make_body("carved", block(carved, LENGTH, WIDTH, step))
    return Request(body, cutter=Cutter("Round-nose", diameter), rack_table=False, cell=0.5, cusp=0.05, lines_from="edge", line_angle=0.0)


def lines_of(step: float, asked: Graph[Request] = PLAN_GRAPH, diameter: float = 12.0) -> tuple[LaidLine, ...]:
    return finished(StageRunner(asked, ResultStore()).ask(("pass_lines",), request_of(step, diameter)))["pass_lines"]


def crossings(lines: tuple[LaidLine, ...]) -> dict[int, np.ndarray]:
    """Where each level's line, which runs along x, crosses the stations, nan where it does not; in the body's axes, which the stock's margin
    parts from the job's."""
    found: dict[int, np.ndarray] = {}
    for line in lines:
        points = line.points - StockSettings().margin
        points = points[:: 1 if points[0, 0] < points[-1, 0] else -1]
        across = np.interp(STATIONS, points[:, 0], points[:, 1], left=np.nan, right=np.nan)
        if line.level is not None:
            before = found.get(line.level, np.full(len(STATIONS), np.nan))
            found[line.level] = np.where(np.isfinite(across), across, before)
    return found


def sideways(coarse: tuple[LaidLine, ...], fine: tuple[LaidLine, ...]) -> np.ndarray:
    """How far the lines wander off those of the fine twin, (lines, stations), in spacings, two facets and more from the border, else nan.

    A line that lies aside by the same all along does not wave.
    """
    one, other = crossings(coarse), crossings(fine)
    shared = sorted(set(one) & set(other))
    assert len(shared) > 0.9 * len(other)
    mine, twin = np.array([one[level] for level in shared]), np.array([other[level] for level in shared])
    spacing = np.abs(np.gradient(twin, axis=0))
    off = np.where((twin > INSET) & (twin < WIDTH - INSET), (mine - twin) / spacing, np.nan)
    off = off[np.isfinite(off).sum(axis=1) > 0.5 * len(STATIONS)]
    assert len(off) > 6
    return off - np.nanmedian(off, axis=1, keepdims=True)


def waves(off: np.ndarray, facet: float = FACET) -> np.ndarray:
    """What of that repeats with the facets: the distance from the mean over three of them along the line, (lines, stations)."""
    window = np.hanning(round(3 * facet / (STATIONS[1] - STATIONS[0])) + 2)[1:-1]
    mean = np.array([np.convolve(row, window / window.sum(), "same") for row in off])
    half = len(window) // 2
    return (off - mean)[:, half:-half]


def share(values: np.ndarray, percent: float) -> float:
    """The size that so many of the values stay below."""
    return float(np.percentile(np.abs(values[np.isfinite(values)]), percent))


def test_coarse_facets_do_not_make_lines_wave() -> None:
    fine = lines_of(0.75)
    off = sideways(lines_of(FACET), fine)
    assert share(waves(off), 99) <= 0.05 and share(off, 95) <= 0.1 and share(off, 50) < 0.02
    # The same mesh taken for what it is: the test can fail.
    plain = graph_of(tuple(stage if stage.__name__ != "form" else _no_form for stage in STAGES))
    facets = sideways(lines_of(FACET, plain), fine)
    assert share(waves(facets), 99) > 0.08 and share(facets, 95) > 0.2


@pytest.mark.parametrize(("facet", "diameter"), [(4.0, 22.0), (3.0, 32.0), (4.0, 32.0)])
def test_lines_of_a_large_cutter_do_not_wave_over_narrower_ones(facet: float, diameter: float) -> None:
    # A ball rolls over the edge between two facets by its radius times the angle: it feels narrower ones than a small ball does.
    off = sideways(lines_of(facet, diameter=diameter), lines_of(0.75, diameter=diameter))
    assert share(waves(off, facet), 99) <= 0.1


def test_heights_stay_those_of_the_facets() -> None:
    proof = finished(StageRunner(PLAN_GRAPH, ResultStore()).ask(("proof",), request_of(FACET)))["proof"]
    assert proof.worst_gouge <= 0.002


def _no_form(heights: Side) -> SmoothForm:
    """No form but the facets."""
    return SmoothForm(np.zeros(heights.grid.shape, np.float32))


_no_form.__name__ = "form"
