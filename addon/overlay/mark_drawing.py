"""Hatching on the ground that is marked to be skipped, drawn on the body itself in every mode, planned or not."""

from __future__ import annotations

import bpy
import gpu
import numpy as np
from mathutils import Matrix

from ..finishing.core.array_types import Double, Indices, Single
from ..finishing.pictures.ramps import SKIP_HATCH
from ..scene.blender_data import present, world_matrix
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


def is_marked(uid: int) -> bool:
    """Whether marks of the object with a session_uid are drawn."""
    marks = SHOWN_MARKS.known.get(uid)
    return marks is not None and len(marks.triangles) > 0


def hatch_of_marks(triangles: Single, matrix: Double, scale: float) -> LineSet:
    """Hatching on triangles (n, 3, 3) in an object's own axes, in these axes. matrix: object to world. scale: mm for one Blender unit."""
    return plain_lines(_pieces(triangles, matrix, scale)[0], SKIP_HATCH, OPACITY)


def _pieces(triangles: Single, matrix: Double, scale: float) -> tuple[Double, Indices]:
    """The pieces (n, 2, 3) of the hatching in the object's own axes, and the triangle (n,) of each; none on an object that is scaled to nothing."""
    if not len(triangles) or not np.linalg.det(matrix[:3, :3]):
        return np.zeros((0, 2, 3)), np.zeros(0, np.intp)
    in_mm = (triangles.astype(np.float64) @ matrix[:3, :3].T + matrix[:3, 3]) * scale
    pieces, owner = hatch_on_triangles(in_mm, SPACING)
    back = np.linalg.inv(matrix)
    return pieces / scale @ back[:3, :3].T + back[:3, 3], owner


_Key = tuple[int, float, bytes]


def _key(revision: int, matrix: Double, scale: float) -> _Key:
    """What the hatching of an object hangs on: its marks, and how large and which way round it lies."""
    return revision, scale, matrix[:3, :3].tobytes()


class MarkBatches:
    """The hatching of every object, made anew when its marks or its size change; it goes along when the object is moved."""

    def __init__(self) -> None:
        self._kept: dict[int, tuple[_Key, Batch | None]] = {}
        self._pieces: dict[int, tuple[_Key, Double, Double]] = {}

    def of(self, body_object: bpy.types.Object, scale: float) -> Batch | None:
        """The hatching of an object, None where nothing is marked or known yet. scale: mm for one Blender unit."""
        marks = SHOWN_MARKS.of(body_object)
        if marks is None:
            return None
        uid, matrix = body_object.session_uid, world_matrix(body_object)
        key, kept = _key(marks.revision, matrix, scale), self._kept.get(uid)
        if kept is None or kept[0] != key:
            self._kept[uid] = kept = (key, coloured_lines(hatch_of_marks(marks.triangles, matrix, scale)))
        return kept[1]

    def facing(self, body_object: bpy.types.Object, scale: float, eye: Double) -> Double:
        """The pieces (n, 2, 3) of the hatching, in the object's own axes, on triangles that look towards the eye.

        eye: (4,) in these axes, a place with 1 at its end, or a direction towards it with 0.
        """
        marks = SHOWN_MARKS.of(body_object)
        if marks is None:
            return np.zeros((0, 2, 3))
        uid, matrix = body_object.session_uid, world_matrix(body_object)
        key, kept = _key(marks.revision, matrix, scale), self._pieces.get(uid)
        if kept is None or kept[0] != key:
            pieces, owner = _pieces(marks.triangles, matrix, scale)
            normals = normals_of(marks.triangles)[owner]
            self._pieces[uid] = kept = (key, pieces, normals)
        _, pieces, normals = kept
        return pieces[np.einsum("ij,ij->i", normals, eye[:3] - eye[3] * pieces[:, 0]) > 0]

    def forget(self) -> None:
        """Let go of all batches."""
        self._kept.clear()
        self._pieces.clear()


def normals_of(triangles: Single) -> Double:
    """Normals (n, 3) of triangles (n, 3, 3), as long as twice their areas."""
    first, second = (triangles[:, k].astype(np.float64) - triangles[:, 0] for k in (1, 2))
    return np.asarray(np.cross(first, second), np.float64)


def draw_marks(hatch: Batch, body_object: bpy.types.Object, scale: float, size: tuple[float, float], distance: float) -> None:
    """Draw the hatching of an object into the view whose matrices are loaded. size, distance: as draw_body takes them."""
    gpu.state.depth_test_set("LESS_EQUAL")
    gpu.state.blend_set("ALPHA")
    with own_matrix(), own_projection():
        projection = gpu.matrix.get_projection_matrix()
        gpu.matrix.load_projection_matrix(shifted(projection, 2 * depth_shift(projection, distance, LIFT_OFF / scale)))
        gpu.matrix.multiply_matrix(Matrix(world_matrix(body_object).tolist()))
        draw_lines(hatch, WIDTH * ui_scale(), size)
    gpu.state.depth_test_set("NONE")
    gpu.state.blend_set("NONE")


def draw_over_edges(context: bpy.types.Context, batches: MarkBatches, body_object: bpy.types.Object, scale: float) -> None:
    """Draw the hatching of an object over the edges that Blender draws in Edit Mode, after them; what looks away from the eye is left out."""
    view = present(context.region_data)
    back = world_matrix(body_object)
    if not np.linalg.det(back[:3, :3]):
        return
    seen_from = np.linalg.inv(np.array(view.view_matrix, np.float64) @ back)
    pieces = batches.facing(body_object, scale, seen_from[:, 3] if view.is_perspective else seen_from[:, 2])
    gpu.state.blend_set("ALPHA")
    with own_matrix(), own_projection():
        gpu.matrix.load_matrix(view.view_matrix @ body_object.matrix_world)
        gpu.matrix.load_projection_matrix(view.window_matrix)
        for colour, width in OVER_EDGES:
            batch = coloured_lines(plain_lines(pieces, colour, 1.0))
            if batch is not None:
                draw_lines(batch, width * ui_scale(), gpu.state.viewport_get()[2:])
    gpu.state.blend_set("NONE")
