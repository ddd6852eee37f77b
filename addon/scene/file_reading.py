"""A body from a file: .blend, .stl, .obj or .ply, read by Blender itself."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import bpy

from ..finishing.core.errors import BadFile
from ..finishing.job.body import Body
from .blender_data import mesh_of, present
from .coordinate_check import holds_no_numbers
from .mesh_reading import read_body

UNITS = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4}
"""Millimetres in what one unit of a file without units can mean."""

IMPORTERS: dict[str, Callable[[str], object]] = {
    ".stl": lambda path: bpy.ops.wm.stl_import(filepath=path, global_scale=1.0, forward_axis="Y", up_axis="Z"),
    ".obj": lambda path: bpy.ops.wm.obj_import(filepath=path, global_scale=1.0, forward_axis="Y", up_axis="Z"),
    ".ply": lambda path: bpy.ops.wm.ply_import(filepath=path, global_scale=1.0, forward_axis="Y", up_axis="Z"),
}


def read_file(path: Path, object_name: str | None = None, unit: str | None = None) -> Body:
    """Read a body from a file; the file replaces what Blender has open.

    object_name: which object of a .blend. unit: what one unit of a file without units means, mm when None. Raises BadFile.
    """
    if not path.is_file():
        raise BadFile("There is no file '{file}': check the name.", file=path)
    ending = path.suffix.lower()
    if ending == ".blend":
        return _from_blend(path, object_name, unit)
    if ending not in IMPORTERS:
        raise BadFile("'{file}' is not a body file: give a .blend, .stl, .obj or .ply.", file=path.name)
    if unit is not None and unit not in UNITS:
        raise BadFile("The unit must be one of {choices}, not '{given}'.", choices=tuple(UNITS), given=unit)
    if holds_no_numbers(path):
        raise BadFile("'{file}' has coordinates that are not numbers: repair the mesh.", file=path.name)
    bpy.ops.wm.read_factory_settings(use_empty=True)
    try:
        IMPORTERS[ending](str(path))
    except RuntimeError as error:
        raise BadFile("'{file}' cannot be read as {kind}: {error}.", file=path.name, kind=ending[1:].upper(), error=_one_line(error)) from error
    meshes = [o for o in bpy.data.objects if o.type == "MESH" and len(mesh_of(o).polygons)]
    if not meshes:
        raise BadFile("'{file}' holds no mesh with faces.", file=path.name)
    chosen = _chosen(meshes, object_name, path)
    present(bpy.context.scene).unit_settings.scale_length = UNITS[unit or "mm"] / 1000.0
    return replace(read_body(bpy.context, chosen), name=path.stem if object_name is None else chosen.name)


def _from_blend(path: Path, object_name: str | None, unit: str | None) -> Body:
    if unit is not None:
        raise BadFile("A .blend file has units of its own: leave --unit out.")
    try:
        bpy.ops.wm.open_mainfile(filepath=str(path), load_ui=False)
    except RuntimeError as error:
        raise BadFile("'{file}' cannot be opened as a .blend file: {error}.", file=path.name, error=_one_line(error)) from error
    meshes = [o for o in present(bpy.context.scene).objects if o.type == "MESH"]
    if not meshes:
        raise BadFile("'{file}' holds no mesh object.", file=path.name)
    return read_body(bpy.context, _chosen(meshes, object_name, path))


def _chosen(meshes: list[bpy.types.Object], object_name: str | None, path: Path) -> bpy.types.Object:
    """The object that was named, else the active one, else the one with the most faces."""
    if object_name is not None:
        for candidate in meshes:
            if candidate.name == object_name:
                return candidate
        names = tuple(f"'{o.name}'" for o in meshes[:8])
        raise BadFile("'{file}' holds no mesh object '{name}'; it has {names}.", file=path.name, name=object_name, names=names)
    active = present(bpy.context.view_layer).objects.active
    if active is not None and active in meshes:
        return active
    return max(meshes, key=lambda o: len(mesh_of(o).polygons))


def _one_line(error: Exception) -> str:
    return " ".join(str(error).replace("Error:", "").split()).rstrip(".")
