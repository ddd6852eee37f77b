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
from .blender_data import mesh_of, present

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

LACKING = {
    "cache_file": Message("has no cache file: choose one"),
    "collection": Message("has no collection to work with: choose one"),
    "curve": Message("has no curve to fit: choose one"),
    "node_group": Message("has no node group: choose one"),
    "object": Message("has no object to work with: choose one"),
    "offset_object": Message("has no object for its offset: choose one"),
    "target": Message("has no target: choose one"),
}
"""What is said of a modifier that lacks such a part, as the middle of a sentence."""

BOUND = {"MESH_DEFORM": "is_bound", "SURFACE_DEFORM": "is_bound", "LAPLACIANDEFORM": "is_bind"}
"""Modifiers that do nothing until they are bound."""

SHAPING = frozenset(("BOOLEAN", "MIRROR", "REMESH", "SCREW", "SKIN", "SOLIDIFY", "WIREFRAME"))
"""Modifiers that always change a mesh when they work."""


def evaluated_body(context: bpy.types.Context, body_object: bpy.types.Object) -> bpy.types.Object:
    """The object with its modifiers and transform as shown. Raises BadBody when it is not shown, or a modifier does not work."""
    name = body_object.name
    graph = context.evaluated_depsgraph_get()  # brings the view layer's list of objects up to date, too
    _check_in_view_layer(context, body_object)
    evaluated = body_object.evaluated_get(graph)
    if not evaluated.is_evaluated:
        raise BadBody("'{body}' is hidden, so that Blender does not evaluate it: show the object and its collection.", body=name)
    shown = [modifier for modifier in body_object.modifiers if modifier.show_viewport]
    if body_object.mode == "EDIT":
        left_out = tuple(modifier.name for modifier in shown if not modifier.show_in_editmode)
        if left_out:
            raise BadBody("'{body}' is in Edit Mode, which leaves out {modifiers}: go back to Object Mode.", body=name, modifiers=name_list(left_out))
    for modifier in shown:
        fault = _fault(modifier)
        if fault is not None:
            raise BadBody(
                "The modifier '{modifier}' of '{body}' {fault}, or switch it off in the viewport.", modifier=modifier.name, body=name, fault=fault
            )
    if _makes_instances(graph, body_object):
        raise BadBody("'{body}' makes instances, which are not part of its mesh: realize them (Realize Instances, Make Instances Real).", body=name)
    _check_shaping(body_object, evaluated, tuple(modifier.name for modifier in shown if modifier.type in SHAPING))
    return evaluated


def _check_in_view_layer(context: bpy.types.Context, body_object: bpy.types.Object) -> None:
    """Raises BadBody for an object of another scene, or of a collection that is excluded."""
    if body_object in present(context.view_layer).objects.values():
        return
    name = body_object.name
    if context.scene in body_object.users_scene:
        raise BadBody("'{body}' lies in a collection that the view layer excludes: tick the collection in the outliner.", body=name)
    scenes = tuple(scene.name for scene in body_object.users_scene)
    if not scenes:
        raise BadBody("'{body}' lies in no scene: link it to a collection.", body=name)
    raise BadBody(
        "'{body}' lies in the scene {scenes}, but '{current}' is the current one: change to that scene.",
        body=name,
        scenes=name_list(scenes),
        current=present(context.scene).name,
    )


def _fault(modifier: bpy.types.Modifier) -> Message | None:
    """Why a modifier cannot work, as the middle of a sentence; None when nothing is known against it."""
    missing = _missing(modifier)
    if missing is not None:
        return missing
    bound = BOUND.get(modifier.type)
    if bound is not None and not getattr(modifier, bound):
        return Message("is not bound: bind it")
    if isinstance(modifier, bpy.types.BooleanModifier) and modifier.operand_type == "COLLECTION":
        collection = present(modifier.collection)
        if not any(item.type == "MESH" for item in collection.all_objects):
            return Message("works with the collection '{name}', which holds no mesh: choose another one", name=collection.name)
    # From Blender 4.3 on geometry nodes report what went wrong.
    errors = [warning.message for warning in getattr(modifier, "node_warnings", ()) if warning.type == "ERROR"]
    return Message("reports '{error}': mend its nodes", error=printable(errors[0])) if errors else None


def _missing(modifier: bpy.types.Modifier) -> Message | None:
    """What a modifier lacks, as the middle of a sentence; None when it has all that it needs."""
    needed = NEEDED.get(modifier.type)
    if isinstance(modifier, bpy.types.BooleanModifier):
        needed = "collection" if modifier.operand_type == "COLLECTION" else "object"
    elif isinstance(modifier, bpy.types.ArrayModifier) and modifier.fit_type == "FIT_CURVE":
        needed = "curve"
    if needed is not None and getattr(modifier, needed) is None:
        return LACKING[needed]
    if isinstance(modifier, bpy.types.ArrayModifier) and modifier.use_object_offset and modifier.offset_object is None:
        return LACKING["offset_object"]
    return None


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
    if same_mesh(mesh_of(body_object), mesh_of(evaluated)):
        raise BadBody(
            "'{body}' is the same without {modifiers}: mend the modifier, or switch it off in the viewport.",
            body=body_object.name,
            modifiers=name_list(names),
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
