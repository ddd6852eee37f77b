"""Bodies that come into the scene: examples and files, in the scene's unit and framed in the views; and what one unit of the scene means."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import bpy
import numpy as np
from mathutils import Vector
from numpy.typing import NDArray

from ..finishing.core.array_types import FloatArray
from ..finishing.job.plausible_size import is_likely
from ..finishing.reading.mesh_file import UNITS, read_mesh_body
from .blender_data import present, set_value
from .laying import world_corners
from .mesh_reading import millimetres_per_unit
from .redrawing import views

EXAMPLES = Path(__file__).parent.parent / "examples"
"""Folder of the bodies that come along: places in mm and corners of triangles."""

GUESSED_UNITS = ("mm", "in", "cm", "m")
"""What one unit of a file may mean, the likelier first."""

FRAMED = 1.3
"""Distance of the eye over the length of the body."""

CLIP_START, CLIP_END = 1e-3, 100.0
"""What a view draws lies between these many lengths of the body from the eye."""

MESH_POINTS_APART = 1e-5
"""mm; corners of a file that lie nearer to each other are one point of the mesh."""


@dataclass(frozen=True)
class SceneUnit:
    """How a scene measures: Blender's words, and millimetres for one of its units."""

    system: str
    length_unit: str
    millimetres: float


MILLIMETRES, INCHES = SceneUnit("METRIC", "MILLIMETERS", 1.0), SceneUnit("IMPERIAL", "INCHES", 25.4)
SCENE_UNITS = {"mm": MILLIMETRES, "in": INCHES}


def measure_in(scene: bpy.types.Scene, unit: SceneUnit) -> None:
    """Have one unit of the scene mean a millimetre or an inch, and have lengths shown so."""
    settings = scene.unit_settings
    set_value(settings, "system", unit.system)
    settings.scale_length = unit.millimetres / 1000
    set_value(settings, "length_unit", unit.length_unit)


def show_small_lengths(scene: bpy.types.Scene) -> None:
    """Have a metric scene show lengths in millimetres; what a unit means stays."""
    if scene.unit_settings.system == "METRIC":
        measure = SceneUnit("METRIC", "MILLIMETERS", millimetres_per_unit(scene))
        measure_in(scene, measure)


def guessed_unit(size: NDArray[np.float64]) -> str:
    """What one unit of a file most likely means, by the extent (3,) of its body: millimetres unless another unit alone makes a likely body."""
    return next((name for name in GUESSED_UNITS if is_likely(size * UNITS[name])), GUESSED_UNITS[0])


def read_mesh_file(path: Path, unit: str) -> tuple[str, FloatArray, str]:
    """Name and triangles (n, 3, 3) in mm of a mesh file, and what its unit was taken for. unit: one of UNITS, or "auto".

    Raises BadFile and BadBody.
    """
    body = read_mesh_body(path, "all")
    taken = guessed_unit(body.size) if unit == "auto" else unit
    return path.stem, body.triangles * UNITS[taken], taken


def read_example(name: str) -> FloatArray:
    """Triangles (n, 3, 3) in mm of a body that comes along."""
    with np.load(EXAMPLES / f"{name}.npz", allow_pickle=False) as kept:
        return np.asarray(kept["places"][kept["corners"]], np.float64)


def add_body(context: bpy.types.Context, name: str, triangles: FloatArray) -> bpy.types.Object:
    """Put a body into the scene, alone selected. triangles: (n, 3, 3) in mm."""
    rounded = np.round(triangles.reshape(-1, 3) / MESH_POINTS_APART).astype(np.int64)
    _, first, corner = np.unique(rounded, axis=0, return_index=True, return_inverse=True)
    places = triangles.reshape(-1, 3)[first] / millimetres_per_unit(present(context.scene))
    mesh = bpy.data.meshes.new(name)
    mesh.from_pydata(places.tolist(), [], corner.reshape(-1, 3).tolist())
    mesh.validate()
    made = bpy.data.objects.new(name, mesh)
    present(context.collection).objects.link(made)
    layer = present(context.view_layer)
    for other in layer.objects:
        other.select_set(False)
    made.select_set(True)
    layer.objects.active = made
    layer.update()
    return made


def hide_what_stands_in_its_place(context: bpy.types.Context, body_object: bpy.types.Object) -> list[str]:
    """Hide other meshes whose boxes hold the middle of a body, such as the cube of a new file; returns their names."""
    low, high = world_corners(body_object)
    middle, hidden = (low + high) / 2, []
    for other in present(context.view_layer).objects:
        if other == body_object or other.type != "MESH" or other.hide_get():
            continue
        other_low, other_high = world_corners(other)
        if (other_low <= middle).all() and (middle <= other_high).all():
            other.hide_set(True)
            hidden.append(other.name)
    return hidden


def frame_body(body_object: bpy.types.Object) -> None:
    """Have all 3D views look at a body, near enough and with no part of it clipped."""
    low, high = world_corners(body_object)
    length = float((high - low).max())
    for view, space in _spaces():
        view.view_location = Vector(((low + high) / 2).tolist())
        view.view_distance = FRAMED * length
        space.clip_start, space.clip_end = CLIP_START * length, CLIP_END * length


def _spaces() -> Iterator[tuple[bpy.types.RegionView3D, bpy.types.SpaceView3D]]:
    for area in views():
        space = area.spaces.active
        if isinstance(space, bpy.types.SpaceView3D) and space.region_3d is not None:
            yield space.region_3d, space
