"""An object as Blender shows it, with its modifiers: or a sentence why what would be read is not what the user means.

Blender evaluates only what the view layer shows, hands out the plain mesh of all else without a word, and passes over a modifier that lacks
what it needs.
"""

from __future__ import annotations

import bpy
import numpy as np

from ..finishing.core.errors import BadBody
from ..finishing.core.message import Message
from ..finishing.reading.faults import name_list, printable

NEEDED = {
    "ARMATURE": "object",
    "CURVE": "object",
    "HOOK": "object",
    "LATTICE": "object",
    "MESH_DEFORM": "object",
    "MESH_SEQUENCE_CACHE": "cache_file",
    "NODES": "node_group",
    "PARTICLE_INSTANCE": "object",
    "SHRINKWRAP": "target",
    "SURFACE_DEFORM": "target",
    "VOLUME_TO_MESH": "object",
}
"""What a type of modifier does nothing without."""

LACKS = {
    "cache_file": Message("has no cache file to work with: choose one"),
    "collection": Message("has no collection to work with: choose one"),
    "node_group": Message("has no node group to work with: choose one"),
    "object": Message("has no object to work with: choose one"),
    "target": Message("has no target to work with: choose one"),
}
"""What is wrong with a modifier that lacks it."""

BOUND = {"MESH_DEFORM": "is_bound", "SURFACE_DEFORM": "is_bound", "LAPLACIANDEFORM": "is_bind"}
"""Modifiers that do nothing until they are bound."""

SHAPING = frozenset(("BOOLEAN", "MIRROR", "REMESH", "SCREW", "SKIN", "SOLIDIFY", "WIREFRAME"))
"""Modifiers that always change a mesh when they work."""

NAMES_SHOWN = 4


def evaluated_body(context: bpy.types.Context, body_object: bpy.types.Object) -> bpy.types.Object:
    """The object with its modifiers and transform as shown. Raises BadBody when it is not shown, or a modifier does not work."""
    name = body_object.name
    graph = context.evaluated_depsgraph_get()  # brings the view layer's list of objects up to date, too
    _check_in_view_layer(context, body_object)
    evaluated = body_object.evaluated_get(graph)
    if not evaluated.is_evaluated:
        raise BadBody("'{body}' is hidden, so that Blender leaves its modifiers and its place alone: show the object and its collection.", body=name)
    shown = [modifier for modifier in body_object.modifiers if modifier.show_viewport]
    if body_object.mode == "EDIT":
        left_out = tuple(modifier.name for modifier in shown if not modifier.show_in_editmode)
        if left_out:
            raise BadBody(
                "'{body}' is in Edit Mode, which leaves out {names}: go back to Object Mode.", body=name, names=name_list(left_out, NAMES_SHOWN)
            )
    for modifier in shown:
        fault = _fault(modifier)
        if fault is not None:
            raise BadBody(
                "The modifier '{modifier}' of '{body}' {fault}, or switch it off in the viewport.",
                modifier=modifier.name,
                body=name,
                fault=fault,
            )
    if _makes_instances(graph, body_object):
        raise BadBody("'{body}' makes instances, which are not part of its mesh: realize them (Realize Instances, Make Instances Real).", body=name)
    _check_shaping(body_object, evaluated, tuple(modifier.name for modifier in shown if modifier.type in SHAPING))
    return evaluated


def _check_in_view_layer(context: bpy.types.Context, body_object: bpy.types.Object) -> None:
    """Raises BadBody for an object of another scene, or of a collection that is excluded."""
    if body_object in context.view_layer.objects.values():
        return
    name = body_object.name
    if context.scene in body_object.users_scene:
        raise BadBody("'{body}' lies in a collection that the view layer excludes: tick the collection in the outliner.", body=name)
    scenes = tuple(scene.name for scene in body_object.users_scene)
    if scenes:
        raise BadBody(
            "'{body}' lies in the scene {names}, but '{current}' is the current one: change to that scene.",
            body=name,
            names=name_list(scenes, NAMES_SHOWN),
            current=context.scene.name,
        )
    raise BadBody("'{body}' lies in no scene: link it to a collection.", body=name)


def _fault(modifier: bpy.types.Modifier) -> Message | None:
    """Why a modifier cannot work, as the middle of a sentence; None when nothing is known against it."""
    if modifier.type == "BOOLEAN":
        which = "collection" if modifier.operand_type == "COLLECTION" else "object"
        operand = getattr(modifier, which)
        if operand is None:
            return LACKS[which]
        if which == "collection" and not any(item.type == "MESH" for item in operand.all_objects):
            return Message("works with the collection '{collection}', which holds no mesh: choose another", collection=operand.name)
    needed = NEEDED.get(modifier.type)
    if needed is not None and getattr(modifier, needed) is None:
        return LACKS[needed]
    if modifier.type == "ARRAY" and modifier.fit_type == "FIT_CURVE" and modifier.curve is None:
        return Message("has no curve to fit: choose one")
    if modifier.type == "ARRAY" and modifier.use_object_offset and modifier.offset_object is None:
        return Message("has no object for its offset: choose one")
    bound = BOUND.get(modifier.type)
    if bound is not None and not getattr(modifier, bound):
        return Message("is not bound: bind it")
    # From Blender 4.3 on geometry nodes tell what went wrong.
    errors = [warning.message for warning in getattr(modifier, "node_warnings", ()) if warning.type == "ERROR"]
    return Message("reports '{error}': mend its nodes", error=printable(errors[0])) if errors else None


def _makes_instances(graph: bpy.types.Depsgraph, body_object: bpy.types.Object) -> bool:
    """Whether geometry nodes, a particle system or instancing put instances beside the object's own mesh."""
    may = body_object.instance_type != "NONE" or any(modifier.type in ("NODES", "PARTICLE_SYSTEM") for modifier in body_object.modifiers)
    if not may:  # the look through all instances of the scene takes time
        return False
    return any(item.is_instance and item.parent is not None and item.parent.original == body_object for item in graph.object_instances)


def _check_shaping(body_object: bpy.types.Object, evaluated: bpy.types.Object, names: tuple[str, ...]) -> None:
    """Raises BadBody when there are modifiers that should change the mesh, and it is as it was."""
    if not names or body_object.type != "MESH" or body_object.mode == "EDIT":
        return
    if same_mesh(body_object.data, evaluated.data):
        raise BadBody(
            "'{body}' is the same without {names}: mend the modifier, or switch it off in the viewport.",
            body=body_object.name,
            names=name_list(names, NAMES_SHOWN),
        )


def same_mesh(one: bpy.types.Mesh, other: bpy.types.Mesh) -> bool:
    """Whether two meshes have as many faces, and the same points in the same order."""
    if len(one.vertices) != len(other.vertices) or len(one.polygons) != len(other.polygons):
        return False
    return bool((points_of(one) == points_of(other)).all())


def points_of(mesh: bpy.types.Mesh) -> np.ndarray:
    """Points of a mesh, flat, (3 * points,) float32."""
    points = np.empty(3 * len(mesh.vertices), np.float32)
    mesh.vertices.foreach_get("co", points)
    return points
