"""How an object stands in the scene, and laying it flat there."""

from __future__ import annotations

import bpy
import numpy as np
from mathutils import Matrix
from numpy.typing import NDArray

from ..finishing.job.orientation import laid_matrix, upward_axis
from .blender_data import present, world_matrix


def world_corners(body_object: bpy.types.Object) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Lowest and highest corner, (3,) each, of the object's box in world axes, in Blender's units: cheap enough for a panel."""
    box = np.array([tuple(corner) for corner in body_object.bound_box], np.float64)
    matrix = world_matrix(body_object)
    corners = box @ matrix[:3, :3].T + matrix[:3, 3]
    return corners.min(axis=0), corners.max(axis=0)


def standing_axis(body_object: bpy.types.Object) -> str | None:
    """The axis that should look up, "x" or "y", for an object that stands on its edge; None for one that lies."""
    low, high = world_corners(body_object)
    axis = upward_axis("auto", high - low)
    return None if axis == "z" else axis


def lay_flat(body_object: bpy.types.Object) -> None:
    """Turn an object that stands on its edge by a quarter about the middle of its box."""
    low, high = world_corners(body_object)
    turn = laid_matrix("auto", high - low)
    middle = (low + high) / 2
    turn[:3, 3] = middle - turn[:3, :3] @ middle
    body_object.matrix_world = Matrix((turn @ world_matrix(body_object)).tolist())
    present(bpy.context.view_layer).update()
