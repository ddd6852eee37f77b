"""Normals and areas of triangles against trimesh."""

from __future__ import annotations

import numpy as np
import trimesh

from addon.finishing.core.triangles import twice_areas, twice_plan_area, unit_normals


def test_normals_and_areas_are_those_of_trimesh() -> None:
    # Reference library: trimesh.triangles.
    triangles = np.random.default_rng(3).normal(0, 10, (200, 3, 3))
    normals, twice_area = unit_normals(triangles)
    expected, valid = trimesh.triangles.normals(triangles)
    assert valid.all()
    np.testing.assert_allclose(normals, expected, atol=1e-12)
    np.testing.assert_allclose(twice_area, 2 * trimesh.triangles.area(triangles), rtol=1e-12)
    # In plan: the up part of the normal times the area.
    np.testing.assert_allclose(twice_plan_area(triangles[:, :, 0], triangles[:, :, 1]), twice_area * expected[:, 2], atol=1e-9)


def test_a_triangle_without_area_has_no_normal() -> None:
    line = np.array([[[0.0, 0, 0], [1, 1, 1], [2, 2, 2]]])
    normals, twice_area = unit_normals(line)
    assert (normals == 0).all() and twice_area[0] == 0


def test_areas_against_the_product_of_vectors() -> None:
    triangles = np.random.default_rng(3).normal(0, 50, (200, 3, 3))
    np.testing.assert_allclose(twice_areas(triangles), unit_normals(triangles)[1], rtol=1e-12)
    assert twice_areas(np.array([[[0.0, 0, 0], [4, 0, 0], [0, 0, 3]]]))[0] == 12.0
