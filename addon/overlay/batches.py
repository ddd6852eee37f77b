"""Batches of triangles and lines made from arrays, and drawing them with Blender's own shaders.

Shaders are looked up when something is drawn: Blender without a window has none.
"""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import AbstractContextManager
from typing import Literal, cast

import gpu
import numpy as np
from gpu_extras.batch import batch_for_shader
from numpy.typing import NDArray

from .render_data import IndexArray, LineSet

Ink = tuple[float, float, float, float]
Batch = gpu.types.GPUBatch


def coloured_triangles(positions: NDArray[np.float32], colours: NDArray[np.float32], triangles: IndexArray) -> Batch:
    """Triangles whose colours run from corner to corner. positions: (n, 3). colours: (n, 4). triangles: (m, 3) indices of positions."""
    shader = gpu.shader.from_builtin("SMOOTH_COLOR")
    indices = cast("Sequence[Sequence[int]]", triangles)
    return batch_for_shader(shader, "TRIS", {"pos": _buffer(positions), "color": _buffer(colours)}, indices=indices)


def coloured_lines(lines: LineSet) -> Batch | None:
    """Pieces of line with colours of their own, None when there are none."""
    if len(lines.positions) == 0:
        return None
    shader = gpu.shader.from_builtin("POLYLINE_FLAT_COLOR")
    return batch_for_shader(shader, "LINES", {"pos": _buffer(lines.positions), "color": _buffer(lines.colours)})


def draw_triangles(batch: Batch) -> None:
    """Draw coloured triangles."""
    batch.draw(gpu.shader.from_builtin("SMOOTH_COLOR"))


def draw_lines(batch: Batch, width: float, size: tuple[float, float]) -> None:
    """Draw coloured lines. width: in pixels. size: of the viewport in pixels."""
    shader = gpu.shader.from_builtin("POLYLINE_FLAT_COLOR")
    shader.bind()
    # Without both of these nothing is drawn, and nothing is said.
    shader.uniform_float("viewportSize", size)
    shader.uniform_float("lineWidth", width)
    batch.draw(shader)


def draw_plain(kind: Literal["LINES", "LINE_STRIP", "TRIS"], points: NDArray[np.floating], ink: Ink, width: float = 1.0) -> None:
    """Draw a few points (n, 2) in pixels as pieces of line, a polyline or triangles in one colour, without keeping a batch."""
    if len(points) < 2:
        return
    places = np.column_stack([points, np.zeros(len(points))]).astype(np.float32)
    shader = gpu.shader.from_builtin("UNIFORM_COLOR")
    batch = batch_for_shader(shader, kind, {"pos": _buffer(places)})
    gpu.state.blend_set("ALPHA")
    gpu.state.line_width_set(width)
    shader.bind()
    shader.uniform_float("color", ink)
    batch.draw(shader)
    gpu.state.line_width_set(1.0)


def own_matrix() -> AbstractContextManager[None]:
    """The matrix of the view as it was before, on leaving this context."""
    return cast("AbstractContextManager[None]", gpu.matrix.push_pop())


def own_projection() -> AbstractContextManager[None]:
    """The projection as it was before, on leaving this context."""
    return cast("AbstractContextManager[None]", gpu.matrix.push_pop_projection())


def _buffer(values: NDArray[np.float32]) -> gpu.types.Buffer:
    """An array for the type checker: Blender reads any buffer, but its types do not say so."""
    return cast("gpu.types.Buffer", values)
