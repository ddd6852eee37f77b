"""Hatching on the ground that is marked to be skipped, drawn on the body itself in every mode, planned or not."""

from __future__ import annotations

import bpy
import gpu
import numpy as np
from mathutils import Matrix

from ..finishing.core.array_types import Double, Single
from ..finishing.pictures.ramps import SKIP_HATCH
from ..scene.blender_data import world_matrix
from ..scene.shown_marks import SHOWN_MARKS
from .batches import Batch, coloured_lines, draw_lines, own_matrix, own_projection
from .depth import LIFT_OFF, depth_shift, shifted, ui_scale
from .mark_hatch import hatch_on_triangles
from .render_data import LineSet, Rgb, plain_lines

SPACING = 4.0
"""mm between the lines on level ground, as on height maps."""

OPACITY, WIDTH = 0.8, 1.2
"""Of the lines; pixels."""

OVER_EDGES: tuple[tuple[Rgb, float], ...] = (((0.05, 0.05, 0.05), 4.0), ((1.0, 1.0, 1.0), 1.6))
"""Colours and widths in pixels of the lines in Edit Mode, one over the other: pale with a dark edge, since Blender draws edges there."""

EDGE_STEPS = 8.0
"""How many times nearer to the eye than elsewhere they are drawn there: Blender lifts its edges too."""

Lines = tuple[tuple[Batch, float], ...]
"""What is drawn one over the other, with widths in pixels."""


def is_marked(uid: int) -> bool:
    """Whether marks of the object with a session_uid are drawn."""
    marks = SHOWN_MARKS.known.get(uid)
    return marks is not None and len(marks.triangles) > 0


def hatch_of_marks(triangles: Single, matrix: Double, scale: float, colour: Rgb = SKIP_HATCH, opacity: float = OPACITY) -> LineSet:
    """Hatching on triangles (n, 3, 3) in an object's own axes, in these axes. matrix: object to world. scale: mm for one Blender unit."""
    in_mm = (triangles.astype(np.float64) @ matrix[:3, :3].T + matrix[:3, 3]) * scale
    pieces = hatch_on_triangles(in_mm, SPACING) / scale
    back = np.linalg.inv(matrix)
    return plain_lines(pieces @ back[:3, :3].T + back[:3, 3], colour, opacity)


class MarkBatches:
    """The hatching of every object, made anew when its marks change; it goes along when the object is moved."""

    def __init__(self) -> None:
        self._kept: dict[int, tuple[tuple[int, bool], Lines]] = {}

    def of(self, body_object: bpy.types.Object, scale: float) -> Lines:
        """The hatching of an object, () where nothing is marked or known yet. scale: mm for one Blender unit."""
        marks = SHOWN_MARKS.of(body_object)
        if marks is None:
            return ()
        uid, key = body_object.session_uid, (marks.revision, body_object.mode == "EDIT")
        kept = self._kept.get(uid)
        if kept is None or kept[0] != key:
            self._kept[uid] = kept = (key, _lines(marks.triangles, world_matrix(body_object), scale, editing=key[1]))
        return kept[1]

    def forget(self) -> None:
        """Let go of all batches."""
        self._kept.clear()


def _lines(triangles: Single, matrix: Double, scale: float, *, editing: bool) -> Lines:
    """The batches of an object's hatching."""
    wanted = [(colour, 1.0, width) for colour, width in OVER_EDGES] if editing else [(SKIP_HATCH, OPACITY, WIDTH)]
    made = [(coloured_lines(hatch_of_marks(triangles, matrix, scale, colour, opacity)), width) for colour, opacity, width in wanted]
    return tuple((batch, width) for batch, width in made if batch is not None)


def draw_marks(hatch: Lines, body_object: bpy.types.Object, scale: float, size: tuple[float, float], distance: float) -> None:
    """Draw the hatching of an object into the view whose matrices are loaded. size, distance: as draw_body takes them."""
    gpu.state.depth_test_set("LESS_EQUAL")
    gpu.state.blend_set("ALPHA")
    with own_matrix(), own_projection():
        projection = gpu.matrix.get_projection_matrix()
        steps = 2 * (EDGE_STEPS if body_object.mode == "EDIT" else 1.0)
        gpu.matrix.load_projection_matrix(shifted(projection, steps * depth_shift(projection, distance, LIFT_OFF / scale)))
        gpu.matrix.multiply_matrix(Matrix(world_matrix(body_object).tolist()))
        for batch, width in hatch:
            draw_lines(batch, width * ui_scale(), size)
    gpu.state.depth_test_set("NONE")
    gpu.state.blend_set("NONE")
