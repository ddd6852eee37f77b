"""Values under the cursor, in a corner of the view: found on the height grid, so that nothing is asked of Blender's scene."""

from __future__ import annotations

from collections.abc import Hashable

import bpy
import numpy as np
from bpy_extras.view3d_utils import region_2d_to_origin_3d, region_2d_to_vector_3d
from numpy.typing import NDArray

from ..finishing.core.array_types import FloatArray
from ..finishing.core.grid import Grid
from ..finishing.core.message import Message
from ..scene.blender_data import present
from ..scene.results import BodyResults
from ..scene.view_settings import view_of
from ..screen.language import in_users_language
from .free_space import free_space
from .layers import BodyLayers
from .lettering_on_screen import faint, fill_box, width_of, write
from .render_data import readout
from .view_boxes import BOXES

SAMPLES = 400
"""Places along the ray between the highest and the lowest ground at which the ground is looked up."""

SIZE, LINE, SIDE, INDENT = 12.0, 17.0, 8.0, 10.0
"""Pixels: letters, distance of base lines, margin of the box, gap between names and values."""

READOUT = "readout"
"""Name of the readout's box."""

FOLDED = 2.2
"""Height of the folded readout, in letters."""

MOST_ROWS, MOST_MEASURED = 6, 4
"""Rows of a place that says all: of a plan, and of a body that is measured alone."""

FLATTEST = 1e-4
"""1/mm; ground that bends less, with a radius above 10 m, is shown without one."""


class Cursor:
    """Where the mouse is: region and place in its pixels; None when it is over no 3D view. read: the rows that were read last; width: of the widest so
    far in pixels, so that the box does not breathe; of: what they were read from, and at which scale.
    """

    def __init__(self) -> None:
        self.region: int | None = None
        self.place = (0.0, 0.0)
        self.read: list[tuple[str, str]] = []
        self.width = 0.0
        self.of: Hashable = None


CURSOR = Cursor()
"""The mouse of the session, noted by the gizmo group that follows it; Blender makes gizmos itself and hands them nothing of ours."""


def ground_under_ray(
    origin: FloatArray, direction: FloatArray, heights: FloatArray, grid: Grid, level_range: tuple[float, float] | None = None
) -> NDArray[np.float64] | None:
    """Where a ray (job mm) first meets the height grid from above, (3,); None when it passes by.

    level_range: lowest and highest of the heights where they are known already, which spares a look over the whole grid.
    """
    low, high = ground_range(heights) if level_range is None else level_range
    if low > high or direction[2] >= -1e-9:
        return None
    start, stop = (high + 1e-3 - origin[2]) / direction[2], (low - 1e-3 - origin[2]) / direction[2]
    along = np.linspace(start, stop, SAMPLES)
    points = origin + along[:, None] * direction
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


def ground_range(heights: FloatArray) -> tuple[float, float]:
    """Lowest and highest ground of a grid; (inf, -inf) when it has none."""
    known = heights[np.isfinite(heights)]
    return (float(known.min()), float(known.max())) if len(known) else (np.inf, -np.inf)


def _place_under_cursor(context: bpy.types.Context, results: BodyResults, layers: BodyLayers, body_object: bpy.types.Object) -> FloatArray | None:
    """The ground under the cursor, (3,) in job mm; None when there is none."""
    newest, world_from_job = results.newest, results.world_from_job(body_object)
    if newest is None or world_from_job is None:
        return None
    region, view, place = present(context.region), present(context.region_data), CURSOR.place
    job_from_world = np.linalg.inv(world_from_job)
    origin = job_from_world @ np.append(np.array(region_2d_to_origin_3d(region, view, place)), 1.0)
    direction = job_from_world[:3, :3] @ np.array(region_2d_to_vector_3d(region, view, place))
    level_range = layers.get("surface range", results.revision, lambda: ground_range(newest.heights))
    return ground_under_ray(origin[:3], direction, newest.heights, newest.grid, level_range)


def values_at(results: BodyResults, hit: FloatArray) -> list[tuple[Message, Message]]:
    """Names and values with units of what the results say of a place of the ground, (3,) in job mm."""
    newest, plan = results.newest, results.plan
    if newest is None:
        return []
    maps = {"slope": newest.maps.slope_degrees, "least": newest.maps.curvature_least, "greatest": newest.maps.curvature_greatest}
    if plan is not None:
        maps |= {"uncut": plan.uncut, "cusp": plan.proof.cusp}
    found = readout(hit[0], hit[1], newest.grid, maps)
    rows = [(Message("Slope"), _known(Message("{slope:.1f}°", slope=found["slope"]), found["slope"]))]
    if found["least"] < -FLATTEST:
        rows.append((Message("Hollow"), Message("R {radius:.1f} mm", radius=-1 / found["least"])))
    if found["greatest"] > FLATTEST:
        rows.append((Message("Crown"), Message("R {radius:.1f} mm", radius=1 / found["greatest"])))
    if plan is not None:
        rows.append((Message("Uncut"), _known(Message("{height:.3f} mm", height=found["uncut"]), found["uncut"])))
        rows.append((Message("Cusp"), _known(Message("{height:.3f} mm", height=found["cusp"]), found["cusp"])))
    rows.append((Message("X Y Z"), Message("{x:.1f}  {y:.1f}  {z:.2f} mm", x=hit[0], y=hit[1], z=hit[2])))
    return rows


def draw_readout(
    context: bpy.types.Context, results: BodyResults, layers: BodyLayers, body_object: bpy.types.Object, points: FloatArray, below: float = 0.0
) -> None:
    """Write the values in a corner that is free, as long as the mouse is over the body, or on the box itself, where it drags or folds it.

    points: (n, 2) pixels that it should not cover. below: pixels at the top of the view that are taken.
    """
    if CURSOR.region is None or context.region is None or CURSOR.region != context.region.as_pointer():
        return
    under = BOXES.held or BOXES.was_under(CURSOR.region, *CURSOR.place)
    if under != READOUT:
        hit = _place_under_cursor(context, results, layers, body_object) if under is None else None
        CURSOR.read = [] if hit is None else [(in_users_language(name), in_users_language(value)) for name, value in values_at(results, hit)]
    rows = CURSOR.read
    if not rows:
        return
    free = free_space(context, below)
    scale = free.scale
    size, step, side = SIZE * scale, LINE * scale, SIDE * scale
    names = max(width_of(name, size) for name, _ in rows) + INDENT * scale
    of = (results.uid, results.revision, scale)
    CURSOR.of, CURSOR.width = of, max(CURSOR.width if CURSOR.of == of else 0.0, names + max(width_of(value, size) for _, value in rows))
    title = in_users_language(Message("Readout"))
    most = MOST_ROWS if results.plan is not None else MOST_MEASURED
    sizes = ((CURSOR.width + 2 * side, most * step + 1.5 * side), (width_of(title, size) + 2 * side, FOLDED * size))
    placed = BOXES.place(CURSOR.region, READOUT, free, sizes, points, folded=view_of(context).readout_folded)
    if placed is None:
        return
    box, folded = placed
    fill_box(box.left, box.bottom, box.right, box.top)
    if folded:
        write(title, box.left + side, box.bottom + 0.75 * size, size)
        return
    for number, (name, value) in enumerate(rows):
        level = box.top - (number + 1) * step + 1 * scale
        write(name, box.left + side, level, size, faint())
        write(value, box.left + side + names, level, size)


def _known(shown: Message, value: float) -> Message:
    """What is shown of a value; a dash where it is not known."""
    return shown if np.isfinite(value) else Message("–")
