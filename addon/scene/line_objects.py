"""Pass lines as a mesh object of edges, so that they are saved with the file and other tools of Blender can use them."""

from __future__ import annotations

import bpy
import numpy as np

from ..finishing.core.array_types import FloatArray
from ..finishing.core.path import Path
from .blender_data import attribute_data, present

LINE, KIND, FEED = "finish_line", "finish_kind", "finish_feed"
"""Attributes on the edges: number of the pass line, kind as in path.KINDS, feed in mm/min."""


def add_lines_object(
    context: bpy.types.Context, name: str, path: Path, body_from_job: FloatArray, scale: float, body_object: bpy.types.Object
) -> bpy.types.Object:
    """A new object with one edge for every move of a path, a child of the body so that it goes where the body goes.

    body_from_job: (4, 4), job mm to the world's mm. scale: millimetres for one Blender unit. The edges carry the line, kind and feed of
    the point that they lead to.
    """
    places = (path.points @ body_from_job[:3, :3].T + body_from_job[:3, 3]) / scale
    mesh = bpy.data.meshes.new(name)
    mesh.vertices.add(len(places))
    mesh.vertices.foreach_set("co", places.astype(np.float32).ravel())
    count = max(0, len(places) - 1)
    mesh.edges.add(count)
    mesh.edges.foreach_set("vertices", np.column_stack([np.arange(count), np.arange(1, count + 1)]).astype(np.int32).ravel())
    for attribute_name, numbers in ((LINE, path.line), (KIND, path.kind)):
        attribute_data(mesh.attributes.new(attribute_name, "INT", "EDGE")).foreach_set("value", numbers[1:].astype(np.int32))
    attribute_data(mesh.attributes.new(FEED, "FLOAT", "EDGE")).foreach_set("value", path.feed[1:].astype(np.float32))
    mesh.update()
    lines = bpy.data.objects.new(name, mesh)
    present(context.collection).objects.link(lines)
    lines.parent = body_object
    lines.matrix_parent_inverse = body_object.matrix_world.inverted_safe()
    return lines
