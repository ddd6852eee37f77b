"""What lies on a body is drawn a little nearer to the eye than the body, so that neither hides the other by chance."""

from __future__ import annotations

import bpy
from mathutils import Matrix

from ..scene.blender_data import present

LIFT_OFF = 0.12
"""mm by which what lies on the body is drawn nearer to the eye."""

DEPTH_STEP = 1.2e-7
"""The least difference that a depth buffer of 24 bits can hold."""

STEPS_APART = 3
"""Least steps of the depth buffer between the body and what lies on it: single precision can lose one on either side."""


def ui_scale() -> float:
    """How much larger than usual the user's interface is; 1 without a window."""
    return 1.0 if bpy.app.background else present(present(bpy.context.preferences).system).ui_scale


def depth_shift(projection: Matrix, distance: float, lift: float) -> float:
    """How much less depth makes a thing at some distance come nearer by `lift`, but no less than the buffer can hold."""
    perspective = abs(projection[3][2]) > 1e-9
    per_unit = abs(projection[2][3]) / max(distance, 1e-9) ** 2 if perspective else abs(projection[2][2])
    return max(lift * per_unit, STEPS_APART * DEPTH_STEP)


def shifted(projection: Matrix, nearer: float) -> Matrix:
    """The projection with everything a little nearer to the eye."""
    out = projection.copy()
    for column in range(4):
        out[2][column] -= nearer * out[3][column]
    return out
