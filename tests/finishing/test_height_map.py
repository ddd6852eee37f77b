"""Heights on the grid against ray casting, published values and a plain twin."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from shapes import block, franke, graph

from addon.finishing.core.grid import Grid
from addon.finishing.surface import height_map as module
from addon.finishing.surface.height_map import estimated_memory_mib, height_map, top_marks

FRANKE = json.loads((Path(__file__).parents[1] / "reference_values.json").read_text())["franke"]


def plain_heights(triangles: np.ndarray, grid: Grid) -> np.ndarray:
    """Plain twin: every cell against every triangle, by barycentric coordinates."""
    out = np.full(grid.shape, -np.inf)
    for a, b, c in triangles:
        area = (b[0] - a[0]) * (c[1] - a[1]) - (c[0] - a[0]) * (b[1] - a[1])
        if abs(area) < 1e-9:
            continue
        for row, y in enumerate(grid.y()):
            for column, x in enumerate(grid.x()):
                u = ((x - a[0]) * (c[1] - a[1]) - (c[0] - a[0]) * (y - a[1])) / area
                v = ((b[0] - a[0]) * (y - a[1]) - (x - a[0]) * (b[1] - a[1])) / area
                if u >= -1e-9 and v >= -1e-9 and u + v <= 1 + 1e-9:
                    out[row, column] = max(out[row, column], a[2] + u * (b[2] - a[2]) + v * (c[2] - a[2]))
    return out


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10**6), st.booleans())
def test_heights_equal_those_found_cell_by_cell(seed: int, on_cells: bool) -> None:
    # Random triangles, half of them with corners on cell centres, where edges run along rows and through cells.
    rng = np.random.default_rng(seed)
    grid = Grid(left=-3.0, front=2.0, cell=0.5, rows=11, columns=13)
    triangles = np.concatenate([rng.uniform([-4, 1, 0], [4, 8, 5], (8, 3, 3)), rng.uniform([-1, 3, 0], [0, 4, 5], (4, 3, 3))])
    if on_cells:
        triangles[:, :, :2] = np.rint(triangles[:, :, :2] * 2) / 2
    found, expected = height_map(triangles, grid, upward_only=False), plain_heights(triangles, grid)
    np.testing.assert_array_equal(np.isfinite(found), np.isfinite(expected))
    np.testing.assert_allclose(found[np.isfinite(found)], expected[np.isfinite(found)], atol=1e-8)


def test_pieces_of_the_work_join_without_a_seam(monkeypatch: pytest.MonkeyPatch) -> None:
    # By construction: few spans at a time give what all give at once.
    triangles = graph(lambda x, y: np.sin(x) + y / 5, np.linspace(0, 20, 31), np.linspace(0, 15, 21))
    grid = Grid.over(np.array([0.0, 0.0]), np.array([20.0, 15.0]), 0.21)
    whole = height_map(triangles, grid)
    monkeypatch.setattr(module, "SPANS_AT_ONCE", 7)
    np.testing.assert_array_equal(height_map(triangles, grid), whole)


def test_heights_agree_with_ray_casting() -> None:
    # Reference library: trimesh's ray casting on a closed block with a wavy top.
    triangles = block(lambda x, y: 5 + np.sin(x / 3) + 0.5 * np.cos(y / 2), 20.0, 15.0, 0.9)
    mesh = trimesh.Trimesh(triangles.reshape(-1, 3), np.arange(3 * len(triangles)).reshape(-1, 3))
    grid = Grid.over(np.array([0.0, 0.0]), np.array([20.0, 15.0]), 0.37, margin=1.0)
    found = height_map(triangles, grid)
    x, y = np.meshgrid(grid.x(), grid.y())
    origins = np.column_stack([x.ravel(), y.ravel(), np.full(x.size, 50.0)])
    places, rays, _ = mesh.ray.intersects_location(origins, np.tile([0, 0, -1.0], (x.size, 1)))
    expected = np.full(x.size, -np.inf)
    np.maximum.at(expected, rays, places[:, 2])
    agree = np.isfinite(expected) == np.isfinite(found.ravel())
    assert agree.mean() > 0.995  # rays along the very edge may go either way
    both = np.isfinite(expected) & np.isfinite(found.ravel())
    np.testing.assert_allclose(found.ravel()[both], expected[both], atol=1e-9)


def test_heights_of_frankes_surface() -> None:
    # Published values at three places (tests/reference_values.json "franke"), on the meshed surface, 100 mm a side.
    triangles = graph(lambda x, y: 100 * franke(x / 100, y / 100), np.linspace(0, 100, 201), np.linspace(0, 100, 201))
    heights = height_map(triangles, Grid(0.0, 0.0, 0.5, 201, 201))
    for x, y, z in FRANKE["values"]:
        assert heights[round(200 * y), round(200 * x)] == pytest.approx(100 * z, abs=1e-4)


def test_faces_that_look_down_are_left_out_on_demand() -> None:
    # By construction: an upper face at 3 mm that looks up, and one at 5 mm that looks down, over half the ground.
    low = graph(lambda x, y: np.full(x.shape, 3.0), np.array([0.0, 4.0]), np.array([0.0, 4.0]))
    high = graph(lambda x, y: np.full(x.shape, 5.0), np.array([0.0, 2.0]), np.array([0.0, 4.0]))[:, ::-1]
    grid = Grid(0.5, 0.5, 1.0, 4, 4)
    triangles = np.concatenate([low, high])
    assert (height_map(triangles, grid) == 3.0).all()
    both = height_map(triangles, grid, upward_only=False)
    assert (both[:, :2] == 5.0).all() and (both[:, 2:] == 3.0).all()


def test_nothing_lies_over_a_grid_elsewhere() -> None:
    triangles = graph(lambda x, y: 0 * x, np.array([0.0, 4.0]), np.array([0.0, 4.0]))
    assert (height_map(triangles, Grid(10.0, 0.0, 1.0, 3, 3)) == -np.inf).all()
    assert (height_map(np.zeros((0, 3, 3)), Grid(0.0, 0.0, 1.0, 3, 3)) == -np.inf).all()


def test_marks_follow_the_top_surface() -> None:
    triangles = block(lambda x, y: np.full(np.shape(x), 5.0), 10.0, 10.0, 1.0)
    middle = triangles.mean(axis=1)
    marked = (middle[:, 0] < 5) & (middle[:, 2] > 4)
    grid = Grid.over(np.array([0.0, 0.0]), np.array([10.0, 10.0]), 0.5)
    heights = height_map(triangles, grid)
    marks = top_marks(triangles, marked, grid, heights)
    assert marks[:, :10].all() and not marks[:, 11:].any()
    # Marked faces of the underside do not show from above.
    assert not top_marks(triangles, middle[:, 2] < 0.1, grid, heights).any()


def test_memory_grows_with_cells_and_triangles() -> None:
    # The two sizes are chosen above what the bench measures; here only that both count, each in proportion.
    one = estimated_memory_mib(Grid(0, 0, 1, 1000, 1000), 0)
    always = 2 * one - estimated_memory_mib(Grid(0, 0, 1, 2000, 1000), 0)
    assert 0 < always < one and estimated_memory_mib(Grid(0, 0, 1, 3000, 1000), 0) == pytest.approx(3 * (one - always) + always)
    with_triangles = estimated_memory_mib(Grid(0, 0, 1, 1000, 1000), 200_000) - one
    assert with_triangles == pytest.approx(2 * (estimated_memory_mib(Grid(0, 0, 1, 1000, 1000), 100_000) - one)) and with_triangles > 0
