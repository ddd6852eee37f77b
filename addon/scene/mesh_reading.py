"""A Blender object as a body in mm: modifiers, transform and unit scale applied once, here."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass

import bpy
import numpy as np
from numpy.typing import NDArray

from ..finishing.core.digests import digest
from ..finishing.core.errors import BadBody
from ..finishing.core.result_store import ResultStore
from ..finishing.core.stage_runner import Progress
from ..finishing.core.stepping import Steps, between, finished, staged
from ..finishing.job.apart import without_strays
from ..finishing.job.body import Body, make_body
from ..finishing.reading.point_net import net_of_points
from ..finishing.reading.precision import coarse_step
from ..finishing.reading.thinning import MOST_TRIANGLES, thinned_body_steps
from .blender_data import present, values_of, world_matrix
from .evaluation import evaluated_body
from .skip_marks import skipped_faces

WITH_SURFACE = {"MESH", "CURVE", "SURFACE", "META", "FONT"}
"""Types of object that Blender can turn into a mesh."""


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
    """Copy an object with its modifiers into arrays: all that needs Blender. Raises BadBody when it has no surface."""
    if body_object.type not in WITH_SURFACE:
        raise BadBody("'{body}' is not a mesh: choose a mesh object.", body=body_object.name)
    if body_object.mode == "EDIT":
        body_object.update_from_editmode()
    evaluated = evaluated_body(context, body_object)
    mesh = evaluated.to_mesh()
    try:
        if mesh is None or len(mesh.polygons) == 0:
            raise BadBody("'{body}' has no faces: choose a mesh with a surface.", body=body_object.name)
        mesh.calc_loop_triangles()
        polygon = values_of(mesh.loop_triangles, "polygon_index", np.int32)
        return MeshArrays(
            name=body_object.name,
            places=values_of(mesh.vertices, "co", np.float32, width=3).reshape(-1, 3),
            corners=values_of(mesh.loop_triangles, "vertices", np.int32, width=3).reshape(-1, 3),
            skipped=skipped_faces(mesh, evaluated)[polygon],
            matrix=world_matrix(evaluated),
            scale=millimetres_per_unit(present(context.scene)),
        )
    finally:
        evaluated.to_mesh_clear()


def body_of(arrays: MeshArrays) -> Body:
    """The body of `body_steps`, at once."""
    return finished(body_steps(arrays))


def known_body_steps(arrays: MeshArrays, cache: ResultStore) -> Generator[Progress, None, Body]:
    """The body without strays, for a plan; yields (share done, stage). One that had to be thinned is kept, since that takes as long as a plan."""
    if len(arrays.corners) <= MOST_TRIANGLES:
        return without_strays(body_of(arrays))
    key = digest("thinned", arrays.name, arrays.places, arrays.corners, arrays.skipped, arrays.matrix, arrays.scale)
    _, known = cache.find(key)
    if isinstance(known, Body):
        return known
    body = without_strays((yield from between(staged(body_steps(arrays), "body"), 0.0, 0.0)))  # before all that has a share
    cache.keep(key, body)
    return body


def body_steps(arrays: MeshArrays) -> Steps[Body]:
    """The body that the arrays describe, in world axes, in mm, thinned where it has too many triangles; yields the share done. Needs no Blender.

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
    # A mirror turns faces inside out.
    corners = arrays.corners[:, ::-1] if np.linalg.det(arrays.matrix[:3, :3]) < 0 else arrays.corners
    if len(corners) > MOST_TRIANGLES and np.isfinite(world).all():
        return (yield from thinned_body_steps(arrays.name, net_of_points(world, corners, arrays.skipped)))
    return make_body(arrays.name, world[corners], arrays.skipped)
