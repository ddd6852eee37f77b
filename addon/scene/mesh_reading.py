"""A Blender object as a body in mm: modifiers, transform and unit scale applied once, here."""

from __future__ import annotations

from dataclasses import dataclass

import bpy
import numpy as np
from numpy.typing import NDArray

from ..finishing.core.errors import BadBody
from ..finishing.job.body import Body, make_body
from ..finishing.reading.precision import coarse_step
from .evaluation import evaluated_body

SKIP_ATTRIBUTE = "finish_skip"
"""BOOLEAN attribute on faces: True is skipped."""

SKIP_GROUP = "Finish Skip"
"""Vertex group: faces whose corners weigh half or more on average are skipped."""

SKIP_MASK = ".sculpt_mask"
HALF = 0.5


def millimetres_per_unit(scene: bpy.types.Scene) -> float:
    """Millimetres that one Blender unit stands for. Without a unit system one unit counts as a metre times the scale."""
    return scene.unit_settings.scale_length * 1000.0


@dataclass(frozen=True)
class MeshArrays:
    """What was read of an object: plain arrays that any thread may work on.

    places: (vertices, 3) float32 in the object's own axes. corners: (triangles, 3). skipped: (triangles,) bool.
    matrix: 4x4, object to world. scale: millimetres for one Blender unit.
    """

    name: str
    places: NDArray[np.float32]
    corners: NDArray[np.int32]
    skipped: NDArray[np.bool_]
    matrix: NDArray[np.float64]
    scale: float


def read_body(context: bpy.types.Context, body_object: bpy.types.Object) -> Body:
    """Read an object with its modifiers, in world axes, in mm. Raises BadBody when it has no surface."""
    return body_of(read_arrays(context, body_object))


def read_arrays(context: bpy.types.Context, body_object: bpy.types.Object) -> MeshArrays:
    """Copy an object with its modifiers into arrays: all that needs Blender. Raises BadBody when it has no surface, or is not shown whole."""
    if body_object.type not in {"MESH", "CURVE", "SURFACE", "META", "FONT"}:
        raise BadBody("'{body}' is not a mesh: choose a mesh object.", body=body_object.name)
    if body_object.mode == "EDIT":
        body_object.update_from_editmode()
    evaluated = evaluated_body(context, body_object)
    mesh = evaluated.to_mesh()
    try:
        if mesh is None or len(mesh.polygons) == 0:
            raise BadBody("'{body}' has no faces: choose a mesh with a surface.", body=body_object.name)
        mesh.calc_loop_triangles()
        corners = _array(mesh.loop_triangles, "vertices", np.int32).reshape(-1, 3)
        polygon = _array(mesh.loop_triangles, "polygon_index", np.int32)
        places = _array(mesh.vertices, "co", np.float32, width=3).reshape(-1, 3)
        skipped = _skipped_faces(mesh, evaluated)[polygon]
    finally:
        evaluated.to_mesh_clear()
    matrix = np.array(evaluated.matrix_world, dtype=np.float64)
    return MeshArrays(body_object.name, places, corners, skipped, matrix, millimetres_per_unit(context.scene))


def body_of(arrays: MeshArrays) -> Body:
    """The body that the arrays describe, in world axes, in mm. Needs no Blender.

    Raises BadBody when it has no area, or lies so far from its own origin that single precision is too coarse.
    """
    step = coarse_step(arrays.places, arrays.scale * float(np.linalg.norm(arrays.matrix[:3, :3], axis=0).max()))
    if step is not None:
        raise BadBody(
            "'{body}' lies so far from its origin that its points come in steps of {step:.2g} mm: set its origin to its geometry.",
            body=arrays.name,
            step=step,
        )
    world = (arrays.places.astype(np.float64) @ arrays.matrix[:3, :3].T + arrays.matrix[:3, 3]) * arrays.scale
    triangles = world[arrays.corners]
    if np.linalg.det(arrays.matrix[:3, :3]) < 0:  # a mirror turns faces inside out
        triangles = triangles[:, ::-1]
    return make_body(arrays.name, triangles, arrays.skipped)


def _array(collection: bpy.types.bpy_prop_collection, name: str, kind: type, width: int | None = None) -> NDArray:
    """One attribute of all items of a collection, flat."""
    if width is None:
        width = 3 if name == "vertices" else 1
    values = np.empty(len(collection) * width, kind)
    collection.foreach_get(name, values)
    return values


def _skipped_faces(mesh: bpy.types.Mesh, evaluated: bpy.types.Object) -> NDArray[np.bool_]:
    """Faces that the attribute, the vertex group or the sculpt mask marks, joined, (polygons,) bool."""
    skipped = np.zeros(len(mesh.polygons), bool)
    attribute = mesh.attributes.get(SKIP_ATTRIBUTE)
    if attribute is not None and attribute.domain == "FACE" and attribute.data_type == "BOOLEAN" and len(attribute.data):
        values = np.empty(len(mesh.polygons), bool)
        attribute.data.foreach_get("value", values)
        skipped |= values
    mask = mesh.attributes.get(SKIP_MASK)
    if mask is not None and mask.domain == "POINT" and len(mask.data) == len(mesh.vertices):
        weights = np.empty(len(mesh.vertices), np.float32)
        mask.data.foreach_get("value", weights)
        skipped |= _mean_over_faces(mesh, weights) >= HALF
    group = evaluated.vertex_groups.get(SKIP_GROUP)
    if group is not None:
        skipped |= _mean_over_faces(mesh, _group_weights(mesh, group.index)) >= HALF
    return skipped


def _mean_over_faces(mesh: bpy.types.Mesh, weights: NDArray[np.float32]) -> NDArray[np.float32]:
    """Mean of a value per vertex over the corners of every face."""
    starts = _array(mesh.polygons, "loop_start", np.int32)
    vertex = _array(mesh.loops, "vertex_index", np.int32)
    totals = np.add.reduceat(weights[vertex], starts)
    return totals / np.diff(np.append(starts, len(vertex)))


def _group_weights(mesh: bpy.types.Mesh, index: int) -> NDArray[np.float32]:
    """Weight of every vertex in one group, 0 where it is not in it. Blender offers no faster way than this loop."""
    weights = np.zeros(len(mesh.vertices), np.float32)
    for number, vertex in enumerate(mesh.vertices):
        for element in vertex.groups:
            if element.group == index:
                weights[number] = element.weight
                break
    return weights
