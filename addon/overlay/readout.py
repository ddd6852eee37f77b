"""Values under the cursor: found on the height grid, so that nothing is asked of Blender's scene."""

from __future__ import annotations

import bpy
import numpy as np
from bpy_extras.view3d_utils import region_2d_to_origin_3d, region_2d_to_vector_3d
from mathutils import Vector
from numpy.typing import NDArray

from ..finishing.core.grid import FloatArray, Grid
from ..finishing.core.message import Message
from ..scene.results import BodyResults
from ..screen.language import in_users_language
from .free_space import free_right
from .layers import BodyLayers, newest_of
from .lettering_on_screen import fill_box, width_of, write
from .render_data import readout

SAMPLES = 400
SIZE = 12.0


class Cursor:
    """Where the mouse is: region and place in its pixels; None when it is over no 3D view."""

    def __init__(self) -> None:
        self.region: int | None = None
        self.place = (0.0, 0.0)


CURSOR = Cursor()
"""The mouse of the session, told by the gizmo group that follows it."""


def ground_under_ray(origin: NDArray[np.float64], way: NDArray[np.float64], heights: FloatArray, grid: Grid) -> NDArray[np.float64] | None:
    """Where a ray (job mm) first meets the height grid from above, (3,); None when it passes by."""
    known = np.isfinite(heights)
    if not known.any() or way[2] >= -1e-9:
        return None
    low, high = float(heights[known].min()), float(heights[known].max())
    start, stop = (high + 1e-3 - origin[2]) / way[2], (low - 1e-3 - origin[2]) / way[2]
    along = np.linspace(start, stop, SAMPLES)
    points = origin + along[:, None] * way
    row, column = grid.position(points)
    inside = (row > -0.5) & (row < grid.rows - 0.5) & (column > -0.5) & (column < grid.columns - 0.5)
    if not inside.any():
        return None
    rows, columns = grid.nearest(points)
    level = np.where(inside, heights[rows, columns], -np.inf)
    below = np.flatnonzero(points[:, 2] <= level)
    if len(below) == 0:
        return None
    hit = points[below[0]]
    return np.array([hit[0], hit[1], level[below[0]]])


def values_under_cursor(context: bpy.types.Context, results: BodyResults, world_from_job: NDArray[np.float64]) -> list[tuple[Message, Message]] | None:
    """Names and values with units of what lies under the cursor; None when no ground does."""
    newest = newest_of(results)
    if newest is None:
        return None
    region, view = context.region, context.region_data
    place = Vector(CURSOR.place)
    job_from_world = np.linalg.inv(world_from_job)
    origin = job_from_world @ [*region_2d_to_origin_3d(region, view, place), 1.0]
    way = job_from_world[:3, :3] @ np.array(region_2d_to_vector_3d(region, view, place))
    hit = ground_under_ray(origin[:3], way, newest.heights, newest.grid)
    if hit is None:
        return None
    layers = {"slope": newest.maps.slope_degrees, "least": newest.maps.curvature_least, "greatest": newest.maps.curvature_greatest}
    plan = results.plan
    if plan is not None:
        layers |= {"uncut": plan.uncut, "cusp": plan.proof.cusp}
    found = readout(hit[0], hit[1], newest.grid, layers)
    rows = [(Message("Slope"), _known(Message("{slope:.1f}°", slope=found["slope"]), found["slope"]))]
    least, greatest = found["least"], found["greatest"]
    if least < -1e-4:
        rows.append((Message("Hollow"), Message("R {radius:.1f} mm", radius=-1 / least)))
    if greatest > 1e-4:
        rows.append((Message("Crown"), Message("R {radius:.1f} mm", radius=1 / greatest)))
    if plan is not None:
        rows.append((Message("Uncut"), _known(Message("{height:.3f} mm", height=found["uncut"]), found["uncut"])))
        rows.append((Message("Cusp"), _known(Message("{height:.3f} mm", height=found["cusp"]), found["cusp"])))
    rows.append((Message("X Y Z"), Message("{x:.1f}  {y:.1f}  {z:.2f} mm", x=hit[0], y=hit[1], z=hit[2])))
    return rows


def draw_readout(context: bpy.types.Context, results: BodyResults, body_object: bpy.types.Object, layers: BodyLayers) -> None:
    """Write the values beside the cursor."""
    from .drawing import world_from_job

    if CURSOR.region is None or context.region is None or CURSOR.region != context.region.as_pointer():
        return
    place = world_from_job(results, body_object)
    if place is None:
        return
    values = values_under_cursor(context, results, np.array(place))
    if values is None:
        return
    rows = [(in_users_language(name), in_users_language(value)) for name, value in values]
    scale = context.preferences.system.ui_scale
    size, step = SIZE * scale, 17 * scale
    names = max(width_of(name, size) for name, _ in rows) + 10 * scale
    width = names + max(width_of(value, size) for _, value in rows)
    x, y = CURSOR.place[0] + 18 * scale, CURSOR.place[1] - 18 * scale
    if x + width + 10 * scale > free_right(context):
        x = CURSOR.place[0] - width - 26 * scale
    height = len(rows) * step
    y = max(y, height + 12 * scale)
    fill_box(x - 7 * scale, y - height - 3 * scale, x + width + 7 * scale, y + 6 * scale, (0.07, 0.07, 0.08, 0.78))
    for number, (name, value) in enumerate(rows):
        level = y - (number + 1) * step + 5 * scale
        write(name, x, level, size, (0.75, 0.75, 0.75, 1.0))
        write(value, x + names, level, size)


def _known(shown: Message, value: float) -> Message:
    """What is shown of a value; a dash where it is not known."""
    return shown if np.isfinite(value) else Message("–")


class FINISHING_GT_cursor(bpy.types.Gizmo):
    """Draws nothing: Blender asks it at every move of the mouse whether it is hit, and so it knows where the mouse is."""

    bl_idname = "FINISHING_GT_cursor"

    def test_select(self, context: bpy.types.Context, location: tuple[int, int]) -> int:
        place = (float(location[0]), float(location[1]))
        region = context.region.as_pointer()
        if (region, place) != (CURSOR.region, CURSOR.place):
            CURSOR.region, CURSOR.place = region, place
            context.region.tag_redraw()
        return -1

    def draw(self, context: bpy.types.Context) -> None:
        """Nothing to see."""


class FINISHING_GGT_cursor(bpy.types.GizmoGroup):
    """Follows the mouse for the readout, as long as there are results to read."""

    bl_idname = "FINISHING_GGT_cursor"
    bl_label = "Finishing Readout"
    bl_space_type = "VIEW_3D"
    bl_region_type = "WINDOW"
    bl_options = {"3D", "PERSISTENT"}

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        from ..scene.results import STORE

        view = context.window_manager.finishing_view
        if view.show and view.show_readout and any(True for _ in STORE):
            return True
        CURSOR.region = None
        return False

    def setup(self, context: bpy.types.Context) -> None:
        self.gizmos.new(FINISHING_GT_cursor.bl_idname)


CLASSES = (FINISHING_GT_cursor, FINISHING_GGT_cursor)
