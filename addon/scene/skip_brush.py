"""A stroke of the Skip tool: which faces of a body lie under the brush, and the marks that they get.

The brush is a ball about the place of the body that the mouse is on. While a stroke lasts the mesh is left as it is; the marks are kept here and
written once at its end, so that a stroke is one step to undo and Blender evaluates nothing anew in between.
"""

from __future__ import annotations

from dataclasses import dataclass

import bpy
import numpy as np
from mathutils import Vector
from mathutils.bvhtree import BVHTree
from numpy.typing import NDArray

from ..finishing.core.array_types import Double, Indices, Mask, Single
from ..finishing.core.errors import BadBody
from .blender_data import attribute_data, edited_mesh, find_named, mesh_of, present, values_of, world_matrix
from .mesh_reading import millimetres_per_unit
from .shown_marks import SHOWN_MARKS
from .skip_marks import mark_faces, skipped_faces, take_all_as_faces

SKIP_TOOL = "finishing.skip_tool"
"""Name of the tool in the toolbar, the same in all of its modes."""

NUMBERS = "finish_face_number"
"""Attribute that for a moment numbers the faces of a mesh whose modifiers change their count."""


def skip_tool_is_on(context: bpy.types.Context) -> bool:
    """Whether the Skip tool is the active one of the 3D views in the mode that Blender is in."""
    return active_tool(context) == SKIP_TOOL


def active_tool(context: bpy.types.Context) -> str:
    """Name of the active tool of the 3D views, "" where none is known."""
    workspace = context.workspace
    tool = None if workspace is None else workspace.tools.from_space_view3d_mode(context.mode, create=False)
    return "" if tool is None else tool.idname


@dataclass(frozen=True)
class Hit:
    """Where a ray meets a body: place (3,) in mm and unit normal (3,), both in world axes; number of the face as the body is seen."""

    place: Double
    normal: Double
    face: int


class Aim:
    """Finds where a ray meets a body as it is seen: with its modifiers, or in Edit Mode the mesh that is edited."""

    def __init__(self, context: bpy.types.Context, body_object: bpy.types.Object) -> None:
        self._object = body_object
        self._scale = millimetres_per_unit(present(context.scene))
        self._tree = BVHTree.FromBMesh(edited_mesh(mesh_of(body_object))) if body_object.mode == "EDIT" else None

    def at(self, context: bpy.types.Context, origin: Vector, direction: Vector) -> Hit | None:
        """Where a ray in world axes, in Blender units, first meets the body; None when it passes by, and for a body that is hidden."""
        if not self._object.visible_get():
            return None
        back = self._object.matrix_world.inverted_safe()
        start = back @ origin
        way = back.to_3x3() @ direction
        if self._tree is not None:
            place, normal, face, _ = self._tree.ray_cast(start, way)
        else:
            evaluated = self._object.evaluated_get(context.evaluated_depsgraph_get())
            try:
                found, place, normal, face = evaluated.ray_cast(start, way)
            except RuntimeError:  # as Blender says that modifiers have left nothing
                return None
            place = place if found else None
        if place is None or normal is None or face is None:
            return None
        turned = np.array(back.to_3x3().transposed() @ normal, np.float64)
        at = np.array(self._object.matrix_world @ place, np.float64) * self._scale
        return Hit(at, turned / max(float(np.linalg.norm(turned)), 1e-12), face)


class SkipBrush:
    """The faces of a body while a stroke lasts.

    Arrays are over the faces as they are seen: middles (n, 3) in mm and normals (n, 3) in world axes, own (n,) the face of the object's own mesh that
    each comes from, marked (n,).
    """

    def __init__(self, context: bpy.types.Context, body_object: bpy.types.Object) -> None:
        self.body_object = body_object
        editing = body_object.mode == "EDIT"
        if editing:
            body_object.update_from_editmode()
        mesh = mesh_of(body_object)
        self.own_count = len(mesh.polygons)
        # In Edit Mode what is aimed at is the mesh itself: modifiers show, but have no faces of their own to mark.
        seen = body_object if editing else body_object.evaluated_get(context.evaluated_depsgraph_get())
        self.own = np.arange(self.own_count) if editing else own_faces(context, body_object)
        matrix, self._scale = world_matrix(body_object), millimetres_per_unit(present(context.scene))
        if not np.linalg.det(matrix[:3, :3]):
            raise BadBody("'{body}' is scaled to nothing: give it a size first.", body=body_object.name)
        shown = mesh_of(seen)
        middles = values_of(shown.polygons, "center", np.float32, width=3).reshape(-1, 3).astype(np.float64)
        self.middles = (middles @ matrix[:3, :3].T + matrix[:3, 3]) * self._scale
        normals = values_of(shown.polygons, "normal", np.float32, width=3).reshape(-1, 3).astype(np.float64)
        self.normals = normals @ np.linalg.inv(matrix[:3, :3])
        self.marked, corners = _marks_and_triangles(body_object, seen)
        self.before = self.marked.copy()
        self._triangles, self._face_of_triangle = corners
        self.touched: Mask = np.zeros(len(self.marked), np.bool_)

    def under(self, last: Hit | None, hit: Hit, radius: float) -> Indices:
        """The faces whose middle lies within a radius in mm of the way from the last place to this one, on the side that is looked at."""
        start = hit.place if last is None else last.place
        way = hit.place - start
        share = np.clip((self.middles - start) @ way / max(float(way @ way), 1e-12), 0, 1)
        away = self.middles - start - share[:, None] * way
        near = (np.einsum("ij,ij->i", away, away) <= radius**2) & (self.normals @ hit.normal > 0)
        near[hit.face] = True
        return np.flatnonzero(near)

    def dab(self, last: Hit | None, hit: Hit, radius: float, *, skip: bool) -> bool:
        """Mark what lies under the brush, or take its marks back; returns whether anything has changed."""
        faces = self.under(last, hit, radius)
        # What the modifiers make of one face has one mark.
        faces = faces if self.own_count == len(self.own) else np.flatnonzero(np.isin(self.own, self.own[faces]))
        changed = faces[self.marked[faces] != skip]
        self.marked[changed] = skip
        self.touched[changed] = True
        return bool(len(changed))

    def show(self) -> None:
        """Have the marks drawn as they are now."""
        SHOWN_MARKS.put(self.body_object.session_uid, self._triangles[self.marked[self._face_of_triangle]])

    def write(self) -> None:
        """Give the mesh the marks of the stroke. Raises BadBody when another attribute has the name of the marks."""
        editing = self.body_object.mode == "EDIT"
        if editing:
            bpy.ops.object.mode_set(mode="OBJECT")
        try:
            mesh = mesh_of(self.body_object)
            for skip in (True, False):
                chosen = np.zeros(self.own_count, np.bool_)
                chosen[self.own[self.touched & (self.marked == skip)]] = True
                if not chosen.any():
                    continue
                if not skip:
                    take_all_as_faces(self.body_object)
                mark_faces(mesh, chosen, skip=skip)
        finally:
            if editing:
                bpy.ops.object.mode_set(mode="EDIT")


def own_faces(context: bpy.types.Context, body_object: bpy.types.Object) -> NDArray[np.intp]:
    """For every face as the body is seen, the face of its own mesh that it comes from, (faces,). Raises BadBody where they come from none."""
    mesh = mesh_of(body_object)
    graph = context.evaluated_depsgraph_get()
    count = len(mesh.polygons)
    if len(mesh_of(body_object.evaluated_get(graph)).polygons) == count:
        return np.arange(count)
    numbers = mesh.attributes.new(NUMBERS, "INT", "FACE")
    try:
        attribute_data(numbers).foreach_set("value", np.arange(count, dtype=np.int32))
        mesh.update()
        graph.update()
        shown = mesh_of(body_object.evaluated_get(graph))
        carried = find_named(shown.attributes, NUMBERS)
        if carried is None or carried.domain != "FACE":  # modifiers that make a mesh of their own, whose faces come from none
            raise BadBody("The faces of '{body}' come from its modifiers: apply them before you paint.", body=body_object.name)
        return values_of(attribute_data(carried), "value", np.int32).astype(np.intp)
    finally:
        mesh.attributes.remove(mesh.attributes[NUMBERS])
        mesh.update()
        graph.update()


def _marks_and_triangles(body_object: bpy.types.Object, seen: bpy.types.Object) -> tuple[Mask, tuple[Single, NDArray[np.int32]]]:
    """Which faces of what is seen are marked, its triangles (m, 3, 3) in the object's own axes, and the face of each."""
    # In Edit Mode the marks of a mesh cannot be read from it: a copy has them.
    mesh = present(seen.to_mesh())
    try:
        skipped = skipped_faces(mesh, body_object)
        mesh.calc_loop_triangles()
        corners = values_of(mesh.loop_triangles, "vertices", np.int32, width=3).reshape(-1, 3)
        triangles = values_of(mesh.vertices, "co", np.float32, width=3).reshape(-1, 3)[corners]
        return skipped, (triangles, values_of(mesh.loop_triangles, "polygon_index", np.int32))
    finally:
        seen.to_mesh_clear()
