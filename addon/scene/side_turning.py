"""Turning to the other side of a body: its plans are looked at, and the views that look at the body from behind turn with it."""

from __future__ import annotations

import bpy
import numpy as np
from mathutils import Quaternion, Vector

from ..finishing.job.orientation import laid_matrix
from .blender_data import present
from .body_settings import settings_of
from .laying import world_corners
from .mesh_reading import millimetres_per_unit
from .redrawing import redraw_views, views
from .results import STORE
from .side_choice import SIDE_CHOICE


def show_side(body_object: bpy.types.Object) -> None:
    """Look at the plans of the side that is set, and turn the views to it as the stock is turned."""
    settings = settings_of(body_object)
    results = STORE.find(body_object)
    if results is not None:
        results.show_side(settings.side)
    low, high = world_corners(body_object)
    laid = laid_matrix(settings.up, (high - low) * millimetres_per_unit(present(bpy.context.scene)))
    upward = Vector(laid[2, :3].tolist()) * (1.0 if settings.side == "top" else -1.0)
    about = Vector(laid[0 if settings.turn_axis == "x" else 1, :3].tolist())
    for area in views():
        space = area.spaces.active
        if isinstance(space, bpy.types.SpaceView3D) and space.region_3d is not None:
            turn_view(space.region_3d, upward, about)
    redraw_views()


def turn_view(view: bpy.types.RegionView3D, upward: Vector, about: Vector) -> None:
    """Turn a view by half a turn about an axis when it looks at a side from below. upward: the way the side looks; about: the axis; both in
    world axes, of length 1.
    """
    eye = view.view_rotation @ Vector((0.0, 0.0, 1.0))
    if view.view_perspective != "CAMERA" and eye.dot(upward) < 0:
        view.view_rotation = Quaternion(about, float(np.pi)) @ view.view_rotation


def register() -> None:
    """Turn whenever a side is chosen."""
    SIDE_CHOICE.listeners.append(show_side)


def unregister() -> None:
    """Turn no more."""
    SIDE_CHOICE.listeners.remove(show_side)
