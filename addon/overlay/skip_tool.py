"""The Skip tool in the toolbar of the 3D views: one entry for each mode that has it, with its own cursor."""

from __future__ import annotations

import bpy
import gpu
import numpy as np
from bpy_extras.view3d_utils import location_3d_to_region_2d, region_2d_to_origin_3d, region_2d_to_vector_3d
from mathutils import Vector

from ..finishing.core.array_types import Double
from ..scene.blender_data import present
from ..scene.length_properties import seen_name
from ..scene.mesh_reading import millimetres_per_unit
from ..scene.skip_brush import SKIP_TOOL, Aim, Hit
from ..scene.view_settings import view_of
from .batches import draw_plain
from .depth import ui_scale

ROUND = 48
"""Straight pieces of the ring."""

INNER, OUTER = (1.0, 1.0, 1.0, 0.95), (0.0, 0.0, 0.0, 0.75)
"""The ring is pale with a dark one round it, so that it shows on any ground."""

NO_GROUND = 6.0
"""Pixels: radius of the cursor beside the body."""


def draw_cursor(context: bpy.types.Context, _tool: object, place: tuple[float, float]) -> None:
    """Draw the brush where the mouse is, as a ring that lies on the body. place: in pixels of the window."""
    region, body_object = context.region, context.object
    if region is None or region.type != "WINDOW" or context.region_data is None or body_object is None or body_object.type != "MESH":
        return
    at = np.array([place[0] - region.x, place[1] - region.y], np.float64)
    ring = brush_ring(context, body_object, at)
    if ring is None:
        angle = np.linspace(0, 2 * np.pi, ROUND + 1)
        ring = at + NO_GROUND * ui_scale() * np.column_stack([np.cos(angle), np.sin(angle)])
    ring += (region.x, region.y)
    gpu.state.blend_set("ALPHA")
    draw_plain("LINE_STRIP", ring, OUTER, 3.0 * ui_scale())
    draw_plain("LINE_STRIP", ring, INNER, 1.0 * ui_scale())
    gpu.state.blend_set("NONE")


def brush_ring(context: bpy.types.Context, body_object: bpy.types.Object, at: Double) -> Double | None:
    """The brush on the body under a place (2,) in pixels of the region, as a closed polyline (n, 2) of pixels; None beside the body.

    In Edit Mode, where nothing is kept that a ray could be sent at with every move of the mouse, the ring faces the eye at the depth of the body.
    """
    region, view = present(context.region), present(context.region_data)
    scale, radius = millimetres_per_unit(present(context.scene)), view_of(context).brush_radius_mm
    place = (float(at[0]), float(at[1]))
    origin, way = region_2d_to_origin_3d(region, view, place), region_2d_to_vector_3d(region, view, place)
    if body_object.mode == "EDIT":
        middle = body_object.matrix_world @ (sum((Vector(corner) for corner in body_object.bound_box), Vector()) / 8)
        hit: Hit | None = Hit(np.array(origin + way * (middle - origin).dot(way)) * scale, -np.array(way), 0)
    else:
        hit = Aim(context, body_object).at(context, origin, way)
    if hit is None:
        return None
    points = [location_3d_to_region_2d(region, view, Vector(point)) for point in (ring_points(hit, radius) / scale).tolist()]
    return None if any(point is None for point in points) else np.array(points, np.float64)


def ring_points(hit: Hit, radius: float) -> Double:
    """A circle (n, 3) in mm on the plane that touches the body at a hit."""
    normal = hit.normal
    # Any direction that does not run along the normal gives two across it.
    spare = np.eye(3)[int(np.abs(normal).argmin())]
    across = spare - normal * float(spare @ normal)
    across /= np.linalg.norm(across)
    along = np.array(Vector(normal.tolist()).cross(Vector(across.tolist())), np.float64)
    angle = np.linspace(0, 2 * np.pi, ROUND + 1)
    return hit.place + radius * (np.cos(angle)[:, None] * across + np.sin(angle)[:, None] * along)


def draw_settings(context: bpy.types.Context, layout: bpy.types.UILayout, _tool: object) -> None:
    """The size of the brush, and the button that ends the tool."""
    view = view_of(context)
    layout.prop(view, seen_name(view, "brush_radius", present(context.scene)))
    layout.operator("finishing.paint_skip", text="End", icon="CHECKMARK")


BRUSH_PATH = "window_manager.finishing_view.brush_radius_mm"
STROKE, END, SIZE = "finishing.skip_stroke", "finishing.paint_skip", "wm.context_scale_float"

KEYMAP = (
    (STROKE, {"type": "LEFTMOUSE", "value": "PRESS"}, None),
    (STROKE, {"type": "LEFTMOUSE", "value": "PRESS", "ctrl": True}, {"properties": [("take_back", True)]}),
    (END, {"type": "RET", "value": "PRESS"}, None),
    (END, {"type": "NUMPAD_ENTER", "value": "PRESS"}, None),
    (SIZE, {"type": "LEFT_BRACKET", "value": "PRESS", "repeat": True}, {"properties": [("data_path", BRUSH_PATH), ("value", 0.9)]}),
    (SIZE, {"type": "RIGHT_BRACKET", "value": "PRESS", "repeat": True}, {"properties": [("data_path", BRUSH_PATH), ("value", 1.1)]}),
)
"""Mouse and keys while the tool is active: as with Blender's brushes Ctrl turns the stroke round and brackets change the size."""


class _SkipTool(bpy.types.WorkSpaceTool):
    """What the entries of all modes share."""

    bl_space_type = "VIEW_3D"
    bl_idname = SKIP_TOOL
    bl_label = "Skip"
    bl_description = "Mark surface that pass lines leave out: drag over the body, with Ctrl to take marks back. Enter ends"
    bl_icon = "brush.sculpt.mask"
    bl_cursor = "CROSSHAIR"
    bl_keymap = KEYMAP
    draw_settings = staticmethod(draw_settings)
    draw_cursor = staticmethod(draw_cursor)


class FinishingSkipInObjectMode(_SkipTool):
    """The tool in Object Mode."""

    bl_context_mode = "OBJECT"


class FinishingSkipInEditMode(_SkipTool):
    """The tool in Edit Mode."""

    bl_context_mode = "EDIT_MESH"


class FinishingSkipInWeightPaint(_SkipTool):
    """The tool in Weight Paint."""

    bl_context_mode = "PAINT_WEIGHT"


TOOLS = (FinishingSkipInObjectMode, FinishingSkipInEditMode, FinishingSkipInWeightPaint)
