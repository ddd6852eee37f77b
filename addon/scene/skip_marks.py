"""Ground that the user has marked to be skipped: on faces, by vertex weights, or by the sculpt mask."""

from __future__ import annotations

from itertools import pairwise

import bpy
import numpy as np
from numpy.typing import NDArray

from ..finishing.core.array_types import Mask
from ..finishing.core.errors import BadBody
from .blender_data import attribute_data, edited_mesh, find_named, mesh_of, values_of

SKIP_ATTRIBUTE = "finish_skip"
"""BOOLEAN attribute on faces: True is skipped."""

SKIP_GROUP = "Finish Skip"
"""Vertex group: faces whose corners weigh HALF or more on average are skipped."""

SKIP_MASK = ".sculpt_mask"
"""Blender's own attribute of the sculpt mask, read like the weights."""

HALF = 0.5

VERTICES_AT_ONCE = 12_000
"""Vertices whose weights are read in one go: some 10 ms, so that a check of a large mesh can pause in between."""


def skipped_faces(mesh: bpy.types.Mesh, evaluated: bpy.types.Object, weights: NDArray[np.float32] | None = None) -> Mask:
    """Faces that the attribute, the vertex group or the sculpt mask marks, joined, (faces,). weights: (vertices,) where they have been read already."""
    skipped = np.zeros(len(mesh.polygons), np.bool_)
    attribute = find_named(mesh.attributes, SKIP_ATTRIBUTE)
    if attribute is not None and _marks_faces(attribute) and len(attribute_data(attribute)):
        skipped |= values_of(attribute_data(attribute), "value", np.bool_)
    mask = find_named(mesh.attributes, SKIP_MASK)
    if mask is not None and mask.domain == "POINT" and len(attribute_data(mask)) == len(mesh.vertices):
        skipped |= _mean_over_faces(mesh, values_of(attribute_data(mask), "value", np.float32)) >= HALF
    group = find_named(evaluated.vertex_groups, SKIP_GROUP)
    if group is not None:
        if weights is None or len(weights) != len(mesh.vertices):
            steps = pairwise([*range(0, len(mesh.vertices), VERTICES_AT_ONCE), len(mesh.vertices)])
            weights = np.concatenate([group_weights(mesh, group.index, first, last) for first, last in steps])
        skipped |= _mean_over_faces(mesh, weights) >= HALF
    return skipped


def may_have_marks(body_object: bpy.types.Object) -> bool:
    """Whether an object has anything that could mark ground: a look at names, no values."""
    if body_object.type != "MESH":
        return False
    names = mesh_of(body_object).attributes
    return SKIP_ATTRIBUTE in names or SKIP_MASK in names or SKIP_GROUP in body_object.vertex_groups


def take_all_as_faces(body_object: bpy.types.Object) -> None:
    """Turn weights and sculpt mask into marks on faces, so that marks can be taken back face by face. Raises BadBody as mark_faces does."""
    mesh = mesh_of(body_object)
    if SKIP_MASK not in mesh.attributes and SKIP_GROUP not in body_object.vertex_groups:
        return
    skipped = skipped_faces(mesh, body_object)
    mark_faces(mesh, skipped)
    _remove(body_object, SKIP_MASK)


def group_weights(mesh: bpy.types.Mesh, index: int, first: int, last: int) -> NDArray[np.float32]:
    """Weights of some vertices in one group, 0 where they are not in it, (last - first,). Blender offers no faster way than this loop."""
    weights = np.zeros(last - first, np.float32)
    for number, vertex in enumerate(mesh.vertices[first:last]):
        for element in vertex.groups:
            if element.group == index:
                weights[number] = element.weight
                break
    return weights


def vertex_count(body_object: bpy.types.Object) -> int:
    """Number of vertices of an object's own mesh, in Edit Mode of the one that is edited."""
    mesh = mesh_of(body_object)
    return len(edited_mesh(mesh).verts) if mesh.is_editmode else len(mesh.vertices)


def own_weights(body_object: bpy.types.Object, index: int, first: int, last: int) -> NDArray[np.float32]:
    """Weights of some vertices of an object's own mesh in one group, 0 where they are not in it; in Edit Mode as they have been edited."""
    mesh = mesh_of(body_object)
    if not mesh.is_editmode:
        return group_weights(mesh, index, first, last)
    edited = edited_mesh(mesh)
    layer = edited.verts.layers.deform.active
    if layer is None:
        return np.zeros(last - first, np.float32)
    edited.verts.ensure_lookup_table()
    return np.array([edited.verts[number][layer].get(index, 0.0) for number in range(first, last)], np.float32)


def mark_faces(mesh: bpy.types.Mesh, faces: Mask, skip: bool = True) -> None:
    """Mark faces (faces,) to be skipped, or take their marks away. Raises BadBody when another attribute has the name of the marks."""
    attribute = find_named(mesh.attributes, SKIP_ATTRIBUTE)
    if attribute is None:
        attribute = mesh.attributes.new(SKIP_ATTRIBUTE, "BOOLEAN", "FACE")
    if not _marks_faces(attribute):
        raise BadBody("The mesh has another attribute named '{name}': rename it first.", name=SKIP_ATTRIBUTE)
    marks = attribute_data(attribute)
    marked = values_of(marks, "value", np.bool_)
    marks.foreach_set("value", marked | faces if skip else marked & ~faces)
    mesh.update()


def clear_marks(body_object: bpy.types.Object) -> None:
    """Take all marks away: those on faces, the vertex group and the sculpt mask."""
    _remove(body_object, SKIP_ATTRIBUTE, SKIP_MASK)


def _remove(body_object: bpy.types.Object, *names: str) -> None:
    """Take attributes of these names and the vertex group away."""
    mesh = mesh_of(body_object)
    for name in names:
        attribute = find_named(mesh.attributes, name)
        if attribute is not None:
            mesh.attributes.remove(attribute)
    group = find_named(body_object.vertex_groups, SKIP_GROUP)
    if group is not None:
        body_object.vertex_groups.remove(group)
    mesh.update()


def _marks_faces(attribute: bpy.types.Attribute) -> bool:
    """Whether this attribute can hold our marks, and is not one of the same name with another meaning."""
    return attribute.domain == "FACE" and attribute.data_type == "BOOLEAN"


def _mean_over_faces(mesh: bpy.types.Mesh, weights: NDArray[np.float32]) -> NDArray[np.floating]:
    """Mean of a value per vertex over the corners of every face."""
    starts = values_of(mesh.polygons, "loop_start", np.int32)
    vertex = values_of(mesh.loops, "vertex_index", np.int32)
    totals = np.add.reduceat(weights[vertex], starts)
    return totals / np.diff(np.append(starts, len(vertex)))
