"""A body from a .blend file, opened in this Blender: it replaces what was open."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import bpy
import numpy as np

from ..finishing.core.errors import BadFile, SeveralObjects
from ..finishing.job.body import Body, make_body
from ..finishing.job.thinned import thinned_together
from ..finishing.reading.faults import name_list, printable, several_objects
from ..finishing.reading.part import ALL
from .blender_data import find_named, mesh_of, present
from .evaluation import points_of
from .handing_over import body_line, fault_line
from .mesh_reading import WITH_SURFACE, millimetres_per_unit, read_body


def read_blend(path: Path, object_name: str | None) -> Body:
    """Read an object, "all" for all that are shown joined; without a name the only mesh object that is shown and rendered.

    Raises SeveralObjects when there are several and none is named, BadFile and BadBody when there is nothing to read or it would be read wrong.
    """
    _open(path)
    named = None if object_name is None else find_named(bpy.data.objects, object_name)
    if named is not None:
        _show(named)
        return _read(path, named)
    bodies = _shown_bodies()
    if object_name in (None, ALL):
        _check_instances(path)
    if object_name == ALL and bodies:
        parts = [_read(path, body) for body in bodies]
        joined = make_body(printable(path.stem), np.concatenate([part.triangles for part in parts]), np.concatenate([part.skip for part in parts]))
        return replace(joined, thinned=thinned_together([part.thinned for part in parts], [len(part.triangles) for part in parts]))
    if object_name is not None and object_name != ALL:
        names = tuple(item.name for item in present(bpy.context.scene).objects if item.type in WITH_SURFACE)
        if not names:
            raise BadFile("'{file}' holds no object '{name}': choose another file.", file=printable(path.name), name=printable(object_name))
        raise BadFile(
            "'{file}' holds no object '{name}': choose {names}.", file=printable(path.name), name=printable(object_name), names=name_list(names)
        )
    if not bodies:
        raise _nothing_shown(path)
    if len(bodies) > 1:
        raise several_objects(printable(path.name), tuple(body.name for body in bodies))
    return _read(path, bodies[0])


def scene_unit() -> float:
    """Millimetres for one unit of the scene that is open."""
    return millimetres_per_unit(present(bpy.context.scene))


def _open(path: Path) -> None:
    """Open the file, without any of the scripts in it, and leave Edit Mode if it was saved in it. Raises BadFile."""
    try:
        bpy.ops.wm.open_mainfile(filepath=str(path), load_ui=False, use_scripts=False)
    except RuntimeError as error:
        said = " ".join(str(error).replace("Error:", "").split()).rstrip(".")
        raise BadFile(
            "'{file}' cannot be opened as a .blend file: {error}. Save it anew in Blender, or give another file.", file=printable(path.name), error=said
        ) from error
    active = present(bpy.context.view_layer).objects.active
    if active is not None and active.mode == "EDIT":
        bpy.ops.object.mode_set(mode="OBJECT")


def _shown_bodies() -> list[bpy.types.Object]:
    """Objects with faces that are shown in the viewport and in renders: what the file means to be seen. Texts and curves with faces count."""
    graph = bpy.context.evaluated_depsgraph_get()
    return [
        item
        for item in present(bpy.context.scene).objects
        if item.type in WITH_SURFACE and item.visible_get() and _is_rendered(item) and _has_faces(item.evaluated_get(graph))
    ]


def _is_rendered(item: bpy.types.Object) -> bool:
    return not item.hide_render and not all(collection.hide_render for collection in item.users_collection)


def _has_faces(evaluated: bpy.types.Object) -> bool:
    if evaluated.type == "MESH":
        return len(mesh_of(evaluated).polygons) > 0
    mesh = evaluated.to_mesh()
    try:
        return mesh is not None and len(mesh.polygons) > 0
    finally:
        evaluated.to_mesh_clear()


def _check_instances(path: Path) -> None:
    """Raises BadFile when collections are shown by instances, which are no objects of the scene and would be left out without a word."""
    graph = bpy.context.evaluated_depsgraph_get()
    shown = set()
    for item in graph.object_instances:
        parent, seen = item.parent, item.object
        if item.is_instance and parent is not None and present(parent.original).type == "EMPTY" and seen is not None and seen.type in WITH_SURFACE:
            shown.add(parent.name)
    rendered = tuple(item.name for item in present(bpy.context.scene).objects if item.name in shown and _is_rendered(item))
    if rendered:
        raise BadFile(
            "'{file}' shows instances of collections ({names}), which are no objects of their own: make them real (Make Instances Real), or choose "
            "an object with --object NAME.",
            file=printable(path.name),
            names=name_list(rendered),
        )


def _nothing_shown(path: Path) -> BadFile:
    """The error that says why no mesh can be chosen."""
    scene = present(bpy.context.scene)
    hidden = tuple(item.name for item in scene.objects if item.type in WITH_SURFACE)
    if hidden:
        return BadFile(
            "'{file}' shows no mesh with faces: choose {names} with --object NAME, or show it in viewport and renders.",
            file=printable(path.name),
            names=name_list(hidden),
        )
    elsewhere = tuple(f"{item.name} in {other.name}" for other in bpy.data.scenes if other != scene for item in other.objects if item.type == "MESH")
    if elsewhere:
        return BadFile(
            "'{file}' has no mesh object in its scene '{scene}' but elsewhere ({names}): save it with that scene current.",
            file=printable(path.name),
            scene=scene.name,
            names=name_list(elsewhere),
        )
    return BadFile("'{file}' holds no mesh object: add the body, and apply it if it is made of instances.", file=printable(path.name))


def _show(item: bpy.types.Object) -> None:
    """Have Blender evaluate an object that was named, hidden or not: the file is ours, and nothing of it is saved."""
    scene, layer = present(bpy.context.scene), present(bpy.context.view_layer)
    if item.visible_get() or scene not in item.users_scene:
        return
    if item.name not in scene.collection.objects:
        scene.collection.objects.link(item)
    if item.is_editable:  # what comes from another file is not
        item.hide_viewport = False
    layer.update()


def _read(path: Path, item: bpy.types.Object) -> Body:
    """Read one object. Raises BadFile when what it will look like depends on switches that contradict each other."""
    for modifier in item.modifiers:
        if modifier.show_render != modifier.show_viewport:
            raise BadFile(
                "'{file}' has '{body}' with its modifier '{modifier}' on for renders but off for the viewport: switch both on or both off."
                if modifier.show_render
                else "'{file}' has '{body}' with its modifier '{modifier}' on for the viewport but off for renders: switch both on or both off.",
                file=printable(path.name),
                modifier=modifier.name,
                body=item.name,
            )
    body = read_body(bpy.context, item)
    _check_booleans(path, item)
    return body


def _check_booleans(path: Path, item: bpy.types.Object) -> None:
    """Raises BadFile when a boolean modifier changes nothing: its object misses the body, or Blender could not work it out."""
    booleans = [modifier for modifier in item.modifiers if modifier.type == "BOOLEAN" and modifier.show_viewport]
    whole = _points(item) if booleans else np.zeros(0)
    for modifier in booleans:
        modifier.show_viewport = False
        without = _points(item)
        modifier.show_viewport = True
        if np.array_equal(whole, without):
            raise BadFile(
                "'{file}' has '{body}' with a modifier '{modifier}' that changes nothing: mend it, or switch it off in viewport and renders.",
                file=printable(path.name),
                modifier=modifier.name,
                body=item.name,
            )


def _points(item: bpy.types.Object) -> np.ndarray:
    """Points of an object with its modifiers as they are switched now."""
    present(bpy.context.view_layer).update()
    return points_of(mesh_of(item.evaluated_get(bpy.context.evaluated_depsgraph_get())))


def hand_over(arguments: Sequence[str]) -> None:
    """Read a .blend for another process, and print it or what is wrong with it: file, and object ("" for none)."""
    from ..finishing.core.errors import FinishingError

    try:
        body = read_blend(Path(arguments[0]), arguments[1] or None)
    except FinishingError as error:
        line = fault_line(str(error), error.names if isinstance(error, SeveralObjects) else ())
    else:
        line = body_line(body, scene_unit())
    print("\n" + line, flush=True)  # on a line of its own, whatever Blender has printed before
