"""The box round an object in mm, known at once: for what is drawn and moved before the body has been measured."""

from __future__ import annotations

import bpy
import numpy as np

from ..finishing.core.array_types import Double
from .blender_data import mesh_of, present, values_of, world_matrix
from .mesh_reading import millimetres_per_unit

UPRIGHT = 1e-6
"""An axis whose other parts are smaller than this share of it runs along one of the world's: the object's own box is then the world's too."""


def box_key(body_object: bpy.types.Object) -> tuple[object, ...]:
    """What changes whenever the box does."""
    return (own_box(body_object).tobytes(), world_matrix(body_object).tobytes(), present(bpy.context.scene).unit_settings.scale_length)


def own_box(body_object: bpy.types.Object) -> Double:
    """The eight corners (8, 3) of the object with its modifiers, in its own axes and Blender's units."""
    return np.array([tuple(corner) for corner in body_object.bound_box], np.float64)


def world_box(body_object: bpy.types.Object) -> tuple[Double, Double] | None:
    """Lowest and highest corner (3,) of an object with its modifiers, in world axes, mm; None where it has no extent, as an empty mesh.

    An object that is turned is read point by point: the box round its own box would be larger than it is.
    """
    matrix, points = world_matrix(body_object), own_box(body_object)
    if not np.ptp(points, axis=0).any() or not np.isfinite(points).all():
        return None
    parts = np.abs(matrix[:3, :3])
    if (np.sort(parts, axis=0)[:2] > UPRIGHT * parts.max(axis=0)).any():
        points = _points(body_object, points)
    placed = (points @ matrix[:3, :3].T + matrix[:3, 3]) * millimetres_per_unit(present(bpy.context.scene))
    return placed.min(axis=0), placed.max(axis=0)


def _points(body_object: bpy.types.Object, corners: Double) -> Double:
    """All points (n, 3) of an object with its modifiers, in its own axes; the corners of its box in Edit Mode, where there is no mesh to be read."""
    evaluated = body_object.evaluated_get(bpy.context.evaluated_depsgraph_get())
    if body_object.mode == "EDIT" or not isinstance(evaluated.data, bpy.types.Mesh):
        return corners
    places = values_of(mesh_of(evaluated).vertices, "co", np.float32, width=3)
    return places.reshape(-1, 3).astype(np.float64) if len(places) else corners
