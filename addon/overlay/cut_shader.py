"""The ground while a run is played: the body's own triangles, each pixel told by the second at which its ground is cut.

Nothing is made anew from picture to picture: the graphics card compares the seconds of every pixel with those of the playhead. So the border of what
is cut ends where the body ends, and a picture costs next to nothing in Python.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import cast

import gpu
import numpy as np
from gpu_extras.batch import batch_for_shader

from ..finishing.core.array_types import Mask, Single
from ..finishing.core.grid import Grid
from .batches import Batch
from .render_data import Rgb

VERTEX = """
void main()
{
  job = pos.xy;
  gl_Position = ModelViewProjectionMatrix * vec4(pos, 1.0);
}
"""

FRAGMENT = """
vec3 for_target(vec3 own)
{
  // Blender sets srgbTarget where it draws into a picture that turns colours into sRGB itself, as the 3D view is.
  vec3 light = mix(own / 12.92, pow((own + 0.055) / 1.055, vec3(2.4)), step(0.04045, own));
  return srgbTarget ? light : own;
}

void main()
{
  ivec2 cell = clamp(ivec2(round((job - origin.xy) / origin.z)), ivec2(0), textureSize(ground, 0) - 1);
  vec2 found = texelFetch(ground, cell, 0).rg;
  vec3 own = found.r <= origin.w ? cut.rgb : standing.rgb;
  fragColor = vec4(for_target(min(own * found.g, 1.0)), cut.a);
}
"""

OUTWARD = 2
"""Cells by which the shade is carried beyond the outline: the body's edge lies up to half a cell outside the last cell that it covers."""

NEVER = np.float32(3e38)
"""Second at which ground is cut that no pass cuts: shaders do not all keep infinity."""


class CutShader:
    """The shader, made when it is first drawn with: Blender without a window has none."""

    def __init__(self) -> None:
        self._made: gpu.types.GPUShader | None = None

    def get(self) -> gpu.types.GPUShader:
        """The shader."""
        if self._made is None:
            between = gpu.types.GPUStageInterfaceInfo("finishing_cut")
            between.smooth("VEC2", "job")
            info = gpu.types.GPUShaderCreateInfo()
            info.push_constant("MAT4", "ModelViewProjectionMatrix")
            for name in ("origin", "cut", "standing"):
                info.push_constant("VEC4", name)
            info.push_constant("BOOL", "srgbTarget")
            info.sampler(0, "FLOAT_2D", "ground")
            info.vertex_in(0, "VEC3", "pos")
            info.vertex_out(between)
            info.fragment_out(0, "VEC4", "fragColor")
            info.vertex_source(VERTEX)
            info.fragment_source(FRAGMENT)
            self._made = gpu.shader.create_from_info(info)
        return self._made


CUT_SHADER = CutShader()
"""The one of the session."""


@dataclass(frozen=True)
class CutArrays:
    """What the ground of a run is drawn from. positions: (3n, 3) corners of triangles in job mm; values: second and shade of every cell in turn."""

    positions: Single
    values: Single


def cut_arrays(triangles: Single, times: Single, shade: Single) -> CutArrays:
    """Arrays from a body's triangles (n, 3, 3) in job mm, and times and shade (rows, columns) of the grid, nan where there is no ground."""
    values = np.stack([np.where(np.isfinite(times), times, NEVER), carried(shade, np.isfinite(shade))], axis=-1).astype(np.float32)
    return CutArrays(np.ascontiguousarray(upward(triangles).reshape(-1, 3), np.float32), np.ascontiguousarray(values).ravel())


class CutGround:
    """The ground of a plan on the graphics card."""

    def __init__(self, arrays: CutArrays, grid: Grid) -> None:
        buffer = gpu.types.Buffer("FLOAT", arrays.values.size, cast("list[float]", arrays.values))
        self._texture = gpu.types.GPUTexture((grid.columns, grid.rows), format="RG32F", data=buffer)
        self._grid = grid
        self._batch: Batch = batch_for_shader(CUT_SHADER.get(), "TRIS", {"pos": cast("list[tuple[float, float, float]]", arrays.positions)})

    def draw(self, seconds: float, cut: Rgb, standing: Rgb, opacity: float) -> None:
        """Draw it as it is at a moment of the run, into the view whose matrices are loaded."""
        shader = CUT_SHADER.get()
        shader.bind()
        # Blender takes a matrix here, but its types do not say so.
        seen = cast("list[float]", gpu.matrix.get_projection_matrix() @ gpu.matrix.get_model_view_matrix())
        shader.uniform_float("ModelViewProjectionMatrix", seen)
        shader.uniform_float("origin", (self._grid.left, self._grid.front, self._grid.cell, seconds))
        shader.uniform_float("cut", (*cut, opacity))
        shader.uniform_float("standing", (*standing, opacity))
        shader.uniform_sampler("ground", self._texture)
        self._batch.draw(shader)


def carried(values: Single, known: Mask) -> Single:
    """Values (rows, columns) carried over the cells beside those that are known, 1 farther away."""
    found, there = np.where(known, values, 0).astype(np.float32), known.copy()
    for _ in range(OUTWARD):
        total, count = np.zeros_like(found), np.zeros(found.shape, np.float32)
        for axis, step in ((0, 1), (0, -1), (1, 1), (1, -1)):
            # What a roll brings in from the far edge is air there: a body does not reach the border of its grid.
            moved = np.roll(there, step, axis=axis)
            total += np.roll(found, step, axis=axis) * moved
            count += moved
        fresh = ~there & (count > 0)
        found[fresh] = total[fresh] / count[fresh]
        there |= fresh
    found[~there] = 1.0
    return found


def upward(triangles: Single) -> Single:
    """Those of some triangles (n, 3, 3) that look up at all: all that a cutter from above can touch."""
    first, second = triangles[:, 1, :2] - triangles[:, 0, :2], triangles[:, 2, :2] - triangles[:, 0, :2]
    return triangles[first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0] > 0]
